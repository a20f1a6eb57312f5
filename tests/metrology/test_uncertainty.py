"""Uncertainties put together, against the GUM."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.metrology import uncertainty
from tests.published import gum


def test_effective_degrees_of_freedom_are_those_of_the_gum() -> None:
    nu = uncertainty.effective_degrees_of_freedom(gum.G41_U, [n - 1 for n in gum.G41_REPEATS])
    assert round(nu, 1) == gum.G41_DOF
    assert int(nu) == 18  # trap: printed 19.0, so it must not be cut to an integer here
    u = uncertainty.combined(gum.G41_U)
    t = uncertainty.coverage_factor(0.95, round(nu))
    assert (round(u, 2), round(t, 2), round(t * u, 1)) == (gum.G41_COMBINED, gum.G41_T95, gum.G41_U95)


def test_the_end_gauge_of_the_gum_has_its_degrees_of_freedom_coverage_factor_and_expanded_uncertainty() -> None:
    """JCGM 100:2008, H.1: the effective degrees of freedom are cut to a whole number before t is taken (G.4.1, note 1)."""
    u = uncertainty.combined(gum.H1_COMPONENTS)
    nu = uncertainty.effective_degrees_of_freedom(gum.H1_COMPONENTS, gum.H1_COMPONENTS_DOF)
    t = uncertainty.coverage_factor(0.99, float(math.floor(nu)))
    assert (round(u), math.floor(nu), round(t, 2)) == (gum.H1_COMBINED, gum.H1_DOF, gum.H1_T99)
    assert round(round(t, 2) * round(u)) == gum.H1_U99
    difference = uncertainty.combined(gum.H1_DIFFERENCE)
    of_difference = uncertainty.effective_degrees_of_freedom(gum.H1_DIFFERENCE, gum.H1_DIFFERENCE_DOF)
    assert round(difference, 1) == gum.H1_U_DIFFERENCE
    assert of_difference == pytest.approx(gum.H1_NU_DIFFERENCE, abs=1e-3)


def test_a_common_systematic_part_widens_the_thermometer_intercept_as_in_the_gum() -> None:
    u_line = gum.H3_FULL_PRECISION[1]
    u = uncertainty.combined([u_line, gum.H3_COMMON_U])
    nu = uncertainty.effective_degrees_of_freedom([u_line, gum.H3_COMMON_U], [gum.H3_DEGREES_OF_FREEDOM, math.inf])
    assert u == pytest.approx(gum.H3_U_INTERCEPT_COMMON, rel=1e-6)
    assert nu == pytest.approx(gum.H3_DOF_COMMON, abs=0.01)


@pytest.mark.parametrize(("nu", "row"), gum.G2.items())
def test_coverage_factors_are_those_of_table_g_2(nu: int, row: list[float]) -> None:
    within = 5.1e-4 if nu == 100 else 5.1e-3
    factors = uncertainty.coverage_factor(np.array(gum.G2_P), np.full(len(gum.G2_P), float(nu)))
    assert factors == pytest.approx(row, abs=within)


def test_with_infinite_degrees_of_freedom_the_factor_is_the_normal_one() -> None:
    assert uncertainty.coverage_factor(0.95, math.inf) == pytest.approx(1.959964, abs=1e-6)
    assert uncertainty.coverage_factor(0.9545, math.inf) == pytest.approx(2.0, abs=1e-3)
    assert type(uncertainty.coverage_factor(0.95, 9.5)) is float


@given(st.lists(st.tuples(st.floats(1e-12, 1e3), st.integers(1, 200)), min_size=1, max_size=8))
def test_effective_degrees_lie_between_the_smallest_and_the_sum(parts: list[tuple[float, int]]) -> None:
    nu = uncertainty.effective_degrees_of_freedom([u for u, _ in parts], [n for _, n in parts])
    assert min(n for _, n in parts) * (1 - 1e-9) <= nu <= sum(n for _, n in parts) * (1 + 1e-9)


@pytest.mark.parametrize(("u", "nu"), [([], []), ([0.0], [3]), ([1.0, 2.0], [3]), ([1.0], [0]), ([-1.0], [3])])
def test_components_without_meaning_are_refused(u: list[float], nu: list[float]) -> None:
    with pytest.raises(ValueError, match=r"Give|Use infinity"):
        uncertainty.effective_degrees_of_freedom(u, nu)


@pytest.mark.parametrize(("p", "nu"), [(95.0, 9.0), (0.0, 9.0), (0.95, 0.0), (0.95, math.nan)])
def test_a_coverage_factor_outside_its_domain_is_refused(p: float, nu: float) -> None:
    with pytest.raises(ValueError, match=r"0\.95|infinity"):
        uncertainty.coverage_factor(p, nu)
