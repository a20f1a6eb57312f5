"""How the invented equipment answers: a sound response for each notch, what happened to an item since, and chance.

Amplitude and phase against notch depth follow a calculated law of an air-core coil of 1.5 mm mean radius on aluminium of
19.1 MS/m, long notches (impedance integral with an insulating crack; dB relative to the 1.0 mm notch, degrees relative to
lift-off). They make a plausible story and prove nothing.
"""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from refstd.eddy.signals import Display, Order, show, undo

from .equipment import INSTRUMENTS
from .setups import AMPLITUDE, PLANE, SetUp

# depth mm: (dB relative to 1.0 mm, degrees relative to lift-off)
_LAWS = {
    "100 kHz": ((0.1, -27.6, 8), (0.2, -17.3, 13), (0.5, -5.9, 23), (1.0, 0.0, 30), (2.0, 3.4, 34), (3.0, 4.5, 35), (5.0, 5.2, 37)),
    "500 kHz": ((0.1, -23.6, 16), (0.2, -14.4, 24), (0.5, -4.9, 35), (1.0, 0.0, 38), (2.0, 3.1, 40), (3.0, 4.2, 40), (5.0, 4.8, 41)),
}  # fmt: skip
COMMON_DB = 0.14  # scatter of a set-up as a whole: some 5 µm of lift-off
NOTCH_DB = 0.08  # scatter from notch to notch within one check
WITHIN_JOB_DB = 0.05  # scatter against the start check, settings and tape unchanged
PHASE_DEG = 0.12  # what is left after rotation was set with lift-off horizontal
_ORDERS = {row[0]: row[8] for row in INSTRUMENTS}
_STEP_DB = 0.5  # gain knob


@dataclass(frozen=True, slots=True)
class Happening:
    """What happened to an item: from a day on its responses differ by so many dB, at once or growing until a day.

    `notches` gives the final change in dB by notch label; '' stands for every notch that is not named. `until` is when
    it has grown to its full size (None: at once); `undone` is the day on which it was put right.
    """

    item: str
    notches: dict[str, float]
    since: date
    until: date | None = None
    undone: date | None = None

    def change_db(self, members: Sequence[str], notch: str, day: date) -> float:
        """Return the change of a notch's response on a day, dB."""
        if self.item not in members or day < self.since or (self.undone is not None and day >= self.undone):
            return 0.0
        full = self.notches.get(notch, self.notches.get("", 0.0))
        if self.until is None or day >= self.until:
            return full
        return full * (day - self.since).days / (self.until - self.since).days


@dataclass(frozen=True, slots=True)
class Shown:
    """What the screen shows on one occasion: settings, and per notch (label, horizontal or '', vertical)."""

    rotation_deg: str
    horizontal_gain_db: str
    vertical_gain_db: str
    readings: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Occasion:
    """Chance on one occasion: the set-up as a whole, then each notch, dB and degrees."""

    common_db: float
    phase_deg: float
    notch_db: tuple[float, ...]


def chance(setup: SetUp, dice: random.Random) -> Occasion:
    """Throw the dice for one independent set-up."""
    notches = tuple(dice.gauss(0, NOTCH_DB) for _ in setup.notches)
    return Occasion(dice.gauss(0, COMMON_DB), dice.gauss(0, PHASE_DEG), notches)


def chance_again(first: Occasion, dice: random.Random) -> Occasion:
    """Throw the dice for a check with everything left as it was."""
    notches = tuple(n + dice.gauss(0, WITHIN_JOB_DB) for n in first.notch_db)
    return Occasion(first.common_db, first.phase_deg + dice.gauss(0, PHASE_DEG / 4), notches)


def standardized(setup: SetUp, day: date, occasion: Occasion, happenings: Sequence[Happening]) -> Shown:
    """Return what is shown after the gain was adjusted so that the target notch comes nearest to its target."""
    place = setup.notches.index(setup.target)
    now = occasion.common_db + occasion.notch_db[place]
    now += sum(h.change_db(setup.members, setup.target, day) for h in happenings)
    return as_shown(setup, day, occasion, happenings, setup.gain_db + round(-now / _STEP_DB) * _STEP_DB)


def as_shown(
    setup: SetUp, day: date, occasion: Occasion, happenings: Sequence[Happening], gain_db: float, extra_db: float = 0.0
) -> Shown:
    """Return what is shown at a vertical gain; `extra_db` changes every notch, as a loose connector would."""
    display = Display(setup.rotation_deg, gain_db - setup.spread_db, gain_db, _order(setup))
    sound_display = Display(setup.rotation_deg, setup.gain_db - setup.spread_db, setup.gain_db, _order(setup))
    digits = 1 if setup.unit == "% FSH" else 2
    readings = []
    for notch, own_db in zip(setup.notches, occasion.notch_db, strict=True):
        change = occasion.common_db + own_db + extra_db
        change += sum(h.change_db(setup.members, notch, day) for h in happenings)
        signal = _sound(setup, notch, sound_display) * 10 ** (change / 20)
        signal *= complex(math.cos(math.radians(occasion.phase_deg)), math.sin(math.radians(occasion.phase_deg)))
        horizontal, vertical = show(signal, display)
        written = f"{horizontal:.{digits}f}" if setup.measure == PLANE else ""
        height = math.hypot(horizontal, vertical) if setup.measure == AMPLITUDE else vertical
        readings.append((notch, written, f"{height:.{digits}f}"))
    return Shown(f"{setup.rotation_deg:g}", f"{gain_db - setup.spread_db:g}", f"{gain_db:g}", tuple(readings))


def _order(setup: SetUp) -> Order:
    """Return the true order of rotation and gain; an instrument whose order nobody knows has one all the same."""
    return "scale-then-rotate" if _ORDERS[setup.instrument] == "scale-then-rotate" else "rotate-then-scale"


def _sound(setup: SetUp, notch: str, display: Display) -> complex:
    """Return the signal of a notch before display when everything is sound: the target notch at its target."""
    level_db = _at(setup.law, depth_of(notch), 1) - _at(setup.law, depth_of(setup.target), 1)
    vertical = setup.full * 10 ** (level_db / 20)
    angle = math.radians(_at(setup.law, depth_of(notch), 2))
    reference = math.radians(_at(setup.law, depth_of(setup.target), 2))
    if setup.phase_reference != "lift-off":  # the notch itself stands upright, lift-off lies beside it
        turned = math.pi / 2 + angle - reference
        return undo(vertical * math.cos(turned), vertical * math.sin(turned), display)
    size = vertical / math.sin(reference)
    # More vertical than horizontal gain raises the notch against lift-off: the shown angle is steeper than the signal's.
    horizontal = size * math.cos(angle) * 10 ** (-setup.spread_db / 20)
    shown = complex(-horizontal, size * math.sin(angle))
    if setup.measure == AMPLITUDE:  # the whole deflection is set to the target, not its vertical part
        shown *= vertical / abs(shown)
    return undo(shown.real, shown.imag, display)


def depth_of(notch: str) -> float:
    """Return the depth that a notch's label begins with, mm."""
    return float(notch.split()[0])


def _at(law: str, depth_mm: float, column: int) -> float:
    """Return a law's value at a depth, straight between its points over the logarithm of depth."""
    rows = _LAWS[law]
    for below, above in pairwise(rows):
        if depth_mm <= above[0]:
            share = math.log(depth_mm / below[0]) / math.log(above[0] / below[0])
            return below[column] + share * (above[column] - below[column])
    return rows[-1][column]
