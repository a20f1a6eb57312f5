"""Finding a record by words, reading the log, and taking an attached paper out."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from refstd.base.errors import NotFound
from refstd.base.text import key, safe
from refstd.cli.call import Call
from refstd.cli.files import write_file
from refstd.cli.group import Question, pass_call

if TYPE_CHECKING:
    from refstd.desk.store import Lab, When


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


@click.command(
    "paper",
    cls=Question,
    example=["refstd paper B-102 HM-23-1010 -o HM-23-1010.pdf", "refstd paper C-0042 -o sheet-C-0042.pdf"],
)
@click.argument("asset", metavar="ASSET|CHECK")
@click.argument("number", metavar="[CERTIFICATE]", default="")
@click.option("-o", "--output", "output", required=True, metavar="FILE", help="Where to write it.")
@pass_call
def paper(call: Call, asset: str, number: str, output: str) -> None:
    """Write the paper attached to an item's certificate, or the scan of a check's paper sheet, to a file as it was attached."""
    from refstd.desk.certificates import paper_bytes

    with call.store() as lab:
        when = call.when(lab)
        sha256 = _of_certificate(lab, asset, number, when) if number else _of_check(lab, asset, when)
        name, content = paper_bytes(lab, sha256, when)
    write_file(Path(output), content)
    call.line(f"wrote {output}: {name}, SHA-256 {sha256}")


def _of_certificate(lab: "Lab", asset: str, number: str, when: "When") -> str:
    from refstd.desk.history import item_record

    papers = [c for c in item_record(lab, asset, when).certificates if key(c.number) == key(number) and c.paper_sha256]
    if not papers:
        said = safe(asset).upper()
        raise NotFound(
            f"no paper is attached to certificate {safe(number)} of {said}", "", f"See `refstd show {said}`."
        )
    return papers[-1].paper_sha256


def _of_check(lab: "Lab", number: str, when: "When") -> str:
    from refstd.desk.check_record import check_record

    record = check_record(lab, number, when)
    if not record.sheet:
        said = record.verdict.number
        raise NotFound(
            f"no scan of a paper sheet is attached to check {said}", "",
            f"See `refstd show {said}`; for a certificate's paper name the item and the certificate.",
        )  # fmt: skip
    return record.sheet_sha256
