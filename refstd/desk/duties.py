"""What is due: every duty of every item, by date and by use, with its state and where the interval comes from."""

from dataclasses import dataclass
from datetime import date

from refstd.desk.items import ItemShown, items
from refstd.desk.serviceability import all_facts, status_of
from refstd.register.lab import Lab, Look, When
from refstd.rules.duties import AWAITING, Duty, duty_state
from refstd.rules.verdict import Verdict

NOT_IN_USE = ("retired", "lost")
RECEIPT = "receipt"
OWN = "this lab"  # how what the lab does itself is named, beside its name


@dataclass(frozen=True, slots=True)
class DueRow:
    """One duty of one item, with the item's verdict.

    due_on: by the calendar, as the schedule has it; deferred_to: the end of a deferral that holds. uses: such as '7 of 10
    checks used'; used_up_about: an estimate at the pace so far. done_by: the laboratory, '' if not known.
    """

    asset_no: str
    name: str
    kind: str
    activity: str
    due_on: date | None
    last_done_on: date | None
    state: str
    days: int | None  # until the last day of validity by the calendar; negative when it has passed
    every: str
    how_often: str
    source: str
    record: str
    item_state: str
    location: str
    verdict: Verdict
    deferred_to: date | None
    deferral: str  # by whom and why
    uses: str
    used_up_about: date | None
    done_by: str

    @property
    def first_on(self) -> date | None:
        """Return when it falls due, by date or, as estimated, by use, whichever comes first."""
        known = [day for day in (self.deferred_to or self.due_on, self.used_up_about) if day is not None]
        return min(known, default=None)


def due_list(lab: Lab, when: When, *, within_days: int | None = None) -> tuple[DueRow, ...]:
    """Return the duties, most urgent first; `within_days` keeps what falls due by then, and what is late or never done."""
    with lab.look(when) as look:
        return due_within(look, within_days=within_days)


def due_within(look: Look, *, within_days: int | None = None) -> tuple[DueRow, ...]:
    """Return the duties within a look."""
    rows = [
        due_row(look, item, duty, status_of(look, item.equipment_id).verdict)
        for number, item in items(look).items()
        if item.state not in NOT_IN_USE
        for duty in (*_awaited(look, item), *all_facts(look)[number].duties)
    ]
    if within_days is not None:
        rows = [r for r in rows if _falls_due(look, r, within_days)]
    return tuple(sorted(rows, key=lambda r: (r.state != "never done", r.first_on or date.max, r.asset_no, r.activity)))


def _awaited(look: Look, item: ItemShown) -> tuple[Duty, ...]:
    """Return the receipt inspection that an item waits for: no schedule asks for it, its state does."""
    if item.state != AWAITING:
        return ()
    record = all_facts(look)[item.equipment_id].state_record
    return (Duty(RECEIPT, None, None, "once", f"it is {AWAITING}", record, done_by=OWN),)


def _falls_due(look: Look, row: DueRow, within_days: int) -> bool:
    """Return whether a duty is late, was never done, or falls due within so many days."""
    if row.state in ("never done", "overdue", "before use"):
        return True
    return row.first_on is not None and (row.first_on - look.today).days <= within_days


def due_row(look: Look, item: ItemShown, duty: Duty, verdict: Verdict) -> DueRow:
    """Return a duty of an item as it stands on the day of a look, with the item's verdict."""
    end, put_off = duty.valid_to(look.today), duty.deferred_to(look.today)
    return DueRow(
        item.asset_no, item.name, item.kind, duty.activity, duty.due_on, duty.last_done_on,
        duty_state(duty, look.today, look.due_soon_days, item.state), (end - look.today).days if end else None, duty.every,
        duty.how_often, duty.source, duty.record, item.state, item.location, verdict, put_off,
        f"{duty.put_off.by}: {duty.put_off.why}" if duty.put_off and put_off else "",
        duty.uses.in_words() if duty.uses else "", duty.uses.used_up_on(look.today) if duty.uses else None, duty.done_by,
    )  # fmt: skip
