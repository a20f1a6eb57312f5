"""Answering a proposed interval: a person with the authority takes it, which sets the new schedule, or turns it down."""

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from refstd.base.errors import NotFound, Refusal
from refstd.desk.entry import Draft, NeededWords, Number, Words, draft_or_refuse, whole
from refstd.desk.intervals import (
    TARGET_PERCENT,
    DutyIntervals,
    Proposed,
    ReviewShown,
    intervals_within,
    rests_on,
    review_shown,
)
from refstd.desk.known import named
from refstd.desk.people import may
from refstd.desk.schedules import Activity, ScheduleDraft, keep_schedule
from refstd.register.equipment import Equipment, IntervalReview, Schedule
from refstd.register.lab import Change, Lab
from refstd.rules.proposals import Method

ACT = "review an interval"
TargetPercent = Annotated[int, BeforeValidator(whole(50, 99))]


class ReviewDraft(Draft):
    """An answer to the interval that a method proposes for a duty."""

    asset_no: Number = Field(title="asset number")
    activity: Activity = "calibration"
    method: Method
    answer: Literal["take", "turn down"] = Field("take", description="taking it sets the schedule anew")
    why: NeededWords = Field(title="reason")
    proposed: Words = Field("", description="the interval as it was shown; refused where it is another by now")
    target_percent: TargetPercent = TARGET_PERCENT


def review_interval(lab: Lab, draft: ReviewDraft, *, by: str, now: datetime, operation: str = "") -> ReviewShown:
    """Take a proposed interval, with a new schedule in the same act, or turn it down.

    Refused without the authority, and where the method proposes no other interval or another one than was shown.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, ACT)
        row = keep_review(change, draft)
        change.record(
            "interval reviewed", item=draft.asset_no, activity=draft.activity, method=draft.method,
            proposed=row.interval_proposed, answer="taken" if row.taken else "turned down",
        )  # fmt: skip
        return review_shown(change, row)


def keep_review(change: Change, draft: ReviewDraft) -> IntervalReview:
    """Add the rows of an answer."""
    item = named(change, Equipment, draft.asset_no)
    found = intervals_within(change, item.asset_no, target_percent=draft.target_percent)
    duty = next((d for d in found if d.activity == draft.activity), None)
    if duty is None:
        raise NotFound(f"{item.asset_no} owes no {draft.activity}", "", f"See `refstd show {item.asset_no}`.")
    proposed = _answerable(duty, draft)
    every = proposed.proposal.every
    assert every is not None
    taken = draft.answer == "take"
    schedule = keep_schedule(change, _schedule(change, duty, proposed, draft)) if taken else None
    return change.add(
        IntervalReview(
            equipment_id=item.id, activity=draft.activity, method=draft.method, rests_on=rests_on(proposed.proposal),
            interval_before=duty.every.in_words(), interval_proposed=every.in_words(), taken=taken,
            schedule_id=schedule.id if schedule else None, person_id=change.by.person_id, why=draft.why, happened_at=change.instant,
        )
    )  # fmt: skip


def _answerable(duty: DutyIntervals, draft: ReviewDraft) -> Proposed:
    """Return the proposal to answer, or refuse."""
    where = f"{duty.activity} of {duty.asset_no}"
    see = f"See `refstd intervals {duty.asset_no}`."
    proposed = duty.of(draft.method)
    if proposed is None or proposed.proposal.every is None:
        says = proposed.proposal.says if proposed else "its uses are not counted"
        raise Refusal(f"'{draft.method}' proposes no other interval for the {where}: {says}", "", see)
    words = proposed.proposal.every.in_words()
    if draft.proposed and draft.proposed != words:
        raise Refusal(f"'{draft.method}' proposes {words} for the {where} by now, not {draft.proposed}", "", see)
    review = proposed.review
    if review is not None and draft.answer == "turn down":
        raise Refusal(
            f"{words} for the {where} was turned down already", f"log entry {review.entry}: {review.why}", see
        )
    return proposed


def _schedule(change: Change, duty: DutyIntervals, proposed: Proposed, draft: ReviewDraft) -> ScheduleDraft:
    """Return the schedule in force with the proposed interval in its place."""
    every, old = proposed.proposal.every, change.session.get_one(Schedule, duty.schedule_id)
    assert every is not None
    method = f"{draft.method}, {proposed.proposal.source.split(';')[0]}"  # the rest stands with the review
    values = {
        "asset_no": duty.asset_no, "activity": draft.activity, "every_months": every.months, "every_days": every.days,
        "every_uses": every.uses, "use": every.use, "anchor": old.anchor, "counted_from": old.counted_from, "done_by": old.done_by,
        "source": f"interval review of {change.today} by {change.by.code}: {method}",
        "why": draft.why,
    }  # fmt: skip
    return draft_or_refuse(ScheduleDraft, values, f"schedule of {duty.asset_no}")
