"""The display undone, and what moved: reference vectors, then laws that hold for every display."""

import cmath
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from refstd.eddy import signals
from refstd.eddy.signals import Display
from tests.published import decibels, display_transforms, gum
from tests.published.display_transforms import RS, SR


def display(rotation: float, horizontal_gain: float, vertical_gain: float, order: Any = RS) -> Display:
    return Display(rotation, horizontal_gain, vertical_gain, order)


def degrees(signal: complex) -> float:
    return math.degrees(cmath.phase(signal))


@pytest.mark.parametrize("case", display_transforms.UNDONE)
def test_undo_gives_the_reference_signal(case: tuple[Any, ...]) -> None:
    h, v, rotation, gh, gv, order, x, y, amplitude, phase = case
    signal = signals.undo(h, v, display(rotation, gh, gv, order))
    assert signal == pytest.approx(complex(x, y), rel=1e-8)
    assert abs(signal) == pytest.approx(amplitude, rel=1e-8)
    assert degrees(signal) == pytest.approx(phase, abs=6e-5)


@pytest.mark.parametrize(("seen", "anew", "order", "h", "v"), display_transforms.SHOWN_ANEW)
def test_a_reading_can_be_shown_at_other_settings(seen: Any, anew: Any, order: str, h: float, v: float) -> None:
    signal = signals.undo(seen[0], seen[1], display(seen[2], seen[3], seen[4], order))
    assert signals.show(signal, display(anew[0], anew[1], anew[2], order)) == pytest.approx((h, v), abs=1e-6)


@pytest.mark.parametrize(("reading", "baseline", "order", "db", "deg"), display_transforms.DEVIATIONS)
def test_deviations_are_those_of_the_undone_signals(
    reading: Any, baseline: Any, order: str, db: float, deg: float
) -> None:
    now = signals.undo(reading[0], reading[1], display(reading[2], reading[3], reading[4], order))
    then = signals.undo(baseline[0], baseline[1], display(baseline[2], baseline[3], baseline[4], order))
    assert signals.deviation_db(now, then) == pytest.approx(db, abs=1e-6)
    assert signals.deviation_deg(now, then) == pytest.approx(deg, abs=1e-6)


@pytest.mark.parametrize(("angle", "wrapped"), display_transforms.WRAPPED)
def test_angles_wrap_to_half_a_turn_with_180_kept(angle: float, wrapped: float) -> None:
    assert signals.wrap_deg(angle) == pytest.approx(wrapped, abs=1e-9)


@pytest.mark.parametrize(("angle", "wrapped"), display_transforms.WRAPPED_HALF)
def test_lobes_in_either_order_wrap_to_a_quarter_turn(angle: float, wrapped: float) -> None:
    assert signals.wrap_half_deg(angle) == pytest.approx(wrapped, abs=1e-9)


@pytest.mark.parametrize("case", display_transforms.UNCERTAINTY)
def test_uncertainty_propagates_to_amplitude_and_phase(case: tuple[float, ...]) -> None:
    h, v, rotation, gh, gv, *u, amplitude, phase, u_amplitude, u_phase, u_db = case
    result = signals.uncertainty(h, v, display(rotation, gh, gv), *u)
    signal = signals.undo(h, v, display(rotation, gh, gv))
    assert (abs(signal), degrees(signal)) == pytest.approx((amplitude, phase), rel=1e-7)
    assert result.amplitude == pytest.approx(u_amplitude, rel=1e-7)
    assert result.phase_deg == pytest.approx(u_phase, rel=1e-7)
    assert result.amplitude_db == pytest.approx(u_db, abs=6e-7)


@pytest.mark.parametrize("order", [RS, SR])
def test_uncertainty_agrees_with_random_draws_for_either_order(order: Any) -> None:
    """Monte Carlo with a fixed seed, 100,000 draws: an independent way to the same figure, good to about 1 %."""
    rng = np.random.default_rng(20)
    n = 100_000
    h, v, gh, gv, th = (rng.normal(m, s, n) for m, s in ((3, 0.03), (4, 0.03), (40, 0.1), (52, 0.1), (30, 0.5)))
    a, b, back = 10 ** (gh / 20), 10 ** (gv / 20), np.exp(-1j * np.radians(th))
    turned = (h + 1j * v) * back
    drawn = turned.real / a + 1j * turned.imag / b if order == SR else (h / a + 1j * v / b) * back
    result = signals.uncertainty(3, 4, display(30, 40, 52, order), 0.03, 0.03, 0.1, 0.1, 0.5)
    assert result.amplitude == pytest.approx(np.abs(drawn).std(), rel=0.01)
    assert result.phase_deg == pytest.approx(np.degrees(np.angle(drawn)).std(), rel=0.01)


@pytest.mark.parametrize(("order", "rotation", "h", "v"), display_transforms.STATIC)
def test_a_static_signal_at_two_rotations_tells_the_order(order: Any, rotation: float, h: float, v: float) -> None:
    assert signals.show(0.02 + 0.01j, display(rotation, 40, 52, order)) == pytest.approx((h, v), abs=1e-6)
    scaled_back = (h / 10**2) ** 2 + (v / 10**2.6) ** 2
    assert (scaled_back == pytest.approx(display_transforms.STATIC_RS_INVARIANT, rel=1e-5)) is (
        order == RS or rotation == 0
    )
    if order == SR:
        assert h**2 + v**2 == pytest.approx(display_transforms.STATIC_SR_INVARIANT, rel=1e-6)


@pytest.mark.parametrize(("spread", "worst_deg"), display_transforms.WRONG_ORDER_DEG)
def test_a_wrong_order_costs_at_most_the_gain_difference(spread: float, worst_deg: float) -> None:
    direction = np.radians(np.arange(0, 360, 0.5))
    h, v = np.cos(direction), np.sin(direction)
    off_db, off_deg = 0.0, 0.0
    for turn in np.arange(0, 360, 3.0):
        right = signals.undo(h, v, display(turn, 0, spread, RS))
        wrong = signals.undo(h, v, display(turn, 0, spread, SR))
        off_db = max(off_db, float(np.abs(signals.deviation_db(wrong, right)).max()))
        off_deg = max(off_deg, float(np.abs(signals.deviation_deg(wrong, right)).max()))
    assert off_db == pytest.approx(spread, rel=1e-3)
    assert off_deg == pytest.approx(worst_deg, abs=0.05)


@pytest.mark.parametrize(("true_deg", "spread", "shown_deg"), display_transforms.SHOWN_ANGLE)
def test_vertical_gain_exaggerates_the_angle_seen(true_deg: float, spread: float, shown_deg: float) -> None:
    h, v = signals.show(cmath.rect(1, math.radians(true_deg)), display(0, 0, spread))
    assert degrees(complex(h, v)) == pytest.approx(shown_deg, abs=0.05)


@pytest.mark.parametrize(("db", "ratio"), decibels.TABLE + decibels.TABLE_DOWN)
def test_decibels_are_those_of_the_amplitude_table(db: float, ratio: float) -> None:
    assert signals.deviation_db(10 ** (db / 20), 1.0) == pytest.approx(db)
    assert 10 ** (db / 20) == pytest.approx(ratio, abs=6e-4)
    assert signals.deviation_db(ratio, 1.0) == pytest.approx(db, abs=8e-3 / ratio)


@pytest.mark.parametrize(("ratio", "db", "within"), decibels.WORKED)
def test_decibels_are_those_of_the_worked_cases(ratio: float, db: float, within: float) -> None:
    assert signals.deviation_db(ratio, 1.0) == pytest.approx(db, abs=within)


@pytest.mark.parametrize(("ratio", "db"), decibels.DRIFT_LIMITS)
def test_decibels_of_drift_limits(ratio: float, db: float) -> None:
    assert signals.amplitude_deviation_db(ratio, 0.0, 1.0, 0.0) == pytest.approx(db, abs=1e-3)


def test_a_pure_turn_is_no_amplitude_change_but_a_phase_deviation() -> None:
    """CONSTRUCTED: 5 V at 30° against 5 V at 33°: 0 dB, yet the signal moved by 2·5·sin 1.5° = 0.261769 V."""
    now, then = cmath.rect(5, math.radians(33)), cmath.rect(5, math.radians(30))
    assert signals.deviation_db(now, then) == pytest.approx(0, abs=1e-12)
    assert signals.deviation_deg(now, then) == pytest.approx(3)
    assert abs(now - then) == pytest.approx(0.261769, abs=1e-6)


# Laws

settings = st.floats(-60, 80).map(lambda g: round(g, 1))
displays = st.builds(Display, st.floats(-720, 720), settings, settings, st.sampled_from([RS, SR]))
points = st.builds(complex, st.floats(-100, 100), st.floats(-100, 100)).filter(lambda s: abs(s) > 1e-3)


@given(points, displays)
def test_undo_is_the_inverse_of_show(signal: complex, d: Display) -> None:
    assert abs(signals.undo(*signals.show(signal, d), d) - signal) <= 1e-6 * abs(signal)


@given(points, displays, settings, settings, st.floats(-720, 720))
def test_no_gain_and_no_rotation_changes_an_undone_reading(
    s: complex, d: Display, gain_h: float, gain_v: float, rotation: float
) -> None:
    """Planted bug it caught: the horizontal gain undone by the vertical one."""
    other = Display(rotation, gain_h, gain_v, d.order)
    assert abs(signals.undo(*signals.show(s, other), other) - signals.undo(*signals.show(s, d), d)) <= 1e-6 * abs(s)


@given(points, points, displays, displays, st.floats(-40, 40))
def test_equal_gain_changes_never_change_an_undone_deviation(
    s: complex, b: complex, d: Display, e: Display, gain: float
) -> None:
    assume(d.order == e.order)
    raised = Display(d.rotation_deg, d.horizontal_gain_db + gain, d.vertical_gain_db + gain, d.order)
    then = signals.undo(*signals.show(b, e), e)
    plain = signals.undo(*signals.show(s, d), d)
    after = signals.undo(*signals.show(s, raised), raised)
    assert signals.deviation_db(after, then) == pytest.approx(signals.deviation_db(plain, then), abs=1e-5)
    assert abs(signals.wrap_deg(signals.deviation_deg(after, then) - signals.deviation_deg(plain, then))) < 1e-4


@given(points, points)
def test_deviation_in_decibels_changes_sign_when_the_two_are_exchanged(s: complex, b: complex) -> None:
    assert signals.deviation_db(s, b) == pytest.approx(-signals.deviation_db(b, s), abs=1e-12)


@given(points, points)
def test_phase_deviation_lies_above_minus_180_up_to_180(s: complex, b: complex) -> None:
    assert -180 < signals.deviation_deg(s, b) <= 180


def test_opposite_signals_differ_by_plus_180_degrees_either_way_round() -> None:
    assert signals.deviation_deg(-1.0, 1.0) == 180
    assert signals.deviation_deg(1.0, -1.0) == 180
    assert signals.deviation_deg(complex(-1.0, -0.0), complex(1.0, 0.0)) == 180


def test_arrays_come_back_in_the_same_shape_and_scalars_as_plain_numbers() -> None:
    h = np.arange(1.0, 7.0).reshape(2, 3)
    signal = signals.undo(h, h, display(30, 6, 12))
    assert signal.shape == (2, 3)
    assert signals.deviation_db(signal, signal[0, 0]).shape == (2, 3)
    assert type(signals.undo(1.0, 2.0, display(30, 6, 12))) is complex
    assert type(signals.deviation_deg(1j, 1.0)) is float


# What may be compared


def test_an_unknown_order_with_unequal_gains_cannot_be_undone() -> None:
    with pytest.raises(ValueError, match="order of rotation and gain is unknown"):
        signals.undo(3.0, 4.0, display(30, 40, 52, None))
    with pytest.raises(ValueError, match="order"):
        signals.show(1j, display(30, 40, 52, None))


def test_with_equal_gains_the_order_does_not_matter() -> None:
    results = [signals.undo(3.0, 4.0, display(30, 40, 40, order)) for order in (None, RS, SR)]
    assert results[0] == pytest.approx(results[1], rel=1e-12) == pytest.approx(results[2], rel=1e-12)


UNKNOWN = display(30, 40, 52, None)


@pytest.mark.parametrize(
    ("other", "allowed"),
    [
        (UNKNOWN, True),
        (display(390, 40, 52, None), True),  # a whole turn is the same rotation
        (display(30, 43, 55, None), True),  # both gains up by 3 dB: the same picture, larger
        (display(30, 40, 53, None), False),
        (display(31, 40, 52, None), False),
        (display(30, 40, 52, RS), False),
        (display(30, 40, 40, RS), False),
    ],
)
def test_of_an_unknown_order_only_the_same_view_is_comparable(other: Display, allowed: bool) -> None:
    assert (signals.comparable(other, UNKNOWN, "horizontal and vertical") == "") is allowed
    assert (signals.comparable(UNKNOWN, other, "horizontal and vertical") == "") is allowed
    if not allowed:
        with pytest.raises(ValueError, match="order of rotation and gain"):
            signals.to_compare((3, 4), other, (3, 4), UNKNOWN)


def test_known_orders_are_comparable_at_any_settings() -> None:
    assert signals.comparable(display(10, 40, 52, RS), display(200, 30, 30, SR), "horizontal and vertical") == ""
    now, then = signals.to_compare((3, 4), display(30, 46, 58), (3, 4), display(30, 40, 52))
    assert signals.deviation_db(now, then) == pytest.approx(-6)


def test_the_same_view_is_compared_as_seen_with_the_common_gain_undone() -> None:
    now, then = signals.to_compare((3, 4), display(30, 43, 55, None), (3, 4), UNKNOWN)
    assert signals.deviation_db(now, then) == pytest.approx(-3)
    assert signals.deviation_deg(now, then) == pytest.approx(0)


@pytest.mark.parametrize(
    ("a", "b", "lift_off_horizontal", "allowed"),
    [
        (display(30, 40, 52), display(30, 40, 55), False, True),
        (display(30, 40, 52), display(30, 20, 55), False, True),  # the horizontal gain is of no concern
        (display(30, 40, 52), display(35, 40, 52), False, False),
        (display(30, 40, 52), display(35, 40, 58), True, True),
        (display(30, 40, 52, SR), display(30, 40, 55, SR), False, False),
        (display(30, 40, 52, SR), display(30, 43, 55, SR), False, True),
        (display(30, 40, 52, None), display(35, 40, 55, None), True, False),
        (display(30, 40, 40, None), display(35, 46, 46, None), True, True),
        (display(30, 40, 40, None), display(35, 46, 46, None), False, False),
    ],
)
def test_vertical_only_readings_need_one_rotation_or_lift_off_horizontal_both_times(
    a: Display, b: Display, lift_off_horizontal: bool, allowed: bool
) -> None:
    reason = signals.comparable(a, b, "vertical", lift_off_horizontal=lift_off_horizontal)
    assert (reason == "") is allowed


@given(points, displays, settings, settings)
def test_vertical_readings_at_one_rotation_need_only_the_vertical_gain_undone(
    s: complex, d: Display, gain_h: float, gain_v: float
) -> None:
    d = Display(d.rotation_deg, d.horizontal_gain_db, d.vertical_gain_db, "rotate-then-scale")
    other = Display(d.rotation_deg, gain_h, gain_v, "rotate-then-scale")
    (_, v), (_, w) = signals.show(s, d), signals.show(1.5 * s, other)
    assume(abs(v) > 1e-6 * abs(s) and w != 0)
    assert signals.comparable(d, other, "vertical") == ""
    deviation = signals.amplitude_deviation_db(abs(w), other.vertical_gain_db, abs(v), d.vertical_gain_db)
    assert deviation == pytest.approx(20 * math.log10(1.5), abs=1e-4)


@pytest.mark.parametrize("order", [RS, SR])
def test_with_lift_off_horizontal_both_times_the_rotation_figure_drops_out(order: Any) -> None:
    """The probe's own phase turned by 17°; lift-off is set horizontal anew, equal gains up by 4 dB."""
    crack, turned = 2 * cmath.rect(1, 0.7), 2 * cmath.rect(1, 0.7 + math.radians(17))
    first, second = display(0, 40, 40, order), display(-17, 44, 44, order)
    assert signals.comparable(first, second, "vertical", lift_off_horizontal=True) == ""
    v, w = signals.show(crack, first)[1], signals.show(turned, second)[1]
    assert signals.amplitude_deviation_db(abs(w), 44.0, abs(v), 40.0) == pytest.approx(0, abs=1e-9)


def test_an_amplitude_without_direction_needs_equal_gains_or_the_same_view() -> None:
    for measure in ("peak-to-peak", "from balance"):
        assert signals.comparable(display(30, 40, 40), display(75, 46, 46), measure) == ""
        assert signals.comparable(display(30, 40, 52), display(30, 43, 55), measure) == ""
        reason = signals.comparable(display(30, 40, 52), display(75, 40, 52), measure)
        assert "without its direction" in reason


def test_an_unknown_measure_or_order_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="from balance"):
        signals.comparable(UNKNOWN, UNKNOWN, "height")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="scale-then-rotate"):
        display(0, 0, 0, "RS")


@pytest.mark.parametrize("bad", [0.0, complex("nan"), complex("inf")])
def test_no_signal_has_no_deviation(bad: complex) -> None:
    with pytest.raises(ValueError, match="reading anew"):
        signals.deviation_db(bad, 1.0)
    with pytest.raises(ValueError, match="reading anew"):
        signals.deviation_deg(1.0, bad)


def test_the_gums_impedance_comes_out_in_the_complex_plane() -> None:
    """JCGM 100:2008 H.2: R and X from V, I and phase, |Z| = 254.260 Ω (READ as quoted in a public library's tests)."""
    ratio = np.mean(gum.H2_V) / np.mean(gum.H2_I)
    z = signals.undo(*signals.show(cmath.rect(ratio, float(np.mean(gum.H2_PHASE))), display(0, 0, 0)), display(0, 0, 0))
    assert (z.real, z.imag, abs(z)) == pytest.approx((gum.H2_R, gum.H2_X, gum.H2_Z), abs=5.1e-4)


def test_uncertainty_takes_the_two_axes_as_uncorrelated_which_the_gums_impedance_is_not() -> None:
    """H.2 prints u(Z) = 0.236 with r(R, X) = −0.588; left out, the correlation makes it 0.258. Trap: u(X) prints 0.295, it is
    0.296 at full precision."""
    r, u_r, x, u_x, z, u_z, correlation = gum.H2_FULL_PRECISION
    apart = signals.uncertainty(r, x, display(0, 0, 0), u_r, u_x).amplitude
    assert apart == pytest.approx(0.258, abs=5e-4)
    together = math.sqrt(apart**2 + 2 * r * x * correlation * u_r * u_x / z**2)
    assert together == pytest.approx(u_z, abs=2e-5)
    assert round(together, 3) == gum.H2_U_Z
    assert (round(u_x, 3), gum.H2_U_X) == (0.296, 0.295)
