"""What is due: every duty of every item in use, with its state and where the interval comes from."""

from dataclasses import dataclass
from datetime import date

from refstd.desk.items import items
from refstd.desk.serviceability import all_facts, status_of
from refstd.register.equipment import Schedule
from refstd.register.lab import Lab, Look, When
from refstd.register.revisions import standing
from refstd.rules.serviceability import duty_state
from refstd.rules.verdict import Verdict

NOT_IN_USE = ("retired", "lost")
STATE_ORDER = {"never done": 0, "overdue": 1, "due soon": 2, "not due": 3}


@dataclass(frozen=True, slots=True)
class DueRow:
    """One duty of one item, with the item's verdict."""

    asset_no: str
    name: str
    kind: str
    activity: str
    due_on: date | None
    last_done_on: date | None
    state: str
    days: int | None  # until the due date; negative when overdue
    every: str
    source: str
    record: str
    item_state: str
    location: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class ScheduleShown:
    """What an item owes, as on record."""

    asset_no: str
    activity: str
    every_months: int | None
    every_days: int | None
    anchor: str
    counted_from: date | None
    source: str
    active: bool
    why: str


def schedules_in(look: Look) -> tuple[ScheduleShown, ...]:
    """Return the schedules in force, within a look, in the order in which they were set."""
    registered = items(look)
    return tuple(
        ScheduleShown(
            registered[s.equipment_id].asset_no, s.activity, s.every_months, s.every_days, s.anchor, s.counted_from, s.source,
            s.active, s.why,
        )
        for s in look.session.execute(standing(Schedule, look.upto)).scalars()
    )  # fmt: skip


def due_list(lab: Lab, when: When, *, within_days: int | None = None) -> tuple[DueRow, ...]:
    """Return the duties, most urgent first; `within_days` keeps what falls due by then, and what is late or never done."""
    with lab.look(when) as look:
        return due_within(look, within_days=within_days)


def due_within(look: Look, *, within_days: int | None = None) -> tuple[DueRow, ...]:
    """Return the duties within a look."""
    rows = []
    for number, item in items(look).items():
        if item.state in NOT_IN_USE:
            continue
        for duty in all_facts(look)[number].duties:
            days = (duty.due_on - look.today).days if duty.due_on else None
            state = duty_state(duty, look.today, look.due_soon_days)
            if within_days is not None and days is not None and days > within_days:
                continue
            if within_days is not None and state == "not due" and days is None:
                continue
            rows.append(
                DueRow(
                    item.asset_no, item.name, item.kind, duty.activity, duty.due_on, duty.last_done_on, state, days, duty.every,
                    duty.source, duty.record, item.state, item.location, status_of(look, number).verdict,
                )
            )  # fmt: skip
    rows.sort(
        key=lambda r: (
            STATE_ORDER[r.state] if r.state == "never done" else 1,
            r.due_on or date.min,
            r.asset_no,
            r.activity,
        )
    )
    return tuple(rows)
