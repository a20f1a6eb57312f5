"""Find where a series most likely stepped, and whether a step or a straight line describes it better."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from refstd.base.domain import Array, finite
from refstd.metrology.drift import Trend

FEWEST_A_SIDE = 2


@dataclass(frozen=True, slots=True)
class Step:
    """A series taken as two levels: `index` is the first value of the second. size and squares in the values' unit."""

    index: int
    size: float
    residual_squares: float
    count: int


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


def steps_rather(step: Step, line: Trend) -> bool:
    """Return whether a step describes the values better than the line.

    By the Bayesian information criterion, n·ln(RSS/n) + k·ln n (Schwarz 1978, MEMORY), with three quantities for a step
    (two means and the place) and two for a line.
    """
    of_line = line.residual_sd**2 * line.degrees_of_freedom
    n = step.count
    tiny = 1e-12 * max(of_line, step.residual_squares, 1e-300)
    return n * math.log((step.residual_squares + tiny) / (of_line + tiny)) + math.log(n) < 0


def onset(times: Sequence[float] | Array, values: Sequence[float] | Array) -> int:
    """Return the index from which a steady series began to slope; 0 where one line through all describes it as well.

    Least squares of a level that turns into a slope at one of the times; it must beat the plain line by the Bayesian
    information criterion (Schwarz 1978, MEMORY). A flat start left in would make the slope too small and a date too late.
    """
    t, y = finite("times", times), finite("values", values)
    n = len(t)
    if n < 6:
        return 0

    def squares(bent: Array) -> float:
        apart = bent - bent.mean()
        own = float(apart @ apart)
        left = y - y.mean() - (apart * (float(apart @ y) / own) if own > 0 else 0.0)
        return float(left @ left)

    whole = squares(t)
    found = [(squares(np.maximum(t - t[i], 0.0)), i) for i in range(1, n - 3)]
    best, index = min(found)
    tiny = 1e-12 * max(whole, 1e-300)
    return index if n * math.log((best + tiny) / (whole + tiny)) + math.log(n) < 0 else 0
