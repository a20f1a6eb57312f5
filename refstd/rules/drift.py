"""How a setup's answers move over time: each notch against its baseline, with limits from the setup's own scatter."""

import math
from dataclasses import dataclass

from refstd.metrology.drift import individuals_limits, trend

FEWEST_POINTS = 8  # limits and slopes from fewer points say more about chance than about the equipment
# A lab has some tens of series, and each is looked at: 5 % shared by fifty of them (Bonferroni, NIST/SEMATECH e-Handbook
# 7.4.7.3), so that innocent equipment is hardly ever named.
SIGNIFICANT = 0.05 / 50
TOO_FEW = "too few checks to judge"
IN_SUCCESSION = 2  # checks beyond the same limit; a single one asks for a repeat, and says so in the check itself


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

    centre, lower, upper: the limits as `drift_of` draws them, about the baseline, dB.
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

    def in_words(self) -> str:
        """Return what stands out, in a few words; a single newest point beyond a limit asks for a repeat, no more."""
        if self.lower is None or self.upper is None:
            return TOO_FEW
        if self.flags:
            return ", ".join(self.flags)
        last = self.last
        if last is not None and last.deviation_db is not None and not self.lower <= last.deviation_db <= self.upper:
            return "the newest beyond a limit, once: check again"
        return "nothing stands out"


def drift_of(points: tuple[DriftPoint, ...], baseline_sd_db: float | None, baseline_setups: int) -> Drift:
    """Return what a series of deviations says.

    The limits are those of an individuals chart (NIST/SEMATECH e-Handbook 6.3.2.2) centred on the baseline: ± 3 times
    the baseline set-ups' own standard deviation, or ± 3 times mean moving range / 1.128379 of the series, whichever is
    wider, widened by √(1 + 1/n) for the uncertainty of a mean of n set-ups. 'beyond the limits': the last two checks
    lie beyond the same one. A straight line is fitted by least squares; its slope is flagged when it differs from zero
    at 0.1 % (two-sided t) and the line has left a third of the limits. Both only from enough points.
    """
    values = [(p.days, p.deviation_db) for p in points if p.deviation_db is not None]
    deviations = [v for _, v in values]
    if len(deviations) < FEWEST_POINTS:
        return Drift(points, None, None, None, None, None, ())
    half = _half_width(deviations, baseline_sd_db, baseline_setups)
    flags = []
    last = deviations[-IN_SUCCESSION:]
    if all(v > half for v in last) or all(v < -half for v in last):
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
    widened = math.sqrt(1 + 1 / setups) if setups else 1.0
    return max(upper - centre, 3 * (baseline_sd_db or 0.0)) * widened


def _significant(slope: float, u_slope: float, degrees_of_freedom: float) -> bool:
    if u_slope <= 0:
        return slope != 0
    from scipy.stats import t  # late: two thirds of a second

    return bool(2 * t.sf(abs(slope) / u_slope, degrees_of_freedom) < SIGNIFICANT)
