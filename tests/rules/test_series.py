"""The bulk comparison says of every check what the comparison of one check says, word for word."""

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from refstd.eddy.signals import ORDERS, Order
from refstd.rules.condition import condition, reading_uncertainty
from refstd.rules.figures import OFF_SCREEN, step_of
from refstd.rules.readings import MEASURED_AS, NotchReading, ReadingSet, Target
from refstd.rules.series import HIDDEN_IN_NOISE, Answers, Seen, answers

NOTCH = "n1"
GAINS = st.sampled_from(["40", "46", "46.5", "52"])
VALUES = st.sampled_from(["0", "0.2", "-3.1", "12.5", "40", "-80.25"])
ROTATIONS = st.sampled_from(["0", "30", "215"])


@st.composite
def sets(draw: st.DrawFn, measure: str, order: Order | None) -> ReadingSet:
    """One check of one notch, with settings that often agree with another's."""
    full = draw(st.booleans()) and draw(st.booleans())
    horizontal = Decimal(draw(VALUES)) if measure == "horizontal and vertical" and not full else None
    reading = NotchReading(NOTCH, 1.0, horizontal, None if full else Decimal(draw(VALUES)), full)
    return ReadingSet(
        "check", (reading,), Decimal(draw(ROTATIONS)), Decimal(draw(GAINS)), Decimal(draw(GAINS)), order, "% FSH", measure,
        "lift-off", draw(st.booleans()), None, Decimal(100),
    )  # fmt: skip


@st.composite
def occasions(draw: st.DrawFn) -> tuple[str, Order | None, list[ReadingSet], list[ReadingSet]]:
    measure = draw(st.sampled_from(sorted(MEASURED_AS)))
    order = draw(st.sampled_from([None, *ORDERS]))
    one = sets(measure, order)
    baseline = draw(st.lists(one, min_size=1, max_size=3))
    return measure, order, baseline, draw(st.lists(one, min_size=1, max_size=4))


def seen(each: list[ReadingSet], noise: float = math.nan, target: float = math.nan) -> Seen:
    """The same readings as columns."""

    def column(values: list[object]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([math.nan if v is None else float(v) for v in values], dtype=float)  # type: ignore[arg-type]

    n = len(each)
    first = [s.readings[0] for s in each]
    return Seen(
        tuple(f"C-{i}" for i in range(n)), np.arange(n, dtype=float), column([s.rotation_deg for s in each]),
        column([s.horizontal_gain_db for s in each]), column([s.vertical_gain_db for s in each]),
        column([r.horizontal for r in first]), column([r.vertical for r in first]), np.array([r.full_screen for r in first]),
        np.full(n, noise), np.full(n, target), np.array([s.lift_off_horizontal for s in each]), np.ones(n, dtype=bool),
        np.zeros(n, dtype=bool), np.array([max(map(step_of, (r.horizontal, r.vertical))) or np.nan for r in first]),
    )  # fmt: skip


@given(occasions())
def test_a_series_says_of_each_check_what_the_check_said(
    given_: tuple[str, Order | None, list[ReadingSet], list[ReadingSet]],
) -> None:
    """Two roads to one figure. Planted bugs that it caught: the vertical gain undone for an unknown order, where the
    horizontal one is common; a phase averaged as a number, so that 179° and −179° gave 0°."""
    measure, order, baseline, new = given_
    bulk: Answers = answers(seen(new, target=80.0), seen(baseline), measure, order)
    for i, check in enumerate(new):
        one = condition(check, tuple(baseline), (Target(NOTCH, Decimal(80), "% FSH", "1"),))[0]
        assert math.isnan(bulk.deviation_db[i]) is (one.amplitude_db is None), (one, bulk.why_not)
        if one.amplitude_db is None:
            assert i in bulk.why_not
            continue
        assert math.isclose(bulk.deviation_db[i], one.amplitude_db, abs_tol=1e-9)
        assert math.isnan(bulk.deviation_deg[i]) is (one.phase_deg is None)
        if one.phase_deg is not None and abs(one.phase_deg) < 179.999:
            assert math.isclose(bulk.deviation_deg[i], one.phase_deg, abs_tol=1e-6)
        if one.gain_needed_db is not None:
            assert math.isclose(bulk.gain_needed_db[i], one.gain_needed_db, abs_tol=1e-9)


@given(st.sampled_from(sorted(MEASURED_AS)), st.sampled_from([None, *ORDERS]), st.data())
def test_a_series_knows_the_last_digit_as_a_single_check_does(
    measure: str, order: Order | None, data: st.DataObject
) -> None:
    """Two roads to one uncertainty (JCGM 100:2008, 4.3.7 and 5.1.2). Planted bug that it caught: the gains divided once."""
    digits = (
        st.integers(-9999, 9999).filter(bool).map(lambda n: Decimal(n) / 100).map(lambda d: d.quantize(Decimal("0.01")))
    )
    now, then = (data.draw(sets(measure, order)) for _ in range(2))
    directed = measure == "horizontal and vertical"
    if order is None and directed:  # compared only as seen through one view
        then = replace(
            then,
            rotation_deg=now.rotation_deg,
            vertical_gain_db=now.vertical_gain_db,
            horizontal_gain_db=now.horizontal_gain_db,
        )
    now, then = (
        replace(s, readings=(NotchReading(NOTCH, 1.0, data.draw(digits) if directed else None, data.draw(digits)),))
        for s in (now, then)
    )
    found = answers(seen([now]), seen([then]), measure, order)
    if math.isnan(found.deviation_db[0]):
        return
    u = [reading_uncertainty(s, s.readings[0]) for s in (now, then)]
    assert math.isclose(found.digit_db, math.hypot(*(u_db for u_db, _ in u if u_db)), rel_tol=1e-9)
    if directed:
        assert math.isclose(found.digit_deg, math.hypot(*(u_deg for _, u_deg in u if u_deg)), rel_tol=1e-9)


def test_where_no_digit_is_known_none_is_claimed() -> None:
    new, baseline = (replace(seen([one("80")]), digit=np.array([math.nan])) for _ in range(2))
    found = answers(new, baseline, "vertical from balance", "rotate-then-scale")
    assert (found.digit_db, found.digit_deg, found.digit_gain_db) == (0.0, 0.0, 0.0)


def one(vertical: str, *, full: bool = False) -> ReadingSet:
    reading = NotchReading(NOTCH, 1.0, None, None if full else Decimal(vertical), full)
    return ReadingSet(
        "check", (reading,), Decimal(0), Decimal(40), Decimal(50), "rotate-then-scale", "% FSH", "vertical from balance",
        "lift-off", True, None, Decimal(100),
    )  # fmt: skip


def test_below_five_times_the_noise_and_off_the_screen_nothing_is_trended() -> None:
    """The scatter of a peak is 8.686·σ/A dB, 1.7 dB at 5σ (our own computation of the peak's bias, no source)."""
    new = [one("4.9"), one("5"), one("0", full=True)]
    found = answers(seen(new, noise=1.0), seen([one("5")]), "vertical from balance", "rotate-then-scale")
    assert found.why_not == {0: HIDDEN_IN_NOISE, 2: OFF_SCREEN}
    assert np.isfinite(found.deviation_db).tolist() == [False, True, False]
