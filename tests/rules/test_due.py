"""Due dates: documented calendar arithmetic, then what must hold for every anchor and interval."""

from datetime import date, datetime, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import rrulestr
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.due import calendar_due, due_on, next_fixed_date, state_of
from tests.published import calendar_arithmetic

day = date.fromisoformat


@pytest.mark.parametrize(("anchor", "months", "result"), calendar_arithmetic.DOCUMENTED + calendar_arithmetic.OWN)
def test_months_are_added_with_the_end_of_the_month_right(anchor: str, months: int, result: str) -> None:
    assert due_on(day(anchor), relativedelta(months=months)) == day(result)
    assert due_on(day(anchor), relativedelta(months=1), months) == day(result)
    if months % 12 == 0:
        assert due_on(day(anchor), relativedelta(years=1), months // 12) == day(result)


@pytest.mark.parametrize(("anchor", "first", "second", "again", "right"), calendar_arithmetic.ADDED_AGAIN)
def test_due_dates_are_counted_from_the_anchor_never_added_again(
    anchor: str, first: int, second: int, again: str, right: str
) -> None:
    step = due_on(day(anchor), relativedelta(months=first))
    assert due_on(step, relativedelta(months=second)) == day(again)
    assert due_on(day(anchor), relativedelta(months=1), first + second) == day(right)


@pytest.mark.parametrize(("first", "rule", "days"), calendar_arithmetic.SKIPPING)
def test_a_calendar_recurrence_would_skip_months_that_a_due_date_must_not(
    first: str, rule: str, days: list[str]
) -> None:
    recurrence = [d.date() for d in rrulestr(rule, dtstart=datetime.fromisoformat(first))]
    assert recurrence == [day(d) for d in days]
    every = relativedelta(months=1) if "MONTHLY" in rule else relativedelta(years=1)
    ours = [due_on(day(first), every, n) for n in range(len(days))]
    assert [(d.year, d.month) for d in ours] != [(d.year, d.month) for d in recurrence]
    assert {due_on(ours[0], every, n + 1) > ours[n] for n in range(len(days))} == {True}


def test_days_and_weeks_count_as_days() -> None:
    assert due_on(date(2024, 2, 28), relativedelta(days=90)) == date(2024, 2, 28) + timedelta(days=90)
    assert due_on(date(2024, 2, 28), relativedelta(weeks=2), 3) == date(2024, 2, 28) + timedelta(days=42)


def test_a_fixed_day_of_the_month_is_clamped_too() -> None:
    assert due_on(date(2023, 1, 31), relativedelta(months=1, day=31)) == date(2023, 2, 28)


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(1, 60), st.integers(1, 20))
def test_each_due_date_is_in_the_month_due_and_on_the_anchors_day_or_its_last(
    anchor: date, months: int, n: int
) -> None:
    due = due_on(anchor, relativedelta(months=months), n)
    assert (due.year * 12 + due.month) - (anchor.year * 12 + anchor.month) == months * n
    assert due.day == anchor.day or (due.day < anchor.day and (due + timedelta(days=1)).day == 1)
    assert due < due_on(anchor, relativedelta(months=months), n + 1)


@pytest.mark.parametrize(
    ("every", "n", "says"),
    [
        (relativedelta(), 1, "empty"),
        (relativedelta(hours=500), 1, "Due dates are days"),
        (relativedelta(years=5000), 2, "calendar"),
    ],
)
def test_an_interval_without_meaning_is_refused(every: relativedelta, n: int, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        due_on(date(2024, 5, 6), every, n)


TODAY = date(2024, 6, 10)


@pytest.mark.parametrize(
    ("due", "state"),
    [
        (None, "never done"),
        (date(2024, 6, 9), "overdue"),
        (date(2024, 6, 10), "due soon"),  # the due date is the last day of validity
        (date(2024, 7, 10), "due soon"),
        (date(2024, 7, 11), "not due"),
    ],
)
def test_the_due_date_is_the_last_day_of_validity(due: date | None, state: str) -> None:
    assert state_of(due, TODAY, 30) == state


def test_a_negative_notice_is_refused() -> None:
    with pytest.raises(ValueError, match="soon_days"):
        state_of(TODAY, TODAY, -1)


days = st.dates(date(1995, 1, 1), date(2080, 1, 1))
intervals = st.one_of(
    st.integers(1, 60).map(lambda n: relativedelta(months=n)), st.integers(1, 1500).map(lambda n: relativedelta(days=n))
)
use_days = st.lists(days, max_size=6).map(sorted)


@pytest.mark.parametrize(
    ("done", "months", "due"),
    [
        ("2031-01-01", 12, "2032-01-01"),  # done on a date: good to the next
        ("2031-09-30", 12, "2032-01-01"),  # 93 days before: not yet in the last quarter (91 of 365)
        ("2031-10-02", 12, "2033-01-01"),  # 91 days before: that date's own, done early
        ("2031-12-28", 12, "2033-01-01"),
        ("2028-06-01", 12, "2029-01-01"),  # the calendar runs both ways from its day
        ("2031-01-30", 1, "2031-03-01"),
        ("2031-01-20", 1, "2031-02-01"),
    ],
)
def test_done_early_in_the_last_quarter_counts_for_the_fixed_date(done: str, months: int, due: str) -> None:
    """The quarter is our own decision, no source."""
    assert next_fixed_date(date(2031, 1, 1), relativedelta(months=months), day(done)) == day(due)


@given(days, intervals, days)
def test_a_fixed_date_is_one_of_its_dates_and_never_more_than_a_quarter_beyond_one_interval(
    counted_from: date, every: relativedelta, done: date
) -> None:
    """Planted: dates only from the counted day on; evidence long before it counted until then, whatever the interval."""
    found = next_fixed_date(counted_from, every, done)
    months = every.years * 12 + every.months
    if months:
        n = round(((found.year - counted_from.year) * 12 + found.month - counted_from.month) / months)
        assert found == due_on(counted_from, every, n)
        before, two_before = due_on(counted_from, every, n - 1), due_on(counted_from, every, n - 2)
    else:
        assert (found - counted_from).days % every.days == 0
        before, two_before = found - timedelta(days=every.days), found - timedelta(days=2 * every.days)
    assert done < found
    assert done >= before or (before - done).days * 4 <= (before - two_before).days


@given(
    st.sampled_from(["last done", "fixed calendar", "first use"]), intervals, days, days, st.integers(0, 900), use_days
)
def test_newer_evidence_is_never_due_earlier(
    anchor: str, every: relativedelta, counted_from: date, done: date, later: int, used_on: list[date]
) -> None:
    """Planted: the early quarter counted from the date after; evidence a day later was due an interval earlier."""
    first = calendar_due(anchor, every, counted_from, done, used_on)
    second = calendar_due(anchor, every, counted_from, done + timedelta(days=later), used_on)
    assert second is None or (first is not None and second >= first)
    if anchor == "last done":
        assert first == due_on(done, every)


@given(st.sampled_from(["last done", "first use"]), st.integers(1, 59), days, use_days)
def test_a_longer_interval_is_never_due_earlier(anchor: str, months: int, done: date, used_on: list[date]) -> None:
    shorter = calendar_due(anchor, relativedelta(months=months), None, done, used_on)
    longer = calendar_due(anchor, relativedelta(months=months + 1), None, done, used_on)
    assert (shorter is None) is (longer is None)
    assert shorter is None or longer is None or longer > shorter
