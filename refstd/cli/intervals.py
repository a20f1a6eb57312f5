"""Proposed intervals: what each method says, and a person's answer to it."""

from typing import TYPE_CHECKING

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.group import Answering, Question, pass_call

if TYPE_CHECKING:
    from refstd.desk.intervals import ReviewShown

TARGET = click.option(
    "--target", default="95", metavar="PERCENT", help="The share wanted in tolerance at an interval's end, 50 to 99."
)


@click.command(
    cls=Question, example=["refstd intervals", "refstd intervals B-102", "refstd intervals B-102 --target 85 --json"]
)
@click.argument("asset", metavar="[ITEM]", default="")
@TARGET
@pass_call
def intervals(call: Call, asset: str, target: str) -> None:
    """Say what the certificates of an item, or of all, speak for: a longer interval, a shorter one, or the one in force.

    By named methods, each with its data and the resulting date. Nothing changes by itself: answer with `refstd review`.
    """
    from refstd.reports.intervals import intervals_sheet

    share = _percent(target)
    with call.store() as lab:
        call.show(intervals_sheet(lab, call.when(lab), asset.strip().upper(), share))


@click.command(
    cls=Answering,
    example=[
        'refstd review B-102 --take staircase --why "three in a row, same laboratory" --as GRETA',
        'refstd review B-102 --turn-down "control chart" --why "two laboratories, two methods" --as GRETA',
        "refstd list reviews",
    ],
)
@click.argument("asset", metavar="ITEM")
@click.argument("activity", metavar="[ACTIVITY]", default="calibration")
@click.option("--take", default="", metavar="METHOD", help="Take what this method proposes: it sets the schedule anew.")
@click.option("--turn-down", default="", metavar="METHOD", help="Leave the interval as it is, on record.")
@click.option("--why", required=True, help="The reason.")
@TARGET
@pass_call
def review(call: Call, asset: str, activity: str, take: str, turn_down: str, why: str, target: str) -> None:
    """Take or turn down a proposed interval. Takes the authority 'responsible level 3' or 'quality'.

    METHOD is staircase, control chart, in-use time, reliability or look before.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.reviews import ReviewDraft, review_interval

    if bool(take) is bool(turn_down):
        raise WrongUsage("a proposal is either taken or turned down", "", "Give --take METHOD, or --turn-down METHOD.")
    values = {
        "asset_no": asset, "activity": activity, "method": take or turn_down, "answer": "take" if take else "turn down", "why": why,
        "target_percent": target,
    }  # fmt: skip
    draft = draft_or_refuse(ReviewDraft, values, f"review of {asset}")
    with call.store() as lab:
        shown = review_interval(lab, draft, by=call.who(), now=call.now(lab))
    if call.json:
        call.show_json(_as_json(shown))
    else:
        call.line(shown.in_words())


def _percent(text: str) -> int:
    if text.isascii() and text.isdigit() and 50 <= int(text) <= 99:
        return int(text)
    raise WrongUsage(f"'{text[:20]}' is no target", "--target", "Give a whole number from 50 to 99, in %.")


def _as_json(r: "ReviewShown") -> dict[str, object]:
    from refstd.reports.heading import instant

    return {
        "schema": "refstd.review/1", "item": r.asset_no, "activity": r.activity, "method": r.method, "rests_on": r.rests_on,
        "interval_before": r.interval_before, "interval_proposed": r.interval_proposed, "taken": r.taken, "person": r.person,
        "why": r.why, "happened_at": instant(r.happened_at), "log_entry": r.entry,
    }  # fmt: skip
