"""Finding a record by words, reading the log, and taking an attached paper out."""

from pathlib import Path

import click

from refstd.base.errors import NotFound
from refstd.base.text import key, safe
from refstd.cli.call import Call
from refstd.cli.files import write_file
from refstd.cli.group import Question, pass_call


@click.command("find", cls=Question, example=["refstd find pencil aluminium", "refstd find 0147 --json"])
@click.argument("words", nargs=-1, required=True, metavar="WORDS...")
@pass_call
def find(call: Call, words: tuple[str, ...]) -> int:
    """Find records in whose number or words every given word occurs. Exit code 1 when there is none."""
    from refstd.desk.search import find as find_records

    with call.store() as lab:
        hits = find_records(lab, " ".join(words), call.when(lab))
    if call.json:
        rows = [{"kind": h.kind, "number": h.number, "says": h.says} for h in hits]
        call.show_json({"schema": "refstd.find/1", "rows": rows})
    for hit in () if call.json else hits:
        call.line(f"{hit.kind} {hit.number}: {hit.says}")
    if not hits and not call.json:
        call.line("nothing on record has all of these words")
    return 0 if hits else 1


@click.command("log", cls=Question, example=["refstd log", "refstd log --before 120 --count 50 --json"])
@click.option("--before", type=click.IntRange(1), metavar="SEQUENCE", help="Only entries older than this one.")
@click.option("--count", type=click.IntRange(1, 100_000), default=20, show_default=True, help="How many.")
@pass_call
def log(call: Call, before: int | None, count: int) -> None:
    """Show the log, newest first: who recorded what, when, and the hash of each entry."""
    from refstd.desk.log import log_entries
    from refstd.desk.store import about
    from refstd.printing.local import in_zone
    from refstd.reports.heading import instant

    with call.store() as lab:
        when = call.when(lab)
        entries, zone = log_entries(lab, when, before=before, count=count), about(lab, when).time_zone
    if call.json:
        rows = [
            {"sequence": e.sequence, "recorded_at": instant(e.recorded_at), "person": e.person, "person_name": e.person_name,
             "known_by": e.known_by, "action": e.action, "details": dict(e.details), "rows": dict(e.tables),
             "operation": e.operation, "previous": e.previous, "hash": e.hash}
            for e in entries
        ]  # fmt: skip
        call.show_json({"schema": "refstd.log/1", "rows": rows})
        return
    for e in entries:
        call.line(f"{e.sequence}  {in_zone(instant(e.recorded_at), zone)}  {e.person}  {e.in_words()}  {e.hash[:12]}")


@click.command("paper", cls=Question, example="refstd paper B-102 HM-23-1010 -o HM-23-1010.pdf")
@click.argument("asset", metavar="ASSET")
@click.argument("number", metavar="CERTIFICATE")
@click.option("-o", "--output", "output", required=True, metavar="FILE", help="Where to write it.")
@pass_call
def paper(call: Call, asset: str, number: str, output: str) -> None:
    """Write the paper attached to a certificate to a file."""
    from refstd.desk.certificates import paper_bytes
    from refstd.desk.history import item_record

    with call.store() as lab:
        when = call.when(lab)
        papers = [
            c for c in item_record(lab, asset, when).certificates if key(c.number) == key(number) and c.paper_sha256
        ]
        if not papers:
            raise NotFound(
                f"no paper is attached to certificate {safe(number)} of {safe(asset).upper()}", "", f"See `refstd show {safe(asset).upper()}`."
            )  # fmt: skip
        name, content = paper_bytes(lab, papers[-1].paper_sha256, when)
    write_file(Path(output), content)
    call.line(f"wrote {output}: {name}, SHA-256 {papers[-1].paper_sha256}")
