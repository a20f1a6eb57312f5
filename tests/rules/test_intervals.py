"""Proposals for an interval: each method on a history, what holds a longer one back, and laws over any history."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.asfound import AsFound, Series
from refstd.rules.intervals import propose
from refstd.rules.proposals import Alike, Every, History, Proposal

TODAY = date(2031, 3, 14)
YEARLY = Every(12)
FIRST = date(2026, 1, 10)


def paper(
    years: int, share: float | None = 0.2, inside: bool | None = True, lasted: int | None = 365, uses: int | None = None
) -> AsFound:
    return AsFound(f"certificate K-{years}", FIRST + relativedelta(years=years), inside, share, "x", lasted, uses)


def papers(*shares: float) -> tuple[AsFound, ...]:
    """A first paper and one a year after it for each share; above 1 it was found out of tolerance."""
    return (paper(0, lasted=None), *(paper(n, s, s <= 1) for n, s in enumerate(shares, start=1)))


def series(values: tuple[float, ...], u: float | None = 0.002, upper: float | None = 0.55) -> Series:
    days = tuple(float((FIRST + relativedelta(years=n)).toordinal()) for n in range(len(values)))
    return Series("notch 0.5 mm depth", days, values, "mm", 0.45, upper, "drawing 7", u)


def history(found: tuple[AsFound, ...], every: Every = YEARLY, **more: Any) -> History:
    return History(every, "last done", None, found[-1].done_on if found else None, found, **more)


def said(h: History, target: float = 0.95) -> dict[str, Proposal]:
    return {p.method: p for p in propose(h, TODAY, target)}


def test_three_in_a_row_near_the_middle_make_it_half_as_long_again() -> None:
    p = said(history(papers(0.2, 0.1, 0.3)))["staircase"]
    assert (p.outcome, p.every, p.due_on) == ("lengthen", Every(18), date(2030, 7, 10))
    assert p.says == "the last 3 found it in tolerance, within 80% of the limits: 12 months to 18 months"
    assert len(p.data) == 3


def test_one_out_of_tolerance_halves_it_unless_it_was_set_anew_since() -> None:
    """Planted: the words 'set anew' not looked at; the same certificate halved the interval again and again."""
    h = history(papers(0.2, 0.1, 1.3))
    assert (said(h)["staircase"].outcome, said(h)["staircase"].every) == ("shorten", Every(6))
    p = said(replace(h, set_anew="the interval was set anew on 2029-02-01"))["staircase"]
    assert (p.outcome, p.every) == ("keep", None)


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (papers(), "no interval has ended yet"),
        (papers(0.1, 0.1), "2 of 3"),
        (papers(0.1, 0.1, 0.9), "not the last 3 in a row within 80%"),
        ((*papers(0.1, 0.1), paper(3, None)), "how much of the tolerance was used is not said by certificate K-3"),
        ((*papers(0.1, 0.1), paper(3, None, None)), "certificate K-3 does not say how it was found"),
        ((*papers(0.1, 0.1), paper(3, 0.1, lasted=300)), "not each time after 90% of the interval"),
        ((*papers(0.1, 0.1, 0.1), paper(4, None, None), paper(5, 0.1)), "not said by certificate K-4"),
    ],
)
def test_it_says_what_is_missing_for_a_longer_one(found: tuple[AsFound, ...], says: str) -> None:
    p = said(history(found))["staircase"]
    assert says in p.says
    assert p.every is None
    assert p.outcome == ("too little" if p.missing else "keep")


def test_a_drift_brings_it_forward_to_a_whole_month_before_the_limit() -> None:
    """0.01 mm a year from 0.50 mm, read from five yearly values: at the limit of 0.55 mm a year after the last at the latest."""
    h = history(papers(0.2, 0.4, 0.6, 0.8), series=(series((0.500, 0.511, 0.519, 0.531, 0.540)),))
    p = said(h)["control chart"]
    assert p.outcome == "shorten"
    assert p.due_on is not None
    assert p.due_on < date(2031, 1, 10)
    assert "+0.01 mm a year" in p.data[0]
    assert "limits 0.45 to 0.55 mm (drawing 7)" in p.data[0]
    held = said(replace(h, papers=papers(0.2, 0.1, 0.3)))["staircase"]
    assert held.outcome == "keep"
    assert "control chart asks for a shorter one" in held.says


def test_a_level_line_carries_no_further_than_the_record_is_long_and_half_as_long_again() -> None:
    h = history(papers(0.2, 0.1, 0.1, 0.1), series=(series((0.500, 0.501, 0.500, 0.499, 0.500)),))
    assert said(h)["control chart"].every == Every(18)
    p = said(replace(h, every=Every(36)))["control chart"]
    assert (p.outcome, p.every) == ("lengthen", Every(48))


@pytest.mark.parametrize(
    ("course", "outcome", "says"),
    [
        ((), "too little", "no as-found value with limits"),
        ((series((0.5, 0.5, 0.5, 0.5)),), "too little", "has 4 of 5 values"),
        ((series((0.5,) * 5, None),), "too little", "has no U and k"),
        ((series((0.5,) * 5), series((0.5,) * 2)), "keep", "not longer: notch 0.5 mm depth has 2 of 5 values"),
        ((series((0.5, 0.53, 0.5, 0.54, 0.5)),), "no interval", "no interval is short enough"),
        ((series((0.5,) * 5, 0.04),), "no interval", "no interval is short enough"),
    ],
)
def test_a_control_chart_needs_five_values_with_u_and_room_for_them(
    course: tuple[Series, ...], outcome: str, says: str
) -> None:
    p = said(history(papers(0.1, 0.1, 0.1, 0.1), series=course))["control chart"]
    assert p.outcome == outcome
    assert says in p.says


def test_the_in_use_time_steps_by_uses() -> None:
    every = Every(24, None, 50, "checks")
    found = (paper(0, lasted=None), *(paper(n, 0.1, uses=48) for n in (1, 2, 3)))
    p = said(history(found, every))["in-use time"]
    assert (p.outcome, p.every) == ("lengthen", Every(24, None, 75, "checks"))
    out = said(history((*found[:-1], paper(3, 1.2, False, uses=20)), every))["in-use time"]
    assert (out.outcome, out.every) == ("shorten", Every(24, None, 25, "checks"))
    little = said(history((*found[:-1], paper(3, 0.1, uses=12)), every))["in-use time"]
    assert "not each time after 90% of the 50 checks" in little.says
    assert "in-use time" not in said(history(found))


def test_by_use_alone_the_calendar_has_nothing_to_say_and_once_nothing_at_all() -> None:
    found = (paper(0, lasted=None), *(paper(n, 0.1, uses=48) for n in (1, 2, 3)))
    by_use = said(history(found, Every(uses=50, use="checks")))
    assert by_use["staircase"].missing == "no interval in months or days"
    assert "it ages at rest too" in by_use["in-use time"].says
    assert {p.outcome for p in said(history(found, Every())).values()} == {"too little"}
    assert {p.missing for p in said(history(())).values()} == {"never done"}


def alike(inside: int, out: int) -> tuple[Alike, ...]:
    return tuple(Alike(f"B-{n}", "certificate K", 365, n >= out) for n in range(inside + out))


def test_many_alike_in_tolerance_make_it_longer_and_too_few_leave_it() -> None:
    """72 of 72 is the fewest of which the lower 95 % limit lies above 95 % (test_intervals in tests/metrology)."""
    own = papers(0.9)
    assert said(history(own, alike=alike(70, 0)))["reliability"].outcome == "keep"
    assert "longer takes 72 of 72" in said(history(own, alike=alike(70, 0)))["reliability"].says
    assert "but for no step longer" in said(history(own, alike=alike(72, 0)))["reliability"].says  # 370 days
    more = said(history(own, alike=alike(100, 0)))["reliability"]
    assert (more.outcome, more.every) == (
        "lengthen",
        Every(16),
    )  # 0.025^(1/101) = 0.9641; 365·ln 0.95/ln 0.9641 = 512 days
    far = said(history(own, alike=alike(200, 0)))["reliability"]
    assert far.every == Every(18)


def test_many_alike_out_of_tolerance_shorten_it_by_the_model() -> None:
    """15 of 20 at 12 months: 12·ln 0.95/ln 0.75 = 2.14 months (published factor 0.1783)."""
    p = said(history(papers(0.9), alike=alike(14, 5)))["reliability"]
    assert p.data[0].startswith("15 of 20 found in tolerance after 365 days or more, with B-0, B-1")
    assert (p.outcome, p.every) == ("shorten", Every(2))
    none = said(history(papers(1.2), alike=alike(0, 9)))["reliability"]
    assert none.outcome == "shorten"


def test_the_date_to_look_before_only_shortens() -> None:
    h = history(papers(0.2, 0.1, 0.3))
    near = said(replace(h, last_done=date(2031, 1, 10), look_before=date(2031, 8, 20), look_before_says="S-1"))
    assert (near["look before"].outcome, near["look before"].every) == ("shorten", Every(7))
    assert "look before asks for a shorter one" in near["staircase"].says
    far = said(replace(h, last_done=date(2031, 1, 10), look_before=date(2032, 4, 20), look_before_says="S-1"))
    assert far["look before"].outcome == "keep"
    assert (far["staircase"].outcome, far["staircase"].every) == ("lengthen", Every(15))
    come = said(replace(h, last_done=date(2031, 1, 10), look_before=TODAY, look_before_says="S-1"))
    assert come["look before"].outcome == "no interval"
    assert "look before asks for a look at the item" in come["staircase"].says


def test_an_interval_from_first_use_is_dated_by_it() -> None:
    h = replace(history(papers(0.2, 0.1, 0.3)), anchor="first use")
    assert said(h)["staircase"].due_on is None
    assert said(replace(h, used_on=(date(2029, 3, 1),)))["staircase"].due_on == date(2030, 9, 1)


def test_ten_years_are_the_longest_and_a_month_is_halved_in_days() -> None:
    """NIST GMP 11 (2018): no interval above ten years without a special analysis."""
    assert Every(100).scaled(1.5) == Every(120)
    assert Every(120).scaled(1.5) == Every(120)
    assert Every(1).scaled(0.5) == Every(None, 15)
    assert Every(1).scaled(1.5) == Every(None, 45)
    assert Every(None, 3000).scaled(1.5) == Every(None, 3652)


# How an item was found after which part of its interval; most were found well, or nothing longer would ever come of it.
well = st.tuples(st.floats(0, 0.8), st.just(True), st.floats(0.9, 1.2))
found_papers = st.lists(
    st.one_of(well, well, well, st.tuples(st.one_of(st.none(), st.floats(0, 2)), st.booleans(), st.floats(0.2, 2))),
    max_size=7,
)
anchors = st.sampled_from([("last done", None), ("first use", None), ("fixed calendar", date(2020, 2, 29))])
any_every = st.one_of(st.integers(2, 120).map(lambda m: Every(m)), st.integers(20, 4000).map(lambda d: Every(None, d)))


def any_history(
    found: list[tuple[float | None, bool, float]], every: Every, anchor: tuple[str, date | None], steps: list[float],
    others: list[tuple[int, bool]],
) -> History:  # fmt: skip
    day = FIRST
    told = [paper(0, lasted=None)]
    long = (FIRST + (every.calendar or relativedelta()) - FIRST).days
    for n, (share, known, part) in enumerate(found, start=1):
        lasted = int(long * part) + 1
        day += timedelta(days=lasted)
        inside = None if not known else share is None or share <= 1
        told.append(AsFound(f"K-{n}", day, inside, share, "x", lasted))
    course = () if not steps else (
        Series("depth", tuple(float(FIRST.toordinal() + 300 * n) for n in range(len(steps))), tuple(0.5 + s for s in steps), "mm",
               0.4, 0.6, "drawing", 0.001),
    )  # fmt: skip
    made = tuple(Alike(f"B-{n}", "K", t, i) for n, (t, i) in enumerate(others))
    return History(every, anchor[0], anchor[1], day, tuple(told), course, made)


histories = st.builds(
    any_history, found_papers, any_every, anchors, st.one_of(st.just([]), st.lists(st.floats(-0.02, 0.02), max_size=8)),
    st.one_of(st.just([]), st.lists(st.tuples(st.integers(30, 900), st.booleans()), max_size=5)),
)  # fmt: skip
looks = st.one_of(st.floats(0, 2), st.floats(1, 1.5))  # of the interval in force, counted from the last evidence


def looked(h: History, look: float) -> History:
    assert h.last_done is not None
    day = h.last_done + timedelta(days=round(h.present_days * look))
    return replace(h, look_before=day, look_before_says="S-1")


@given(histories, st.integers(50, 99), st.one_of(st.none(), looks))
def test_whatever_the_history_longer_rests_on_certificates_and_no_method_contradicts_another(
    h: History, target: int, look: float | None
) -> None:
    """Planted: the look-before date compared with the interval in force only; a longer one went past the date. Another method's
    'no interval' not looked at.
    """
    assert h.last_done is not None
    today = h.last_done + timedelta(days=60)
    if look is not None:
        h = looked(h, look)
    found = propose(h, today, target / 100)
    shorter = [p for p in found if p.outcome in ("shorten", "no interval")]
    for p in found:
        assert (p.every is not None) is (p.outcome in ("shorten", "lengthen"))
        assert bool(p.missing) is (p.outcome == "too little")
        if p.every is None:
            continue
        assert p.every != h.every
        if p.outcome == "lengthen":
            assert not shorter
            assert h.papers[-1].in_tolerance
            assert h.ends(p.every) > h.ends(h.every)
            assert (p.every.calendar or relativedelta()).months <= 120
            assert p.due_on is None or h.look_before is None or p.due_on <= h.look_before
        else:
            assert h.ends(p.every) < h.ends(h.every)


@given(histories, st.integers(50, 99), looks)
def test_a_date_to_look_before_never_makes_an_interval_longer(h: History, target: int, look: float) -> None:
    assert h.last_done is not None
    today = h.last_done + timedelta(days=60)
    without = {p.method: p for p in propose(h, today, target / 100)}
    for p in propose(looked(h, look), today, target / 100):
        if p.every is not None and p.method != "look before":
            before = without[p.method].every
            assert before is not None
            assert h.ends(p.every) <= h.ends(before)
