"""Hints from the notches of one check.

The patterns are common practice, no source; the responses by depth of the mix-up are CONSTRUCTED round figures.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.eddy.patterns import hint

SCATTER_DB = 0.3
DEPTHS = (0.2, 0.5, 1.0)


def kind(deviations: tuple[float, ...], responses: tuple[float, ...] | None = None) -> str:
    return hint(list(zip(DEPTHS, deviations, strict=True)), SCATTER_DB, responses).kind


@pytest.mark.parametrize(
    ("deviations", "expected"),
    [
        ((0.1, -0.4, 0.5), "no change"),
        ((-3.0, -3.1, -2.8), "all alike"),
        ((2.0, 2.2, 1.9), "all alike"),
        ((-3.0, -1.7, -0.5), "shallow most"),
        ((3.0, 1.7, 0.5), "shallow most"),
        ((-3.0, -0.1, 0.1), "shallow most"),
        ((-0.2, -1.7, -3.5), "no clear pattern"),
        ((-3.0, 0.1, -3.0), "no clear pattern"),
        ((-3.0, 0.0, 2.0), "no clear pattern"),
        ((1.2, 0.0, -1.2), "no clear pattern"),  # too small for notches of different depth exchanged
        ((9.5, -9.5, 0.0), "order wrong"),
        ((14.4, 0.1, -14.5), "order wrong"),
    ],
)
def test_the_pattern_over_three_notches_is_named(deviations: tuple[float, ...], expected: str) -> None:
    assert kind(deviations) == expected


def test_responses_that_fall_with_depth_are_a_mix_up_whatever_the_deviations() -> None:
    before = (-14.4, -4.9, 0.0)
    mixed = (-4.9, -14.4, 0.0)
    changes: Any = tuple(round(now - then, 1) for now, then in zip(mixed, before, strict=True))
    assert kind(changes, mixed) == "order wrong"
    with_gain = tuple(c + 6 for c in changes)
    assert kind(with_gain, tuple(m + 6 for m in mixed)) == "order wrong"
    assert kind((-3.0, -3.0, -3.0), tuple(b - 3 for b in before)) == "all alike"


def test_a_rising_check_points_to_wear_and_a_falling_one_to_lift_off() -> None:
    risen = hint([(0.2, 3.0), (0.5, 1.5), (1.0, 0.3)], SCATTER_DB)
    fallen = hint([(0.2, -3.0), (0.5, -1.5), (1.0, -0.3)], SCATTER_DB)
    assert "worn probe face" in risen.says
    assert "lift-off" in fallen.says
    assert "risen" in hint([(d, 2.0) for d in DEPTHS], SCATTER_DB).says


def test_figures_are_listed_from_the_shallowest_with_their_units() -> None:
    found = hint([(1.0, -0.31), (0.2, -3.0), (0.5, -1.5)], SCATTER_DB)
    assert found.figures == ("0.200 mm: −3.00 dB", "0.500 mm: −1.50 dB", "1.000 mm: −0.31 dB")


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_notches_show_no_pattern(count: int) -> None:
    assert hint([(0.2, -6.0), (1.0, -6.0)][:count], SCATTER_DB).kind == "too few notches"


pairs = st.lists(st.tuples(st.floats(0.05, 5), st.floats(-20, 20)), min_size=1, max_size=6)


@given(pairs, st.randoms(use_true_random=False))
def test_the_order_in_which_notches_were_read_does_not_matter(notches: list[tuple[float, float]], random: Any) -> None:
    notches = list({depth: (depth, deviation) for depth, deviation in notches}.values())
    shuffled = list(notches)
    random.shuffle(shuffled)
    assert hint(shuffled, SCATTER_DB) == hint(notches, SCATTER_DB)


@given(st.floats(0.9, 20), st.sampled_from([-1, 1]))
def test_a_pure_gain_change_is_always_all_alike(step: float, sign: int) -> None:
    assert kind((sign * step,) * 3) == "all alike"


@pytest.mark.parametrize(
    ("notches", "scatter", "responses", "remedy"),
    [
        ([(0.2, 1.0)], 0.0, None, "independent set-ups"),
        ([(0.0, 1.0)], 0.3, None, "depth"),
        ([(0.2, float("nan"))], 0.3, None, "without a value"),
        ([(0.2, 1.0)], 0.3, [1.0, 2.0], "one for each"),
    ],
)
def test_what_gives_no_pattern_is_refused_with_a_remedy(
    notches: Any, scatter: float, responses: Any, remedy: str
) -> None:
    with pytest.raises(ValueError, match=remedy):
        hint(notches, scatter, responses)
