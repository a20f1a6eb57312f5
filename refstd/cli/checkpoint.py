"""Checkpoints: the log's head in a file of its own, signed if the lab has a key."""

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from refstd.base.errors import WrongUsage
from refstd.base.text import safe
from refstd.cli.call import Call, warn
from refstd.cli.files import write_file
from refstd.cli.group import Act, pass_call

if TYPE_CHECKING:
    from refstd.desk.checkpoints import Signed
    from refstd.desk.store import Checkpoint

PASSPHRASE = "REFSTD_KEY_PASSPHRASE"


@click.command(
    cls=Act,
    example=[
        "refstd checkpoint --new-key /media/stick/lab.pem",
        "refstd checkpoint -o head-0310.txt --sign /media/stick/lab.pem --as ANSEL",
        "refstd verify --checkpoint head-0310.txt --key lab.pem.pub --deep",
    ],
)
@click.option("-o", "--output", metavar="FILE", help="Where to write the line SEQUENCE:HASH.")
@click.option(
    "--sign", "key", metavar="KEY", help="Sign it with this private key (Ed25519, PEM): FILE.sig is written too."
)
@click.option("--new-key", metavar="KEY", help="Make a key instead: KEY is the private one, KEY.pub the public one.")
@pass_call
def checkpoint(call: Call, output: str | None, key: str | None, new_key: str | None) -> None:
    """Write the log's head to a file, to be kept where those who can write the store cannot write.

    With it `verify --checkpoint FILE` shows a cut tail and a log that was written anew, up to this entry. A signature
    shows that the file itself was not exchanged; any program checks it:
    openssl pkeyutl -verify -pubin -inkey KEY.pub -rawin -in FILE -sigfile FILE.sig

    Keep the private key apart from the store: with both, a log written anew can be signed anew. It is locked with
    the passphrase in REFSTD_KEY_PASSPHRASE, if that is set.
    """
    if bool(output) == bool(new_key) or (new_key and key):
        raise WrongUsage("say what to make", "", "Write a checkpoint with -o FILE, or make a key with --new-key KEY.")
    if new_key:
        _make_key(call, Path(new_key))
        return
    from refstd.desk.checkpoints import checkpoint_line, record_checkpoint
    from refstd.desk.store import When

    target = Path(str(output))
    with call.store() as lab:
        by, now = call.who(), call.now(lab)
        line = checkpoint_line(lab, When(now))
        signed = signed_with(call, key, line) if key else None
        _refuse_existing(target, *([signature_beside(target)] if signed else []))
        if signed:
            write_file(signature_beside(target), signed.signature)
        try:
            write_file(target, line, lambda: record_checkpoint(lab, line, signed, by=by, now=now))
        except BaseException:
            signature_beside(target).unlink(missing_ok=True)
            raise
    call.line(f"checkpoint {line.decode().strip()}")
    call.line(
        f"wrote {target}"
        + (f" and {signature_beside(target)}, key SHA-256 {signed.key_sha256}" if signed else ", not signed")
    )
    call.line("Keep it outside the store and its backups, where those who can write the store cannot write.")


def signed_with(call: Call, key: str, line: bytes) -> "Signed":
    """Return a checkpoint's line signed with the key that a command names."""
    from refstd.desk.checkpoints import refuse_beside_store, sign

    refuse_beside_store(Path(key), call.path())
    return sign(line, _bytes(Path(key), "--sign"), os.environ.get(PASSPHRASE, ""))


def checkpoint_given(text: str | None, key: str | None) -> "Checkpoint | None":
    """Return the checkpoint that --checkpoint names: a line, or a file, whose signature is checked where a key is named."""
    from refstd.desk.checkpoints import checkpoint_from, signature_problem

    if text is None:
        if key:
            raise WrongUsage("a key checks a checkpoint's signature", "--key", "Name the file with --checkpoint FILE.")
        return None
    file = Path(text)
    if ":" in text.strip() and not file.is_file():
        if key:
            raise WrongUsage("a line has no signature", "--key", "Name the checkpoint's file, with FILE.sig beside it.")
        return checkpoint_from(text, "--checkpoint")
    if not file.is_file():
        return checkpoint_from(text, "--checkpoint")
    line = _bytes(file, "--checkpoint")
    found = checkpoint_from(line.decode("utf-8", "replace"), safe(file))
    if key:
        problem = signature_problem(line, _bytes(signature_beside(file), "--checkpoint"), _bytes(Path(key), "--key"))
        if problem:
            raise WrongUsage(
                problem, safe(file), "Trust neither file nor store until you know which one was exchanged."
            )
    elif signature_beside(file).exists():
        warn("the checkpoint's signature was not checked: name the public key with --key")
    return found


def signature_beside(path: Path) -> Path:
    """Return where the signature of a file lies."""
    return path.with_name(path.name + ".sig")


def _make_key(call: Call, path: Path) -> None:
    from refstd.desk.checkpoints import new_key, refuse_beside_store

    refuse_beside_store(path, call.path())
    public_path = path.with_name(path.name + ".pub")
    _refuse_existing(path, public_path)
    passphrase = os.environ.get(PASSPHRASE, "")
    private, public, fingerprint = new_key(passphrase)
    try:
        handle = os.open(
            path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600
        )  # nobody else reads it, from its first byte on
        with os.fdopen(handle, "wb") as file:
            file.write(private)
    except OSError as error:
        raise WrongUsage(
            f"the key cannot be written: {safe(error.strerror)}", safe(path), "Name another place."
        ) from error
    write_file(public_path, public)
    call.line(
        f"private key {path}, {'locked with the passphrase' if passphrase else 'not locked by a passphrase'}: keep it apart from the store"
    )
    call.line(f"public key {public_path}, SHA-256 {fingerprint}: give it to whoever is to check")


def _refuse_existing(*paths: Path) -> None:
    for path in paths:
        if path.exists():
            raise WrongUsage("that file exists and is not overwritten", safe(path), "Give another name.")


def _bytes(path: Path, where: str) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise WrongUsage(
            f"the file cannot be read: {safe(error.strerror)} ({safe(path)})", where, "Check its name."
        ) from error
