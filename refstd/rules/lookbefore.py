"""The date to look at equipment before: when a significant trend could bring a single check to the procedure's limit.

Used to shorten an interval, never to lengthen one. It is refused wherever the record does not carry it.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from refstd.base.quantity import Unit, derived, plain
from refstd.base.text import key
from refstd.metrology.drift import crossing, disagree, median_line, trend
from refstd.metrology.step import onset
from refstd.rules.drift import Course
from refstd.rules.readings import Limit

FEWEST = 12  # values and weeks; fewer give dates that are weeks to months early or late (our own simulation, no source)
LEAST_DAYS = 84.0
CAUTION = (
    "If the straight line goes on, a single check could fall outside the limit from this date. Wear often speeds up, and "
    "steps are not foreseen. Use it to shorten an interval, never to lengthen one; keep the scheduled checks."
)
METHOD = (
    "straight line by least squares since the onset; earlier end of the 90 % interval of a single check at the limit "
    "(Fieller 1954; Student's t)"
)


@dataclass(frozen=True, slots=True)
class BaselineLimit:
    """A limit of the amplitude against the baseline, dB, and the procedure and paragraph that state it."""

    limit_db: float
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class LookBefore:
    """`day` to look before, and between which days the line itself reaches the limit; days as the course counts them.

    from_day: the onset of the trend. widened: by how much the scatter was widened because successive checks go together.
    doubted: the median of all slopes reaches the limit at quite another time, so single checks bear the trend.
    """

    day: float
    earliest: float
    latest: float
    limit: BaselineLimit
    from_day: float
    values: int
    widened: float = 1.0
    doubted: bool = False


@dataclass(frozen=True, slots=True)
class NoDate:
    """Why no date is given."""

    because: str


def baseline_limits(limits: Iterable[Limit], notch: str, procedure: str) -> tuple[BaselineLimit, ...]:
    """Return the limits of a notch's amplitude against the baseline, in dB; a limit in % as the change that it means."""
    found = []
    for limit in limits:
        if (limit.quantity, limit.against) != ("amplitude", "baseline") or limit.unit not in (Unit.DB, Unit.PERCENT):
            continue
        if limit.notch is not None and key(limit.notch) != key(notch):
            continue
        for edge in (limit.lower, limit.upper):
            if edge is None or (limit.unit == Unit.PERCENT and edge <= -100):
                continue
            decibel = float(edge) if limit.unit == Unit.DB else 20 * math.log10(1 + float(edge) / 100)
            found.append(BaselineLimit(decibel, f"{plain(edge)} {limit.unit}", f"{procedure}, {limit.paragraph}"))
    return tuple(found)


def look_before(course: Course, limits: tuple[BaselineLimit, ...]) -> LookBefore | NoDate:
    """Return the date to look at it before, or why there is none.

    A date needs a slope toward a limit that differs from zero (95 %, two-sided), 12 values over 12 weeks since the onset
    or the last break, and a horizon no longer than that record. A step is no trend. Where successive residuals go
    together (lag-1 correlation r above 0.3), the scatter is widened by √((1 + r)/(1 − r)).
    """
    if not limits:
        return NoDate("no procedure in use limits this notch against the baseline")
    if course.stepped is not None:
        return NoDate("it stepped; a step has no date")
    if not course.flags:
        return NoDate("no slope stands out")
    days, values = course.days[course.since :], course.values[course.since :]
    begin = onset(days, values)
    days, values = days[begin:], values[begin:]
    if len(values) < FEWEST or days[-1] - days[0] < LEAST_DAYS:
        return NoDate(f"fewer than {FEWEST} checks over {LEAST_DAYS / 7:.0f} weeks since the last change")
    line = trend(days, values, widen=True)
    toward = [x for x in limits if line.slope * x.limit_db > 0]
    crossed = [(c, x) for x in toward if (c := crossing(line, x.limit_db)) is not None]
    if not crossed:
        return NoDate("no slope toward a limit stands out from the scatter")
    first, limit = min(crossed, key=lambda each: each[0].act_before)
    if first.act_before - days[-1] > days[-1] - days[0]:
        return NoDate("the limit lies further ahead than this record is long")
    doubted = disagree(first, median_line(days, values), limit.limit_db)
    return LookBefore(
        first.act_before, first.earliest, first.latest, limit, float(days[0]), len(values), line.widened, doubted
    )


def in_words(found: LookBefore | NoDate, shown_day: str) -> str:
    """Return the one line for a screen or report. shown_day: the date's civil day."""
    if isinstance(found, NoDate):
        return f"no date: {found.because}"
    return (
        f"look at it before {shown_day}: its trend could reach {derived(found.limit.limit_db, Unit.DB, sign=True)} "
        f"({found.limit.source})"
        + ("; single checks bear this trend: look for wild ones first" if found.doubted else "")
    )
