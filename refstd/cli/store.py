"""Care of the store: make, verify, back up, restore, migrate, and ask how it is."""

from pathlib import Path

import click

from refstd.base.errors import WrongUsage
from refstd.base.text import safe
from refstd.cli.call import Call, warn
from refstd.cli.group import Act, Answering, pass_call


@click.command(
    cls=Act,
    example='refstd init --db lab.refstd --name "Surface lab" --time-zone Europe/Dublin --code CUS --person "Ada Moss"',
)
@click.option("--name", required=True, help="The lab's name, as reports print it.")
@click.option("--time-zone", required=True, metavar="ZONE", help="IANA time zone, such as Europe/Dublin.")
@click.option("--code", required=True, help="Code of the first custodian: A-Z, 0-9 and '-'.")
@click.option("--person", required=True, help="Name of the first custodian.")
@pass_call
def init(call: Call, name: str, time_zone: str, code: str, person: str) -> None:
    """Make a new store with its first custodian. An existing file is never touched."""
    from refstd.desk.clock import utc_now
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.people import PersonDraft
    from refstd.desk.store import make_store

    values = {"code": code, "name": person, "role": "custodian"}
    first = draft_or_refuse(PersonDraft, values, "first custodian")
    if not name.strip():
        raise WrongUsage("the lab has no name", "--name", "Give the name that reports are to print.")
    lab = make_store(
        call.path(), name=name.strip(), time_zone=time_zone, code=first.code, person=first.name, now=utc_now()
    )
    lab.close()
    call.line(f"made {call.path()}; first custodian {first.code}")


@click.command(
    cls=Answering,
    example=[
        "refstd verify",
        "refstd verify --deep --checkpoint 120:9f3c…",
        "refstd verify --deep --checkpoint head-0310.txt --key lab.pem.pub",
        "refstd verify --paper due.pdf",
        "refstd verify --explain",
    ],
)
@click.option("--deep", is_flag=True, help="Also replay the log against every record, paper and now table.")
@click.option("--checkpoint", metavar="SEQ:HASH|FILE", help="A head kept outside: shows a cut or newly written log.")
@click.option("--key", metavar="FILE", help="The public key (PEM) with which the checkpoint's signature is checked.")
@click.option("--explain", is_flag=True, help="Say what is proved and what is not, attempt by attempt; reads no store.")
@click.option("--paper", metavar="FILE", help="Say whether this file is, byte for byte, one that was issued.")
@pass_call
def verify(call: Call, deep: bool, checkpoint: str | None, key: str | None, explain: bool, paper: str | None) -> int:
    """See whether the store is whole and holds what was recorded.

    The last line is `head SEQUENCE HASH`: keep it outside the store, and give it later as --checkpoint. Exit code 1
    when something is wrong; the first wrong row is named.
    """
    if explain:
        return _explain(call)
    if paper is not None:
        if deep or checkpoint:
            raise WrongUsage("one question at a time", "--paper", "Ask for the paper and for the store in two calls.")
        return _paper(call, Path(paper))
    from refstd.cli.checkpoint import checkpoint_given
    from refstd.desk.store import verify as verify_store

    found = verify_store(call.path(), deep=deep, checkpoint=checkpoint_given(checkpoint, key))
    head = f"{found.head.sequence} {found.head.hash}" if found.head else "unknown"
    if call.json:
        call.show_json(
            {
                "schema": "refstd.verify/1", "whole": found.whole, "steps": list(found.steps), "problems": list(found.problems),
                "head": {"sequence": found.head.sequence, "hash": found.head.hash} if found.head else None,
            }
        )  # fmt: skip
        return 0 if found.whole else 1
    wrong = {p.split(":", 1)[0] for p in found.problems}
    for step in found.steps:
        call.line(f"{step}: {'wrong' if step in wrong else 'whole'}")
    for problem in found.problems:
        call.line(problem, strong=True)
    if found.problems:
        call.line("Stop writing to this store; keep the file, and restore a backup that passes `refstd verify --deep`.")
    call.line(f"head {head}")
    return 0 if found.whole else 1


def _explain(call: Call) -> int:
    """Say what is proved and what is not."""
    from refstd.desk.proof import ATTEMPTS, IN_WORDS

    if call.json:
        rows = [{"attempt": a.attempt, "guards": a.guards, "shown_by": a.shown_by} for a in ATTEMPTS]
        call.show_json({"schema": "refstd.proof/1", "rows": rows, "notes": list(IN_WORDS)})
        return 0
    call.line("What somebody who can write the file may try, and what shows it:", strong=True)
    for a in ATTEMPTS:
        call.line(f"- {a.attempt}: the guards {a.guards}; shown by {a.shown_by}")
    for says in IN_WORDS:
        call.line(says)
    return 0


def _paper(call: Call, path: Path) -> int:
    """Say whether a file was issued; 0 yes, 1 no. It need not bear the name under which it was issued."""
    from refstd.desk.issuing import issued_as
    from refstd.desk.store import about
    from refstd.printing.local import in_zone
    from refstd.reports.heading import instant

    try:
        content = path.read_bytes()
    except OSError as error:
        raise WrongUsage(
            f"the file cannot be read: {safe(error.strerror)}", safe(path), "Name the paper in hand."
        ) from error
    with call.store() as lab:
        when = call.when(lab)
        digest, found = issued_as(lab, content, when)
        zone = about(lab, when).time_zone
    if call.json:
        rows = [
            {"report": x.name, "entry": x.entry, "issued_at": instant(x.issued_at), "person": x.person} for x in found
        ]
        call.show_json({"schema": "refstd.paper/1", "sha256": digest, "issued": bool(found), "rows": rows})
        return 0 if found else 1
    call.line(f"SHA-256 {digest}")
    for x in found:
        call.line(
            f"issued as {x.name}, {in_zone(instant(x.issued_at), zone)}, by {x.person} (log entry {x.entry})",
            strong=True,
        )
    if found:
        call.line("Byte for byte the one issued, as far as the log is whole: see `refstd verify --deep`.")
    else:
        call.line(
            "No report with these bytes was issued: it was altered, or made without --issue, or comes from elsewhere.",
            strong=True,
        )
    return 0 if found else 1


@click.command(cls=Act, example="refstd backup --as ORLA")
@click.argument("target", required=False, metavar="[FILE]")
@pass_call
def backup(call: Call, target: str | None) -> None:
    """Make a backup, check it deeply, and record it. Without FILE it goes into `backups` beside the store."""
    from refstd.desk.store import backup as make_backup

    with call.store() as lab:
        path, head = make_backup(lab, Path(target) if target else None, by=call.who(), now=call.now(lab))
    call.line(f"backup {path}")
    call.line(f"head {head.sequence} {head.hash}")


@click.command(cls=Act, example="refstd restore backups/lab-20260309T120000Z.refstd --as ORLA")
@click.argument("backup_file", metavar="BACKUP")
@pass_call
def restore(call: Call, backup_file: str) -> None:
    """Put a checked backup in the store's place. What stood there is kept and named."""
    from refstd.desk.clock import utc_now
    from refstd.desk.store import restore as restore_store

    head, kept = restore_store(Path(backup_file), call.path(), by=call.who(), now=utc_now())
    call.line(f"restored {call.path()} from {backup_file}")
    if kept is not None:
        call.line(f"what stood there is kept as {kept}")
    call.line(f"head {head.sequence} {head.hash}")


@click.command(cls=Act, example="refstd migrate --db lab.refstd")
@pass_call
def migrate(call: Call) -> None:
    """Bring an older store to this form. A backup is made and checked first."""
    from refstd.desk.clock import utc_now
    from refstd.desk.store import migrate as migrate_store

    before, after, kept = migrate_store(call.path(), utc_now())
    if kept is None:
        call.line(f"nothing to do: the store has form {after}")
        return
    call.line(f"form {before} became {after}; the store as it was is kept as {kept}")


@click.command(cls=Answering, example="refstd doctor")
@pass_call
def doctor(call: Call) -> int:
    """Look at program, file and folder, and say what to do. Exit code 1 when something is not as it should be."""
    from refstd.desk.store import doctor as look_at

    found = look_at(call.path())
    good = all(c.good for c in found)
    if call.json:
        rows = [{"what": c.what, "found": c.found, "good": c.good, "remedy": c.remedy} for c in found]
        call.show_json({"schema": "refstd.doctor/1", "good": good, "rows": rows})
        return 0 if good else 1
    for c in found:
        call.line(f"{'good' if c.good else 'look'}  {c.what}: {c.found}" + (f"  → {c.remedy}" if c.remedy else ""))
    if not good:
        warn("Something is not as it should be; the lines that begin with 'look' say what to do.")
    return 0 if good else 1
