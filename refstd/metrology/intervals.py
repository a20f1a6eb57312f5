"""Propose a recalibration interval from how equipment was found at its end: steps, reliability, and a line with its band."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from refstd.base.domain import Array, Numbers, finite, not_negative, positive, same_shape
from refstd.metrology.drift import Trend
from refstd.metrology.uncertainty import coverage_factor

Step = Literal["shorten", "keep", "lengthen"]

# ILAC-G24:2022 / OIML D 10:2022, 6.2 (MEMORY) names the 80 %; three in a row: common practice, no source.
NEAR = 0.8
IN_A_ROW = 3


def staircase(found: Sequence[tuple[bool, float]]) -> Step:
    """Return the step that calibrations ask for, oldest first: (in tolerance, share of the tolerance used; 1 is the limit).

    shorten: the newest was out of tolerance. lengthen: the newest three were in, each within 80 % of the limits. At least
    one calibration. ILAC-G24:2022 / OIML D 10:2022, 6.2.
    """
    if not found:
        raise ValueError("There is no calibration at the end of an interval. Have one done first.")
    not_negative("share of the tolerance", [share for _, share in found if math.isfinite(share)])
    if not found[-1][0]:
        return "shorten"
    row = found[-IN_A_ROW:]
    return "lengthen" if len(row) == IN_A_ROW and all(inside and share <= NEAR for inside, share in row) else "keep"


def for_reliability(interval: Numbers, observed: Numbers, target: Numbers) -> Numbers:
    """Return the interval at whose end the target share would still be in tolerance; unit of `interval`.

    observed: share found in tolerance at the end of `interval`; target: the share wanted; both between 0 and 1.
    Exponential model R(t) = exp(−λt), mean time between failures 1/λ: interval·ln(target)/ln(observed); exact by algebra,
    the model is an assumption. If all (or none) were in tolerance it gives no finite answer: use a lower confidence limit
    of the share instead. A proposal only: the lab's procedure sets intervals and caps their change.
    """
    found, wanted = _share("observed", observed), _share("target", target)
    result: Numbers = same_shape(positive("interval", interval) * np.log(wanted) / np.log(found))
    return result


def _share(name: str, values: float | Array) -> Array:
    share = finite(name, values)
    if not ((share > 0) & (share < 1)).all():
        raise ValueError(f"{name} must lie between 0 and 1, without both. Use a lower confidence limit of the share.")
    return share


def share_bounds(found: int, of: int, confidence: float) -> tuple[float, float]:
    """Return the two-sided confidence limits of a share: `found` of `of` were in tolerance. Clopper and Pearson 1934.

    ValueError unless 0 ≤ found ≤ of, of ≥ 1, and confidence lies between 0 and 1.
    """
    from scipy.special import betaincinv

    if not (0 <= found <= of and of >= 1):
        raise ValueError(f"{found} of {of} cannot be. Give how many of how many were in tolerance.")
    tail = (1 - float(_share("confidence", confidence))) / 2
    lower = float(betaincinv(found, of - found + 1, tail)) if found else 0.0
    upper = float(betaincinv(found + 1, of - found, 1 - tail)) if found < of else 1.0
    return lower, upper


@dataclass(frozen=True, slots=True)
class Reliability:
    """`found` of `of` items were in tolerance `after` so long; the target holds to between `shortest` and `longest`.

    likely: by the share itself, None where all or none were in tolerance. One unit of time; longest is ∞ for all in.
    """

    found: int
    of: int
    after: float
    shortest: float
    longest: float
    likely: float | None


def reliability(
    observed: Sequence[tuple[float, bool]], target: float, present: float, confidence: float = 0.95
) -> Reliability | None:
    """Return how long the target share stays in tolerance, from (how long it was left, in tolerance at the end) each.

    present: the interval in force, the same unit. Exponential model with Clopper–Pearson limits of the share. Unequal
    times are counted at the shortest one that ended in tolerance: what was in tolerance later was so then, what was out
    counts as out. That can only make the proposal shorter. In tolerance after less than half of `present` says little
    and is left out. None where nothing is left.
    """
    wanted = float(_share("target", target))
    at_least = float(positive("present", present)) / 2
    used = [(float(positive("time", t)), inside) for t, inside in observed if not inside or t >= at_least]
    if not used:
        return None
    kept = [t for t, inside in used if inside]
    after = min(kept) if kept else max(t for t, _ in used)
    n, x = len(used), len(kept)
    low, high = share_bounds(x, n, confidence)
    shortest = for_reliability(after, low, wanted) if low > 0 else 0.0
    longest = for_reliability(after, high, wanted) if high < 1 else math.inf
    return Reliability(x, n, after, shortest, longest, for_reliability(after, x / n, wanted) if 0 < x < n else None)


def fewest_to_lengthen(target: float, confidence: float = 0.95) -> int:
    """Return how many must be found in tolerance, and none out, before the lower limit of the share lies above the target.

    Of n in n the lower Clopper–Pearson limit is (tail)^(1/n).
    """
    tail = (1 - float(_share("confidence", confidence))) / 2
    return math.floor(math.log(tail) / math.log(float(_share("target", target)))) + 1


def band_reaches(line: Trend, u: float, lower: float | None, upper: float | None, until: float) -> float | None:
    """Return from when the next single value may lie outside a limit (95 %, one-sided); None: not before `until`.

    u: standard uncertainty of a calibration, added to the scatter about the line; limits and u in the unit of the values,
    the answer in the line's unit of time, the end of the record where it may lie outside already. At least one limit.
    Unlike a crossing it needs no slope: without one the band widens by itself. ILAC-G24:2022 / OIML D 10:2022, 6.3 (the
    band: prediction interval, NIST/SEMATECH e-Handbook 4.5.1.2; one-sided Student's t).
    """
    if lower is None and upper is None:
        raise ValueError("No limit is given. Give the lower limit, the upper limit or both.")
    k = coverage_factor(0.90, line.degrees_of_freedom)
    own = float(not_negative("u", u))

    def inside(time: float) -> float:
        """The band is convex in time and the line straight, so this falls through zero at most once."""
        reach = k * math.hypot(line.u_at(time, single=True), own)
        value = line.at(time)
        return min(
            math.inf if upper is None else upper - value - reach, math.inf if lower is None else value - reach - lower
        )

    early, late = line.last_time, float(until)
    if inside(early) <= 0:
        return early
    if late <= early or inside(late) > 0:
        return None
    while late - early > 1e-9 * max(1.0, abs(late)):
        middle = (early + late) / 2
        if middle in (early, late):
            break
        early, late = (middle, late) if inside(middle) > 0 else (early, middle)
    return early
