"""The program's own validation: published values against what this installation computes."""

from pathlib import Path

import click

from refstd.cli.call import Call
from refstd.cli.files import write_file
from refstd.cli.group import Answering, pass_call


@click.command(cls=Answering, example=["refstd selftest", "refstd selftest -o selftest.pdf"])
@click.option(
    "-o",
    "--output",
    metavar="FILE",
    help="Write the sheet, to be signed; its ending (.pdf, .html, .xlsx, .csv, .json, .txt) decides the form.",
)
@pass_call
def selftest(call: Call, output: str | None) -> int:
    """Compare what this installation computes with published values; no store is read.

    Exit code 1 when one does not agree: then do not rely on this installation.
    """
    from refstd.desk.clock import utc_now
    from refstd.printing import render
    from refstd.reports.selftest import selftest_sheet

    sheet = selftest_sheet(utc_now())
    if output is None:
        call.show(sheet)
    else:
        path = Path(output)
        write_file(path, render(sheet, path.suffix))
        call.line(f"wrote {path}: {sheet.scope[0][1]}")
    return 0 if sheet.extra["agrees"] else 1
