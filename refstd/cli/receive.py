"""Receipt inspection from a file of points."""

from typing import TYPE_CHECKING

import click

from refstd.cli.call import Call
from refstd.cli.files import content_of_file
from refstd.cli.group import Answering, pass_call
from refstd.cli.words import write_lines

if TYPE_CHECKING:
    from refstd.desk.receipt import ReceiptSheet, ReceiptShown


@click.command(
    cls=Answering,
    example=[
        "refstd receive P-251 --procedure ET-AL-01",
        'refstd receive P-251 points.csv --ordered-as "order 4711, drawing WS-P100" --location "shelf 2" --as ORLA',
    ],
)
@click.argument("asset", metavar="ASSET")
@click.argument("points", metavar="[POINTS]", default="")
@click.option(
    "--ordered-as", default="", metavar="TEXT", help="Order, drawing or part number: what it is held against."
)
@click.option(
    "--procedure", default="", metavar="CODE", help="Where it limits the signal to noise, a probe begins from it."
)
@click.option("--check", default="", metavar="NUMBER", help="The response check on the house instrument and block.")
@click.option("--location", default="", metavar="TEXT", help="Where it is kept from now on; else where it is.")
@click.option("--happened-at", default="", metavar="INSTANT", help="When it was looked at; left out: now.")
@click.option("--note", default="", metavar="TEXT", help="A note.")
@pass_call
def receive(call: Call, /, asset: str, points: str, procedure: str, **given: str) -> int:
    """Do the receipt inspection of an item that awaits receipt (CSV; '-' is standard input). Without POINTS, say what is asked.

    Columns: point, outcome (in order, not in order, not looked at), found, value, unit, lower_limit, upper_limit, limit_source.
    One row a point; a measured one has no outcome, its value against its limits decides. What stays empty is taken from the
    record: the certificate's values and limits of a block, the procedure's limit on the signal to noise.

    As ordered, the item is in service with this inspection as evidence; else a finding holds it.
    Exit code: 0 as ordered, 1 not as ordered.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.receipt import ReceiptDraft, receipt_sheet
    from refstd.desk.receipt import receive as receive_item
    from refstd.desk.store import When
    from refstd.exchange.points import points_from

    with call.store() as lab:
        now = call.now(lab)
        sheet = receipt_sheet(lab, asset, When(now), procedure=procedure)
        if not points:
            _write_sheet(call, sheet)
            return 0
        values = {"asset_no": asset} | {k: v for k, v in given.items() if v}
        draft = draft_or_refuse(ReceiptDraft, values, f"receipt inspection of {asset}")
        found = points_from(*content_of_file(points), sheet)
        shown = receive_item(lab, draft, found, by=call.who(), now=now)
    _write(call, shown)
    return 0 if shown.outcome == "as ordered" else 1


def _write_sheet(call: Call, sheet: "ReceiptSheet") -> None:
    if call.json:
        rows = [
            {"point": p.point.name, "asks": p.point.asks, "units": list(p.point.units), "needed": p.point.needed, **p.begin_from}
            for p in sheet.points
        ]  # fmt: skip
        call.show_json({"schema": "refstd.receipt_points/1", "item": sheet.item.asset_no, "rows": rows})
        return
    call.line(f"{sheet.item.asset_no} {sheet.item.name} awaits its receipt inspection", strong=True)
    for p in sheet.points:
        how = f"measured in {' or '.join(p.point.units)}" if p.point.measured else "looked at"
        begun = f"; on record: {' '.join(f'{k} {v}' for k, v in p.begin_from.items())}" if p.begin_from else ""
        call.line(f"  {p.point.name}: {p.point.asks} ({how}{', needed' if p.point.needed else ''}){begun}")


def _write(call: Call, r: "ReceiptShown") -> None:
    from refstd.desk.serviceability import CAUTION
    from refstd.reports.heading import instant, text

    if call.json:
        rows = [
            {"point": p.asked, "outcome": p.outcome, "found": p.found, "value": text(p.value), "unit": p.unit, "limits": p.limits,
             "limit_source": p.limit_source}
            for p in r.points
        ]  # fmt: skip
        call.show_json(
            {
                "schema": "refstd.receipt/1", "item": r.asset_no, "ordered_as": r.ordered_as, "outcome": r.outcome,
                "headline": r.headline(), "certificate": r.certificate, "finding": r.finding, "check": r.check, "person": r.person,
                "happened_at": instant(r.happened_at), "rows": rows, "caution": CAUTION,
            }
        )  # fmt: skip
        return
    call.line(r.headline(), strong=True)
    write_lines(call, f"receipt inspection {r.certificate}, by {r.person}", [p.in_words() for p in r.points])
    call.line(
        "it is in service now"
        if r.outcome == "as ordered"
        else "it stays out of use until the finding is released and it is received anew"
    )
    call.line(CAUTION)
