"""Steps, slopes and onsets: the Nile's step of 1898, the mass standard's record, and a search by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.metrology.attribution import pooled_spread
from refstd.metrology.drift import trend
from refstd.metrology.step import FEWEST_A_SIDE, best_step, onset, steps_rather
from tests.published import check_standards, nile, trend_crossing


def test_the_step_of_the_nile_is_found_in_its_year_with_its_size_and_its_squares() -> None:
    """Planted bug that it caught: the index was that of the last value before the step."""
    step = best_step(nile.FLOW)
    assert step is not None
    assert (step.index, step.count) == (nile.LAST_BEFORE, len(nile.FLOW))
    assert nile.FIRST_YEAR + step.index - 1 == 1898
    assert step.size == pytest.approx(nile.LEVELS[1] - nile.LEVELS[0], abs=5.1e-3)
    assert round(step.residual_squares) == nile.SQUARES_OF_STEP
    assert round(float(np.var(nile.FLOW)) * step.count) == nile.SQUARES_OF_NO_STEP


def test_the_nile_stepped_rather_than_fell_slowly_by_the_published_criterion() -> None:
    """The published criterion counts the variance, ours does not; both count one more quantity for a step's place than for a
    line. Their difference between step and line is that of ours."""
    years = np.arange(len(nile.FLOW))
    step, line = best_step(nile.FLOW), trend(years, nile.FLOW)
    assert step is not None
    n = step.count

    def criterion(squares: float, quantities: int) -> float:
        return n * (math.log(2 * math.pi * squares / n) + 1) + quantities * math.log(n)

    assert criterion(step.residual_squares, 4) == pytest.approx(nile.CRITERION_OF_STEP, abs=5.1e-4)
    assert criterion(nile.SQUARES_OF_NO_STEP, 2) == pytest.approx(nile.CRITERION_OF_NO_STEP, abs=5.1e-4)
    assert criterion(step.residual_squares, 4) < criterion(line.residual_sd**2 * line.degrees_of_freedom, 3)
    assert steps_rather(step, line)
    assert onset(years, nile.FLOW) == 0


def test_a_steady_fall_is_no_step() -> None:
    step = best_step(trend_crossing.FALLING)
    assert step is not None
    assert not steps_rather(step, trend(trend_crossing.TIMES, trend_crossing.FALLING))


def test_the_mass_standards_level_is_taken_as_a_step_of_more_than_its_scatter() -> None:
    """NIST/SEMATECH e-Handbook 2.3.5 (data READ): it sits higher from 1985 or 1986 on; a straight line describes that worse."""
    step = best_step(check_standards.MASS_MG)
    line = trend(check_standards.MASS_YEARS, check_standards.MASS_MG)
    assert step is not None
    assert 85.0 < check_standards.MASS_YEARS[step.index] < 87.0
    assert step.size > check_standards.MASS_BASELINE[2]
    assert steps_rather(step, line)


series = st.lists(st.floats(-9, 9).map(lambda v: round(v, 2)), min_size=4, max_size=30)


def squares_about_means(values: list[float], k: int) -> float:
    return sum(float(np.square(part - np.mean(part)).sum()) for part in (np.array(values[:k]), np.array(values[k:])))


@given(series)
def test_no_other_place_leaves_smaller_squares(values: list[float]) -> None:
    """Planted bug that it caught: the last possible place was never tried."""
    step = best_step(values)
    assert step is not None
    places = range(FEWEST_A_SIDE, len(values) - FEWEST_A_SIDE + 1)
    assert step.index in places
    least = min(squares_about_means(values, k) for k in places)
    assert step.residual_squares == pytest.approx(least, abs=1e-8)
    assert squares_about_means(values, step.index) == pytest.approx(least, abs=1e-8)
    before, after = values[: step.index], values[step.index :]
    assert step.size == pytest.approx(np.mean(after) - np.mean(before), abs=1e-9)
    pooled = pooled_spread([[[v] for v in before], [[v] for v in after]]).sd_db
    assert step.u_size == pytest.approx(pooled * math.sqrt(1 / len(before) + 1 / len(after)), abs=1e-5)


@given(series, st.floats(-100, 100), st.sampled_from([-2.0, 0.5, 30.0]))
def test_a_step_moves_with_the_values_and_stretches_with_their_unit(
    values: list[float], shift: float, scale: float
) -> None:
    one, other = best_step(values), best_step([scale * v + shift for v in values])
    assert one is not None
    assert other is not None
    assert other.residual_squares == pytest.approx(scale**2 * one.residual_squares, rel=1e-6, abs=1e-6)


def test_too_few_values_show_no_step_and_no_onset() -> None:
    assert best_step([1.0, 2.0, 3.0]) is None
    assert onset([0, 1, 2, 3, 4], [0.0, 0.0, 0.0, -1.0, -2.0]) == 0


@given(
    st.integers(4, 20),
    st.integers(6, 20),
    st.sampled_from([-0.05, 0.05]),
    st.integers(0, 2**32 - 1),
)
def test_the_onset_is_where_the_least_squares_of_a_bent_line_put_it(
    level: int, sloping: int, slope: float, seed: int
) -> None:
    """An independent fit of every bend by numpy's least squares."""
    n = level + sloping
    t = np.arange(float(n))
    y = slope * np.maximum(t - level, 0.0) + np.random.default_rng(seed).normal(0, 0.01, n)

    def squares(place: int) -> float:
        columns = np.column_stack([np.ones(n), np.maximum(t - t[place], 0.0)])
        return float(np.square(y - columns @ np.linalg.lstsq(columns, y, rcond=None)[0]).sum())

    found = onset(t, y)
    assert abs(found - level) <= 2
    assert squares(found) == pytest.approx(min(squares(k) for k in range(n - 3)))
    steep = slope * t + np.random.default_rng(seed).normal(0, 0.001, n)
    assert onset(t, steep) <= 1
