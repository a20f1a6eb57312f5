"""When an item is due, and how that stands today."""

from datetime import date, datetime
from typing import Literal

from dateutil.relativedelta import relativedelta

DueState = Literal["never done", "overdue", "due soon", "not due"]


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
