"""Checkpoints: the log's head as one line that is kept outside the store, signed by the lab's own key if it has one.

The line is `SEQUENCE:HASH`; the signature is Ed25519 (RFC 8032) over the line's bytes with its newline, 64 bytes, in a file
of its own, so that any other program can check it. Keys are PEM files: PKCS #8 private, SubjectPublicKeyInfo public. The
private key never belongs beside the store: who can write both could sign a log that was written anew. Needs the extra `sign`.
"""

import base64
import hashlib
import importlib.util
import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from refstd.base.errors import Refusal, WrongUsage
from refstd.base.text import safe
from refstd.desk.people import may
from refstd.desk.store import standpoint
from refstd.register.columns import instant_from
from refstd.register.integrity import Checkpoint
from refstd.register.lab import Lab, Look, When
from refstd.register.log import LogEntry

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

ACTION = "checkpoint made"


@dataclass(frozen=True, slots=True)
class Signed:
    """A checkpoint's line, the signature over it, and the SHA-256 of the public key that belongs to it."""

    line: bytes
    signature: bytes
    key_sha256: str

    def in_words(self) -> str:
        """Return what is printed on a paper, from which the file and its signature can be made again."""
        signature = base64.b64encode(self.signature).decode()
        return f"signed head {self.line.decode().strip()}; Ed25519 signature {signature}; public key SHA-256 {self.key_sha256}"


@dataclass(frozen=True, slots=True)
class KeptOutside:
    """The newest checkpoint on record, and how many entries came since, which could be cut unseen."""

    sequence: int
    made_at: datetime | None
    person: str
    signed: bool
    since: int

    def in_words(self) -> str:
        """Return it in a sentence, without the instant."""
        if not self.sequence:
            return f"no checkpoint was ever made: all {self.since} entries could be cut or written anew unseen"
        kind = "signed" if self.signed else "not signed"
        return f"newest checkpoint: entry {self.sequence}, {kind}, by {self.person}; {self.since} entries since then could be cut unseen"


def checkpoint_line(lab: Lab, when: When) -> bytes:
    """Return the head at the moment asked for as the line that is kept and signed."""
    with lab.look(when) as look:
        at = standpoint(look)
        return f"{at.log_sequence}:{at.log_hash}\n".encode()


def record_checkpoint(lab: Lab, line: bytes, signed: Signed | None, *, by: str, now: datetime) -> None:
    """Keep in the log that a checkpoint left the store, and with which key it was signed."""
    with lab.change(by=by, now=now) as change:
        may(change, "make a checkpoint")
        change.record(ACTION, checkpoint=line.decode().strip(), key_sha256=signed.key_sha256 if signed else "")


def kept_outside(lab: Lab, when: When) -> KeptOutside:
    """Return the newest checkpoint on record."""
    with lab.look(when) as look:
        return kept_outside_within(look)


def kept_outside_within(look: Look) -> KeptOutside:
    """Return the same within a look."""
    query = select(LogEntry.recorded_at, LogEntry.person, LogEntry.body).where(
        LogEntry.action == ACTION, LogEntry.sequence <= look.upto
    )
    row = look.session.execute(query.order_by(LogEntry.sequence.desc()).limit(1)).first()
    if row is None:
        return KeptOutside(0, None, "", False, look.upto)
    details = json.loads(row.body)["details"]
    sequence = int(details["checkpoint"].partition(":")[0])
    since = look.session.execute(
        select(func.count()).where(LogEntry.sequence > sequence, LogEntry.sequence <= look.upto)
    ).scalar_one()
    made_at = row.recorded_at if isinstance(row.recorded_at, datetime) else instant_from(row.recorded_at)
    return KeptOutside(sequence, made_at, row.person, bool(details["key_sha256"]), since)


def checkpoint_from(text: str, where: str) -> Checkpoint:
    """Return a checkpoint from its line, or refuse. A blank in place of the colon is understood too."""
    sequence, _, digest = text.strip().replace(" ", ":", 1).partition(":")
    if not (sequence.isascii() and sequence.isdigit() and len(sequence) < 19 and len(digest) == 64):
        raise WrongUsage(
            f"'{safe(text)[:90]}' is not a checkpoint", where, "Give SEQUENCE:HASH as `refstd verify` printed them, or a file that holds them."
        )  # fmt: skip
    return Checkpoint(int(sequence), digest.lower())


def sign(line: bytes, key: bytes, passphrase: str = "") -> Signed:
    """Return a line signed with a private key (PEM). The same line and key give the same signature."""
    private = _private(key, passphrase)
    return Signed(line, private.sign(line), _fingerprint(private.public_key()))


def signature_problem(line: bytes, signature: bytes, public: bytes) -> str:
    """Return why a signature is not that of a line by a public key (PEM), or ''."""
    from cryptography.exceptions import InvalidSignature

    key = _public(public)
    try:
        key.verify(signature, line)
    except InvalidSignature:
        return f"the signature is not that of key {_fingerprint(key)[:16]}… over this checkpoint: one of the three was exchanged"
    return ""


def new_key(passphrase: str = "") -> tuple[bytes, bytes, str]:
    """Return a new private and public key (PEM), and the SHA-256 of the public one."""
    _needs_extra()
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    private = Ed25519PrivateKey.generate()
    lock = serialization.BestAvailableEncryption(passphrase.encode()) if passphrase else serialization.NoEncryption()
    kept = private.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, lock)
    return kept, _as_pem(private.public_key()), _fingerprint(private.public_key())


def refuse_beside_store(key: Path, store: Path) -> None:
    """Refuse a private key that lies in the store's folder or below it."""
    if store.resolve().parent in key.resolve().parents:
        raise Refusal(
            "the private key lies beside the store: who can write both can sign a log that was written anew", safe(key),
            "Keep the key where those who can write the store cannot read it, such as a stick in quality's hands.",
        )  # fmt: skip


def _private(key: bytes, passphrase: str) -> "Ed25519PrivateKey":
    _needs_extra()
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    try:
        found = serialization.load_pem_private_key(key, passphrase.encode() or None)
    except TypeError as error:
        said = "is locked by a passphrase" if not passphrase else "is not locked, yet a passphrase was given"
        raise WrongUsage(
            f"the key {said}", "--sign", "Give the passphrase in REFSTD_KEY_PASSPHRASE, or none."
        ) from error
    except (ValueError, UnsupportedAlgorithm) as error:
        raise WrongUsage("that is not a private key, or not its passphrase", "--sign", _MAKE) from error
    if not isinstance(found, Ed25519PrivateKey):
        raise WrongUsage("that is a key of another kind than Ed25519", "--sign", _MAKE)
    return found


def _public(key: bytes) -> "Ed25519PublicKey":
    _needs_extra()
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        found = serialization.load_pem_public_key(key)
    except (ValueError, UnsupportedAlgorithm) as error:
        raise WrongUsage("that is not a public key", "--key", "Name the .pub file that came with the key.") from error
    if not isinstance(found, Ed25519PublicKey):
        raise WrongUsage(
            "that is a key of another kind than Ed25519", "--key", "Name the .pub file of the signing key."
        )
    return found


def _as_pem(key: "Ed25519PublicKey") -> bytes:
    from cryptography.hazmat.primitives import serialization

    return key.public_bytes(serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo)


def _fingerprint(key: "Ed25519PublicKey") -> str:
    return hashlib.sha256(_as_pem(key)).hexdigest()


def _needs_extra() -> None:
    if importlib.util.find_spec("cryptography") is None:
        raise WrongUsage("signing needs the extra `sign`", "", "Run: pip install 'refstd[sign]'")


_MAKE = "Make one with `refstd checkpoint --new-key FILE`."
