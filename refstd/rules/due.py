"""When an item is due, by the calendar and by use, and how that stands today."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from dateutil.relativedelta import relativedelta

DueState = Literal["never done", "overdue", "before use", "due soon", "deferred", "not due"]
# Evidence within the last quarter of the interval before a fixed date is that date's own, done early. Without this, what
# is done a week early would be due again a week later; with it, evidence never counts longer than 1.25 intervals.
EARLY_PART = 4


def due_on(anchor: date, every: relativedelta, n: int = 1) -> date:
    """Return the n-th due date after the anchor: anchor + n × every, the end of the month right.

    A day that a month lacks becomes that month's last day (31 January + 1 month = 28 or 29 February). Always counted
    from the anchor, never by adding again: 31 January + 2 months is 31 March, though 28 February + 1 month is 28 March.
    Clamping is the rule because a calendar recurrence on day 29, 30 or 31 (RFC 5545 3.3.10) skips short months.
    A negative n looks back. ValueError for an interval that is empty, has hours, or leads out of the calendar.
    """
    if not every:
        raise ValueError("The interval is empty. Give a number of days, weeks, months or years.")
    try:
        result = anchor + every * n
    except (ValueError, OverflowError) as problem:
        raise ValueError(f"{n} times the interval after {anchor} leaves the calendar. Give a shorter one.") from problem
    if isinstance(result, datetime):
        raise ValueError("Due dates are days. Give the interval in days, weeks, months or years, from a day.")
    return result


def state_of(due_on: date | None, today: date, soon_days: int) -> DueState:
    """Return how a due date stands today; None means that it was never done.

    The due date is the last day of validity: due today is not yet overdue, it is 'due soon'. Due soon is within
    `soon_days` days from today, both ends included. ValueError if soon_days is negative.
    """
    if soon_days < 0:
        raise ValueError(f"soon_days must be 0 or more, not {soon_days}.")
    if due_on is None:
        return "never done"
    left = (due_on - today).days
    if left < 0:
        return "overdue"
    return "due soon" if left <= soon_days else "not due"


def next_fixed_date(counted_from: date, every: relativedelta, done: date) -> date:
    """Return the fixed date up to which evidence of a day counts; the dates are counted_from + n × every, n of any sign.

    It is the first date after that day; or the one after it, where the day lies in the last quarter (by days) of the
    interval before the first: that was the date's own calibration, done early.
    """
    shortest, longest = (every.years * 12 + every.months) * 28, (every.years * 12 + every.months) * 31
    since = (done - counted_from).days
    n = since // ((longest if since >= 0 else shortest) + every.days) - 1
    while due_on(counted_from, every, n) <= done:
        n += 1
    first, before = due_on(counted_from, every, n), due_on(counted_from, every, n - 1)
    early = (first - done).days * EARLY_PART <= (first - before).days
    return due_on(counted_from, every, n + 1) if early else first


def calendar_due(
    anchor: str, every: relativedelta, counted_from: date | None, done: date, used_on: Sequence[date] = ()
) -> date | None:
    """Return until when evidence of the day `done` counts, by an anchor; None: not used since, so it does not age.

    used_on: the days of use in order; from first use on (that day included) an item ages, on the shelf it does not.
    """
    if anchor == "fixed calendar":
        assert counted_from is not None
        return next_fixed_date(counted_from, every, done)
    if anchor == "first use":
        first = next((day for day in used_on if day >= done), None)
        return due_on(first, every) if first else None
    return due_on(done, every)


@dataclass(frozen=True, slots=True)
class Uses:
    """How often an item was used since its last evidence, the day of the evidence included, of how often it may be.

    since_days: how many days that evidence is old, for the pace.
    """

    made: int
    allowed: int
    what: str  # checks, days of use or check-outs
    since_days: int

    def in_words(self) -> str:
        return f"{self.made} of {self.allowed} {self.what} used"

    @property
    def used_up(self) -> bool:
        """As many as allowed are made: the next one would be one too many."""
        return self.made >= self.allowed

    def used_up_on(self, today: date) -> date | None:
        """Return about when it is used up at the pace so far; None where there is no use yet. An estimate, no limit."""
        if not self.made or self.used_up:
            return today if self.used_up else None
        ahead = (self.allowed - self.made) * max(self.since_days, 1) // self.made
        return today + timedelta(days=min(ahead, 36_500))


def state_of_uses(uses: Uses, today: date, soon_days: int) -> DueState:
    """Return how a duty by use stands: due soon where it would be used up within `soon_days` at the pace so far."""
    if uses.used_up:
        return "overdue"
    about = uses.used_up_on(today)
    return "due soon" if about is not None and (about - today).days <= soon_days else "not due"


_URGENT: tuple[DueState, ...] = ("never done", "overdue", "before use", "due soon", "deferred", "not due")


def whichever_first(*states: DueState) -> DueState:
    """Return the most urgent of several: a duty by calendar and by use is due by whichever comes first."""
    return min(states, key=_URGENT.index, default="not due")
