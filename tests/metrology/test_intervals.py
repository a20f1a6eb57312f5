"""Recalibration intervals from reliability found."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.metrology import intervals
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
