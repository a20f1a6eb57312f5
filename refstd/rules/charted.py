"""What the usual charts of a single series show: EWMA, CUSUM and run rules. They are for the reader and name nothing.

A lab has tens of series; with these rules on each of them something fires somewhere every week. What is named is asked of
all series together (`suspects.py`).
"""

from dataclasses import dataclass

import numpy as np

from refstd.base.domain import Array
from refstd.metrology.drift import cusum, ewma, ewma_limits
from refstd.metrology.run_rules import WESTERN_ELECTRIC, signals
from refstd.rules.drift import Course

WEIGHT = 0.2  # of the newest value in the average
WIDTH = 3.0  # σ of the average
SLACK, DECISION = 0.5, 5.0  # σ
FOR_THE_READER = (
    "Charts of this one series, for the reader; they name nothing. Each fires now and then by chance, and more often since "
    "several are asked of every series."
)


@dataclass(frozen=True, slots=True)
class Fired:
    """A published rule and the values at which it fires, as indexes of the course's values."""

    says: str
    source: str
    at: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Charted:
    """What the charts show of the values since the last break. sigma: a third of the limits, in the course's unit."""

    sigma: float
    values: int
    fired: tuple[Fired, ...]


def charted(course: Course) -> Charted | None:
    """Return where EWMA, CUSUM and the Western Electric rules fire about the baseline at 0; None where there are no limits.

    σ is a third of the half width of the limits, so it has the baseline's own uncertainty in it. EWMA: weight 0.2, limits
    3σ of the average, which settle as values come in (NIST/SEMATECH e-Handbook 6.3.2.4). CUSUM: slack 0.5σ, decision 5σ,
    either side (6.3.2.3).
    """
    if not course.half_width:
        return None
    x = course.values[course.since :]
    if not len(x):
        return None
    sigma = course.half_width / 3
    average = ewma(x, WEIGHT, 0.0)
    reach = np.array([ewma_limits(0.0, sigma, WEIGHT, WIDTH, n + 1)[1] for n in range(len(x))])
    high, low = cusum(x, 0.0, SLACK * sigma)
    fired = [
        Fired(
            f"EWMA, weight {WEIGHT:g}: beyond its {WIDTH:g}σ limits", "NIST/SEMATECH e-Handbook 6.3.2.4",
            _where(np.abs(average) > reach, course),
        ),
        Fired(
            f"CUSUM, slack {SLACK:g}σ: a sum beyond {DECISION:g}σ", "NIST/SEMATECH e-Handbook 6.3.2.3",
            _where(np.maximum(high, low) > DECISION * sigma, course),
        ),
    ]  # fmt: skip
    found = signals(x, 0.0, sigma, WESTERN_ELECTRIC)
    for rule in WESTERN_ELECTRIC:
        at = tuple(s.index + course.since for s in found if s.rule == rule)
        fired.append(Fired(f"run rule {rule.number}: {rule.says}", rule.source, at))
    return Charted(sigma, len(x), tuple(fired))


def _where(beyond: Array, course: Course) -> tuple[int, ...]:
    return tuple((np.flatnonzero(beyond) + course.since).tolist())
