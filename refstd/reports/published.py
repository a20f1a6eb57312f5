"""Published check values that travel with the program, so that a lab can hold an installed version against them.

Each row has the published figure, the computation of ours that must give it, and by how much the two may differ: half a
unit of the last printed digit, unless the row says why more. Where a figure is from memory or derived, `known` says so.
`tests/published/` holds the whole data; a test holds these rows to it.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from dateutil.relativedelta import relativedelta

from refstd.eddy import coil, materials, penetration, signals
from refstd.metrology import comparison, conformity, drift, intervals, run_rules, uncertainty
from refstd.rules import coverage
from refstd.rules.due import due_on

READ, QUOTED, MEMORY = "read in the source", "read in a text that quotes the source", "from memory, recomputed"
DERIVED, COMMON = "derived, no published figure", "common practice, no source"


@dataclass(frozen=True, slots=True)
class CheckValue:
    """One published figure as printed, and our way to it. within: by how much the two may differ, in `unit`; None for words."""

    subject: str
    asked: str
    printed: str
    unit: str
    within: float | None
    source: str
    known: str
    ours: Callable[[], float | str]


def _outcome(value: float, rule: conformity.Rule, u: float, low: float, high: float, r: float | None = None) -> str:
    return conformity.decide(value, u, 2.0, rule, lower=low, upper=high, ratio=r).outcome


_H3_T = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
_H3_B = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)
_G41_U, _G41_DOF = (0.25, 0.57, 0.82), (9, 4, 14)
_FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
_EWMA: tuple[float, ...] = (52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5)
_EWMA += (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
_CUSUM: tuple[float, ...] = (324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600)
_CUSUM += (324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350)
_TEAM_15 = coil.Coil(6.15, 12.4, 6.15, 3790)


def _thermometer(what: str) -> float:
    line = drift.trend([t - 20.0 for t in _H3_T], _H3_B)
    return float(getattr(line, what))


def _first_signal(values: tuple[float, ...]) -> str:
    found = run_rules.signals(values, 0.0, 1.0, run_rules.WESTERN_ELECTRIC)
    return f"rule {found[0].rule.number} at point {found[0].index + 1}" if found else "no signal"


def _cusum_first() -> float:
    high, low = drift.cusum(_CUSUM, 325.0, 0.3175)
    return float(next(i for i, (up, down) in enumerate(zip(high, low, strict=True), 1) if max(up, down) > 4.1959))


def _uncovered() -> str:
    tracks = coverage.surface(Decimal(200), Decimal(100), Decimal(3), Decimal("2.4"))
    shares = [coverage.covered(t, Decimal(3)) for t in tracks]
    return "100 % in both directions" if shares == [Fraction(1)] * 2 else f"{[float(s) for s in shares]}"


_ET_BOOK = "programmed instruction book on electromagnetic testing, table 5.1"
_GUIDE = "study guide on electromagnetic testing, p. 77"
_PAGES = "public eddy-current education pages, depth and current density"
_DECIBELS = "public encyclopaedia table of decibels"
_DISPLAY = "plane rotation and scaling, by a separate prototype"
_H3, _G4, _G2 = "JCGM 100:2008, H.3", "JCGM 100:2008, G.4.1", "JCGM 100:2008, table G.2"
_106 = "JCGM 106:2012, clause 7, example"
_G8 = "ILAC-G8:09/2019, 4.2.3"
_ISO = "ISO 14253-1:2017, 1.65 u one-sided"
_13528 = "ISO 13528:2015, E_n score"
_HANDBOOK = "NIST/SEMATECH e-Handbook"
_RULES = f"{_HANDBOOK} 6.3.2, Western Electric rules; the values constructed"
_DATES = "documentation of dateutil, relativedelta examples"

CHECK_VALUES: tuple[CheckValue, ...] = (
    CheckValue("conductivity", "100 %IACS", "58", "MS/m", 1e-9, "ASTM E1004, scope 1.4", READ, lambda: materials.ms_per_m(100.0)),
    CheckValue("conductivity", "high alloy steel, 2.9 %IACS", "1.68", "MS/m", 0.005, _ET_BOOK, READ, lambda: materials.ms_per_m(2.9)),
    CheckValue("depth of penetration", "1.4 MS/m at 100 kHz", "1.35", "mm", 0.005, _GUIDE, READ, lambda: penetration.standard_depth_mm(100.0, 1.4)),
    CheckValue("depth of penetration", "copper, 0.017 µΩ m, at 60 Hz", "8.5", "mm", 0.051, "private engineer's public page on skin depth", READ, lambda: penetration.standard_depth_mm(0.06, 1 / 0.017)),
    CheckValue("depth of penetration", "19.1 MS/m at 100 kHz", "0.364169", "mm", 5e-7, "δ = 1/√(π f µ0 µr σ)", DERIVED, lambda: penetration.standard_depth_mm(100.0, 19.1)),
    CheckValue("depth of penetration", "density left at two standard depths", "13.5", "%", 0.05, _PAGES, READ, lambda: 100 * penetration.density_fraction(2.0, 1.0)),
    CheckValue("depth of penetration", "phase lag at one standard depth", "57.3", "°", 0.05, _PAGES, READ, lambda: penetration.phase_lag_deg(1.0, 1.0)),
    CheckValue("signals", "amplitude ratio 0.501", "-6", "dB", 0.005, _DECIBELS, READ, lambda: signals.deviation_db(0.501 + 0j, 1 + 0j)),
    CheckValue("signals", "amplitude ratio 1.413", "3", "dB", 0.005, _DECIBELS, READ, lambda: signals.deviation_db(1.413 + 0j, 1 + 0j)),
    CheckValue("signals", "(3, 4) at 30°, 40 and 52 dB, rotated first: phase", "-11.48336", "°", 5e-5, _DISPLAY, DERIVED, lambda: signals.deviation_deg(signals.undo(3.0, 4.0, signals.Display(30.0, 40.0, 52.0, "rotate-then-scale")), 1 + 0j)),
    CheckValue("signals", "(3, 4) at 30°, 40 and 52 dB, scaled first: phase", "6.124238", "°", 5e-6, _DISPLAY, DERIVED, lambda: signals.deviation_deg(signals.undo(3.0, 4.0, signals.Display(30.0, 40.0, 52.0, "scale-then-rotate")), 1 + 0j)),
    CheckValue("coil", "coil 1 of TEAM problem 15 in air, against finite elements", "0.2259", "H", 0.0005, "TEAM Workshop Problem 15; public write-up of a general-purpose solver", READ, lambda: coil.inductance_in_air_h(_TEAM_15)),
    CheckValue("coil", "the same 0.88 mm above aluminium at 900 Hz: resistance added", "120.67", "Ω", 0.5, "TEAM Workshop Problem 15; public write-up of a general-purpose solver", READ, lambda: coil.impedance_change_ohm(_TEAM_15, 0.88, 0.9, 30.6).real),
    CheckValue("uncertainty", "thermometer: intercept of the line", "-0.1712", "°C", 5e-5, _H3, QUOTED, lambda: _thermometer("intercept")),
    CheckValue("uncertainty", "thermometer: its standard uncertainty", "0.0029", "°C", 5e-5, _H3, QUOTED, lambda: _thermometer("u_intercept")),
    CheckValue("uncertainty", "thermometer: slope", "0.00218", "1", 5e-6, _H3, QUOTED, lambda: _thermometer("slope")),
    CheckValue("uncertainty", "three components: effective degrees of freedom", "19", "1", 0.05, _G4, MEMORY, lambda: uncertainty.effective_degrees_of_freedom(_G41_U, _G41_DOF)),
    CheckValue("uncertainty", "t for 95 %, 10 degrees of freedom", "2.23", "1", 0.005, _G2, MEMORY, lambda: uncertainty.coverage_factor(0.95, 10)),
    CheckValue("uncertainty", "t for 99 %, 4 degrees of freedom", "4.60", "1", 0.005, _G2, MEMORY, lambda: uncertainty.coverage_factor(0.99, 4)),
    CheckValue("conformity", "breakdown voltage −5.47 kV, u 0.05, limit −5.40", "0.92", "1", 0.005, _106, MEMORY, lambda: conformity.probability(-5.47, 0.05, upper=-5.40)),
    CheckValue("conformity", "burst strength 507.8, u 8.6, limit 490", "0.98", "1", 0.005, _106, MEMORY, lambda: conformity.probability(507.8, 8.6, lower=490.0)),
    CheckValue("conformity", "viscosity 13.6, u 1.8, limits 12.5 and 16.3", "0.66", "1", 0.005, _106, MEMORY, lambda: conformity.probability(13.6, 1.8, 12.5, 16.3)),
    CheckValue("conformity", "0.0017 mm, limits ±0.003 mm, U 0.001 mm, r 1", "pass", "", None, _G8, QUOTED, lambda: _outcome(0.0017, "guard band", 0.001, -0.003, 0.003, 1.0)),
    CheckValue("conformity", "0.0025 mm, the same", "conditional pass", "", None, _G8, QUOTED, lambda: _outcome(0.0025, "guard band", 0.001, -0.003, 0.003, 1.0)),
    CheckValue("conformity", "9.917, limits 9.90 and 10.10, U 0.02", "pass", "", None, _ISO, MEMORY, lambda: _outcome(9.917, "iso 14253-1", 0.02, 9.90, 10.10)),
    CheckValue("conformity", "9.883, the same", "fail", "", None, _ISO, MEMORY, lambda: _outcome(9.883, "iso 14253-1", 0.02, 9.90, 10.10)),
    CheckValue("agreement", "gear diameter 1.006 against 1.000", "0.393", "1", 0.0005, f"{_13528}; listing of a public statistics reference", READ, lambda: comparison.e_n(1.006, 0.0087, 1.0, 0.0125578)),
    CheckValue("agreement", "10.06 (U 0.04) against 10.00 (U 0.03)", "1.2", "1", 1e-9, f"{_13528}, 3-4-5 triangle", DERIVED, lambda: comparison.e_n(10.06, 0.04, 10.00, 0.03)),
    CheckValue("drift", "flow rate: centre of the individuals chart", "50.81", "1", 0.005, f"{_HANDBOOK} 6.3.2.2", QUOTED, lambda: drift.individuals_limits(_FLOW, 1.128)[0]),
    CheckValue("drift", "flow rate: lower limit", "45.8159", "1", 5e-5, f"{_HANDBOOK} 6.3.2.2", QUOTED, lambda: drift.individuals_limits(_FLOW, 1.128)[1]),
    CheckValue("drift", "flow rate: upper limit", "55.8041", "1", 5e-5, f"{_HANDBOOK} 6.3.2.2", QUOTED, lambda: drift.individuals_limits(_FLOW, 1.128)[2]),
    CheckValue("drift", "weighted average after 20 values, weight 0.3", "51.99", "1", 0.005, f"{_HANDBOOK} 6.3.2.4", QUOTED, lambda: float(drift.ewma(_EWMA, 0.3, 50.0)[-1])),
    CheckValue("drift", "its upper limit", "52.5884", "1", 1e-4, f"{_HANDBOOK} 6.3.2.4 (its factor is cut at four digits)", QUOTED, lambda: drift.ewma_limits(50.0, 2.0539, 0.3, 3.0)[1]),
    CheckValue("drift", "first value at which the cumulative sum signals", "14", "1", 0.0, f"{_HANDBOOK} 6.3.2.3", MEMORY, _cusum_first),
    CheckValue("drift", "0, 2.1, 0.5, 2.2 standard deviations", "rule 2 at point 4", "", None, _RULES, MEMORY, lambda: _first_signal((0, 2.1, 0.5, 2.2))),
    CheckValue("drift", "eight values on one side", "rule 4 at point 8", "", None, _RULES, MEMORY, lambda: _first_signal((0.1, 0.2, 0.1, 0.3, 0.1, 0.2, 0.1, 0.2))),
    CheckValue("drift", "five values of 1.0: on the limit, not beyond", "no signal", "", None, _RULES, MEMORY, lambda: _first_signal((1.0,) * 5)),
    CheckValue("intervals", "4 of 20 in tolerance: lower 90 % limit of the share", "0.071354", "1", 5e-7, f"{_HANDBOOK} 7.2.4.1", MEMORY, lambda: intervals.share_bounds(4, 20, 0.90)[0]),
    CheckValue("intervals", "12 months, 90 % found in, 95 % wanted", "5.84", "months", 0.005, "exponential reliability model, interval·ln(target)/ln(observed)", DERIVED, lambda: intervals.for_reliability(12.0, 0.90, 0.95)),
    CheckValue("due dates", "2003-01-31 and one month", "2003-02-28", "", None, _DATES, READ, lambda: due_on(date(2003, 1, 31), relativedelta(months=1)).isoformat()),
    CheckValue("due dates", "2000-02-29 and twelve months", "2001-02-28", "", None, _DATES, READ, lambda: due_on(date(2000, 2, 29), relativedelta(months=12)).isoformat()),
    CheckValue("due dates", "2003-01-31 and two months, counted from the anchor", "2003-03-31", "", None, _DATES, READ, lambda: due_on(date(2003, 1, 31), relativedelta(months=1), 2).isoformat()),
    CheckValue("coverage", "200 × 100 mm, width 3 mm, index 2.4 mm", "100 % in both directions", "", None, "whole coverage by a scan plan in two directions", COMMON, _uncovered),
    CheckValue("log", "SHA-256 of 'abc', its first 16 signs", "ba7816bf8f01cfea", "", None, "FIPS 180-4, example of SHA-256", MEMORY, lambda: hashlib.sha256(b"abc").hexdigest()[:16]),
)  # fmt: skip
