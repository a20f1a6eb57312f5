"""Which of rotation and gain an instrument applies first, told by one still signal shown at two rotations.

A rotation keeps lengths. An instrument that rotates before it scales keeps the length of the reading with its gains
undone, (H/a)² + (V/b)²; one that scales before it rotates keeps the length of the reading as seen, H² + V². With a and b
unequal only one of the two is kept. Derived here from plane rotation and scaling; no source.
"""

import math
from dataclasses import dataclass

from refstd.base.domain import finite, positive
from refstd.eddy.signals import Order, wrap_deg, wrap_half_deg

# Below these a test says more about knobs and eyes than about the order: our own choice, no source.
LEAST_GAIN_DIFFERENCE_DB = 3.0
LEAST_TURN_DEG = 15.0
LEAST_STEPS = 20  # the larger part of a reading, in steps of its last digit
_KNOB_DEG = 1.0  # rotation is commonly set in whole degrees; common practice, no source


@dataclass(frozen=True, slots=True)
class Turned:
    """The signal as seen at one rotation: degrees, counter-clockwise positive; parts in one unit, each with its step.

    A step is one of the last written digit: 0.1 for a reading of 3.4.
    """

    rotation_deg: float
    horizontal: float
    vertical: float
    horizontal_step: float
    vertical_step: float

    def __post_init__(self) -> None:
        finite("rotation", self.rotation_deg, "Give degrees, counter-clockwise positive.")
        finite("reading", [self.horizontal, self.vertical], "Read the signal on the screen.")
        positive("step", [self.horizontal_step, self.vertical_step], "Give one of the last written digit.")


@dataclass(frozen=True, slots=True)
class OrderTold:
    """What two readings tell. `order` is None where they do not, and `why_not` and `cure` say why and what to do.

    rotate_first_db, scale_first_db: by how many dB the length that each order keeps differs between the readings.
    within_*_db: the most that one step of each reading can make of no difference at all.
    """

    order: Order | None
    why_not: str
    cure: str
    rotate_first_db: float = math.nan
    within_rotate_first_db: float = math.nan
    scale_first_db: float = math.nan
    within_scale_first_db: float = math.nan


def tell_order(first: Turned, second: Turned, horizontal_gain_db: float, vertical_gain_db: float) -> OrderTold:
    """Return the order that two readings of one still signal at the same gains tell, or why they tell none.

    Gains in dB. Readings are taken to be off by up to one step of their last digit. An order is told only if its length
    is kept within that, the other's is not, and the signal turned as the rotation did. ValueError for what is not finite.
    """
    spread = float(finite("vertical gain", vertical_gain_db) - finite("horizontal gain", horizontal_gain_db))
    turn = wrap_deg(second.rotation_deg - first.rotation_deg)
    if told := _too_weak(first, second, spread, turn):
        return told
    # Only the ratio of the gains matters; the horizontal gain is taken as 0 dB.
    kept: dict[Order, tuple[_Length, _Length]] = {
        "rotate-then-scale": (_Length.of(first, spread), _Length.of(second, spread)),
        "scale-then-rotate": (_Length.of(first, 0.0), _Length.of(second, 0.0)),
    }
    figures = [f for one, other in kept.values() for f in _apart_db(one, other)]
    agreeing = [order for order, (one, other) in kept.items() if _same(one, other)]
    if len(agreeing) == 2:
        return OrderTold(
            None, "both orders agree with the readings within one step of their last digit",
            "Turn the rotation further, or use a signal that points elsewhere, such as lift-off.", *figures,
        )  # fmt: skip
    if not agreeing:
        return OrderTold(
            None, "neither order agrees with the readings: the signal moved, a gain was changed, or a figure is mistyped",
            "Hold the probe still, for instance in a fixture, and read both anew without touching the gains.", *figures,
        )  # fmt: skip
    order = agreeing[0]
    one, other = kept[order]
    slack = one.slack_deg + other.slack_deg + _KNOB_DEG
    turned = math.degrees(math.atan2(*(other.direction_from(one))))
    if abs(wrap_deg(turned - turn)) <= slack:
        return OrderTold(order, "", "", *figures)
    if abs(wrap_deg(turned + turn)) <= slack:
        return OrderTold(
            None, "the signal turned the other way than the rotation says: this instrument counts rotation clockwise",
            "Write its rotation with the opposite sign, here and in every check.", *figures,
        )  # fmt: skip
    return OrderTold(
        None, f"the signal turned by {turned:.0f}° where the rotation was turned by {turn:g}°: it moved, or a figure is mistyped",
        "Hold the probe still and read both anew.", *figures,
    )  # fmt: skip


def gains_too_close(horizontal_db: float, vertical_db: float) -> tuple[str, str] | None:
    """Return why two gains, in dB, cannot tell the orders apart, and what to do; None where they can."""
    apart = abs(vertical_db - horizontal_db)
    if apart >= LEAST_GAIN_DIFFERENCE_DB:
        return None
    return (
        f"the gains differ by {apart:g} dB; with equal gains both orders show the same",
        f"Set them at least {LEAST_GAIN_DIFFERENCE_DB:g} dB apart, best 12 dB.",
    )


def _too_weak(first: Turned, second: Turned, spread_db: float, turn_deg: float) -> OrderTold | None:
    """Return the refusal of a test that could not tell the orders apart whatever it showed."""
    if close := gains_too_close(0.0, spread_db):
        return OrderTold(None, *close)
    if abs(wrap_half_deg(turn_deg)) < LEAST_TURN_DEG:
        return OrderTold(
            None, f"the rotations differ by {abs(turn_deg):g}°; at one rotation, or half a turn apart, both orders show the same",
            f"Turn by at least {LEAST_TURN_DEG:g}°, best 40° to 60°.",
        )  # fmt: skip
    for name, seen in (("first", first), ("second", second)):
        if max(abs(seen.horizontal) / seen.horizontal_step, abs(seen.vertical) / seen.vertical_step) < LEAST_STEPS:
            return OrderTold(
                None, f"the {name} reading is smaller than {LEAST_STEPS} steps of its last digit",
                "Take a larger signal, or raise both gains alike for both readings.",
            )  # fmt: skip
    return None


@dataclass(frozen=True, slots=True)
class _Length:
    """A reading with the vertical gain's lead undone, its length, and how far one step of the reading moves it."""

    x: float
    y: float
    reach: float

    @classmethod
    def of(cls, seen: Turned, spread_db: float) -> "_Length":
        by = 10 ** (-spread_db / 20)
        return cls(seen.horizontal, seen.vertical * by, math.hypot(seen.horizontal_step, seen.vertical_step * by))

    @property
    def length(self) -> float:
        return math.hypot(self.x, self.y)

    @property
    def slack_deg(self) -> float:
        return math.degrees(math.asin(min(1.0, self.reach / self.length))) if self.length else 180.0

    def direction_from(self, other: "_Length") -> tuple[float, float]:
        """Return sine and cosine, up to a common factor, of the angle from the other to this one."""
        return other.x * self.y - other.y * self.x, other.x * self.x + other.y * self.y


def _same(one: _Length, other: _Length) -> bool:
    return abs(one.length - other.length) <= one.reach + other.reach


def _apart_db(one: _Length, other: _Length) -> tuple[float, float]:
    """Return how far two lengths lie apart and how far apart their steps alone may put them, dB."""
    low, high = sorted((one.length, other.length))
    if not low:
        return math.inf, math.inf
    return 20 * math.log10(high / low), 20 * math.log10(1 + (one.reach + other.reach) / low)


__all__ = [
    "LEAST_GAIN_DIFFERENCE_DB",
    "LEAST_STEPS",
    "LEAST_TURN_DEG",
    "OrderTold",
    "Turned",
    "gains_too_close",
    "tell_order",
]
