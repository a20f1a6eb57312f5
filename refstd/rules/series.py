"""The answers of one notch in one setup in time: how far each lies from the baseline, or why that cannot be said.

The bulk form of the comparison in `condition.py`: whole series as arrays, so that a lab's years are compared at once.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from refstd.base.domain import Array
from refstd.eddy.signals import Display, Measure, Order, comparable, undo_rows, undone_uncertainty_rows, wrap_deg
from refstd.rules.figures import LEAST_SIGNAL_TO_NOISE as LEAST_SIGNAL_TO_NOISE
from refstd.rules.figures import OFF_SCREEN, ZERO
from refstd.rules.readings import MEASURED_AS

HIDDEN_IN_NOISE = f"deflects by less than {LEAST_SIGNAL_TO_NOISE:g} × the noise"
REPEATED = "was repeated after a remedy; the repeat counts"
NOT_READ = "has no baseline reading of this notch"
_NEPER_TO_DB = 20 / math.log(10)


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """Readings of one notch as seen, one element a check, in time order. A value that was not read is NaN.

    days: on any one count. Gains in dB, rotation in degrees; horizontal, vertical, noise and target in the setup's unit.
    lift_off_set: the phase was set with lift-off as reference. independent: balanced and set up anew, so that nothing
    but the equipment carries over from the check before. repeated: a later set of the same check counts instead.
    digit: one step of the coarser of the last digits as written, NaN where nobody asked for it.
    """

    checks: tuple[str, ...]
    days: Array
    rotation_deg: Array
    horizontal_gain_db: Array
    vertical_gain_db: Array
    horizontal: Array
    vertical: Array
    full_screen: Array
    noise: Array
    target: Array
    lift_off_set: Array
    independent: Array
    repeated: Array
    digit: Array

    def settings(self) -> list[tuple[float, float, float, bool]]:
        """Return rotation, gains and whether lift-off was set, for each check."""
        columns = (self.rotation_deg, self.horizontal_gain_db, self.vertical_gain_db, self.lift_off_set)
        return list(zip(*(c.tolist() for c in columns), strict=True))


@dataclass(frozen=True, slots=True, eq=False)
class Answers:
    """What each check says against the baseline, in time order; NaN where it says nothing, with the reason by index.

    deviation_db, deviation_deg: from the mean of the baseline's set-ups, display undone. gain_needed_db: vertical gain at
    which the notch would reach its target. baseline_sd_db, baseline_sd_deg: the set-ups' own standard deviations, None
    from fewer than two. baseline_gain_db: the mean gain that they needed, with its standard deviation.
    breaks: days on which something was repaired or exchanged, so that what follows is another record.
    digit_db, digit_deg, digit_gain_db: standard uncertainty of a deviation by the readings' last digit alone, 0 where the
    digits are not known.
    """

    checks: tuple[str, ...]
    days: Array
    deviation_db: Array
    deviation_deg: Array
    gain_needed_db: Array
    independent: Array
    why_not: dict[int, str]
    baseline_setups: int
    baseline_levels_db: tuple[float, ...] = ()
    baseline_sd_db: float | None = None
    baseline_sd_deg: float | None = None
    baseline_gain_db: float | None = None
    baseline_gain_sd_db: float | None = None
    breaks: tuple[float, ...] = field(default=())
    digit_db: float = 0.0
    digit_deg: float = 0.0
    digit_gain_db: float = 0.0

    @property
    def counted(self) -> Array:
        """Where a check can be judged by statistics: independent of the one before, and comparable."""
        return np.asarray(self.independent & np.isfinite(self.deviation_db))


def answers(
    new: Seen, baseline: Seen, measure: str, order: Order | None, *, is_phase_reference: bool = False,
    breaks: Sequence[float] = (),
) -> Answers:  # fmt: skip
    """Return how the new readings lie against the baseline's, all of one notch in one setup.

    measure, order: of the setup and its instrument. The answer of each check is that of `figures.amplitude_change_db`
    and `signals.deviation_deg` averaged over the baseline's set-ups (the phase as a mean direction).
    """
    directed = measure == "horizontal and vertical"
    level, phase = _levels(new, directed, order)
    then_level, then_phase = _levels(baseline, directed, order)
    why_not = _objections(new, baseline, measure, order)
    _mark(why_not, np.isneginf(level), ZERO)
    _mark(why_not, _hidden(new, directed), HIDDEN_IN_NOISE)
    _mark(why_not, new.full_screen, OFF_SCREEN)
    _mark(why_not, new.repeated, REPEATED)
    usable = len(then_level) > 0 and bool(np.isfinite(then_level).all()) and not _hidden(baseline, directed).any()
    if not usable:
        why_not = {i: why_not.get(i, NOT_READ) for i in range(len(level))}
    blank = np.fromiter(why_not, dtype=np.intp, count=len(why_not))
    centre = float(then_level.mean()) if usable else math.nan
    deviation, turned = level - centre, np.full(len(level), np.nan)
    sd_deg = None
    if directed and not is_phase_reference and usable:
        middle = _mean_direction_deg(then_phase)
        turned = wrap_deg(np.nan_to_num(phase - middle))
        sd_deg = _sd(wrap_deg(np.nan_to_num(then_phase - middle)))
    gain = _gain_needed(new)
    then_gain = _gain_needed(baseline)
    for values in (deviation, turned, gain):
        values[blank] = np.nan
    last, first = _by_digit(new, directed, order, np.isfinite(deviation)), _by_digit(baseline, directed, order)
    return Answers(
        new.checks, new.days, deviation, turned, gain, new.independent, why_not, len(then_level),
        tuple((then_level - centre).tolist()) if usable else (), _sd(then_level), sd_deg,
        float(then_gain.mean()) if len(then_gain) and np.isfinite(then_gain).all() else None, _sd(then_gain), tuple(breaks),
        *(math.hypot(*both) if all(both) else 0.0 for both in zip(last, first, strict=True)),
    )  # fmt: skip


def _levels(seen: Seen, directed: bool, order: Order | None) -> tuple[Array, Array]:
    """Return amplitude (dB) and phase (°) with the display undone, as far as comparable readings need it.

    With the order unknown only readings under one view are compared: the common gain and the rotation are undone, and
    what unequal gains distort is distorted alike in both.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        if not directed:
            level = 20 * np.log10(np.abs(seen.vertical)) - seen.vertical_gain_db
            return level, np.full(len(level), np.nan)
        if order is None:
            signal = (seen.horizontal + 1j * seen.vertical) * np.exp(-1j * np.radians(seen.rotation_deg))
            return 20 * np.log10(np.abs(signal)) - seen.horizontal_gain_db, np.degrees(np.angle(signal))
        gains = seen.horizontal_gain_db, seen.vertical_gain_db
        signal = undo_rows(seen.horizontal, seen.vertical, seen.rotation_deg, gains, order)
        return 20 * np.log10(np.abs(signal)), np.degrees(np.angle(signal))


def _by_digit(
    seen: Seen, directed: bool, order: Order | None, usable: Array | None = None
) -> tuple[float, float, float]:
    """Return the standard uncertainty of amplitude (dB), phase (°) and gain needed (dB) of one reading by its last digit.

    Uniform within it: digit/√12 (JCGM 100:2008, 4.3.7); the root mean square over the readings whose digits are known,
    0 where none is. It counts for the baseline as for the new reading: set-ups that read the same digits share their
    rounding, so that a mean of them is no finer.
    """
    known = np.isfinite(seen.digit) & ~seen.full_screen & (seen.vertical != 0)
    rows = np.flatnonzero(known if usable is None else known & usable)
    if not len(rows):
        return 0.0, 0.0, 0.0
    u, vertical = seen.digit[rows] / math.sqrt(12), seen.vertical[rows]
    of_vertical = u / np.abs(vertical)
    gain = _rms(of_vertical) * _NEPER_TO_DB
    if not directed:
        return gain, 0.0, gain
    horizontal = seen.horizontal[rows]
    if order is None:
        relative = _rms(u / np.hypot(horizontal, vertical))
        return relative * _NEPER_TO_DB, math.degrees(relative), gain
    gains = seen.horizontal_gain_db[rows], seen.vertical_gain_db[rows]
    found = undone_uncertainty_rows(horizontal, vertical, seen.rotation_deg[rows], gains, order, u)
    return _rms(found[0]), _rms(found[1]), gain


def _rms(values: Array) -> float:
    return math.sqrt(float(values @ values) / len(values))


def _hidden(seen: Seen, directed: bool) -> Array:
    """Return where a reading is too small against its noise to be compared; where no noise is on record, nowhere."""
    size = np.hypot(seen.vertical, seen.horizontal) if directed else np.abs(seen.vertical)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(size / seen.noise < LEAST_SIGNAL_TO_NOISE - 1e-9)


def _objections(new: Seen, baseline: Seen, measure: str, order: Order | None) -> dict[int, str]:
    """Return why a check's display and the baseline's cannot be compared, by index; each pair of settings is asked once."""
    if measure == "horizontal and vertical" and order is not None:
        return {}
    kind = MEASURED_AS[measure]
    then = sorted(set(baseline.settings()))
    asked: dict[tuple[float, float, float, bool], str] = {}
    found = {}
    for i, now in enumerate(new.settings()):
        if now not in asked:
            asked[now] = next((words for past in then if (words := _objection(now, past, kind, order))), "")
        if asked[now]:
            found[i] = asked[now]
    return found


def _objection(
    now: tuple[float, float, float, bool], past: tuple[float, float, float, bool], measure: Measure, order: Order | None
) -> str:
    words = comparable(
        Display(*now[:3], order), Display(*past[:3], order), measure, lift_off_horizontal=now[3] and past[3]
    )
    return f"is not comparable: {words[:1].lower()}{words[1:].rstrip('.')}" if words else ""


def _mark(why_not: dict[int, str], where: Array, words: str) -> None:
    for i in np.flatnonzero(where).tolist():
        why_not[i] = words


def _gain_needed(seen: Seen) -> Array:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(seen.vertical_gain_db + 20 * np.log10(seen.target / np.abs(seen.vertical)))


def _mean_direction_deg(angles_deg: Array) -> float:
    return math.degrees(float(np.angle(np.exp(1j * np.radians(angles_deg)).sum())))


def _sd(values: Array) -> float | None:
    return float(values.std(ddof=1)) if len(values) > 1 and np.isfinite(values).all() else None
