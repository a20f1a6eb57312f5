"""Readings of several occasions as one screen would show them: re-expressed at the settings of the newest."""

import statistics

from refstd.base.text import key
from refstd.eddy.signals import show, undo
from refstd.rules.readings import NotchReading, ReadingSet

Point = tuple[str, float | None, float]


def as_shown(past: ReadingSet, new: ReadingSet) -> tuple[Point, ...]:
    """Return (notch, horizontal, vertical) of each reading as the new display shows it; off-screen readings are left out.

    Where the display cannot be undone (unknown order, unequal gains) only a set at the same settings is shown.
    """
    points = (_point(past, new, r) for r in past.readings)
    return tuple(p for p in points if p is not None)


def mean_as_shown(sets: tuple[ReadingSet, ...], new: ReadingSet) -> tuple[Point, ...]:
    """Return the mean over several sets, for the notches that every set has."""
    shown = [as_shown(s, new) for s in sets]
    by_notch: dict[str, list[Point]] = {}
    for points in shown:
        for p in points:
            by_notch.setdefault(key(p[0]), []).append(p)
    means = []
    for found in by_notch.values():
        if len(found) != len(sets):
            continue
        horizontals = [h for _, h, _ in found if h is not None]
        horizontal = statistics.fmean(horizontals) if len(horizontals) == len(found) else None
        means.append((found[0][0], horizontal, statistics.fmean(v for _, _, v in found)))
    return tuple(means)


def _point(past: ReadingSet, new: ReadingSet, reading: NotchReading) -> Point | None:
    if reading.full_screen or reading.vertical is None:
        return None
    vertical = float(reading.vertical)
    if not new.directed or reading.horizontal is None:
        return reading.notch, None, vertical * 10 ** (float(new.vertical_gain_db - past.vertical_gain_db) / 20)
    horizontal = float(reading.horizontal)
    if past.display == new.display:
        return reading.notch, horizontal, vertical
    try:
        signal = undo(horizontal, vertical, past.display)
        shown = show(signal, new.display)
    except ValueError:
        return None
    return reading.notch, float(shown[0]), float(shown[1])
