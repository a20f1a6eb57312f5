"""Decisions on certified values, against the guides."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.metrology import conformity
from tests.published import ilac_g8, iso_14253_1, jcgm_106


@pytest.mark.parametrize(("y", "u", "lower", "upper", "printed", "full"), jcgm_106.PROBABILITIES)
def test_probabilities_of_conformity_are_those_of_the_guide(
    y: float, u: float, lower: float | None, upper: float | None, printed: float, full: float
) -> None:
    found = conformity.probability(y, u, lower, upper)
    assert found == pytest.approx(full, abs=1e-6)
    assert round(found, 2) == printed


@pytest.mark.parametrize(("ratio", "stated", "at_limit"), ilac_g8.GUARD_BANDS)
def test_a_guard_band_keeps_the_risk_of_a_false_pass_below_what_is_stated(
    ratio: float, stated: float, at_limit: float
) -> None:
    u = 0.0005
    acceptance = ilac_g8.LIMIT - conformity.guard_band(2 * u, ratio)
    risk = 1 - conformity.probability(acceptance, u, upper=ilac_g8.LIMIT)
    assert risk == pytest.approx(at_limit, rel=4e-3, abs=1e-11)
    assert risk < stated


def test_a_negative_ratio_passes_values_outside_and_bounds_the_false_rejects() -> None:
    ratio, risk = ilac_g8.UNCRITICAL
    u = 0.0005
    acceptance = ilac_g8.LIMIT - conformity.guard_band(2 * u, ratio)
    assert acceptance > ilac_g8.LIMIT
    assert conformity.probability(acceptance, u, upper=ilac_g8.LIMIT) == pytest.approx(risk, rel=1e-3)
    inside = conformity.decide(0.0039, 0.001, 2, "guard band", upper=ilac_g8.LIMIT, ratio=ratio)
    outside = conformity.decide(0.0041, 0.001, 2, "guard band", upper=ilac_g8.LIMIT, ratio=ratio)
    assert (inside.outcome, outside.outcome) == ("pass", "fail")


@pytest.mark.parametrize(("value", "outcome"), ilac_g8.NON_BINARY)
def test_the_guard_band_rule_has_four_outcomes(value: float, outcome: str) -> None:
    made = conformity.decide(value, ilac_g8.U, 2, "guard band", lower=-ilac_g8.LIMIT, upper=ilac_g8.LIMIT, ratio=1.0)
    assert made.outcome == outcome
    assert (made.accept_from, made.accept_to) == pytest.approx((-0.002, 0.002))
    assert made.conforming == conformity.probability(value, ilac_g8.U / 2, -ilac_g8.LIMIT, ilac_g8.LIMIT)


PROVEN = {True: {"pass"}, False: {"fail"}, None: {"conditional pass", "conditional fail"}}


@pytest.mark.parametrize(("value", "proven"), iso_14253_1.EDITION_2017)
def test_iso_14253_1_proves_conformity_non_conformity_or_neither(value: float, proven: bool | None) -> None:
    made = conformity.decide(value, iso_14253_1.U, 2, "iso 14253-1", lower=iso_14253_1.LOWER, upper=iso_14253_1.UPPER)
    assert made.outcome in PROVEN[proven]
    if proven:
        assert made.conforming >= 0.95


@pytest.mark.parametrize(("value", "proven"), iso_14253_1.WHOLE_U)
def test_the_earlier_edition_is_the_guard_band_rule_with_the_whole_uncertainty(
    value: float, proven: bool | None
) -> None:
    made = conformity.decide(
        value, iso_14253_1.U, 2, "guard band", lower=iso_14253_1.LOWER, upper=iso_14253_1.UPPER, ratio=1
    )
    assert made.outcome in PROVEN[proven]


def test_simple_acceptance_looks_only_at_the_limits_and_a_value_on_a_limit_is_inside() -> None:
    outcomes = [conformity.decide(v, 0.02, 2, "simple", lower=9.9, upper=10.1).outcome for v in (9.9, 10.1, 10.1001)]
    assert outcomes == ["pass", "pass", "fail"]


def test_a_value_on_an_acceptance_limit_passes_although_binary_fractions_miss_it() -> None:
    """0.1 + 0.2 and 0.3 − 0.1 both miss their decimal by one rounding, on the strict side."""
    assert 0.1 + 0.2 > 0.3
    assert 0.3 - 0.1 < 0.2
    assert conformity.decide(0.3, 0.2, 2, "guard band", lower=0.1, ratio=1).outcome == "pass"
    assert conformity.decide(0.2, 0.1, 2, "guard band", upper=0.3, ratio=1).outcome == "pass"


def test_when_the_uncertainty_swallows_the_tolerance_nothing_passes() -> None:
    made = conformity.decide(10.0, 0.3, 2, "guard band", lower=9.9, upper=10.1, ratio=1)
    assert made.outcome == "conditional pass"
    assert made.accept_from > made.accept_to


@given(st.floats(-10, 10), st.floats(0.01, 5), st.floats(-3, 0), st.floats(0.1, 3), st.floats(0, 2))
def test_a_wider_guard_band_never_improves_an_outcome(
    value: float, expanded: float, lower: float, width: float, ratio: float
) -> None:
    order = ["pass", "conditional pass", "conditional fail", "fail"]
    simple = conformity.decide(value, expanded, 2, "simple", lower=lower, upper=lower + width).outcome
    guarded = conformity.decide(value, expanded, 2, "guard band", lower=lower, upper=lower + width, ratio=ratio).outcome
    assert (order.index(guarded) <= 1) is (simple == "pass")
    if guarded == "pass":
        assert simple == "pass"


@given(st.floats(-60, 60))
def test_probabilities_inside_and_outside_add_to_one(value: float) -> None:
    inside = conformity.probability(value, 1.0, -2.0, 3.0)
    outside = conformity.probability(value, 1.0, upper=-2.0) + conformity.probability(value, 1.0, lower=3.0)
    assert 0 <= inside <= 1
    assert inside + outside == pytest.approx(1, abs=1e-12)


def test_far_tails_keep_their_digits_and_arrays_their_shape() -> None:
    far = conformity.probability(12.0, 1.0, -1.0, 1.0)
    assert far == pytest.approx(math.erfc(11 / math.sqrt(2)) / 2, rel=1e-6, abs=0)
    assert conformity.probability(-12.0, 1.0, -1.0, 1.0) == pytest.approx(far, rel=1e-9, abs=0)
    assert conformity.probability(np.zeros((2, 3)), np.ones((2, 3)), -1.0, 1.0).shape == (2, 3)
    assert conformity.guard_band(np.array([1.0, 2.0]), 0.5).tolist() == [0.5, 1.0]


@pytest.mark.parametrize(
    ("call", "remedy"),
    [
        (lambda: conformity.probability(1.0, 0.1), "No limit"),
        (lambda: conformity.probability(1.0, 0.0, 0.0), "above 0"),
        (lambda: conformity.probability(1.0, 0.1, 2.0, 1.0), "Exchange"),
        (lambda: conformity.decide(1.0, 0.1, 2, "guard band", upper=2.0), "ratio"),
        (lambda: conformity.decide(1.0, 0.1, 2, "simple", upper=2.0, ratio=1), "ratio"),
        (lambda: conformity.decide(1.0, 0.1, 2, "usual", upper=2.0), "iso 14253-1"),  # type: ignore[arg-type]
        (lambda: conformity.guard_band(-0.1, 1.0), "above 0"),
    ],
)
def test_what_cannot_be_judged_is_refused_with_a_remedy(call: object, remedy: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=remedy):
        call()
