"""Labels for items."""

from pathlib import Path

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.files import write_file
from refstd.cli.group import Question, pass_call


@click.command(
    cls=Question,
    example=[
        "refstd labels B-102 P-204 -o labels.pdf",
        "refstd labels B-102 --size 63.5x38.1 --first 5 -o labels.pdf",
        "refstd labels B-102 --size 50x25 -o label.pdf",
    ],
)
@click.argument("assets", nargs=-1, required=True, metavar="ASSET...")
@click.option(
    "-o",
    "--output",
    "--out",
    "output",
    required=True,
    metavar="FILE",
    help="Where to write it: a name that ends in .pdf.",
)
@click.option(
    "--size",
    metavar="WxH",
    help="Width x height of a label in mm. 70x37 (if not said) and 63.5x38.1 stand on A4, 66.7x25.4 on US Letter; any other is printed one a page.",
)
@click.option(
    "--first", type=int, default=1, metavar="N", help="The first free place of a part-used sheet, counted row by row."
)
@pass_call
def labels(call: Call, assets: tuple[str, ...], output: str, size: str | None, first: int) -> None:
    """Print labels: a QR code with the asset number and nothing else, and in words the state, the due dates and the day.

    An item that may not be used gets 'NOT FOR USE' and no date; of limited use the label names what is struck out. Print
    at 100 %, without fitting to the page. Never stick a label on the scanned surface or near a notch.
    """
    from refstd.desk.labels import labels as labels_of
    from refstd.printing.labels import USUAL, size_of, to_labels

    path, wanted = Path(output), size_of(size or USUAL)
    if path.suffix.lower() != ".pdf":
        raise WrongUsage("labels are a PDF", "--output", "End the file's name in .pdf.")
    with call.store() as lab:
        found = labels_of(lab, call.when(lab), assets)
        content = to_labels(found, wanted, first)
    write_file(path, content)
    call.line(f"wrote {path}: {', '.join(x.asset_no for x in found)}. Print it at 100 %.")
    for x in found:
        if x.not_for_use:
            call.line(f"  {x.asset_no} is not for use: {x.state}{', ' if x.lines else ''}{'; '.join(x.lines)}")
