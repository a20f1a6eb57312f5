"""Deferring a due date: by quality, before it has passed, to a day; withdrawn by quality, ended by new evidence."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import NotFound, Refusal
from refstd.desk.entry import Day, Draft, NeededWords, Number
from refstd.desk.items import items_of
from refstd.desk.known import named
from refstd.desk.owed import deferral_record, deferrals_of
from refstd.desk.people import code_of, may
from refstd.desk.schedules import Activity, schedule_in_force
from refstd.desk.serviceability import facts_of
from refstd.register.equipment import Deferral, Equipment
from refstd.register.lab import Change, Lab, Look
from refstd.register.log import LogEntry
from refstd.register.revisions import standing
from refstd.rules.authority import refuse_own
from refstd.rules.duties import Duty

ACT = "defer a due date"
IN_FORCE = "in force"
WITHDRAWS = "withdraws the one before"


class DeferralDraft(Draft):
    """A due date to defer: of what, to which day, why."""

    asset_no: Number = Field(title="asset number")
    activity: Activity = "calibration"
    until: Day = Field(
        title="deferred to", description="the last day of validity; after it the item is overdue as ever"
    )
    why: NeededWords = Field(title="reason", description="why the item may be used until then")


@dataclass(frozen=True, slots=True)
class DeferralShown:
    """A deferral as on record; `stands` says whether it counts on the day of the look, and if not what ended it."""

    asset_no: str
    activity: str
    due_on: date
    until: date
    person: str
    why: str
    happened_at: datetime
    withdrawn: bool
    stands: str
    entry: int

    def in_words(self) -> str:
        if self.withdrawn:
            return (
                f"{self.asset_no}: {self.activity} is due on {self.due_on} again; the deferral is withdrawn: {self.why}"
            )
        return (
            f"{self.asset_no}: {self.activity} due {self.due_on} deferred to {self.until} by {self.person}: {self.why}"
        )


def defer(lab: Lab, draft: DeferralDraft, *, by: str, now: datetime, operation: str = "") -> DeferralShown:
    """Defer a due date that has not passed, to a later day. One for the same due date takes the place of the one before.

    Refused for whoever set the schedule, for a due date that has passed (also one that was deferred before), and where
    no date is due. A limit by use is not put off by it.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, ACT)
        row = keep_deferral(change, draft)
        change.record(
            "due date deferred", item=draft.asset_no, activity=draft.activity, due_on=str(row.due_on), until=str(row.until)
        )  # fmt: skip
        return _shown(change, row, IN_FORCE)


def keep_deferral(change: Change, draft: DeferralDraft) -> Deferral:
    """Add the row of a deferral."""
    item = named(change, Equipment, draft.asset_no)
    where = f"{draft.activity} of {item.asset_no}"
    schedule = schedule_in_force(change, item.id, draft.activity)
    owed = facts_of(change, [item.id], evidence=False)[item.id].duties
    duty = next((d for d in owed if d.activity == draft.activity), None)
    if schedule is None or duty is None:
        raise NotFound(f"{item.asset_no} owes no {draft.activity}", "", f"See `refstd show {item.asset_no}`.")
    if duty.due_on is None:
        missing = "was never done" if duty.last_done_on is None else "has no due date"
        raise Refusal(
            f"{where} {missing}, so that nothing can be deferred", duty.record, "Have it done, or set another schedule."
        )
    if change.today > duty.due_on:
        raise Refusal(
            f"{where} was due on {duty.due_on}", "a due date is deferred before it has passed",
            f"Have the {draft.activity} done and file the evidence.",
        )  # fmt: skip
    if draft.until <= duty.due_on:
        raise Refusal(f"{where} is due on {duty.due_on} anyhow", f"deferred to {draft.until}", "Give a later day.")
    set_by = change.session.get_one(LogEntry, schedule.entry).person
    refuse_own(f"defer the {where}, whose schedule {set_by} set", code=change.by.code, maker=set_by)
    before = deferrals_of(change, [item.id]).get((item.id, draft.activity))
    return change.add(
        Deferral(
            equipment_id=item.id, activity=draft.activity, due_on=duty.due_on, until=draft.until, person_id=change.by.person_id,
            withdrawn=False, supersedes_id=before.id if before else None, why=draft.why, happened_at=change.instant,
        )
    )  # fmt: skip


def withdraw_deferral(
    lab: Lab, asset_no: str, activity: str, why: str, *, by: str, now: datetime, operation: str = ""
) -> DeferralShown:
    """Withdraw a deferral that is in force: the due date counts again as it was. Refused for one that has ended."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, ACT)
        item = named(change, Equipment, asset_no)
        before = deferrals_of(change, [item.id]).get((item.id, activity))
        if before is None:
            raise NotFound(f"no {activity} of {item.asset_no} is deferred", "", f"See `refstd show {item.asset_no}`.")
        stands = _stands(change, before, True, facts_of(change, [item.id], evidence=False)[item.id].duties)
        if stands != IN_FORCE:
            raise Refusal(
                f"the deferral of the {activity} of {item.asset_no} to {before.until} counts no longer: {stands}",
                deferral_record(before), f"There is nothing to withdraw. See `refstd show {item.asset_no}`.",
            )  # fmt: skip
        if not why.strip():
            raise Refusal("withdrawing a deferral needs a reason", item.asset_no, "Give it with --why.")
        row = change.add(
            Deferral(
                equipment_id=item.id, activity=activity, due_on=before.due_on, until=before.until, person_id=change.by.person_id,
                withdrawn=True, supersedes_id=before.id, why=why.strip(), happened_at=change.instant,
            )
        )  # fmt: skip
        change.record("deferral withdrawn", item=item.asset_no, activity=activity, due_on=str(row.due_on))
        return _shown(change, row, WITHDRAWS)


def deferrals_in(look: Look) -> tuple[DeferralShown, ...]:
    """Return every deferral within a look, oldest first, with those that count no longer."""
    rows = (
        look.session.execute(select(Deferral).where(Deferral.entry <= look.upto).order_by(Deferral.id)).scalars().all()
    )
    facts = facts_of(
        look, {row.equipment_id for row in rows}, evidence=False
    )  # each item's duties once, however many rows
    last = {row.id for row in look.session.execute(standing(Deferral, look.upto)).scalars()}
    return tuple(_shown(look, row, _stands(look, row, row.id in last, facts[row.equipment_id].duties)) for row in rows)


def _shown(look: Look, row: Deferral, stands: str) -> DeferralShown:
    item = items_of(look, [row.equipment_id])[row.equipment_id]
    return DeferralShown(
        item.asset_no, row.activity, row.due_on, row.until, code_of(look, row.person_id), row.why, row.happened_at, row.withdrawn,
        stands, row.entry,
    )  # fmt: skip


def _stands(look: Look, row: Deferral, last: bool, duties: Sequence[Duty]) -> str:
    if row.withdrawn:
        return WITHDRAWS
    if not last:
        return "withdrawn, or another took its place"
    if look.today > row.until:
        return f"ended on {row.until}"
    own = deferral_record(row)
    counts = any(d.put_off and d.put_off.record == own for d in duties)
    return IN_FORCE if counts else "ended by new evidence or another schedule"
