"""Signed checkpoints: the line, the signature by the program `openssl` beside us, the key's place, and what is said."""

import base64
import shutil
import subprocess
from pathlib import Path

import pytest

from refstd.base.errors import NotAllowed, Refusal, WrongUsage
from refstd.desk import checkpoints as desk
from refstd.desk.store import Lab, verify
from tests import thin_thread as given
from tests.given import KEEPER, NOON

# RFC 8032, section 7.1, TEST 2: secret key, public key, message, signature. From the RFC.
SECRET = "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb"
PUBLIC = "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
SIGNATURE = "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"  # fmt: skip
_PKCS8, _SPKI = "302e020100300506032b657004220420", "302a300506032b6570032100"  # RFC 8410, sections 7 and 4


def _pem(kind: str, der: str) -> bytes:
    text = base64.b64encode(bytes.fromhex(der)).decode()
    return f"-----BEGIN {kind} KEY-----\n{text}\n-----END {kind} KEY-----\n".encode()


def test_a_signature_is_that_of_rfc_8032() -> None:
    signed = desk.sign(b"\x72", _pem("PRIVATE", _PKCS8 + SECRET))
    assert signed.signature.hex() == SIGNATURE
    assert desk.signature_problem(b"\x72", bytes.fromhex(SIGNATURE), _pem("PUBLIC", _SPKI + PUBLIC)) == ""
    assert "exchanged" in desk.signature_problem(b"\x73", bytes.fromhex(SIGNATURE), _pem("PUBLIC", _SPKI + PUBLIC))


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl on this machine")
def test_openssl_accepts_what_we_sign_and_we_accept_what_openssl_signs(lab: Lab, tmp_path: Path) -> None:
    """The independent program; the command is the one that the help names."""
    given.whole(lab)
    line = desk.checkpoint_line(lab, given.when())
    private, public, _ = desk.new_key()
    files = {"key": private, "pub": public, "line": line, "sig": desk.sign(line, private).signature}
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)

    def openssl(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(["openssl", "pkeyutl", *words], cwd=tmp_path, capture_output=True, text=True, check=False)

    check = ("-verify", "-pubin", "-inkey", "pub", "-rawin", "-in", "line", "-sigfile", "sig")
    assert openssl(*check).returncode == 0
    openssl("-sign", "-inkey", "key", "-rawin", "-in", "line", "-out", "theirs")
    assert desk.signature_problem(line, (tmp_path / "theirs").read_bytes(), public) == ""
    (tmp_path / "line").write_bytes(line.replace(b":", b"0:", 1))
    assert openssl(*check).returncode != 0


def test_what_is_printed_on_a_paper_gives_line_and_signature_again() -> None:
    private, public, fingerprint = desk.new_key()
    line = b"7:" + b"a" * 64 + b"\n"
    said = desk.sign(line, private).in_words()
    head, signature, key = said.split("; ")
    again = base64.b64decode(signature.removeprefix("Ed25519 signature "))
    assert desk.signature_problem(head.removeprefix("signed head ").encode() + b"\n", again, public) == ""
    assert key.endswith(fingerprint)


def test_a_locked_key_needs_its_passphrase() -> None:
    private, public, _ = desk.new_key("a stick in a drawer")
    assert b"ENCRYPTED" in private
    with pytest.raises(WrongUsage, match="locked by a passphrase"):
        desk.sign(b"1:x", private)
    with pytest.raises(WrongUsage, match="not its passphrase"):
        desk.sign(b"1:x", private, "another")
    assert desk.signature_problem(b"1:x", desk.sign(b"1:x", private, "a stick in a drawer").signature, public) == ""


@pytest.mark.parametrize("key", [b"", b"nonsense", _pem("PUBLIC", _SPKI + PUBLIC)])
def test_what_is_no_private_key_is_refused_with_the_next_step(key: bytes) -> None:
    with pytest.raises(WrongUsage) as refused:
        desk.sign(b"1:x", key)
    assert refused.value.remedy


def test_a_key_beside_the_store_is_refused(tmp_path: Path) -> None:
    store = tmp_path / "lab" / "lab.refstd"
    for beside in (tmp_path / "lab" / "key.pem", tmp_path / "lab" / "keys" / "key.pem"):
        with pytest.raises(Refusal, match="beside the store"):
            desk.refuse_beside_store(beside, store)
    desk.refuse_beside_store(tmp_path / "stick" / "key.pem", store)


def test_the_record_says_what_could_be_cut_unseen_and_the_checkpoint_is_found_again(lab: Lab) -> None:
    given.whole(lab)
    before = desk.kept_outside(lab, given.when())
    assert before.in_words().startswith("no checkpoint was ever made")
    line = desk.checkpoint_line(lab, given.when())
    with pytest.raises(NotAllowed):
        desk.record_checkpoint(lab, line, None, by="TESS", now=NOON)
    private, _, _ = desk.new_key()
    desk.record_checkpoint(lab, line, desk.sign(line, private), by=KEEPER, now=NOON)
    kept = desk.kept_outside(lab, given.when())
    assert (kept.sequence, kept.signed, kept.since, kept.person) == (before.since, True, 1, KEEPER)
    given.block(lab, "B-9")
    assert desk.kept_outside(lab, given.when()).since > 1
    path = lab.path
    lab.close()
    checkpoint = desk.checkpoint_from(line.decode(), "")
    assert verify(path, deep=True, checkpoint=checkpoint).problems == ()
    other = verify(path, deep=False, checkpoint=checkpoint._replace(hash="0" * 64))
    assert "or the checkpoint is of another store" in other.problems[0]
