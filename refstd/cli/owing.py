"""What items owe: setting a schedule, deferring a due date, withdrawing a deferral."""

from typing import TYPE_CHECKING

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.group import Act, Answering, pass_call

if TYPE_CHECKING:
    from refstd.desk.deferrals import DeferralShown

CALIBRATION = "calibration"


@click.command(
    cls=Act,
    example=[
        'refstd schedule B-102 calibration --months 12 --source "written practice 4.2" --as ORLA',
        'refstd schedule P-202 inspection --months 6 --uses 50 --use checks --source "written practice 4.3" --as ORLA',
        'refstd schedule B-103 calibration --once --source "procedure ET-AL-01, 5.2" --why "depth certified once" --as ORLA',
    ],
)
@click.argument("asset", metavar="ASSET")
@click.argument("activity", metavar="[ACTIVITY]", default=CALIBRATION)
@click.option("--months", default="", metavar="N", help="Every so many months.")
@click.option("--days", default="", metavar="N", help="Every so many days.")
@click.option(
    "--uses",
    default="",
    metavar="N",
    help="After so many uses; beside months or days, whichever comes first.",
)
@click.option("--use", default="", metavar="WHAT", help="What is counted: checks, days of use or check-outs.")
@click.option("--once", is_flag=True, help="Owed once.")
@click.option(
    "--anchor", default="last done", metavar="WORDS", help="Counted from: last done, fixed calendar or first use."
)
@click.option("--counted-from", default="", metavar="DAY", help="A day of the fixed calendar.")
@click.option(
    "--done-by", default="", metavar="NAME", help="The laboratory that does it; left out: that of the last certificate."
)
@click.option("--source", required=True, help="Where the interval comes from.")
@click.option("--end", is_flag=True, help="It is owed no longer.")
@click.option("--why", default="", help="The reason, where it takes another schedule's place.")
@pass_call
def schedule(
    call: Call, asset: str, activity: str, months: str, days: str, uses: str, use: str, once: bool, anchor: str,
    counted_from: str, done_by: str, source: str, end: bool, why: str,
) -> None:  # fmt: skip
    """Set what an item owes: by the calendar, by use, by whichever comes first, or once.

    ACTIVITY is calibration (left out), verification, comparison or inspection.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.schedules import ScheduleDraft, set_schedule

    if once is bool(months or days or uses):
        raise WrongUsage(
            "a schedule has an interval, or is owed once", "", "Give --months, --days or --uses, or --once alone."
        )
    values = {
        "asset_no": asset, "activity": activity, "every_months": months, "every_days": days, "every_uses": uses, "use": use,
        "anchor": anchor, "counted_from": counted_from, "done_by": done_by, "source": source, "why": why,
        "active": "no" if end else "yes",
    }  # fmt: skip
    draft = draft_or_refuse(ScheduleDraft, values, f"schedule of {asset}")
    with call.store() as lab:
        set_schedule(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"{draft.asset_no}: {draft.activity} {'owed no longer' if end else 'scheduled'}")


@click.command(
    cls=Answering,
    example=[
        'refstd defer B-102 --until 2026-04-30 --why "the laboratory has no place before" --as GRETA',
        'refstd defer B-102 --withdraw --why "the laboratory found a place" --as GRETA',
        "refstd list deferrals",
    ],
)
@click.argument("asset", metavar="ASSET")
@click.argument("activity", metavar="[ACTIVITY]", default=CALIBRATION)
@click.option(
    "--until", default="", metavar="DAY", help="The last day of validity; after it the item is overdue as ever."
)
@click.option("--withdraw", is_flag=True, help="The due date counts again as it was.")
@click.option("--why", required=True, help="The reason.")
@pass_call
def defer(call: Call, asset: str, activity: str, until: str, withdraw: bool, why: str) -> None:
    """Defer a due date that has not passed, or withdraw a deferral. Takes the authority 'quality'.

    Not by the person who set the schedule. New evidence of that activity ends a deferral; a limit by use is not put off by it.
    """
    from refstd.desk.deferrals import DeferralDraft, withdraw_deferral
    from refstd.desk.deferrals import defer as put_off
    from refstd.desk.entry import draft_or_refuse

    if withdraw is bool(until):
        raise WrongUsage("a due date is either deferred to a day or the deferral withdrawn", "", "Give --until DAY, or --withdraw.")  # fmt: skip
    values = {"asset_no": asset, "activity": activity, "until": until, "why": why}
    draft = None if withdraw else draft_or_refuse(DeferralDraft, values, f"deferral of {asset}")
    with call.store() as lab:
        by, now = call.who(), call.now(lab)
        if draft is None:
            shown = withdraw_deferral(lab, asset, activity, why, by=by, now=now)
        else:
            shown = put_off(lab, draft, by=by, now=now)
    if call.json:
        call.show_json(_as_json(shown))
    else:
        call.line(shown.in_words())


def _as_json(d: "DeferralShown") -> dict[str, object]:
    from refstd.reports.heading import instant

    return {
        "schema": "refstd.deferral/1", "item": d.asset_no, "activity": d.activity, "due_on": str(d.due_on), "until": str(d.until),
        "person": d.person, "why": d.why, "happened_at": instant(d.happened_at), "withdrawn": d.withdrawn, "log_entry": d.entry,
    }  # fmt: skip
