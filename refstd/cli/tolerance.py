"""The tolerance of an item's value: setting it, with the decision rule if the lab names one, and ending it."""

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.group import Act, pass_call


@click.command(
    cls=Act,
    example=[
        'refstd tolerance B-102 --notch "1.0 mm" --lower 0.95 --upper 1.05 --source "drawing RS-7, note 3" --rule simple --as ORLA',
        'refstd tolerance B-102 --notch "1.0 mm" --end --why "the drawing was revised" --as ORLA',
        "refstd list tolerances",
    ],
)
@click.argument("asset", metavar="ASSET")
@click.option("--notch", default="", metavar="LABEL", help="The notch; left out: a value of the whole item.")
@click.option(
    "--quantity", default="depth", metavar="WORDS", help="Depth (left out), length, width, conductivity or another."
)
@click.option("--lower", default="", metavar="N", help="The lower limit.")
@click.option("--upper", default="", metavar="N", help="The upper limit.")
@click.option(
    "--unit", default="mm", metavar="UNIT", help="Of the limits: mm (left out), µm, %IACS, MS/m, dB, °, % or kHz."
)
@click.option("--source", default="", help="Where the limits come from, with the paragraph.")
@click.option(
    "--rule", default="", metavar="RULE", help="simple, guard band or iso 14253-1; left out: nothing is judged."
)
@click.option("--ratio", default="", metavar="R", help="Of a guard band w = r·U.")
@click.option("--end", is_flag=True, help="It holds no longer.")
@click.option("--why", default="", help="The reason, where it takes another one's place or ends it.")
@pass_call
def tolerance(
    call: Call, asset: str, notch: str, quantity: str, lower: str, upper: str, unit: str, source: str, rule: str, ratio: str,
    end: bool, why: str,
) -> None:  # fmt: skip
    """Set the limits of an item's certified value, for papers filed from now on; those on record stay as judged.

    Without a decision rule a value is compared and not judged: there is no default rule.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.tolerances import ToleranceDraft, end_tolerance, set_tolerance

    if end:
        if lower or upper or source or rule or ratio:
            raise WrongUsage(
                "a tolerance is either set or ended", "--end", "Give --end and --why alone, or limits and their source."
            )
        with call.store() as lab:
            end_tolerance(lab, asset, notch, quantity, why, by=call.who(), now=call.now(lab))
        call.line(f"{asset.upper()}: the tolerance of {f'notch {notch}, ' if notch else ''}{quantity} is ended")
        return
    values = {
        "asset_no": asset, "notch": notch, "quantity": quantity, "lower_limit": lower, "upper_limit": upper, "unit": unit,
        "source": source, "decision_rule": rule, "guard_ratio": ratio, "why": why,
    }  # fmt: skip
    draft = draft_or_refuse(ToleranceDraft, values, f"tolerance of {asset}")
    with call.store() as lab:
        set_tolerance(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"{draft.asset_no}: {draft.in_words()}; for papers filed from now on")
