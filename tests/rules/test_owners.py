"""What belongs to somebody else: the day on which it goes back."""

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.rules.matching import match_item
from refstd.rules.owners import return_reasons
from tests.rules.a_job import BLOCK, JOB, TODAY

DAYS = st.integers(-400, 400).map(lambda n: TODAY + timedelta(days=n))


def told(return_on: date | None) -> list[str]:
    found = match_item(JOB, replace(BLOCK, owner="customer 7", return_on=return_on), TODAY, 30)
    assert found.fits
    return [r.in_words() for r in found.reasons if r.rule == "owner"]


def test_past_its_return_date_it_is_advised_against_and_nothing_stops() -> None:
    assert told(TODAY - timedelta(days=1)) == [
        "B-1 was to go back to customer 7 return date 2031-06-14, limit the job ends 2031-06-25 (agreed with customer 7) [B-1] "
        "→ send it back, or agree a later day with customer 7 and describe it anew"
    ]


def test_a_job_that_outlasts_the_item_is_told() -> None:
    [says] = told(TODAY + timedelta(days=9))
    assert says.startswith("B-1 goes back to customer 7 during the job return date 2031-06-24")


def test_the_return_date_is_the_last_day_on_which_it_may_be_here() -> None:
    assert told(TODAY + timedelta(days=10)) == []  # the job's last day
    assert told(None) == []


@given(DAYS, DAYS, DAYS)
def test_it_speaks_exactly_when_a_day_of_the_work_lies_past_the_return_date(
    back: date, today: date, ends: date
) -> None:
    found = return_reasons("B-1", "customer 7", back, today, ends)
    assert bool(found) is (max(today, ends) > back)
    assert all(r.weight is Weight.ADVISES and r.cure and r.source for r in found)
