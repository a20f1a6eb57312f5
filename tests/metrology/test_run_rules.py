"""Run rules against their published wording and how often chance fulfils them."""

import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.metrology.run_rules import NELSON, WESTERN_ELECTRIC, Rule, signals
from tests.published import run_rules as published


@pytest.mark.parametrize(("values", "expected"), published.CASES)
def test_the_western_electric_rules_signal_first_where_they_should(
    values: list[float], expected: tuple[int, int] | None
) -> None:
    found = signals(values, 0.0, 1.0, WESTERN_ELECTRIC)
    assert ((found[0].rule.number, found[0].index + 1) if found else None) == expected


def at(set_: tuple[Rule, ...], number: int, values: list[float]) -> list[int]:
    """Points counted from 1 at which one rule of the set signals."""
    return [s.index + 1 for s in signals(values, 0.0, 1.0, set_) if s.rule.number == number]


# CONSTRUCTED from the published wording: the shortest run that fulfils each rule, and the point of its signal
@pytest.mark.parametrize(
    ("number", "values"),
    [
        (1, [-3.01]),
        (2, [-0.1] * 9),
        (3, [0.6, 0.5, 0.4, 0.3, 0.2, 0.1]),
        (4, [0.1, 0.2] * 7),
        (5, [-2.1, 0, -2.1]),
        (6, [-1.1, -1.1, 0, -1.1, -1.1]),
        (7, [0.5, -0.5, 0.9] * 5),
        (8, [1.1, -1.2, 1.1, -1.2, 1.3, 1.1, 1.2, -1.1]),
    ],
)
def test_each_nelson_rule_signals_at_the_last_point_of_its_run_and_not_before(number: int, values: list[float]) -> None:
    assert at(NELSON, number, values) == [len(values)]
    assert at(NELSON, number, values[1:]) == []


def test_each_rule_is_numbered_as_published_and_names_its_source() -> None:
    assert [r.number for r in WESTERN_ELECTRIC] == list(published.WESTERN_ELECTRIC)
    assert [r.number for r in NELSON] == list(published.NELSON)
    assert all("1956" in r.source for r in WESTERN_ELECTRIC)
    assert all("1984" in r.source for r in NELSON)


def test_a_point_on_the_limit_is_not_beyond_it_also_in_binary_fractions() -> None:
    assert (0.4 - 0.1) / 0.1 > 3  # the trap
    assert signals([0.4], 0.1, 0.1, WESTERN_ELECTRIC) == ()


def test_a_point_back_at_the_centre_does_not_signal_what_the_points_before_it_did() -> None:
    assert at(WESTERN_ELECTRIC, 2, [2.1, 2.2, 0.0]) == [2]


def test_a_steady_process_waits_as_long_for_a_false_alarm_as_published() -> None:
    """Champ and Woodall 1987 (MEMORY): 91.75 points with all four rules; one rule 370.4. A fixed seed; the mean of 2,000
    runs has a standard deviation near 2."""
    assert 1 / (2 * NormalDist().cdf(-3)) == pytest.approx(published.AVERAGE_RUN_3_SIGMA, abs=0.005)
    dice = np.random.default_rng(7)
    waits = []
    for _ in range(2000):
        found = signals(dice.normal(size=1500), 0.0, 1.0, WESTERN_ELECTRIC)
        waits.append(found[0].index + 1)
    assert np.mean(waits) == pytest.approx(published.AVERAGE_RUN_WESTERN_ELECTRIC, abs=6)


@given(st.lists(st.floats(-4, 4).map(lambda v: round(v, 1)), max_size=40), st.sampled_from([WESTERN_ELECTRIC, NELSON]))
def test_a_mirrored_series_signals_at_the_same_points(values: list[float], rules: tuple[Rule, ...]) -> None:
    assert signals(values, 0.0, 1.0, rules) == signals([-v for v in values], 0.0, 1.0, rules)


@given(
    st.lists(st.floats(-4, 4).map(lambda v: round(v, 1)), max_size=40), st.integers(-50, 50), st.sampled_from([0.25, 2])
)
def test_only_distance_from_the_centre_in_sigmas_counts(values: list[float], centre: int, sigma: float) -> None:
    moved = [centre + sigma * v for v in values]
    assert signals(moved, centre, sigma, NELSON) == signals(values, 0.0, 1.0, NELSON)


@pytest.mark.parametrize(
    ("values", "sigma", "remedy"),
    [([1.0, math.nan], 1.0, "finite"), ([1.0], 0.0, "above 0"), ([[1.0]], 1.0, "one series")],
)
def test_what_is_no_series_is_refused_with_a_remedy(values: list[float], sigma: float, remedy: str) -> None:
    with pytest.raises(ValueError, match=remedy):
        signals(values, 0.0, sigma, NELSON)
