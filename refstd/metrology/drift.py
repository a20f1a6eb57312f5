"""See how a figure moves in time: control charts, a straight-line trend, and when that line reaches a limit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from refstd.base.domain import Array, finite, not_negative, positive
from refstd.metrology.uncertainty import coverage_factor

Series = Sequence[float] | Array

CORRELATED = 0.3  # lag-1: above it residuals are not taken as independent (our own simulation, no source)


def _series(name: str, values: Series, least: int) -> Array:
    numbers = finite(name, values)
    if numbers.ndim != 1 or len(numbers) < least:
        raise ValueError(f"{name} must be one row of at least {least} numbers. Record more checks first.")
    return numbers


def individuals_limits(values: Series, d2: float = 1.128379) -> tuple[float, float, float]:
    """Return (centre, lower, upper) of an individuals chart: mean ∓ 3 × mean moving range / d2, unit of the values.

    Order in time matters. d2 = 2/√π = 1.128379 for ranges of two; printed tables use 1.128. At least two values.
    NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    x = _series("values", values, 2)
    centre = float(x.mean())
    reach = 3 * float(np.abs(np.diff(x)).mean()) / float(positive("d2", d2))
    return centre, centre - reach, centre + reach


def baseline_limits(values: Series, probability: float) -> tuple[float, float, float]:
    """Return (centre, lower, upper) within which one more independent set-up falls with the two-sided probability.

    mean ∓ t(n − 1)·s·√(1 + 1/n): the scatter of the independent set-ups and the baseline's own uncertainty together.
    At least two values. Prediction interval, NIST/SEMATECH e-Handbook 7.2.6.3.
    """
    x = _series("values", values, 2)
    reach = coverage_factor(probability, len(x) - 1) * float(x.std(ddof=1)) * math.sqrt(1 + 1 / len(x))
    centre = float(x.mean())
    return centre, centre - reach, centre + reach


def ewma(values: Series, weight: float, start: float) -> Array:
    """Return the exponentially weighted moving average after each value; same length and unit as `values`.

    E_i = weight·x_i + (1 − weight)·E_(i−1), E_0 = start (the target; not part of the result). 0 < weight ≤ 1.
    NIST/SEMATECH e-Handbook 6.3.2.4.
    """
    x, average = _series("values", values, 1), float(finite("start", start))
    _weight(weight)
    result = np.empty_like(x)
    for i, value in enumerate(x):
        average = weight * value + (1 - weight) * average
        result[i] = average
    return result


def ewma_limits(target: float, sd: float, weight: float, width: float, count: int | None = None) -> tuple[float, float]:
    """Return (lower, upper) of an EWMA chart, unit of the values; `width` in standard deviations of the average.

    sd: of single values. count: how many values are averaged so far; None gives the limits they settle to.
    NIST/SEMATECH e-Handbook 6.3.2.4.
    """
    _weight(weight)
    settled = 1.0 if count is None else 1 - (1 - weight) ** (2 * count)
    reach = float(positive("width", width)) * float(positive("sd", sd)) * math.sqrt(weight / (2 - weight) * settled)
    return target - reach, target + reach


def _weight(weight: float) -> None:
    if not 0 < weight <= 1:
        raise ValueError(f"weight must be above 0 and at most 1, not {weight:g}. 0.2 to 0.3 is usual.")


def cusum(values: Series, target: float, slack: float) -> tuple[Array, Array]:
    """Return (high, low) one-sided cumulative sums after each value, both ≥ 0; same length and unit as `values`.

    high_i = max(0, high_(i−1) + x_i − target − slack), low likewise downwards. slack ≥ 0, in the values' unit: half the
    shift worth finding. The decision limit is the caller's. NIST/SEMATECH e-Handbook 6.3.2.3.
    """
    x, middle = _series("values", values, 1), float(finite("target", target))
    k = float(not_negative("slack", slack))
    high, low = np.empty_like(x), np.empty_like(x)
    up = down = 0.0
    for i, value in enumerate(x):
        up = max(0.0, up + float(value) - middle - k)
        down = max(0.0, down - float(value) + middle - k)
        high[i], low[i] = up, down
    return high, low


def serial_correlation(values: Series) -> float:
    """Return the lag-1 autocorrelation r of values in time order, −1 to 1; for a trend, give its residuals.

    r = Σ(x_i − mean)(x_(i+1) − mean)/Σ(x_i − mean)². At least three values that are not all equal. Above some 0.3, limits
    and dates that take the values as independent are too narrow, by about √((1 + r)/(1 − r)) for a mean. NIST/SEMATECH
    e-Handbook 1.3.5.12 (MEMORY).
    """
    x = _series("values", values, 3)
    apart = x - x.mean()
    squares = float(apart @ apart)
    if squares <= 0:
        raise ValueError("All values are equal, so they show no correlation. Read to a finer resolution.")
    return float(apart[:-1] @ apart[1:]) / squares


@dataclass(frozen=True, slots=True)
class Trend:
    """A straight line through values in time, by ordinary least squares, with standard uncertainties.

    intercept is at time 0, slope per unit of time; the line turns about the point (mean_time, mean_value). widened: the
    factor by which every uncertainty of the line, and of a single value, exceeds what independent residuals would give;
    residual_sd is without it.
    """

    slope: float
    intercept: float
    u_slope: float
    u_intercept: float
    residual_sd: float
    degrees_of_freedom: int
    mean_time: float
    mean_value: float
    first_time: float
    last_time: float
    count: int
    time_squares: float  # Σ(t − mean_time)²
    widened: float = 1.0

    @property
    def correlation(self) -> float:
        """Between intercept and slope, −1 to 1."""
        return -self.mean_time / math.sqrt(self.time_squares / self.count + self.mean_time**2)

    def at(self, time: float) -> float:
        """Return the line's value at a time."""
        return self.mean_value + self.slope * (time - self.mean_time)

    def u_at(self, time: float, *, single: bool = False) -> float:
        """Return the standard uncertainty of the line at a time, or of a single new value there."""
        apart = (time - self.mean_time) ** 2 / self.time_squares
        return self.residual_sd * self.widened * math.sqrt(1 / self.count + apart + (1 if single else 0))


def _dated(times: Series, values: Series) -> tuple[Array, Array]:
    t, y = _series("times", times, 3), _series("values", values, 3)
    if len(t) != len(y):
        raise ValueError(f"There are {len(t)} times but {len(y)} values. Give one time for each value.")
    if float(np.square(t - t.mean()).sum()) <= 0:
        raise ValueError("All times are equal, so there is no trend. Give checks from different days.")
    return t, y


def trend(times: Series, values: Series, *, widen: bool = False) -> Trend:
    """Return the least-squares line through `values` at `times` (any unit, same length, at least three).

    ValueError if all times are equal. JCGM 100:2008 H.3; residual_sd is over n − 2 degrees of freedom. widen: where
    successive residuals go together, lag-1 correlation r above 0.3, uncertainties grow by √((1 + r)/(1 − r)), what the
    mean of a first-order autoregressive series needs (MEMORY). It takes the times as about evenly spaced.
    """
    t, y = _dated(times, values)
    mean_time, mean_value = float(t.mean()), float(y.mean())
    from_mean = t - mean_time
    squares = float(from_mean @ from_mean)
    slope = float(from_mean @ (y - mean_value)) / squares
    residuals = (y - mean_value) - slope * from_mean
    n = len(t)
    sd = math.sqrt(float(residuals @ residuals) / (n - 2))
    widened = widening(residuals[np.argsort(t, kind="stable")]) if widen else 1.0
    return Trend(
        slope=slope,
        intercept=mean_value - slope * mean_time,
        u_slope=widened * sd / math.sqrt(squares),
        u_intercept=widened * sd * math.sqrt(1 / n + mean_time**2 / squares),
        residual_sd=sd,
        degrees_of_freedom=n - 2,
        mean_time=mean_time,
        mean_value=mean_value,
        first_time=float(t.min()),
        last_time=float(t.max()),
        count=n,
        time_squares=squares,
        widened=widened,
    )


def widening(residuals: Series) -> float:
    """Return √((1 + r)/(1 − r)) for residuals in time order with lag-1 correlation r above 0.3, else 1."""
    r = serial_correlation(residuals) if np.ptp(residuals) > 0 else 0.0
    return math.sqrt((1 + r) / (1 - r)) if r > CORRELATED else 1.0


@dataclass(frozen=True, slots=True)
class Crossing:
    """When a trend reaches a limit, in the trend's unit of time.

    at: the line itself; earliest to latest: the line with its 95 % interval; act_before: from then on a single check
    may fall outside (95 % one-sided). Wear often accelerates and steps are not predicted: shorten intervals by it,
    never lengthen one.
    """

    at: float
    earliest: float
    latest: float
    act_before: float


def crossing(line: Trend, limit: float) -> Crossing | None:
    """Return when the line reaches the limit, or None where the data name no such time.

    None: the slope is not significant (95 % two-sided), or the line leads away from the limit. A time inside the
    record means that the line has crossed already. How far ahead a record supports a date is for the caller to judge.
    Interval of a ratio of two estimates (Fieller 1954, MEMORY), with Student's t on n − 2 degrees of freedom.
    """
    gap = line.mean_value - float(finite("limit", limit))
    mean_line = _roots(line, gap, coverage_factor(0.95, line.degrees_of_freedom), single=False)
    one_check = _roots(line, gap, coverage_factor(0.90, line.degrees_of_freedom), single=True)
    if mean_line is None or one_check is None:
        return None
    at = line.mean_time - gap / line.slope
    if at < line.first_time:
        return None
    return Crossing(at, line.mean_time + mean_line[0], line.mean_time + mean_line[1], line.mean_time + one_check[0])


def _roots(line: Trend, gap: float, t: float, *, single: bool) -> tuple[float, float] | None:
    """Solve (gap + slope·u)² = t²·s²·(1/n [+ 1] + u²/S) for the time u from the mean, earlier root first."""
    scatter = (t * line.residual_sd * line.widened) ** 2
    A = line.slope**2 - scatter / line.time_squares
    if A <= 0:
        return None
    B = line.slope * gap
    C = gap**2 - scatter * (1 / line.count + (1 if single else 0))
    root = math.sqrt(max(B * B - A * C, 0.0))
    return (-B - root) / A, (-B + root) / A


@dataclass(frozen=True, slots=True)
class MedianLine:
    """A straight line that a few wild values hardly move; least_slope to greatest_slope is the slope's 95 % interval.

    intercept is at time 0, slope per unit of time.
    """

    slope: float
    intercept: float
    least_slope: float
    greatest_slope: float

    def reaches(self, limit: float) -> float | None:
        """Return when the line is at the limit, in its unit of time; None for a level line."""
        return (limit - self.intercept) / self.slope if self.slope else None


def median_line(times: Series, values: Series) -> MedianLine:
    """Return the line with the median of all pairs' slopes, through the median time and value: a check of `trend`.

    Any unit, same length, at least three; ValueError if all times are equal. Theil 1950, Sen 1968 (MEMORY).
    """
    from scipy.stats import theilslopes  # two thirds of a second the first time

    t, y = _dated(times, values)
    slope, intercept, least, greatest = theilslopes(y, t, alpha=0.95)
    return MedianLine(float(slope), float(intercept), float(least), float(greatest))


def disagree(found: Crossing, line: MedianLine, limit: float) -> bool:
    """Return whether the median line is at the limit more than half the crossing's interval away from it, or never.

    Then single values bear the trend: look for wild ones before the date is used. Common practice, no source.
    """
    when = line.reaches(limit)
    return when is None or abs(when - found.at) > (found.latest - found.earliest) / 2
