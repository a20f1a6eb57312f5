"""What an item owes: how each duty stands on a day, by date and by use, put off or not, and what the verdict says of it."""

from dataclasses import dataclass
from datetime import date

from refstd.base.reason import Reason, Weight
from refstd.rules.due import DueState, Uses, state_of, state_of_uses, whichever_first

# Nobody works with these, so nothing of theirs is late: what has lapsed is to be done before the item is used again.
CALIBRATE_FIRST = "calibrate before use"
AWAITING = "awaiting receipt"
OUT_OF_USE = ("stored", "away at laboratory", CALIBRATE_FIRST, AWAITING)


@dataclass(frozen=True, slots=True)
class PutOff:
    """A due date deferred to a later day by somebody with the authority, before it had passed."""

    until: date
    by: str
    why: str
    record: str


@dataclass(frozen=True, slots=True)
class Duty:
    """What an item owes: `due_on` is the last day of validity by the calendar, None where the calendar sets none.

    every: the interval in words, 'once' where it is owed once. done_by: the laboratory that does it, '' if not known.
    """

    activity: str
    due_on: date | None
    last_done_on: date | None
    every: str
    source: str
    record: str
    uses: Uses | None = None
    put_off: PutOff | None = None
    done_by: str = ""

    @property
    def how_often(self) -> str:
        return self.every if self.every == "once" else f"every {self.every}"

    def deferred_to(self, today: date) -> date | None:
        """Return the end of the deferral that holds on a day. After its end the due date counts as ever."""
        return self.put_off.until if self.put_off and today <= self.put_off.until else None

    def valid_to(self, today: date) -> date | None:
        """Return the last day of validity by the calendar: the due date, or the end of a deferral that holds."""
        return self.deferred_to(today) or self.due_on


def duty_state(duty: Duty, today: date, soon_days: int, item_state: str = "in service") -> DueState:
    """Return how a duty stands: by date or by use, whichever is more urgent.

    One that counts from first use and was done, but not used since, is not due yet; so is one that is owed once and done.
    """
    if duty.last_done_on is None:
        state: DueState = "never done"
    else:
        state = whichever_first(_by_date(duty, today, soon_days), _by_use(duty, today, soon_days))
    if item_state not in OUT_OF_USE:
        return state
    asked_for = item_state == CALIBRATE_FIRST and duty.activity == "calibration"
    return "before use" if asked_for or state in ("never done", "overdue") else "not due"


def _by_date(duty: Duty, today: date, soon_days: int) -> DueState:
    end = duty.valid_to(today)
    if end is None:
        return "not due"
    state = state_of(end, today, soon_days)
    return "deferred" if state == "not due" and duty.deferred_to(today) else state


def _by_use(duty: Duty, today: date, soon_days: int) -> DueState:
    return state_of_uses(duty.uses, today, soon_days) if duty.uses else "not due"


def duty_reasons(asset_no: str, item_state: str, duty: Duty, today: date, soon_days: int) -> list[Reason]:
    """Return what the verdict says of one duty: overdue and never done stop, due soon and deferred advise.

    Of an item that nobody works with only what stops is said: nobody need plan for it.
    """
    cure = f"have the {duty.activity} done and file the evidence"
    if duty.last_done_on is None:
        says = f"{duty.activity} of {asset_no} was never done"
        return [Reason("due", says, "never done", duty.how_often, duty.source, duty.record, cure)]
    shelved = item_state in OUT_OF_USE
    reasons = [
        *_deferral_reasons(asset_no, duty, today),
        *_date_reasons(asset_no, duty, today, soon_days, cure, shelved),
        *_use_reasons(asset_no, duty, today, soon_days, cure),
    ]
    return [r for r in reasons if r.weight is Weight.STOPS] if shelved else reasons


def _date_reasons(asset_no: str, duty: Duty, today: date, soon_days: int, cure: str, shelved: bool) -> list[Reason]:
    state, end = _by_date(duty, today, soon_days), duty.valid_to(today)
    if end is None or state not in ("overdue", "due soon"):
        return []
    days = (today - end).days
    limit = f"due {duty.due_on}, {duty.how_often}"
    if state == "overdue":
        ended = f", deferred to {duty.put_off.until}, which has passed" if duty.put_off else ""
        says = f"{duty.activity} of {asset_no} is overdue since {end}{ended}"
        if shelved:
            says = f"{duty.activity} of {asset_no} lapsed on {end} and is to be done before use{ended}"
        return [Reason("due", says, f"{days} days late", limit, duty.source, duty.record, cure)]
    put_off = f", which is as far as it was deferred (due {duty.due_on})" if end != duty.due_on else ""
    says = f"{duty.activity} of {asset_no} is due on {end}{put_off}"
    plan = f"plan the {duty.activity}"
    return [Reason("due", says, f"in {-days} days", limit, duty.source, duty.record, plan, Weight.ADVISES)]


def _use_reasons(asset_no: str, duty: Duty, today: date, soon_days: int, cure: str) -> list[Reason]:
    state, uses = _by_use(duty, today, soon_days), duty.uses
    if uses is None or state not in ("overdue", "due soon"):
        return []
    figure, limit = uses.in_words(), f"{uses.allowed} {uses.what} since {duty.last_done_on}, {duty.how_often}"
    if state == "overdue":
        says = f"{duty.activity} of {asset_no} is overdue by use: {figure}"
        return [Reason("due", says, figure, limit, duty.source, duty.record, cure)]
    says = f"{duty.activity} of {asset_no} is due by use about {uses.used_up_on(today)}, at the pace so far"
    plan = f"plan the {duty.activity}"
    return [Reason("due", says, figure, limit, duty.source, duty.record, plan, Weight.ADVISES)]


def _deferral_reasons(asset_no: str, duty: Duty, today: date) -> list[Reason]:
    until, put_off = duty.deferred_to(today), duty.put_off
    if until is None or put_off is None:
        return []
    says = f"{duty.activity} of {asset_no} is deferred to {until} by {put_off.by}: {put_off.why}"
    left = f"{(until - today).days} days left"
    return [
        Reason("deferral", says, left, f"due {duty.due_on}, deferred to {until}", f"deferral by {put_off.by} (quality)", put_off.record,
               f"have the {duty.activity} done by {until}", Weight.ADVISES)
    ]  # fmt: skip
