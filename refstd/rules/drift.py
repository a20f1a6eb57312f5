"""How a setup's answers move over time: each notch against its baseline, with limits from the setup's own scatter."""

import math
from dataclasses import dataclass

from refstd.metrology.drift import individuals_limits, trend

FEWEST_POINTS = 8  # limits and slopes from fewer points say more about chance than about the equipment
SIGNIFICANT = 0.05


@dataclass(frozen=True, slots=True)
class DriftPoint:
    """One check: days since the baseline, its number, and the deviation in dB; None where it is not comparable."""

    days: float
    check: str
    deviation_db: float | None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Drift:
    """What the deviations of one notch say. Limits are None where there are too few points to judge.

    centre, lower, upper: individuals limits (mean ± 3·mean moving range/d2) of the first half of the record, dB.
    slope_db_per_year with its standard uncertainty; `flags` says what stands out, '' when nothing does.
    """

    points: tuple[DriftPoint, ...]
    centre: float | None
    lower: float | None
    upper: float | None
    slope_db_per_year: float | None
    u_slope_db_per_year: float | None
    flags: tuple[str, ...]

    @property
    def last(self) -> DriftPoint | None:
        """Return the newest comparable point."""
        return next((p for p in reversed(self.points) if p.deviation_db is not None), None)


def drift_of(points: tuple[DriftPoint, ...], baseline_sd_db: float | None, baseline_setups: int) -> Drift:
    """Return what a series of deviations says.

    The limits are those of an individuals chart (NIST/SEMATECH e-Handbook 6.3.2.2) centred on the baseline: ± 3 times
    the baseline set-ups' own standard deviation widened by √(1 + 1/n), or ± 3 times mean moving range / 1.128379 of the
    series, whichever is wider. A straight line is fitted by least squares; a slope is flagged when it differs from zero
    at 5 % (two-sided t). Both only from enough points.
    """
    values = [(p.days, p.deviation_db) for p in points if p.deviation_db is not None]
    deviations = [v for _, v in values]
    if len(deviations) < FEWEST_POINTS:
        return Drift(points, None, None, None, None, None, ())
    half = _half_width(deviations, baseline_sd_db, baseline_setups)
    flags = []
    last = deviations[-1]
    if abs(last) > half:
        flags.append("beyond the limits")
    slope, u_slope = None, None
    if len({d for d, _ in values}) > 2:
        line = trend([d / 365.25 for d, _ in values], deviations)
        slope, u_slope = line.slope, line.u_slope
        if _significant(slope, u_slope, line.degrees_of_freedom) and abs(line.at(values[-1][0] / 365.25)) > half / 3:
            flags.append("falling" if slope < 0 else "rising")
    return Drift(points, 0.0, -half, half, slope, u_slope, tuple(flags))


def _half_width(deviations: list[float], baseline_sd_db: float | None, setups: int) -> float:
    centre, _, upper = individuals_limits(deviations)
    from_series = upper - centre
    if baseline_sd_db is None or setups < 1:
        return from_series
    return max(from_series, 3 * baseline_sd_db * math.sqrt(1 + 1 / setups))


def _significant(slope: float, u_slope: float, degrees_of_freedom: float) -> bool:
    if u_slope <= 0:
        return slope != 0
    from scipy.stats import t  # late: two thirds of a second

    return bool(2 * t.sf(abs(slope) / u_slope, degrees_of_freedom) < SIGNIFICANT)
