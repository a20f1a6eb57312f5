"""What items owe: setting a schedule, by the calendar, by use, by whichever comes first, or once."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from pydantic import Field

from refstd.base.errors import NotAllowed, Problem, Refusal
from refstd.desk.entry import Draft, NeededWords, Number, OptionalDay, OptionalWhole, Words, YesNo, refuse_if, row_from
from refstd.desk.items import items
from refstd.desk.known import named
from refstd.desk.owed import duties_of
from refstd.desk.papers import certificates_in_force
from refstd.desk.people import may
from refstd.register.equipment import Equipment, Schedule
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.log import LogEntry
from refstd.register.revisions import standing
from refstd.rules.authority import allows, refuse_own
from refstd.rules.duties import duty_state

Activity = Literal["calibration", "verification", "comparison", "inspection"]


class ScheduleDraft(Draft):
    """What an item owes, how often, counted from what, and who says so."""

    asset_no: Number
    activity: Activity
    every_months: OptionalWhole = Field(None, description="months or days, not both; neither and no uses: owed once")
    every_days: OptionalWhole = None
    every_uses: OptionalWhole = Field(
        None, description="beside months or days, whichever comes first; or alone. The last allowed use uses it up"
    )
    use: Literal["", "checks", "days of use", "check-outs"] = Field("", description="what the uses are counted in")
    anchor: Literal["last done", "fixed calendar", "first use"] = Field(
        "last done", description="what months or days count from; from first use, an item on the shelf does not age"
    )
    counted_from: OptionalDay = Field(
        None, description="for a fixed calendar: one of its days; done in the last quarter before a day counts for it"
    )
    done_by: Words = Field("", description="the laboratory that does it; empty: that of the last certificate")
    source: NeededWords = Field(description="where the interval comes from: written practice, procedure, standard")
    active: YesNo = True
    why: Words = ""


@dataclass(frozen=True, slots=True)
class ScheduleShown:
    """What an item owes, as on record."""

    asset_no: str
    activity: str
    every_months: int | None
    every_days: int | None
    every_uses: int | None
    use: str
    anchor: str
    counted_from: date | None
    done_by: str
    source: str
    active: bool
    why: str


def set_schedule(lab: Lab, draft: ScheduleDraft, *, by: str, now: datetime, operation: str = "") -> None:
    """Enter what an item owes; a later schedule for the same activity supersedes the one in force, with a reason.

    Where it would lift a due date that has passed, it asks for the authority 'quality', as a deferral does.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep schedules")
        keep_schedule(change, draft)
        change.record("schedule set", item=draft.asset_no, activity=draft.activity)


def keep_schedule(change: Change, draft: ScheduleDraft) -> Schedule:
    """Add the row of a schedule."""
    refuse_if(_problems(draft), f"schedule of {draft.asset_no}")
    item = named(change, Equipment, draft.asset_no)
    before = schedule_in_force(change, item.id, draft.activity)
    if before is not None and not draft.why:
        raise Refusal(f"{item.asset_no} has a schedule for {draft.activity}", "", "Say why it changes.")
    late = _is_late(change, item, draft.activity)
    row = change.add(
        row_from(
            Schedule,
            draft,
            equipment_id=item.id,
            supersedes_id=before.id if before else None,
            happened_at=change.instant,
        )
    )
    if before is not None and late and not _is_late(change, item, draft.activity):
        _refuse_lifting(change, item, before)
    return row


def _is_late(change: Change, item: Equipment, activity: str) -> bool:
    """Return whether an activity is overdue by the schedule in force, by date or by use."""
    papers = certificates_in_force(change, [item.id])
    owed = duties_of(change, papers, [item.id], {item.id: item.asset_no}).get(item.id, ())
    states = (duty_state(d, change.today, change.due_soon_days) for d in owed if d.activity == activity)
    return "overdue" in states


def _refuse_lifting(change: Change, item: Equipment, before: Schedule) -> None:
    """Refuse a schedule by which what is overdue would no longer be, unless by quality and not for one's own schedule.

    It does what a deferral does, which quality alone may do, and asks for no less.
    """
    act, set_by = "defer a due date", change.session.get_one(LogEntry, before.entry).person
    what = f"the {before.activity} of {item.asset_no} is overdue, and by this schedule it would no longer be"
    remedy = f"Have the {before.activity} done and file the evidence, or ask someone else with the authority 'quality'."
    if not allows(act, role=change.by.role, authorities=change.by.authorities):
        raise NotAllowed(what, f"{change.by.code} may not {act}", remedy)
    refuse_own(
        f"lengthen the interval: {what}, and {set_by} set the one in force",
        code=change.by.code,
        maker=set_by,
        remedy=remedy,
    )


def _problems(draft: ScheduleDraft) -> list[Problem]:
    """Return what contradicts itself in a schedule."""
    problems = []
    by_calendar = draft.every_months is not None or draft.every_days is not None
    if draft.every_months is not None and draft.every_days is not None:
        wrong = "both are given, and only one interval can hold"
        problems.append(Problem("every_months, every_days", wrong, "Give months or days."))
    if draft.every_uses is not None and not draft.use:
        problems.append(Problem("use", "is missing beside the number of uses", "Say what is counted."))
    if draft.every_uses is None and draft.use:
        problems.append(Problem("every_uses", f"is missing beside '{draft.use}'", "Say after how many, or count none."))
    if draft.anchor != "last done" and not by_calendar:
        wrong = f"'{draft.anchor}' anchors an interval, and there is none in months or days"
        problems.append(Problem("anchor", wrong, "Give months or days, or leave 'last done'."))
    if draft.anchor == "fixed calendar" and draft.counted_from is None:
        problems.append(Problem("counted_from", "is missing for a fixed calendar", "Give a day of it."))
    return problems


def schedule_in_force(look: Look, equipment_id: int, activity: str) -> Schedule | None:
    """Return the newest schedule of an item for an activity, ended or not, or None."""
    mine = (Schedule.equipment_id == equipment_id, Schedule.activity == activity)
    return look.session.execute(standing(Schedule, look.upto, *mine)).scalars().first()


def schedule_begun(lab: Lab, asset_no: str, activity: str, when: When) -> dict[str, str]:
    """Return the schedule in force as the fields of its form, to begin another from; without its reason. {} for none."""
    with lab.look(when) as look:
        item = named(look, Equipment, asset_no)
        row = schedule_in_force(look, item.id, activity)
        if row is None:
            return {}
        kept = {
            name: getattr(row, name) for name in ScheduleDraft.model_fields if name not in ("asset_no", "why", "active")
        }
        return {"asset_no": item.asset_no} | {n: str(v) for n, v in kept.items() if v is not None}


def schedules_in(look: Look) -> tuple[ScheduleShown, ...]:
    """Return the schedules in force, within a look, in the order in which they were set."""
    registered = items(look)
    return tuple(
        ScheduleShown(
            registered[s.equipment_id].asset_no, s.activity, s.every_months, s.every_days, s.every_uses, s.use, s.anchor,
            s.counted_from, s.done_by, s.source, s.active, s.why,
        )
        for s in look.session.execute(standing(Schedule, look.upto)).scalars()
    )  # fmt: skip
