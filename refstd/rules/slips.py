"""Likely slips of the pen in a set of readings, marked before it is kept. They never change a reading."""

import math
from dataclasses import dataclass
from itertools import pairwise

from refstd.base.quantity import Unit, derived, plain
from refstd.base.text import key
from refstd.rules.readings import NotchReading, ReadingSet

FACTOR = 5.0  # between no change and a slipped decimal point (10); common practice, no source


@dataclass(frozen=True, slots=True)
class Slip:
    """A reading that looks mistyped: which notch ('' for the whole set), and why."""

    notch: str
    says: str


def likely_slips(new: ReadingSet, reference: ReadingSet | None, last: ReadingSet | None) -> tuple[Slip, ...]:
    """Return what looks mistyped.

    Order: two notches read the other way round than the reference has them. Factor: five times more or less than the
    reference at the same settings, as after a slipped decimal point. Copy: every value is the one of the last check.
    """
    slips = []
    if reference is not None:
        slips += _factor_slips(new, reference)
        slips += _order_slips(new, reference)
    if last is not None and _is_copy(new, last):
        slips.append(Slip("", f"every value is the same as in {last.record}: copied?"))
    return tuple(slips)


def _size(reading: NotchReading | None) -> float:
    if reading is None or reading.vertical is None or reading.full_screen:
        return 0.0
    return math.hypot(float(reading.horizontal or 0), float(reading.vertical))


def _factor_slips(new: ReadingSet, reference: ReadingSet) -> list[Slip]:
    gain = 10 ** (float(new.vertical_gain_db - reference.vertical_gain_db) / 20)
    slips = []
    for reading in new.readings:
        past = reference.on(reading.notch)
        least = _size(past) * gain / 4  # a component near zero may change by any factor without a slip
        for now, then in zip(_components(reading), _components(past), strict=True):
            if not now or then * gain <= least:
                continue
            ratio = now / (then * gain)
            if ratio >= FACTOR or ratio <= 1 / FACTOR:
                shown = derived(ratio, Unit.RATIO)
                slips.append(Slip(reading.notch, f"{shown} times the value in {reference.record}: decimal point?"))
                break
    return slips


def _components(reading: NotchReading | None) -> tuple[float, float]:
    if reading is None or reading.full_screen:
        return 0.0, 0.0
    return abs(float(reading.horizontal or 0)), abs(float(reading.vertical or 0))


def _order_slips(new: ReadingSet, reference: ReadingSet) -> list[Slip]:
    """Return neighbouring notches whose heights are exchanged compared with the reference."""
    slips = []
    ordered = sorted(new.readings, key=lambda r: r.depth_mm)
    for shallow, deep in pairwise(ordered):
        now = _size(shallow), _size(deep)
        then = _size(reference.on(shallow.notch)), _size(reference.on(deep.notch))
        if all(now) and all(then) and (now[0] - now[1]) * (then[0] - then[1]) < 0:
            slips.append(
                Slip(deep.notch, f"notches {shallow.notch} and {deep.notch} answer the other way round: exchanged?")
            )
    return slips


def _is_copy(new: ReadingSet, last: ReadingSet) -> bool:
    def values(each: ReadingSet) -> dict[str, tuple[str, str]]:
        return {
            key(r.notch): (
                plain(r.horizontal) if r.horizontal is not None else "",
                plain(r.vertical) if r.vertical is not None else "",
            )
            for r in each.readings
            if not r.full_screen
        }

    now = values(new)
    return bool(now) and len(now) > 1 and now == values(last)
