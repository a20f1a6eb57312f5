"""Real records of check standards, an instrument's line, a gauge study and crossed probes, against the handbook.

Not tested, since refstd computes nothing of the kind: charts of ranges and of standard deviations (their limits need D4 or an F
quantile), tolerance intervals (7.2.6.3), and the solution of weighing designs (2.3.4.1.2): in those every item stands in the
plus or the minus of a comparison, while a check holds each of its items once, so a column of the evidence is 0 or 1.
"""

import math

import numpy as np
import pytest

from refstd.metrology import drift, uncertainty
from refstd.metrology.attribution import Spread, evidence, pooled_spread
from refstd.metrology.incidence import Candidate, Deviation, separable
from refstd.metrology.run_rules import WESTERN_ELECTRIC, signals
from tests.published import check_standards, crossed_probes, gauge_study, linewidths, strd, strd_univariate


def repeats(sd: float, count: int) -> list[list[float]]:
    """An even number of readings with exactly this standard deviation, to stand for those of which only it is printed."""
    one = sd * math.sqrt((count - 1) / count)
    return [[one], [-one]] * (count // 2)


def digits(found: float, certified: float) -> float:
    """How many digits agree: −log10 of the relative error, at most 15."""
    return 15.0 if found == certified else min(15.0, -math.log10(abs(found - certified) / abs(certified)))


def test_the_wafers_scatter_and_control_limits_are_those_of_the_handbook() -> None:
    """The recipe mean ± 2 s (READ) is an average of weight 1."""
    spread = pooled_spread([[[v] for v in check_standards.WAFER_137]])
    mean = float(np.mean(check_standards.WAFER_137))
    limits = drift.ewma_limits(mean, spread.sd_db, 1.0, 2.0)
    assert (mean, spread.sd_db, *limits) == pytest.approx(check_standards.WAFER_FULL_PRECISION, abs=5.1e-6)
    assert round(mean, 4) == check_standards.WAFER_MEAN
    assert spread.sd_db == pytest.approx(check_standards.WAFER_SD, abs=1.1e-5)  # printed cut, not rounded
    assert spread.degrees_of_freedom == check_standards.WAFER_DEGREES
    assert limits == pytest.approx(check_standards.WAFER_LIMITS, abs=5.1e-5)


def test_the_wafers_short_term_scatter_is_pooled_as_in_the_handbook() -> None:
    printed, degrees, full = check_standards.WAFER_SHORT_TERM
    spread = pooled_spread([repeats(s, 6) for s in check_standards.WAFER_137_SD])
    assert (round(spread.sd_db, 5), spread.degrees_of_freedom) == (printed, degrees)
    assert spread.sd_db == pytest.approx(full, abs=5.1e-7)


def test_the_wafers_moving_range_gives_nearly_the_same_scatter() -> None:
    centre, _, upper = drift.individuals_limits(check_standards.WAFER_137, d2=1.128)
    assert (upper - centre) / 3 == pytest.approx(check_standards.WAFER_RANGE_SD, abs=5.1e-7)
    assert not signals(check_standards.WAFER_137, centre, (upper - centre) / 3, WESTERN_ELECTRIC[:1])


def test_the_mass_standards_drift_over_13_years_is_found() -> None:
    line = drift.trend(check_standards.MASS_YEARS, check_standards.MASS_MG)
    assert line.slope == pytest.approx(check_standards.MASS_SLOPE, abs=5.1e-9)
    assert line.u_slope == pytest.approx(check_standards.MASS_U_SLOPE, abs=5.1e-9)
    assert line.slope / line.u_slope == pytest.approx(check_standards.MASS_T, abs=5.1e-4)
    assert line.mean_value == pytest.approx(check_standards.MASS_MEAN, abs=5.1e-7)
    whole = pooled_spread([[[v] for v in check_standards.MASS_MG]])
    assert whole.sd_db == pytest.approx(check_standards.MASS_SD, abs=5.1e-8)


def mass() -> tuple[list[float], list[float], float, float]:
    """The baseline before 1985, the later values, and the baseline's mean and standard deviation."""
    pairs = list(zip(check_standards.MASS_YEARS, check_standards.MASS_MG, strict=True))
    before = [v for year, v in pairs if year < check_standards.MASS_SPLIT_YEAR]
    later = [v for year, v in pairs if year >= check_standards.MASS_SPLIT_YEAR]
    return before, later, float(np.mean(before)), pooled_spread([[[v] for v in before]]).sd_db


def test_the_mass_standards_repeatability_is_pooled_over_its_weighing_designs() -> None:
    for before, (expected, degrees) in (
        (math.inf, check_standards.MASS_REPEATABILITY),
        (check_standards.MASS_SPLIT_YEAR, check_standards.MASS_BASELINE_REPEATABILITY),
    ):
        each = zip(check_standards.MASS_YEARS, check_standards.MASS_RESIDUAL_SD, strict=True)
        spread = pooled_spread([repeats(s, 4) for year, s in each if year < before])
        assert spread.sd_db == pytest.approx(expected, abs=5.1e-8)
        assert spread.degrees_of_freedom == degrees


def test_the_mass_standards_level_after_1985_is_not_that_before() -> None:
    before, later, mean, _ = mass()
    own = pooled_spread([[[v] for v in later]])
    assert (len(later), float(np.mean(later)), own.sd_db) == pytest.approx(check_standards.MASS_LATER, abs=5.1e-8)
    both = pooled_spread([[[v] for v in before], [[v] for v in later]])
    assert both.degrees_of_freedom == 215
    t = (mean - np.mean(later)) / (both.sd_db * math.sqrt(1 / len(before) + 1 / len(later)))
    assert t == pytest.approx(check_standards.MASS_SHIFT_T, abs=5.1e-5)


def test_three_sigma_limits_from_the_baseline_miss_most_of_the_mass_standards_shift() -> None:
    before, later, mean, sd = mass()
    assert (len(before), mean, sd) == pytest.approx(check_standards.MASS_BASELINE, abs=5.1e-8)
    assert drift.ewma_limits(mean, sd, 1.0, 3.0) == pytest.approx(check_standards.MASS_LIMITS_3, abs=5.1e-7)
    beyond = signals(later, mean, sd, WESTERN_ELECTRIC[:1])
    assert len(beyond) == check_standards.MASS_LATER_BEYOND_3
    with_runs = {s.index for s in signals(later, mean, sd, WESTERN_ELECTRIC)}
    assert len(with_runs) > 10 * len(beyond)


def test_the_ewma_sees_the_mass_standards_shift_where_the_reference_does() -> None:
    before, later, mean, sd = mass()
    weight = check_standards.MASS_EWMA_WEIGHT
    lower, upper = drift.ewma_limits(mean, sd, weight, 3.0)
    assert (lower, upper) == pytest.approx(check_standards.MASS_EWMA_LIMITS, abs=5.1e-7)
    averages = drift.ewma(before + later, weight, mean)
    points = np.flatnonzero((averages < lower) | (averages > upper)) + 1
    assert (len(points), points[0]) == (check_standards.MASS_EWMA_SIGNALS, check_standards.MASS_EWMA_FIRST)
    assert points[points > len(before)][0] == check_standards.MASS_EWMA_FIRST_LATER


def test_the_gauge_studys_budget_comes_out_from_its_levels_to_the_expanded_uncertainty() -> None:
    parts = [math.sqrt(level.weight) * level.sd for level in gauge_study.BUDGET]
    u = uncertainty.combined(parts)
    nu = uncertainty.effective_degrees_of_freedom(parts, [level.degrees_of_freedom for level in gauge_study.BUDGET])
    t = uncertainty.coverage_factor(0.95, round(nu))
    assert (u, nu, t, t * u) == pytest.approx(gauge_study.FULL_PRECISION, rel=5e-4)
    assert (round(u, 3), round(nu), round(t * u, 3)) == (
        *(gauge_study.COMBINED, gauge_study.DEGREES_OF_FREEDOM, gauge_study.EXPANDED),
    )


def test_the_gauge_studys_first_level_is_not_what_is_printed() -> None:
    """FLAG: from the six-reading standard deviations it is 0.072867 with 300 degrees of freedom, printed 0.0710."""
    printed = [s for wafer in gauge_study.PROBE_2362.values() for s in (*wafer.s_1, *wafer.s_2)]
    pooled = pooled_spread([repeats(s, 6) for s in printed])
    assert pooled.degrees_of_freedom == gauge_study.BUDGET[0].degrees_of_freedom
    assert pooled.sd_db == pytest.approx(gauge_study.LEVEL_1_RECOMPUTED, abs=5.1e-7)
    assert pooled.sd_db != pytest.approx(gauge_study.BUDGET[0].sd, abs=1e-3)


def test_the_gauge_studys_third_level_is_the_scatter_of_the_runs_means() -> None:
    means = [[[float(np.mean(run))] for run in (w.run_1, w.run_2)] for w in gauge_study.PROBE_2362.values()]
    pooled = pooled_spread(means)
    printed = gauge_study.BUDGET[2]
    assert pooled.degrees_of_freedom == printed.degrees_of_freedom
    assert pooled.sd_db == pytest.approx(gauge_study.LEVEL_3_RECOMPUTED, abs=5.1e-7)
    assert pooled.sd_db == pytest.approx(printed.sd, abs=1.01e-4)


def test_the_linewidth_instruments_line_is_that_of_the_handbook() -> None:
    line = drift.trend(linewidths.REFERENCE, linewidths.MEASURED)
    found = (line.intercept, line.u_intercept, line.slope, line.u_slope, line.residual_sd, line.correlation)
    assert found == pytest.approx(linewidths.FULL_PRECISION, rel=1e-6)
    assert (round(line.residual_sd, 5), line.degrees_of_freedom) == (
        *(linewidths.RESIDUAL_SD, linewidths.DEGREES_OF_FREEDOM),
    )


def test_the_linewidth_instrument_is_out_of_control_on_the_fourth_day_only() -> None:
    line = drift.trend(linewidths.REFERENCE, linewidths.MEASURED)
    t = uncertainty.coverage_factor(1 - 0.05 / 3, line.degrees_of_freedom)
    assert t == pytest.approx(linewidths.T, abs=5.1e-6)
    limit = t * line.residual_sd / line.slope
    assert limit == pytest.approx(linewidths.CONTROL_LIMIT, abs=5.1e-6)
    reference = np.array(linewidths.CONTROL_REFERENCE)
    control = (np.array(linewidths.CONTROL_MEASURED) - line.intercept) / line.slope - reference
    assert control == pytest.approx(np.array(linewidths.CONTROL_VALUES), abs=5.1e-5)
    beyond = np.abs(control) > limit
    assert (np.flatnonzero(beyond.any(axis=1)) + 1).tolist() == linewidths.DAYS_OUT
    assert beyond[linewidths.DAYS_OUT[0] - 1].all()


@pytest.mark.parametrize(
    ("name", "data", "mean", "sd", "r", "sd_digits", "r_digits"),
    strd_univariate.CERTIFIED,
    ids=[c[0] for c in strd_univariate.CERTIFIED],
)
def test_scatter_and_serial_correlation_have_the_certified_values(
    name: str, data: list[float], mean: float, sd: float, r: float, sd_digits: float, r_digits: float
) -> None:
    assert digits(drift.baseline_limits(data, 0.95)[0], mean) > 14
    assert digits(pooled_spread([[[v] for v in data]]).sd_db, sd) >= sd_digits
    assert digits(drift.serial_correlation(data), r) >= r_digits


@pytest.mark.parametrize(
    ("name", "groups", "sd", "degrees", "least"),
    strd.ANALYSIS_OF_VARIANCE,
    ids=[case[0] for case in strd.ANALYSIS_OF_VARIANCE],
)
def test_scatter_pooled_over_groups_has_the_certified_residual_standard_deviation(
    name: str, groups: list[list[float]], sd: float, degrees: int, least: float
) -> None:
    spread = pooled_spread([[[v] for v in group] for group in groups])
    assert spread.degrees_of_freedom == degrees
    assert digits(spread.sd_db, sd) >= least


def test_serial_correlation_of_what_shows_none_is_refused_with_a_remedy() -> None:
    with pytest.raises(ValueError, match="finer resolution"):
        drift.serial_correlation([1.0, 1.0, 1.0])
    with pytest.raises(ValueError, match="at least 3"):
        drift.serial_correlation([1.0, 2.0])


def crossed(leave_out: frozenset[tuple[str, str]] = frozenset()) -> list[Deviation]:
    """Every probe on every wafer, in deviation from the wafer's mean."""
    means = np.mean(list(crossed_probes.BY_PROBE.values()), axis=0)
    return [
        Deviation(0.0, "I1", probe, wafer, "", value - mean, math.inf)
        for probe, row in crossed_probes.BY_PROBE.items()
        for wafer, value, mean in zip(crossed_probes.WAFERS, row, means, strict=True)
        if (probe, wafer) not in leave_out
    ]


def test_scatter_over_probes_is_that_of_each_wafer_as_printed() -> None:
    for k, printed in enumerate(crossed_probes.SD_OVER_PROBES):
        column = [[row[k]] for row in crossed_probes.BY_PROBE.values()]
        assert pooled_spread([column]).sd_db == pytest.approx(printed, abs=5.1e-6)


def test_the_effect_of_each_probe_is_that_of_the_additive_fit() -> None:
    spread = Spread(crossed_probes.RESIDUAL_SD, crossed_probes.RESIDUAL_DEGREES)
    found = evidence(crossed(), spread, 1.0)
    effects = {e.candidate.code: e.effect_db for e in found if e.candidate.kind == "probe"}
    assert effects == pytest.approx(crossed_probes.PROBE_EFFECTS, abs=5.1e-6)
    assert found[0].candidate == Candidate("probe", "2362")
    assert found[0].score == pytest.approx(0.02724 * math.sqrt(5) / crossed_probes.RESIDUAL_SD, abs=1e-3)


def test_the_effect_of_each_wafer_is_that_of_the_additive_fit() -> None:
    """From the grand mean; a spread of 1 lets nothing be clipped."""
    grand = float(np.mean(list(crossed_probes.BY_PROBE.values())))
    assert grand == pytest.approx(crossed_probes.GRAND_MEAN, abs=5.1e-6)
    rows = [
        Deviation(0.0, "I1", probe, wafer, "", value - grand, math.inf)
        for probe, row in crossed_probes.BY_PROBE.items()
        for wafer, value in zip(crossed_probes.WAFERS, row, strict=True)
    ]
    found = {e.candidate: e.effect_db for e in evidence(rows, Spread(1.0, 16), 1.0)}
    for wafer, effect in crossed_probes.WAFER_EFFECTS.items():
        assert found[Candidate("notch", wafer)] == pytest.approx(effect, abs=5.1e-6)
    for probe, effect in crossed_probes.PROBE_EFFECTS.items():
        assert found[Candidate("probe", probe)] == pytest.approx(effect, abs=5.1e-6)


def test_the_worst_probe_deviates_on_each_wafer_as_the_reference_says() -> None:
    values = [r.deviation_db for r in crossed() if r.probe == "2362"]
    assert values == pytest.approx(crossed_probes.DEVIATIONS_2362, abs=5.1e-5)
    spread = pooled_spread([[[v] for v in values]])
    assert spread.sd_db == pytest.approx(crossed_probes.SD_OF_2362, abs=5.1e-7)


def test_an_incomplete_table_of_probes_and_wafers_says_what_it_can_still_tell_apart() -> None:
    first, rest = {"1", "281"}, {"138", "139"}
    whole = separable(crossed())
    assert (len(whole.groups), whole.rank) == (1, 5 + 5 - 1)
    cut = frozenset(
        (p, w) for p in crossed_probes.BY_PROBE for w in crossed_probes.WAFERS if (p in first) != (w in rest)
    )
    halves = separable(crossed(cut))
    assert [{c.code for c in group} for group in halves.groups] == [
        {"1", "281", "138", "139"},
        {"283", "2062", "2362", "140", "141", "142"},
    ]
    assert halves.rank == (2 + 2 - 1) + (3 + 3 - 1)
