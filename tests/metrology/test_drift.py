"""Charts and trends against the e-Handbook, the reference datasets and the GUM."""

import dataclasses
import math
import random
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.metrology import drift
from tests.published import e_handbook, gum, strd, trend_crossing


def test_individuals_limits_are_those_of_the_handbook() -> None:
    limits = drift.individuals_limits(e_handbook.FLOW, d2=e_handbook.FLOW_D2)
    expected = (e_handbook.FLOW_CENTRE, e_handbook.FLOW_LOWER, e_handbook.FLOW_UPPER)
    assert limits == pytest.approx(expected, abs=5e-5)


def test_the_exact_d2_shifts_the_limits_in_the_third_decimal() -> None:
    assert drift.individuals_limits(e_handbook.FLOW)[1:] == pytest.approx(e_handbook.FLOW_EXACT_D2, abs=5e-5)
    assert drift.individuals_limits([0.0, 1.0])[2] == pytest.approx(0.5 + 3 * math.sqrt(math.pi) / 2, abs=1e-6)


def test_the_constants_of_the_chart_are_those_of_the_tables() -> None:
    """Trap: tables print 3/d2 as 2.660, from d2 cut to 1.128; exact it is 2.6587."""
    centre, _, upper = drift.individuals_limits([0.0, 1.0])  # a mean moving range of 1
    assert upper - centre == pytest.approx(e_handbook.E2_OF_2, abs=5.1e-5)
    assert 3 / (upper - centre) == pytest.approx(e_handbook.D2_OF_2, abs=5.1e-5)
    centre, _, upper = drift.individuals_limits([0.0, 1.0], d2=e_handbook.FLOW_D2)
    assert round(upper - centre, 3) == e_handbook.E2_PRINTED


def test_ewma_is_that_of_the_handbook_one_average_for_each_value() -> None:
    averages = drift.ewma(e_handbook.EWMA_DATA, e_handbook.EWMA_WEIGHT, e_handbook.EWMA_0)
    assert averages == pytest.approx(e_handbook.EWMA, abs=5.1e-3)
    assert len(averages) == len(e_handbook.EWMA_DATA)


def test_ewma_limits_are_those_of_the_handbook_within_its_truncated_factor() -> None:
    lower, upper = drift.ewma_limits(
        e_handbook.EWMA_TARGET, e_handbook.EWMA_SD, e_handbook.EWMA_WEIGHT, e_handbook.EWMA_WIDTH
    )
    assert (lower, upper) == pytest.approx((e_handbook.EWMA_LOWER, e_handbook.EWMA_UPPER), abs=1e-4)
    averages = drift.ewma(e_handbook.EWMA_DATA, e_handbook.EWMA_WEIGHT, e_handbook.EWMA_0)
    assert ((averages > lower) & (averages < upper)).all()


@pytest.mark.parametrize(("count", "upper"), e_handbook.EWMA_UPPER_BY_COUNT.items())
def test_ewma_limits_widen_to_where_they_settle(count: int, upper: float) -> None:
    limits = drift.ewma_limits(
        e_handbook.EWMA_TARGET, e_handbook.EWMA_SD, e_handbook.EWMA_WEIGHT, e_handbook.EWMA_WIDTH, count
    )
    assert limits[1] == pytest.approx(upper, abs=2e-4 if count == 14 else 5.1e-5)


def test_cusum_signals_first_where_the_handbook_says() -> None:
    high, low = drift.cusum(e_handbook.CUSUM_DATA, e_handbook.CUSUM_TARGET, e_handbook.CUSUM_SLACK)
    assert high == pytest.approx(e_handbook.CUSUM_HIGH, abs=6e-3)
    assert low == pytest.approx(e_handbook.CUSUM_LOW, abs=6e-3)
    signals = np.flatnonzero(high > e_handbook.CUSUM_DECISION) + 1
    assert signals.tolist() == list(range(e_handbook.CUSUM_FIRST_SIGNAL, 21))
    assert not (low > e_handbook.CUSUM_DECISION).any()


def test_the_cusum_decision_limit_is_an_input_not_derived_with_beta() -> None:
    """Trap: the printed 4.1959 drops beta; the usual form gives 3.7493."""
    k = e_handbook.CUSUM_SLACK
    assert 2 * k * math.log(1 / 0.00135) == pytest.approx(e_handbook.CUSUM_DECISION, abs=1e-4)
    assert 2 * k * math.log((1 - 0.01) / 0.0027) == pytest.approx(3.7493, abs=2e-4)


@pytest.mark.parametrize(("count", "factor"), e_handbook.PREDICTION_FACTOR_95.items())
def test_baseline_limits_hold_one_more_set_up(count: int, factor: float) -> None:
    values = np.tile([-1.0, 1.0], count)[:count]
    centre, lower, upper = drift.baseline_limits(values, 0.95)
    sd = float(values.std(ddof=1))
    assert ((centre - lower) / sd, (upper - centre) / sd) == pytest.approx((factor, factor), abs=1e-4)


def test_trend_gives_the_certified_values_of_norris() -> None:
    line = drift.trend(strd.X, strd.Y)
    assert line.slope == pytest.approx(strd.SLOPE, rel=1e-12)
    assert line.intercept == pytest.approx(strd.INTERCEPT, rel=1e-10)
    assert line.u_slope == pytest.approx(strd.U_SLOPE, rel=1e-10)
    assert line.u_intercept == pytest.approx(strd.U_INTERCEPT, rel=1e-10)
    assert line.residual_sd == pytest.approx(strd.RESIDUAL_SD, rel=1e-10)
    assert line.degrees_of_freedom == strd.DEGREES_OF_FREEDOM


def test_trend_gives_the_thermometer_line_of_the_gum() -> None:
    line = drift.trend(np.array(gum.H3_T) - gum.H3_T0, gum.H3_B)
    at_30 = 30 - gum.H3_T0
    found = (
        *(line.intercept, line.u_intercept, line.slope, line.u_slope),
        *(line.correlation, line.residual_sd, line.at(at_30), line.u_at(at_30)),
    )
    assert found == pytest.approx(gum.H3_FULL_PRECISION, rel=2e-6)
    places = (4, 4, 5, 5, 3, 4, 4, 4)
    assert tuple(round(f, p) for f, p in zip(found, places, strict=True)) == (
        *(gum.H3_INTERCEPT, gum.H3_U_INTERCEPT, gum.H3_SLOPE, gum.H3_U_SLOPE),
        *(gum.H3_CORRELATION, gum.H3_SD, gum.H3_B30, gum.H3_U_B30),
    )
    assert line.degrees_of_freedom == gum.H3_DEGREES_OF_FREEDOM


def test_a_single_new_reading_is_less_certain_than_the_fitted_line() -> None:
    line = drift.trend(np.array(gum.H3_T) - gum.H3_T0, gum.H3_B)
    assert line.u_at(10.0, single=True) == pytest.approx(gum.H3_U_SINGLE_30, abs=1e-6)


def test_about_the_mean_time_intercept_and_slope_are_uncorrelated() -> None:
    line = drift.trend(np.array(gum.H3_T) - np.mean(gum.H3_T), gum.H3_B)
    assert (line.intercept, line.u_intercept) == pytest.approx(gum.H3_CENTRED, rel=1e-5)
    assert line.correlation == pytest.approx(0, abs=1e-12)


def test_the_line_crosses_the_limit_when_the_reference_says() -> None:
    line = drift.trend(trend_crossing.TIMES, trend_crossing.FALLING)
    assert (line.intercept, line.slope, line.residual_sd) == pytest.approx(
        (trend_crossing.INTERCEPT, trend_crossing.SLOPE, trend_crossing.RESIDUAL_SD), rel=1e-8
    )
    found = drift.crossing(line, trend_crossing.LIMIT)
    assert found is not None
    assert (found.at, found.earliest, found.latest, found.act_before) == pytest.approx(
        (trend_crossing.AT, trend_crossing.EARLIEST, trend_crossing.LATEST, trend_crossing.ACT_BEFORE), rel=1e-8
    )


def test_no_date_is_named_without_a_significant_slope_towards_the_limit() -> None:
    flat = drift.trend(trend_crossing.TIMES, trend_crossing.FLAT)
    assert drift.crossing(flat, trend_crossing.LIMIT) is None
    falling = drift.trend(trend_crossing.TIMES, trend_crossing.FALLING)
    assert drift.crossing(falling, +2.5) is None
    level = drift.trend([0, 1, 2, 3], [1.0, 1.0, 1.0, 1.0])
    assert drift.crossing(level, 2.0) is None


def test_the_median_line_is_that_of_the_reference() -> None:
    line = drift.median_line(trend_crossing.TIMES, trend_crossing.FALLING)
    assert (line.slope, line.intercept) == pytest.approx(
        (trend_crossing.MEDIAN_SLOPE, trend_crossing.MEDIAN_INTERCEPT), abs=1e-9
    )
    assert (line.least_slope, line.greatest_slope) == pytest.approx(trend_crossing.MEDIAN_SLOPE_95, abs=1e-9)
    assert line.reaches(trend_crossing.LIMIT) == pytest.approx(trend_crossing.MEDIAN_AT, abs=1e-9)
    assert drift.median_line([0, 1, 2], [1.0, 1.0, 1.0]).reaches(2.0) is None


def test_a_wild_value_that_bears_the_trend_makes_the_two_lines_disagree() -> None:
    """20 values fall by 0.05 a week, to reach −2.5 in week 50; with the last one 2 too low the line gets there in week 34."""
    times = np.arange(20.0)
    falling = -0.05 * times + np.tile([0.02, -0.02], 10)
    wild = falling - np.where(times == 19, 2.0, 0.0)
    for values, expected in ((falling, False), (wild, True)):
        found, robust = drift.crossing(drift.trend(times, values), -2.5), drift.median_line(times, values)
        assert found is not None
        assert robust.reaches(-2.5) == pytest.approx(50, abs=1)
        assert drift.disagree(found, robust, -2.5) is expected
        assert drift.disagree(found, drift.MedianLine(0.0, 0.1, -0.1, 0.1), -2.5)


def autoregressive(r: float, count: int, runs: int, seed: int) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Rows of values with lag-1 correlation r and standard deviation 1."""
    made = np.random.default_rng(seed).normal(size=(runs, count))
    for k in range(1, count):
        made[:, k] = r * made[:, k - 1] + math.sqrt(1 - r * r) * made[:, k]
    return made


def test_values_that_go_together_widen_the_line_by_what_its_slopes_really_scatter() -> None:
    """First-order autoregression with r = 0.5: the variance of a mean, and of a slope, is (1 + r)/(1 − r) = 3 times that
    of independent values (MEMORY, large samples). A fixed seed; 400 values, so that r itself comes out near 0.5.

    Planted bug that it caught: the root was left out, and the line was widened by 3 instead of 1.73.
    """
    times = np.arange(400.0)
    lines = [drift.trend(times, row, widen=True) for row in autoregressive(0.5, 400, 600, 8)]
    scatter = float(np.std([line.slope for line in lines]))
    assert np.mean([line.widened for line in lines]) == pytest.approx(math.sqrt(3), rel=0.03)
    assert scatter / np.mean([line.u_slope for line in lines]) == pytest.approx(1, abs=0.08)
    plain = [drift.trend(times, row).u_slope for row in autoregressive(0.5, 400, 600, 8)]
    assert scatter / np.mean(plain) == pytest.approx(math.sqrt(3), abs=0.14)


def test_the_interval_of_a_crossing_holds_more_often_what_it_promises_when_values_go_together() -> None:
    """Our own simulation, no source, of 24 weekly values with r = 0.5: 0.76 to 0.81 of the 95 % intervals held the true week
    without the widening, 0.85 to 0.89 with it. A fixed seed."""
    times, truth, limit = np.arange(24.0), 40.0, -2.0
    held: dict[bool, list[bool]] = {False: [], True: []}
    for row in autoregressive(0.5, 24, 1500, 9):
        for widen in held:
            found = drift.crossing(drift.trend(times, -0.05 * times + 0.3 * row, widen=widen), limit)
            if found is not None:
                held[widen].append(found.earliest <= truth <= found.latest)
    assert 0.74 < np.mean(held[False]) < 0.83
    assert 0.83 < np.mean(held[True]) < 0.92


def test_a_line_is_widened_only_where_successive_residuals_go_together() -> None:
    """Of two lines through one cloud: in order of time the residuals alternate, or keep their sign for long."""
    times = np.arange(20.0)
    alternating = drift.trend(times, np.tile([0.1, -0.1], 10), widen=True)
    assert alternating.widened == 1
    lasting = drift.trend(times, np.where((times // 5) % 2 > 0, 0.1, -0.1), widen=True)
    plain = drift.trend(times, np.where((times // 5) % 2 > 0, 0.1, -0.1))
    assert lasting.widened > 1.3
    assert lasting.residual_sd == plain.residual_sd
    ratios = (
        *(lasting.u_slope / plain.u_slope, lasting.u_intercept / plain.u_intercept),
        *(lasting.u_at(30.0) / plain.u_at(30.0), lasting.u_at(3.0, single=True) / plain.u_at(3.0, single=True)),
    )
    assert ratios == pytest.approx((lasting.widened,) * 4)
    assert drift.trend([0, 1, 2, 3], [1.0, 1.0, 1.0, 1.0], widen=True).widened == 1
    assert drift.widening([0.2, 0.1, -0.1, -0.2]) == 1  # r = 0.2 is not above the bar


series = st.lists(st.floats(-50, 50).map(lambda v: round(v, 3)), min_size=2, max_size=40)


@given(series, st.floats(-50, 50), st.floats(0, 5), st.floats(0, 10))
def test_cusum_is_never_negative_and_only_rises_with_a_shift_up(
    values: list[float], target: float, slack: float, shift: float
) -> None:
    """Planted bug that it caught: without the reset at 0 a long calm ran up a credit, and sums were negative."""
    high, low = drift.cusum(values, target, slack)
    assert (high >= 0).all()
    assert (low >= 0).all()
    shifted_high, shifted_low = drift.cusum([v + shift for v in values], target, slack)
    assert (shifted_high >= high - 1e-9).all()
    assert (shifted_low <= low + 1e-9).all()


@given(series, st.floats(-100, 100), st.sampled_from([0.01, 0.5, 2.0, 30.0]))
def test_limits_move_with_the_values_and_stretch_with_their_unit(
    values: list[float], shift: float, scale: float
) -> None:
    for limits in (drift.individuals_limits, lambda x: drift.baseline_limits(x, 0.95)):
        plain = np.array(limits(values))
        assert limits([scale * v + shift for v in values]) == pytest.approx(scale * plain + shift, abs=1e-6)
        centre, lower, upper = limits([-v for v in values])
        assert (-centre, -upper, -lower) == pytest.approx(plain, abs=1e-9)


dated = st.lists(
    st.tuples(st.integers(0, 400), st.floats(-9, 9).map(lambda v: round(v, 2))),
    min_size=5,
    max_size=25,
    unique_by=lambda pair: pair[0],
)


@given(dated, st.randoms(use_true_random=False), st.booleans())
def test_a_trend_does_not_depend_on_the_order_in_which_checks_are_given(
    pairs: list[tuple[int, float]], dice: random.Random, widen: bool
) -> None:
    """Planted bug that it caught: residuals were correlated in the order given, not in time order."""
    shuffled = list(pairs)
    dice.shuffle(shuffled)
    one, other = (drift.trend(*zip(*sorted_or_not, strict=True), widen=widen) for sorted_or_not in (pairs, shuffled))
    assert dataclasses.astuple(one) == pytest.approx(dataclasses.astuple(other), rel=1e-6, abs=1e-9)


@given(dated, st.floats(0.5, 20), st.booleans())
def test_a_falling_series_reaches_the_lower_limit_when_its_mirror_image_reaches_the_upper(
    pairs: list[tuple[int, float]], limit: float, widen: bool
) -> None:
    times = [t for t, _ in pairs]
    sloped = [v - 0.1 * t for t, v in pairs]
    down = drift.crossing(drift.trend(times, sloped, widen=widen), -limit)
    up = drift.crossing(drift.trend(times, [-v for v in sloped], widen=widen), limit)
    assert (down is None) is (up is None)
    if down is not None and up is not None:
        assert dataclasses.astuple(down) == pytest.approx(dataclasses.astuple(up))
        assert down.earliest <= down.at <= down.latest


@given(dated, st.floats(-40, 40))
def test_the_median_line_is_the_median_of_all_slopes_with_sens_interval_and_moves_with_the_values(
    pairs: list[tuple[int, float]], shift: float
) -> None:
    """An independent count, no ties in time: Sen's interval is the slopes of rank (N ∓ 1.96·√(n(n − 1)(2n + 5)/18))/2 of N;
    ties in value make its width smaller, so only the median is held to it then."""
    times, values = zip(*sorted(pairs), strict=True)
    n = len(pairs)
    slopes = sorted((values[j] - values[i]) / (times[j] - times[i]) for i in range(n) for j in range(i + 1, n))
    line = drift.median_line(times, values)
    assert line.slope == pytest.approx(statistics.median(slopes))
    assert line.least_slope <= line.slope <= line.greatest_slope
    if len(set(values)) == n:
        reach = 1.959964 * math.sqrt(n * (n - 1) * (2 * n + 5) / 18)
        ranks = round((len(slopes) - reach) / 2) - 1, round((len(slopes) + reach) / 2)
        expected = slopes[max(ranks[0], 0)], slopes[min(ranks[1], len(slopes) - 1)]
        assert (line.least_slope, line.greatest_slope) == pytest.approx(expected)
    mirrored = drift.median_line(times, [shift - v for v in values])
    assert mirrored.slope == pytest.approx(-line.slope)
    assert mirrored.intercept == pytest.approx(shift - line.intercept, abs=1e-6)


@given(series, st.floats(-50, 50), st.floats(0, 5))
def test_cusum_of_the_mirrored_values_exchanges_high_and_low(values: list[float], target: float, slack: float) -> None:
    high, low = drift.cusum(values, target, slack)
    mirrored_high, mirrored_low = drift.cusum([-v for v in values], -target, slack)
    assert high == pytest.approx(mirrored_low)
    assert low == pytest.approx(mirrored_high)


@given(series)
def test_ewma_with_full_weight_is_the_series_itself_and_never_leaves_its_range(values: list[float]) -> None:
    assert drift.ewma(values, 1.0, values[0]) == pytest.approx(values)
    averages = drift.ewma(values, 0.3, values[0])
    assert averages.min() >= min(values) - 1e-9
    assert averages.max() <= max(values) + 1e-9


@given(st.floats(-5, 5), st.floats(-100, 100), st.floats(700_000, 740_000).map(round))
def test_trend_finds_an_exact_line_also_at_day_numbers(slope: float, level: float, day: int) -> None:
    days = day + np.arange(0, 300, 30)
    line = drift.trend(days, level + slope * (days - day))
    assert line.slope == pytest.approx(slope, abs=1e-9)
    assert line.at(day) == pytest.approx(level, abs=1e-6)


@pytest.mark.parametrize(
    ("call", "remedy"),
    [
        (lambda: drift.individuals_limits([1.0]), "at least 2"),
        (lambda: drift.individuals_limits([1.0, math.nan]), "finite"),
        (lambda: drift.ewma([1.0], 0.0, 1.0), "weight"),
        (lambda: drift.ewma([1.0], 1.2, 1.0), "weight"),
        (lambda: drift.cusum([1.0], 1.0, -0.1), "slack"),
        (lambda: drift.trend([1, 2], [1, 2]), "at least 3"),
        (lambda: drift.trend([1, 2, 3], [1, 2]), "at least 3"),
        (lambda: drift.trend([1, 2, 3, 4], [1, 2, 3]), "one time for each value"),
        (lambda: drift.trend([5, 5, 5], [1, 2, 3]), "different days"),
        (lambda: drift.median_line([5, 5, 5], [1, 2, 3]), "different days"),
        (lambda: drift.median_line([1, 2, 3, 4], [1, 2, 3]), "one time for each value"),
        (lambda: drift.baseline_limits([1.0, 2.0], 95), "0.95"),
    ],
)
def test_what_cannot_be_computed_is_refused_with_a_remedy(call: object, remedy: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=remedy):
        call()
