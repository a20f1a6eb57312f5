"""How a setup's answers move over time: each notch against its baseline, with limits from the setup's own scatter."""

import math
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from refstd.base.domain import Array
from refstd.base.quantity import Unit, derived
from refstd.metrology.drift import Trend, trend
from refstd.metrology.step import Step, best_bend, best_step, steps_rather
from refstd.rules.series import Answers

FEWEST_POINTS = 8  # limits and slopes from fewer points say more about chance than about the equipment
# A lab has some tens of series, and each is looked at: 5 % shared by fifty of them (Bonferroni, NIST/SEMATECH e-Handbook
# 7.4.7.3), so that innocent equipment is hardly ever named.
SIGNIFICANT = 0.05 / 50
TOO_FEW = "too few checks to judge"
IN_SUCCESSION = 2  # checks beyond the same limit; a single one asks for a repeat, and says so in the check itself
FEW_SETUPS = 5  # of the baseline; with fewer the uncertainty of their mean widens the limits by more than a tenth
FROM_DIGIT = "set by the readings' last digit, since less cannot be seen"
D2 = 1.128379  # mean moving range of two / standard deviation
YEAR_DAYS = 365.25


@dataclass(frozen=True, slots=True)
class Widths:
    """The half widths of which the widest makes the limits, in the course's unit, each with the baseline's uncertainty.

    mean_range: the mean moving range that by_range comes from. by_setups: from the baseline set-ups' own scatter.
    by_digit: from the readings' last digit, 0 where it is not known.
    """

    mean_range: float
    by_range: float
    by_setups: float
    by_digit: float

    @property
    def half_width(self) -> float:
        return max(self.by_range, self.by_setups, self.by_digit)

    @property
    def set_by_digit(self) -> bool:
        return self.by_digit > max(self.by_range, self.by_setups)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """One quantity of a series against its baseline, in its unit; the limits lie about the baseline at 0.

    days, values: what can be judged by statistics; `chosen` are its indexes in the answers. half_width: of the limits, None from too few values.
    line: straight, since the last break, in days. flags: what stands out, empty when nothing does. `since` is the index
    of the first value after the last break. stepped: the first index after a step, where a step fits better than a line.
    widths: what the half width is the widest of.
    """

    unit: Unit
    days: Array
    values: Array
    chosen: Array
    since: int
    half_width: float | None
    line: Trend | None
    flags: tuple[str, ...]
    stepped: int | None = None
    step_size: float = 0.0
    widths: Widths | None = None

    @property
    def by_digit(self) -> bool:
        """Whether the limits would be narrower than the last digit of the readings allows, so that digit sets them."""
        return self.widths is not None and self.widths.set_by_digit

    @property
    def last(self) -> float | None:
        """The newest value that can be judged."""
        return float(self.values[-1]) if len(self.values) else None

    @property
    def slope_per_year(self) -> float | None:
        """Of the line; None where a step describes the values better, since a line through a step is no trend."""
        return self.line.slope * YEAR_DAYS if self.line and self.stepped is None else None

    @property
    def u_slope_per_year(self) -> float | None:
        """Standard uncertainty of the slope."""
        return self.line.u_slope * YEAR_DAYS if self.line and self.stepped is None else None

    def beyond(self, value: float) -> bool:
        """Return whether a value lies beyond a limit."""
        return self.half_width is not None and abs(value) > self.half_width

    def in_words(self) -> str:
        """Return what stands out, in a few words; a single newest value beyond a limit asks for a repeat, no more."""
        if self.half_width is None:
            return TOO_FEW
        if self.flags:
            return ", ".join(self.flags)
        if self.last is not None and self.beyond(self.last):
            return "the newest beyond a limit, once: check again"
        return "nothing stands out"


@dataclass(frozen=True, slots=True, eq=False)
class Drift:
    """What the answers of one notch say: in dB, in degrees, and of the vertical gain needed to reach the target, in dB.

    Only amplitude and phase are flagged; the gain needed moves with the amplitude. phase, gain: None where not read, or
    no target is known.
    """

    answers: Answers
    amplitude: Course
    phase: Course | None
    gain: Course | None

    def check(self, course: Course, index: int) -> str:
        """Return the number of the check behind a value of a course."""
        return self.answers.checks[int(course.chosen[index])]

    @property
    def flags(self) -> tuple[str, ...]:
        phase = tuple(f"phase {f}" for f in self.phase.flags) if self.phase else ()
        return (*self.amplitude.flags, *phase)

    def in_words(self) -> str:
        """Return what stands out, in a few words."""
        return ", ".join(self.flags) if self.flags else self.amplitude.in_words()

    @property
    def about_limits(self) -> str:
        """What a reader should know of the amplitude's limits: why there are none, or why they are wide; '' if nothing."""
        n = self.answers.baseline_setups
        if self.amplitude.half_width is None:
            return self._too_few()
        few = f"the limits are wide: the baseline has only {n} set-ups" if n < FEW_SETUPS else ""
        digit = f"the limits are {FROM_DIGIT}" if self.amplitude.by_digit else ""
        return "; ".join(w for w in (few, digit) if w)

    def _too_few(self) -> str:
        """Return how many checks can be judged, and what keeps most of the others from it."""
        total, judged = len(self.answers.checks), len(self.amplitude.values)
        told = f"{judged} of {total} checks since the baseline can be judged, and it takes {FEWEST_POINTS}"
        if not self.answers.why_not:
            return told
        reason, count = Counter(self.answers.why_not.values()).most_common(1)[0]
        return f"{told}; {count} of them: the reading {reason}"


def drift_of(answers: Answers) -> Drift:
    """Return what a series of answers says.

    Only independent set-ups are judged: checks that follow a start without a new set-up share its chance. Limits: an
    individuals chart (NIST/SEMATECH e-Handbook 6.3.2.2) about the baseline, ± 3 times the baseline set-ups' own standard
    deviation, or ± 3 times mean moving range / 1.128379, whichever is wider, widened by √(1 + 1/n) for the uncertainty
    of a mean of n set-ups; ranges across a break are left out. Never narrower than ± 3 times the standard uncertainty of
    a deviation by the readings' last digit; then a line or step must leave them, not a third. 'beyond the limits': the last two lie beyond the same
    one. 'rising', 'falling': a straight line through what followed the last break differs from zero at 0.1 % (two-sided
    t) and has left a third of the limits; 'stepped' where a step describes it better.
    """
    counted = answers.counted
    amplitude = _course(Unit.DB, answers, answers.deviation_db, counted, answers.baseline_sd_db, answers.digit_db)
    phase = gain = None
    if np.isfinite(answers.deviation_deg[counted]).any():
        phase = _course(
            Unit.DEGREE, answers, answers.deviation_deg, counted, answers.baseline_sd_deg, answers.digit_deg
        )
    if answers.baseline_gain_db is not None and np.isfinite(answers.gain_needed_db[counted]).any():
        needed = answers.gain_needed_db - answers.baseline_gain_db
        gain = _course(Unit.DB, answers, needed, counted, answers.baseline_gain_sd_db, answers.digit_gain_db)
    return Drift(answers, amplitude, phase, gain)


def _course(
    unit: Unit, answers: Answers, values: Array, counted: Array, baseline_sd: float | None, digit: float
) -> Course:
    chosen = np.flatnonzero(counted & np.isfinite(values))
    days, x = answers.days[chosen], values[chosen]
    segment = np.searchsorted(np.asarray(answers.breaks), days, side="right") if answers.breaks else None
    since = 0 if segment is None else int(np.searchsorted(days, answers.breaks[-1], side="left"))
    widths = _widths(x, segment, baseline_sd or 0.0, digit, answers.baseline_setups)
    if widths is None:
        return Course(unit, days, x, chosen, since, None, None, ())
    half = widths.half_width
    # What moved by less than a digit cannot be told from rounding.
    least = half if widths.set_by_digit else half / 3
    flags = []
    last = x[since:][-IN_SUCCESSION:]
    if len(last) == IN_SUCCESSION and ((last > half).all() or (last < -half).all()):
        flags.append("beyond the limits")
    line = trend(days[since:], x[since:]) if len(x) - since >= FEWEST_POINTS and days[-1] > days[since] else None
    stepped, size = None, 0.0
    if line is not None and (flags or (_significant(line) and abs(line.at(float(days[-1]))) > least)):
        step = _step(days[since:], x[since:], line, least)
        if step is not None:
            stepped, size = since + step.index, step.size
            flags.append(f"stepped {'down' if size < 0 else 'up'} by {derived(abs(size), unit)}")
        elif _significant(line) and abs(line.at(float(days[-1])) - line.at(float(days[since]))) > least:
            flags.append("falling" if line.slope < 0 else "rising")
    return Course(unit, days, x, chosen, since, half, line, tuple(flags), stepped, size, widths)


def _step(days: Array, x: Array, line: Trend, least: float) -> Step | None:
    """Return the step that describes the values best, if it is larger than `least` and significant."""
    step = best_step(x)
    if step is None or abs(step.size) <= max(least, _critical_t(step.count - 2) * step.u_size):
        return None
    if not steps_rather(step, line) or best_bend(days, x).residual_squares <= step.residual_squares:
        return None
    return step


def _widths(x: Array, segment: Array | None, baseline_sd: float, digit: float, setups: int) -> Widths | None:
    if len(x) < FEWEST_POINTS:
        return None
    ranges = np.abs(np.diff(x))
    if segment is not None:
        ranges = ranges[segment[1:] == segment[:-1]]
    mean_range = float(ranges.mean()) if len(ranges) else 0.0
    three = 3 * (math.sqrt(1 + 1 / setups) if setups else 1.0)
    return Widths(mean_range, three * mean_range / D2, three * baseline_sd, three * digit)


def _significant(line: Trend) -> bool:
    if line.u_slope <= 0:
        return line.slope != 0
    return abs(line.slope) / line.u_slope > _critical_t(line.degrees_of_freedom)


@lru_cache(maxsize=4096)
def _critical_t(degrees_of_freedom: int) -> float:
    from scipy.special import stdtrit  # late, and not scipy.stats, which takes two thirds of a second

    return float(stdtrit(degrees_of_freedom, 1 - SIGNIFICANT / 2))
