"""Take a reading off the screen: undo rotation and gains, then say by how many dB and degrees it moved.

A signal s is a complex number, the point on the impedance plane relative to balance. The screen shows it through a
rotation R(θ), counter-clockwise positive, and the gains G = diag(a, b) with a = 10^(gH/20), b = 10^(gV/20):

    rotate-then-scale:  D = G R(θ) s          scale-then-rotate:  D = R(θ) G s

Derived here from plane rotation and scaling; all dB are 20·log10 of an amplitude ratio. What cannot be undone
(off-screen, filters, another frequency, probe, drive or measure) is not corrected: such readings are not comparable.
"""

import math
from dataclasses import dataclass
from typing import Any, Literal, overload

import numpy as np

from refstd.base.domain import Array, Numbers, finite, not_negative, positive, same_shape

Order = Literal["rotate-then-scale", "scale-then-rotate"]
Measure = Literal["horizontal and vertical", "vertical", "peak-to-peak", "from balance"]
ORDERS: tuple[Order, ...] = ("rotate-then-scale", "scale-then-rotate")
MEASURES: tuple[Measure, ...] = ("horizontal and vertical", "vertical", "peak-to-peak", "from balance")

_DB_TO_NEPER = math.log(10) / 20  # 0.11513: relative change of an amplitude for a small change in dB
_SAME_SETTING = 1e-9  # settings are keyed in as decimals; anything below is the float, not the knob


@dataclass(frozen=True, slots=True)
class Display:
    """How the screen showed a signal.

    rotation_deg: any real, counter-clockwise positive. horizontal_gain_db, vertical_gain_db: dB.
    order: which of rotation and gain the instrument applies first; None if nobody has found out yet.
    """

    rotation_deg: float
    horizontal_gain_db: float
    vertical_gain_db: float
    order: Order | None

    def __post_init__(self) -> None:
        finite("rotation", self.rotation_deg, "Give degrees, counter-clockwise positive.")
        finite("horizontal gain", self.horizontal_gain_db, "Give the gain in dB.")
        finite("vertical gain", self.vertical_gain_db, "Give the gain in dB.")
        if self.order is not None and self.order not in ORDERS:
            raise ValueError(f"order '{self.order}' is unknown. Give one of {', '.join(ORDERS)}, or None if not known.")

    @property
    def equal_gains(self) -> bool:
        """Whether both gains are equal, so that the order does not matter."""
        return abs(self.spread_db) < _SAME_SETTING

    @property
    def spread_db(self) -> float:
        """Vertical minus horizontal gain, dB."""
        return self.vertical_gain_db - self.horizontal_gain_db


def undo_rows(
    horizontal: Array, vertical: Array, rotation_deg: Array, gains_db: tuple[Array, Array], order: Order
) -> Array:
    """Return the signals behind readings that each had a display of their own: one row each, NaN where a value is NaN.

    gains_db: horizontal and vertical, dB. The bulk form of `undo` for an instrument whose order is known.
    """
    a, b = (np.exp(gain * _DB_TO_NEPER) for gain in gains_db)
    back = np.exp(-1j * np.radians(rotation_deg))
    if order == "scale-then-rotate":
        turned = (horizontal + 1j * vertical) * back
        return np.asarray(turned.real / a + 1j * (turned.imag / b))
    return np.asarray((horizontal / a + 1j * (vertical / b)) * back)


def undone_uncertainty_rows(
    horizontal: Array, vertical: Array, rotation_deg: Array, gains_db: tuple[Array, Array], order: Order, u: Array
) -> tuple[Array, Array]:
    """Return the standard uncertainties of amplitude (dB) and phase (°) of what `undo_rows` returns, one row each.

    u: of horizontal and of vertical as seen, in their unit, the same for both and independent. The bulk form of
    `uncertainty`, law of propagation as there; infinite where nothing was deflected.
    """
    a, b = (np.exp(gain * _DB_TO_NEPER) for gain in gains_db)
    seen = horizontal + 1j * vertical
    if order == "scale-then-rotate":
        seen = seen * np.exp(-1j * np.radians(rotation_deg))
    squares = np.square(seen.real / a) + np.square(seen.imag / b)
    along = np.hypot(seen.real / a**2, seen.imag / b**2)
    return u * along / squares / _DB_TO_NEPER, np.degrees(u * np.abs(seen) / (a * b * squares))


def _undone(shown: Array, display: Display) -> Array:
    if display.order is None and not display.equal_gains:
        raise ValueError(
            "The display cannot be undone: the order of rotation and gain is unknown and the gains differ by "
            f"{abs(display.spread_db):g} dB. Set both gains equal, or find the instrument's order: with unequal gains, "
            "show one static signal at two rotations."
        )
    gains = np.asarray(display.horizontal_gain_db), np.asarray(display.vertical_gain_db)
    return undo_rows(
        shown.real, shown.imag, np.asarray(display.rotation_deg), gains, display.order or "rotate-then-scale"
    )


@overload
def undo(horizontal: float, vertical: float, display: Display) -> complex: ...
@overload
def undo(horizontal: Array, vertical: Array, display: Display) -> Array: ...
def undo(horizontal: float | Array, vertical: float | Array, display: Display) -> complex | Array:
    """Return the signal behind a reading, relative to balance, in the reading's unit at 0 dB and 0°.

    horizontal, vertical: the point (or the difference of a pair of points) as seen, same unit, any shape.
    ValueError if the order is unknown and the gains are unequal.
    """
    shown = finite("horizontal", horizontal) + 1j * finite("vertical", vertical)
    result: complex | Array = same_shape(_undone(np.asarray(shown), display))
    return result


@overload
def show(signal: complex, display: Display) -> tuple[float, float]: ...
@overload
def show(signal: Array, display: Display) -> tuple[Array, Array]: ...
def show(signal: complex | Array, display: Display) -> tuple[Any, Any]:
    """Return (horizontal, vertical) at which the screen shows the signal: the inverse of `undo`."""
    s = np.asarray(signal, dtype=np.complex128)
    if display.order is None and not display.equal_gains:
        raise ValueError("The order of rotation and gain is unknown and the gains differ. Give the instrument's order.")
    a, b = 10 ** (display.horizontal_gain_db / 20), 10 ** (display.vertical_gain_db / 20)
    turn = np.exp(1j * math.radians(display.rotation_deg))
    if display.order == "scale-then-rotate":
        d = (s.real * a + 1j * (s.imag * b)) * turn
        return same_shape(d.real), same_shape(d.imag)
    turned = s * turn
    return same_shape(turned.real * a), same_shape(turned.imag * b)


def _of_amplitude(name: str, signal: complex | Array) -> Array:
    values = np.asarray(signal, dtype=np.complex128)
    if not np.isfinite(values).all() or not (np.abs(values) > 0).all():
        raise ValueError(
            f"{name} must be finite and not zero: nothing to compare in dB or degrees. Take the reading anew."
        )
    return values


@overload
def deviation_db(signal: complex, baseline: complex) -> float: ...
@overload
def deviation_db(signal: Array, baseline: complex | Array) -> Array: ...
def deviation_db(signal: complex | Array, baseline: complex | Array) -> float | Array:
    """Return 20·log10(|signal|/|baseline|), dB: positive when the response has risen. ValueError for a zero signal."""
    ratio = np.log10(np.abs(_of_amplitude("signal", signal))) - np.log10(np.abs(_of_amplitude("baseline", baseline)))
    result: float | Array = same_shape(20 * ratio)
    return result


def wrap_deg(angle_deg: Numbers) -> Numbers:
    """Return the angle in (−180, 180]."""
    wrapped = (finite("angle", angle_deg) + 180) % 360 - 180
    result: Numbers = same_shape(np.where(wrapped <= -180, 180.0, wrapped))
    return result


def wrap_half_deg(angle_deg: Numbers) -> Numbers:
    """Return the angle in (−90, 90]: for figure-8 signals, whose two lobes may be taken in either order."""
    wrapped = (finite("angle", angle_deg) + 90) % 180 - 90
    result: Numbers = same_shape(np.where(wrapped <= -90, 90.0, wrapped))
    return result


@overload
def deviation_deg(signal: complex, baseline: complex) -> float: ...
@overload
def deviation_deg(signal: Array, baseline: complex | Array) -> Array: ...
def deviation_deg(signal: complex | Array, baseline: complex | Array) -> float | Array:
    """Return the phase of the signal minus that of the baseline, degrees in (−180, 180], counter-clockwise positive.

    With the phase set on a notch that notch's deviation is zero by construction: don't show it as a result.
    """
    turned = np.angle(_of_amplitude("signal", signal)) - np.angle(_of_amplitude("baseline", baseline))
    result: float | Array = wrap_deg(same_shape(np.degrees(turned)))
    return result


def amplitude_deviation_db(
    amplitude: Numbers, gain_db: Numbers, baseline_amplitude: Numbers, baseline_gain_db: Numbers
) -> Numbers:
    """Return the change of an amplitude or a vertical part read without its direction, its gain undone, dB.

    Valid only where `comparable` finds no objection to the measure. In one unit, without sign, above 0.
    """
    low = "A reading of zero has no dB. Take the reading anew at more gain."
    ratio = np.log10(positive("amplitude", amplitude, low)) - np.log10(positive("baseline", baseline_amplitude, low))
    result: Numbers = same_shape(20 * ratio - (finite("gain", gain_db) - finite("baseline gain", baseline_gain_db)))
    return result


def _same_rotation(a: Display, b: Display) -> bool:
    return abs(wrap_deg(a.rotation_deg - b.rotation_deg)) < _SAME_SETTING


def _same_view(a: Display, b: Display, *, whatever_rotation: bool = False) -> bool:
    """Whether both screens showed one picture at most magnified: both gains moved together, nothing else did."""
    if a.equal_gains and b.equal_gains:
        return True
    together = abs(a.spread_db - b.spread_db) < _SAME_SETTING
    return a.order == b.order and together and (whatever_rotation or _same_rotation(a, b))


def comparable(a: Display, b: Display, measure: Measure, *, lift_off_horizontal: bool = False) -> str:
    """Return '' if readings of one measure under displays `a` and `b` can be compared, else the reason in a sentence.

    lift_off_horizontal: lift-off was set horizontal on both occasions; then a vertical-only reading is the part across
    lift-off each time, whatever the rotation's figure. With an order unknown for both, one instrument is meant.
    """
    if measure not in MEASURES:
        raise ValueError(f"measure '{measure}' is unknown. Give one of {', '.join(MEASURES)}.")
    if measure == "horizontal and vertical":
        blocked = [d for d in (a, b) if d.order is None and not d.equal_gains]
        if not blocked or _same_view(a, b):
            return ""
        return (
            "The order of rotation and gain of this instrument is unknown; with unequal horizontal and vertical gains "
            "only readings at the same rotation and the same gain difference can be compared."
        )
    if measure == "vertical":
        if not (lift_off_horizontal or _same_rotation(a, b)):
            return (
                "The rotation differs and only the vertical part was read. Read horizontal and vertical, or set "
                "lift-off horizontal on both occasions."
            )
        both_rotate_first = a.order == b.order == "rotate-then-scale"
        if both_rotate_first or _same_view(a, b, whatever_rotation=lift_off_horizontal):
            return ""
        return (
            "The gains were changed unequally, and the vertical part alone can be corrected for that only if the "
            "instrument is known to rotate before it scales. Read horizontal and vertical, or use the same gains."
        )
    if _same_view(a, b):
        return ""
    return (
        f"An amplitude {measure} was read without its direction; it can be compared only if horizontal and vertical "
        "gain were equal both times, or rotation and gain difference were the same. Read horizontal and vertical where the screen shows both."
    )


def to_compare(
    seen: tuple[float, float], display: Display, baseline: tuple[float, float], baseline_display: Display
) -> tuple[complex, complex]:
    """Return two (horizontal, vertical) readings as the signals that may be compared by dB and degrees.

    Undone where the order is known or does not matter; otherwise, under the same view, as seen with the common gain
    undone (unequal gains then distort how a turn of the signal shows, alike both times). ValueError with the reason
    if they are not comparable.
    """
    if reason := comparable(display, baseline_display, "horizontal and vertical"):
        raise ValueError(reason)
    if all(d.order is not None or d.equal_gains for d in (display, baseline_display)):
        return undo(*seen, display), undo(*baseline, baseline_display)
    now, then = (complex(*pair) for pair in (seen, baseline))
    return now / 10 ** (display.horizontal_gain_db / 20), then / 10 ** (baseline_display.horizontal_gain_db / 20)


@dataclass(frozen=True, slots=True)
class SignalUncertainty:
    """Standard uncertainties (coverage factor 1) of one signal: amplitude in its unit and in dB, phase in degrees."""

    amplitude: float
    amplitude_db: float
    phase_deg: float


def uncertainty(
    horizontal: float,
    vertical: float,
    display: Display,
    u_horizontal: float,
    u_vertical: float,
    u_horizontal_gain_db: float = 0.0,
    u_vertical_gain_db: float = 0.0,
    u_rotation_deg: float = 0.0,
) -> SignalUncertainty:
    """Return the standard uncertainties of the undone signal's amplitude and phase.

    Law of propagation, JCGM 100:2008 5.1.2, inputs uncorrelated, first order: good for amplitude ≥ 5 times its
    uncertainty. A reading to ±0.1 division is uniform: u = 0.1/√3 = 0.058 division. Between two readings of one
    instrument at the same settings gain and rotation errors are common: leave those at 0 in a difference.
    """
    signal = undo(horizontal, vertical, display)
    _of_amplitude("signal", signal)
    by_horizontal, by_vertical = undo(1.0, 0.0, display), undo(0.0, 1.0, display)
    if display.order == "scale-then-rotate":
        by_gain_h, by_gain_v = complex(signal.real), 1j * signal.imag
        by_rotation = undo(vertical, -horizontal, display)
    else:
        by_gain_h, by_gain_v = undo(horizontal, 0.0, display), undo(0.0, vertical, display)
        by_rotation = -1j * signal
    moves = np.array(
        [
            by_horizontal * float(not_negative("u_horizontal", u_horizontal)),
            by_vertical * float(not_negative("u_vertical", u_vertical)),
            by_gain_h * _DB_TO_NEPER * float(not_negative("u_horizontal_gain_db", u_horizontal_gain_db)),
            by_gain_v * _DB_TO_NEPER * float(not_negative("u_vertical_gain_db", u_vertical_gain_db)),
            by_rotation * math.radians(float(not_negative("u_rotation_deg", u_rotation_deg))),
        ]
    )
    relative = moves / signal  # real part: relative amplitude; imaginary part: angle in radians
    u_relative, u_phase = float(np.linalg.norm(relative.real)), float(np.linalg.norm(relative.imag))
    return SignalUncertainty(abs(signal) * u_relative, u_relative / _DB_TO_NEPER, math.degrees(u_phase))
