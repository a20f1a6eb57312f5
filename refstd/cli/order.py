"""The order test: two readings of one still signal, and the order of rotation and gain that they tell."""

import click

from refstd.cli.call import Call
from refstd.cli.group import Answering, pass_call

READING = (str, str, str)


@click.command(
    "order-test",
    cls=Answering,
    example=[
        "refstd order-test I-305 --gains 40 52 --first 0 2.00 3.98 --second 40 0.89 8.17 --as ORLA",
        "refstd order-test I-305 --gains 40 52 --first 0 2.00 3.98 --second 40 0.89 8.17 --preview",
    ],
)
@click.argument("asset", metavar="INSTRUMENT")
@click.option(
    "--gains", type=(str, str), required=True, metavar="H V", help="Horizontal and vertical gain, dB; unequal."
)
@click.option("--first", type=READING, required=True, metavar="DEG H V", help="Rotation, °, then the signal as seen.")
@click.option(
    "--second", type=READING, required=True, metavar="DEG H V", help="The same signal, rotation turned by 40° to 60°."
)
@click.option("--unit", default="div", show_default=True, metavar="UNIT", help="Unit of the readings: div or % FSH.")
@click.option("--happened-at", default="", metavar="INSTANT", help="When they were read; left out: now.")
@click.option("--note", default="", help="The signal, and how the probe was held.")
@click.option("--why", default="", help="Where another order is on record: why that was wrong.")
@click.option("--preview", is_flag=True, help="Say what the readings tell; keep nothing.")
@pass_call
def order_test(
    call: Call, asset: str, gains: tuple[str, str], first: tuple[str, str, str], second: tuple[str, str, str],
    unit: str, happened_at: str, note: str, why: str, preview: bool,
) -> int:  # fmt: skip
    """Find which of rotation and gain an instrument applies first, from one still signal at two rotations.

    Set the gains apart, best 12 dB; balance; hold the probe still on a signal; read it. Turn only the rotation and read it
    again. The order found is written into the instrument's description with its source.

    Exit code: 0 told, 6 the readings tell no order (with --preview), 3 refused.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.order_tests import OrderTestDraft, figures_in_words, order_told, record_order_test

    values = {"asset_no": asset, "unit": unit, "happened_at": happened_at, "note": note, "why": why}
    values |= dict(zip(("horizontal_gain_db", "vertical_gain_db"), gains, strict=True))
    for name, seen in (("first", first), ("second", second)):
        parts = (f"{name}_rotation_deg", f"{name}_horizontal", f"{name}_vertical")
        values |= dict(zip(parts, seen, strict=True))
    draft = draft_or_refuse(OrderTestDraft, values, f"order test of {asset}")
    told, finding = order_told(draft), ""
    if not preview:
        with call.store() as lab:
            kept = record_order_test(lab, draft, by=call.who(), now=call.now(lab))
        told, finding = kept.told(), kept.finding
    figures = figures_in_words(told)
    if call.json:
        call.show_json(
            {
                "schema": "refstd.order_test/1", "instrument": draft.asset_no, "kept": not preview, "order": told.order,
                "why_not": told.why_not, "cure": told.cure, "figures": list(figures),
                "finding": finding,
            }
        )  # fmt: skip
    else:
        call.line(
            f"{draft.asset_no}: {told.order or told.why_not}" + (" (nothing was kept)" if preview else ""), strong=True
        )
        for line in (*figures, *((f"→ {told.cure}",) if told.cure else ())):
            call.line(f"  {line}")
        if finding:
            call.line(
                f"finding {finding} names the acceptable checks that rest on another order; see `refstd lookback {finding}`"
            )
    return 0 if told.order else 6
