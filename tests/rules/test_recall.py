"""Sending equipment away: what is left without, by a plain count of what stays, and laws that hold for any lab."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.rules.matching import Loaned, match_item
from refstd.rules.recall import Going, Need, left_without, serves
from tests.rules.a_job import BLOCK, JOB, TODAY, facts

MAY = date(2031, 5, 12)
ITEMS = ("B-1", "B-2", "B-3", "B-4")
days = st.dates(date(2031, 3, 14), date(2031, 8, 31))
needs = st.lists(
    st.builds(
        Need, st.sampled_from(["job J-1", "job J-2", "material AL"]), st.just("block"),
        st.frozensets(st.sampled_from(ITEMS)), st.just("register"), st.none() | days,
    ), max_size=4,
)  # fmt: skip
goings = st.lists(st.builds(Going, st.sampled_from(ITEMS), days), max_size=6)


def need(*served_by: str, until: date | None = None) -> Need:
    return Need("job J-1", "block", frozenset(served_by), "job J-1", until)


def said(needed: Need, *going: Going) -> list[str]:
    return [f"{r.says} → {r.cure}" for reasons in left_without([needed], going).values() for r in reasons]


def test_the_only_block_of_a_job_is_named_before_it_goes() -> None:
    assert said(need("B-1"), Going("B-1", MAY)) == [
        "B-1 is the only block for job J-1 that may be relied on → have another block ready before it goes"
    ]
    assert said(need("B-1", "B-2"), Going("B-1", MAY)) == []


def test_the_last_two_going_in_one_month_are_named_together() -> None:
    """Planted: each item asked for alone; both blocks of a job went in one parcel and neither was named."""
    parcel = (Going("B-1", MAY), Going("B-2", date(2031, 5, 30)))
    assert said(need("B-1", "B-2"), *parcel)[0] == (
        "B-1 and B-2 are the only blocks for job J-1 that may be relied on, and go in the same month → send one when the "
        "other is back"
    )
    assert len(said(need("B-1", "B-2"), *parcel)) == 2
    assert said(need("B-1", "B-2"), parcel[0], Going("B-2", date(2031, 6, 1))) == []


@pytest.mark.parametrize(
    ("until", "warned", "cure"),
    [
        (date(2031, 4, 30), False, ""),  # ended before the month
        (date(2031, 5, 1), True, "or send it after 2031-05-01"),
        (MAY, True, "before it goes"),  # its last day is that of the job
        (None, True, "before it goes"),
    ],
)
def test_a_job_counts_until_its_last_day(until: date | None, warned: bool, cure: str) -> None:
    found = said(need("B-1", until=until), Going("B-1", MAY))
    assert bool(found) is warned
    assert all(x.endswith(cure) for x in found)


def test_what_falls_due_during_the_job_or_is_out_serves_it_and_what_stops_does_not() -> None:
    """Planted: what falls due during the job taken for what does not suit it; nobody missed the block when it went."""
    lent = replace(BLOCK, item=facts("B-1", "block", due_in=5), loan=Loaned("TESS", "J-9", "2031-06-14"))
    assert {r.rule for r in match_item(JOB, lent, TODAY, 30).reasons} >= {"due during the job", "custody"}
    assert serves(match_item(JOB, lent, TODAY, 30))
    assert not serves(match_item(JOB, replace(lent, item=facts("B-1", "block", due_in=-1)), TODAY, 30))
    assert not serves(match_item(JOB, replace(lent, form="edge"), TODAY, 30))


@given(needs, goings)
def test_an_item_is_warned_of_where_and_only_where_nothing_that_serves_stays(all_needs: list[Need], going: list[Going]) -> None:  # fmt: skip
    """A plain count, need by need and month by month, of what stays behind."""
    found = left_without(all_needs, going)
    for g in going:
        expected = 0
        for n in all_needs:
            if n.until is not None and (n.until.year, n.until.month) < (g.by.year, g.by.month):
                continue
            staying = [
                x for x in n.served_by
                if not any(o.asset_no == x and (o.by.year, o.by.month) == (g.by.year, g.by.month) for o in going)
            ]  # fmt: skip
            expected += g.asset_no in n.served_by and not staying
        assert len(found.get(g, ())) == expected
    assert all(r.weight is Weight.ADVISES and r.cure and r.record for reasons in found.values() for r in reasons)


@given(needs, goings, st.sampled_from(ITEMS), days)
def test_sending_more_never_takes_a_warning_away_and_a_spare_takes_all(
    all_needs: list[Need], going: list[Going], asset_no: str, day: date
) -> None:
    fewer = left_without(all_needs, going)
    more = left_without(all_needs, [*going, Going(asset_no, day)])
    assert all(len(more[g]) >= len(reasons) for g, reasons in fewer.items())
    spare = [Need(n.subject, n.kind, n.served_by | {"B-9"}, n.source, n.until) for n in all_needs]
    assert left_without(spare, going) == {}


@given(goings, st.integers(1, 27))
def test_the_day_within_the_month_changes_no_warning_of_a_need_without_end(going: list[Going], later: int) -> None:
    moved = [Going(g.asset_no, g.by.replace(day=1) + timedelta(days=later)) for g in going]
    all_needs = [need("B-1", "B-2"), need("B-3")]
    before, after = (
        {(g.asset_no, g.month): len(r) for g, r in left_without(all_needs, x).items()} for x in (going, moved)
    )
    assert before == after
