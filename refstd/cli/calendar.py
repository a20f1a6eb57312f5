"""The calendar of due dates."""

from pathlib import Path

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.files import write_file
from refstd.cli.group import Question, pass_call


@click.command(cls=Question, example=["refstd calendar due.ics", "refstd calendar due.ics --as-at 2026-03-01"])
@click.argument("file", metavar="FILE")
@pass_call
def calendar(call: Call, file: str) -> None:
    """Write the due dates as a calendar: an .ics file to subscribe to from a shared folder, or to take in.

    Write it again under the same name whenever something was recorded: events move, none is doubled, and what is no
    longer owed is cancelled. The same records give the same bytes.
    """
    from refstd.exchange.ics import calendar_file

    path = Path(file)
    if path.suffix.lower() != ".ics":
        raise WrongUsage("a calendar is an .ics file", "FILE", "End the file's name in .ics.")
    with call.store() as lab:
        content, due = calendar_file(lab, call.when(lab))
    write_file(path, content)
    gone = sum(e.cancelled for e in due.events)
    call.line(
        f"wrote {path}: {len(due.events) - gone} due dates, {gone} cancelled, from the log up to entry {due.sequence}"
    )
