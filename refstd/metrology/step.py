"""Find where a series most likely stepped, and whether a step or a straight line describes it better."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from refstd.base.domain import Array, finite
from refstd.metrology.drift import Trend, trend

FEWEST_A_SIDE = 2
FEWEST_TO_BEND = 6


@dataclass(frozen=True, slots=True)
class Step:
    """A series taken as two levels: `index` is the first value of the second. size and squares in the values' unit."""

    index: int
    size: float
    residual_squares: float
    count: int

    @property
    def u_size(self) -> float:
        """Standard uncertainty of the size, from the scatter about the two means."""
        apart = 1 / self.index + 1 / (self.count - self.index)
        return math.sqrt(self.residual_squares / max(self.count - 2, 1) * apart)


def best_step(values: Sequence[float] | Array) -> Step | None:
    """Return the step that leaves the least squares about its two means; None from fewer than two values a side."""
    x = finite("values", values)
    n = len(x)
    if n < 2 * FEWEST_A_SIDE:
        return None
    first = np.arange(FEWEST_A_SIDE, n - FEWEST_A_SIDE + 1)
    sums, total = np.cumsum(x)[first - 1], float(x.sum())
    explained = sums**2 / first + (total - sums) ** 2 / (n - first)
    best = int(np.argmax(explained))
    k = int(first[best])
    before, after = float(sums[best]) / k, (total - float(sums[best])) / (n - k)
    return Step(k, after - before, max(float(x @ x) - float(explained[best]), 0.0), n)


@dataclass(frozen=True, slots=True)
class Bend:
    """A series taken as a level that turns into a slope at the value with this index."""

    index: int
    residual_squares: float


def best_bend(times: Sequence[float] | Array, values: Sequence[float] | Array) -> Bend:
    """Return the bend that leaves the least squares; index 0 is one straight line through all."""
    t, y = finite("times", times), finite("values", values)
    z = y - y.mean()

    def squares(i: int) -> float:
        bent = np.maximum(t - t[i], 0.0)
        apart = bent - bent.mean()
        own = float(apart @ apart)
        left = z - apart * (float(apart @ z) / own) if own > 0 else z
        return float(left @ left)

    return min((Bend(i, squares(i)) for i in range(max(len(t) - 3, 1))), key=lambda bend: bend.residual_squares)


def rather(one: float, other: float, count: int, more: int) -> bool:
    """Return whether a description with the squares `one` and `more` quantities more is better than one with `other`.

    By the Bayesian information criterion, n·ln(RSS/n) + k·ln n (Schwarz 1978, MEMORY).
    """
    tiny = 1e-12 * max(one, other, 1e-300)
    return count * math.log((one + tiny) / (other + tiny)) + more * math.log(count) < 0


def steps_rather(step: Step, line: Trend) -> bool:
    """Return whether a step describes the values better than a straight line."""
    return rather(step.residual_squares, line.residual_sd**2 * line.degrees_of_freedom, step.count, 1)


def onset(times: Sequence[float] | Array, values: Sequence[float] | Array) -> int:
    """Return the index from which a steady series began to slope; 0 where one line through all describes it as well.

    A flat start left in would make the slope too small and a date too late.
    """
    if len(values) < FEWEST_TO_BEND:
        return 0
    line, bend = trend(times, values), best_bend(times, values)
    of_line = line.residual_sd**2 * line.degrees_of_freedom
    return bend.index if rather(bend.residual_squares, of_line, line.count, 1) else 0
