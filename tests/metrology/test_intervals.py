"""Recalibration intervals: steps, reliability found, and a line with its band."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from refstd.metrology import intervals
from refstd.metrology.drift import crossing, trend
from tests.published import recalibration


@pytest.mark.parametrize(("observed", "target", "factor"), recalibration.FACTORS)
def test_the_interval_changes_by_the_exponential_factor(observed: float, target: float, factor: float) -> None:
    assert intervals.for_reliability(1.0, observed, target) == pytest.approx(factor, abs=5.1e-5)


@pytest.mark.parametrize(("months", "observed", "target", "proposed"), recalibration.EXAMPLES)
def test_twelve_months_become_what_the_example_says(
    months: float, observed: float, target: float, proposed: float
) -> None:
    assert intervals.for_reliability(months, observed, target) == pytest.approx(proposed, abs=5.1e-3)


shares = st.integers(5, 99).map(lambda percent: percent / 100)


@given(st.floats(1, 120), shares, shares)
def test_found_worse_than_wanted_shortens_and_going_back_restores(months: float, found: float, wanted: float) -> None:
    proposed = intervals.for_reliability(months, found, wanted)
    assert (proposed <= months * (1 + 1e-12)) is (found <= wanted)
    assert intervals.for_reliability(proposed, wanted, found) == pytest.approx(months)


@pytest.mark.parametrize(("observed", "target"), [(1.0, 0.9), (0.0, 0.9), (0.9, 1.0), (90, 0.9)])
def test_no_interval_follows_from_all_or_none_in_tolerance(observed: float, target: float) -> None:
    with pytest.raises(ValueError, match="lower confidence limit"):
        intervals.for_reliability(12.0, observed, target)


@pytest.mark.parametrize(("found", "step"), recalibration.STAIRCASE)
def test_the_staircase_goes_down_after_one_and_up_after_three(found: list[tuple[bool, float]], step: str) -> None:
    """Planted: 90 % for 80 %; a share of 0.81 lengthened."""
    assert intervals.staircase(found) == step


@pytest.mark.parametrize(("found", "of", "confidence", "lower", "upper"), recalibration.SHARES)
def test_the_limits_of_a_share_are_the_published_ones(
    found: int, of: int, confidence: float, lower: float, upper: float
) -> None:
    assert intervals.share_bounds(found, of, confidence) == pytest.approx((lower, upper), abs=5.1e-5)


@pytest.mark.parametrize(("found", "of"), [(-1, 3), (4, 3), (0, 0)])
def test_more_found_than_looked_at_is_refused(found: int, of: int) -> None:
    with pytest.raises(ValueError, match="cannot be"):
        intervals.share_bounds(found, of, 0.95)


def test_twelve_months_with_18_of_20_in_tolerance() -> None:
    """18 of 20: the share of the worked example, with Clopper–Pearson limits of 0.6830 and 0.9877 beside it."""
    observed = [(12.0, True)] * 18 + [(12.0, False)] * 2
    r = intervals.reliability(observed, 0.85, 12.0)
    assert r is not None
    assert (r.found, r.of, r.after) == (18, 20, 12.0)
    assert r.likely == pytest.approx(18.51, abs=5.1e-3)
    assert r.shortest == pytest.approx(12 * math.log(0.85) / math.log(0.6830), rel=1e-3)
    assert r.longest == pytest.approx(12 * math.log(0.85) / math.log(0.9877), rel=1e-2)


def test_what_ended_soon_in_tolerance_does_not_count_and_out_always_does() -> None:
    """Planted: what ended soon left out whether in tolerance or not; what was found out early was not counted."""
    r = intervals.reliability([(12.0, True), (5.9, True), (3.0, False)], 0.85, 12.0)
    assert r is not None
    assert (r.found, r.of, r.after) == (1, 2, 12.0)
    assert intervals.reliability([(5.9, True)], 0.85, 12.0) is None


outcomes = st.lists(st.tuples(st.floats(1, 60), st.booleans()), min_size=1, max_size=30)


@given(outcomes, st.floats(1, 60), shares)
def test_one_more_found_out_never_makes_it_longer(
    observed: list[tuple[float, bool]], time: float, target: float
) -> None:
    """Planted: counted at the longest time instead of the shortest in tolerance; one more found out made it longer."""
    before = intervals.reliability(observed, target, 12.0)
    after = intervals.reliability([*observed, (time, False)], target, 12.0)
    assume(before is not None)
    assert before is not None
    assert after is not None
    assert after.shortest <= before.shortest * (1 + 1e-9)
    assert after.shortest <= (after.likely or after.longest) * (1 + 1e-9)
    assert (after.likely or after.shortest) <= after.longest * (1 + 1e-9)


@given(st.integers(50, 99).map(lambda percent: percent / 100))
def test_the_fewest_to_lengthen_are_just_enough(target: float) -> None:
    n = intervals.fewest_to_lengthen(target)
    assert intervals.share_bounds(n, n, 0.95)[0] > target
    assert n == 1 or intervals.share_bounds(n - 1, n - 1, 0.95)[0] <= target * (1 + 1e-12)


values = st.lists(st.floats(-1, 1), min_size=5, max_size=12).map(lambda found: [round(v, 3) for v in found])


@given(values, st.floats(0.05, 1), st.floats(2, 20))
def test_the_band_reaches_a_limit_when_a_single_check_may_cross_it(
    found: list[float], slope: float, limit: float
) -> None:
    """Where the slope stands out, the other way to that date (Fieller's quadratic in `drift.crossing`) gives the same.

    Planted: the band of the line itself in place of a single value's.
    """
    times = [float(t) for t in range(len(found))]
    line = trend(times, [v + slope * t for v, t in zip(found, times, strict=True)])
    other = crossing(line, limit)
    assume(other is not None and line.slope > 0 and other.act_before > line.last_time)
    assert other is not None
    at = intervals.band_reaches(line, 0.0, None, limit, 1e6)
    assert at == pytest.approx(other.act_before, rel=1e-6)


@given(values, st.floats(0, 2), st.floats(0, 2), st.floats(3, 30))
def test_a_larger_uncertainty_and_a_nearer_limit_only_bring_it_forward(
    found: list[float], u: float, more: float, limit: float
) -> None:
    line = trend([float(t) for t in range(len(found))], found)
    assume(line.residual_sd > 0)
    late = 1e5

    def reaches(own: float, upper: float) -> float:
        return intervals.band_reaches(line, own, -upper, upper, late) or late

    assert reaches(u + more, limit) <= reaches(u, limit) * (1 + 1e-6)
    assert reaches(u, limit * 0.9) <= reaches(u, limit) * (1 + 1e-6)
    assert line.last_time <= reaches(u, limit)


def test_a_band_without_limits_or_that_is_at_one_already() -> None:
    line = trend([0.0, 1.0, 2.0, 3.0], [0.0, 0.1, 0.0, 0.1])
    with pytest.raises(ValueError, match="No limit"):
        intervals.band_reaches(line, 0.1, None, None, 10.0)
    assert intervals.band_reaches(line, 5.0, -1.0, 1.0, 10.0) == 3.0
    assert intervals.band_reaches(line, 0.0, -50.0, 50.0, 4.0) is None
