"""Two measurements of one thing: published scores, then symmetry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.metrology import comparison
from tests.published import iso_13528 as published


def test_zeta_scores_are_those_of_the_listing_which_cuts_its_decimals() -> None:
    first = np.array(published.BATCH_1[:5])
    found = [comparison.zeta(x, published.U_BATCH_1, published.REFERENCE, published.U_REFERENCE) for x in first]
    assert [math.trunc(z * 1000) / 1000 for z in found] == pytest.approx(published.ZETA_FIRST_5, abs=1e-9)


def test_e_n_scores_are_those_of_the_listing() -> None:
    spread, reference = 2 * published.U_BATCH_1, 2 * published.U_REFERENCE
    found = [comparison.e_n(x, spread, published.REFERENCE, reference) for x in published.BATCH_1[:4]]
    assert found == pytest.approx(published.E_N_FIRST_4, abs=5.1e-4)


@pytest.mark.parametrize(("x", "u", "reference", "u_reference", "expected"), published.TRIANGLE)
def test_e_n_of_the_3_4_5_triangle(x: float, u: float, reference: float, u_reference: float, expected: float) -> None:
    assert comparison.e_n(x, u, reference, u_reference) == pytest.approx(expected)


values, spreads = st.floats(-1e3, 1e3), st.floats(1e-3, 1e2)


@given(values, spreads, values, spreads)
def test_e_n_changes_sign_when_exchanged_and_is_half_of_zeta_at_coverage_2(
    x: float, u: float, y: float, v: float
) -> None:
    assert comparison.e_n(x, u, y, v) == pytest.approx(-comparison.e_n(y, v, x, u))
    assert comparison.e_n(x, 2 * u, y, 2 * v) == pytest.approx(comparison.zeta(x, u, y, v) / 2)


def test_values_without_any_uncertainty_cannot_be_compared() -> None:
    with pytest.raises(ValueError, match="certificate"):
        comparison.e_n(1.0, 0.0, 1.0, 0.0)
    with pytest.raises(ValueError, match="certificate"):
        comparison.e_n(1.0, -0.1, 1.0, 0.2)
