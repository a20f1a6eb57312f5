"""Charts and trends against the e-Handbook, the reference datasets and the GUM."""

import math

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


series = st.lists(st.floats(-50, 50).map(lambda v: round(v, 3)), min_size=2, max_size=40)


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
        (lambda: drift.baseline_limits([1.0, 2.0], 95), "0.95"),
    ],
)
def test_what_cannot_be_computed_is_refused_with_a_remedy(call: object, remedy: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=remedy):
        call()
