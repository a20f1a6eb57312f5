"""Two readings of one still signal tell the order of rotation and gain, or say why they cannot."""

import dataclasses
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.eddy.order import LEAST_GAIN_DIFFERENCE_DB, LEAST_TURN_DEG, OrderTold, Turned, tell_order
from refstd.eddy.signals import Display, show
from tests.published import display_transforms
from tests.published.display_transforms import RS, SR


def read(rotation: float, horizontal: float, vertical: float, digits: int = 2) -> Turned:
    """Return what somebody writes down who reads so many decimals."""
    step = 10.0**-digits
    return Turned(rotation, round(horizontal, digits), round(vertical, digits), step, step)


def of_signal(signal: complex, rotations: tuple[float, float], gains: tuple[float, float], order: Any, digits: int = 2) -> OrderTold:  # fmt: skip
    one, two = (read(r, *show(signal, Display(r, *gains, order)), digits) for r in rotations)
    return tell_order(one, two, *gains)


@pytest.mark.parametrize("order", [RS, SR])
@pytest.mark.parametrize("digits", [1, 2, 6])
def test_the_reference_readings_tell_their_order(order: str, digits: int) -> None:
    first, second = ((r, h, v) for o, r, h, v in display_transforms.STATIC if o == order)
    told = tell_order(read(*first, digits), read(*second, digits), 40, 52)
    assert told.order == order
    assert not told.why_not


def test_the_lengths_are_those_of_the_reference() -> None:
    """The kept lengths are √0.0005 and √19.848932 of the reference; six decimals read leave under 0.00001 dB."""
    first, second = ((r, h, v) for o, r, h, v in display_transforms.STATIC if o == RS)
    told = tell_order(read(*first, 6), read(*second, 6), 40, 52)
    assert told.rotate_first_db == pytest.approx(0, abs=1e-5)
    # as seen: 2.0² + 3.981072² = 19.848935 and 0.889301² + 8.167645² = 67.501283, a ratio of 3.400750 or 5.3158 dB
    assert told.scale_first_db == pytest.approx(5.3158, abs=1e-4)


signals_ = st.builds(complex, st.floats(-0.1, 0.1), st.floats(-0.1, 0.1))
rotations_ = st.integers(-360, 360).map(float)
gains_ = st.floats(20, 60).map(lambda g: round(g, 1))


@given(signals_, rotations_, rotations_, gains_, gains_, st.sampled_from([RS, SR]), st.integers(0, 3))
def test_the_wrong_order_is_never_named(
    signal: complex, one: float, two: float, horizontal: float, vertical: float, order: Any, digits: int
) -> None:
    """The true order's length is kept within the rounding, so it always agrees; if one order agrees, it is the true one.

    Planted bugs it caught: a step counted as a tenth of the last digit (the true order did not agree any more), the
    gain's lead undone for the other order (the wrong order was named).
    """
    told = of_signal(signal, (one, two), (horizontal, vertical), order, digits)
    assert told.order in (order, None)
    assert not told.why_not.startswith("neither")
    assert "clockwise" not in told.why_not
    assert "moved" not in told.why_not
    assert (told.order is None) is bool(told.why_not) is bool(told.cure)


@given(signals_.filter(lambda s: abs(s) > 0.01), rotations_, st.sampled_from([RS, SR]), st.sampled_from([40, 60]))
def test_one_of_three_turns_tells_the_order_whatever_the_signal(
    signal: complex, first: float, order: Any, vertical: float
) -> None:
    """A signal that no turn of 30°, 45° or 60° tells does not exist: a test that always refuses would pass the other laws."""
    told = [of_signal(signal, (first, first + turn), (50, vertical), order, 3).order for turn in (30, 45, 60)]
    assert order in told


@given(signals_.filter(lambda s: abs(s) > 0.01), st.sampled_from([RS, SR]))
def test_a_rotation_counted_clockwise_is_not_taken_for_an_order(signal: complex, order: Any) -> None:
    shown = [show(signal, Display(r, 40, 52, order)) for r in (0, -40)]
    told = tell_order(read(0, *shown[0], 3), read(40, *shown[1], 3), 40, 52)
    assert told.order is None
    assert "clockwise" in told.why_not or told.why_not.startswith("both")


WELL = ((RS, 0.02 + 0.01j), (0.0, 40.0), (40.0, 52.0))


@pytest.mark.parametrize(
    ("rotations", "gains", "digits", "says"),
    [
        ((0, 40), (40, 42.9), 2, "gains differ by 2.9 dB"),
        ((0, 40), (40, 40), 2, "gains differ by 0 dB"),
        ((0, 14), (40, 52), 2, "rotations differ by 14°"),
        ((0, 180), (40, 52), 2, "rotations differ by 180°"),
        ((350, 710), (40, 52), 2, "rotations differ by 0°"),
        ((0, 40), (20, 32), 1, "first reading is smaller than 20 steps"),
    ],
)
def test_a_test_that_cannot_tell_is_refused_with_the_reason(rotations: Any, gains: Any, digits: int, says: str) -> None:
    told = of_signal(0.02 + 0.01j, rotations, gains, RS, digits)
    assert told.order is None
    assert says in told.why_not
    assert told.cure


def test_the_least_difference_and_turn_are_enough() -> None:
    told = of_signal(0.2 + 0.1j, (0, LEAST_TURN_DEG), (40, 40 + LEAST_GAIN_DIFFERENCE_DB), SR, 3)
    assert told.order == SR


def test_a_signal_that_keeps_both_lengths_agrees_with_both() -> None:
    """Lengths 4.455 and 8.216 as seen are 5.3 dB apart: steps of 0.19 div still tell. Symmetry can hide the order."""
    first, second = ((r, h, v) for o, r, h, v in display_transforms.STATIC if o == RS)
    one, two = (
        dataclasses.replace(read(*each, 1), horizontal_step=0.19, vertical_step=0.19) for each in (first, second)
    )
    assert tell_order(one, two, 40, 52).order == RS
    # A signal along the first gain's axis: 45° to either side of it both lengths are kept by symmetry.
    told = of_signal(0.02, (-45, 45), (40, 52), RS)
    assert told.order is None
    assert told.why_not.startswith("both orders agree")


def test_a_signal_that_moved_agrees_with_neither() -> None:
    told = tell_order(read(0, 2.0, 3.98), read(40, 2.0, 6.0), 40, 52)
    assert told.order is None
    assert told.why_not.startswith("neither order agrees")


def test_a_length_kept_by_another_turn_is_not_an_order() -> None:
    """As seen both are 4.46 long, yet the signal stood still while the rotation went from 0° to 40°."""
    told = tell_order(read(0, 2.0, 3.98), read(40, 2.0, 3.98), 40, 52)
    assert told.order is None
    assert told.why_not  # standing still keeps both lengths
    told = tell_order(read(0, 2.0, 3.98), read(40, 3.98, -2.0), 40, 52)
    assert told.order is None
    assert "turned by -90° where the rotation was turned by 40°" in told.why_not


def test_what_is_not_a_number_is_refused() -> None:
    with pytest.raises(ValueError, match="reading"):
        Turned(0, float("nan"), 1, 0.1, 0.1)
    with pytest.raises(ValueError, match="step"):
        Turned(0, 1, 1, 0.0, float(Decimal("0.1")))
