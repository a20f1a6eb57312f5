"""Drift is named when the equipment moved, and hardly ever when it did not."""

import math
import random
import statistics
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.drift import Drift, drift_of
from refstd.rules.series import HIDDEN_IN_NOISE, Answers

SETUPS = 5


def answers(
    deviations: list[float],
    *,
    sd: float | None = 0.2,
    setups: int = SETUPS,
    follows: frozenset[int] = frozenset(),
    breaks: tuple[float, ...] = (),
    digit: float = 0.0,
) -> Answers:
    """A check a fortnight; `follows` are those that share a start's set-up."""
    n = len(deviations)
    none = np.full(n, np.nan)
    independent = np.array([i not in follows for i in range(n)], dtype=bool)
    return Answers(
        tuple(f"C-{i:04d}" for i in range(n)), 14.0 * np.arange(n), np.array(deviations, dtype=float), none, none, independent,
        {}, setups, baseline_sd_db=sd, breaks=breaks, digit_db=digit,
    )  # fmt: skip


def said(deviations: list[float], sd: float | None = 0.2) -> Drift:
    return drift_of(answers(deviations, sd=sd))


def steady(count: int) -> list[float]:
    """Deviations that go up and down by the same amount: mean moving range 0.2 dB."""
    return [0.1 if i % 2 else -0.1 for i in range(count)]


def test_the_limits_are_those_of_an_individuals_chart_widened_by_the_baselines_own_uncertainty() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2: 3 × mean moving range / 1.128 (READ); √(1 + 1/n) as in 7.2.6.3 (READ)."""
    drift = said(steady(20), None)
    half = drift.amplitude.half_width
    assert half is not None
    assert abs(half - 3 * 0.2 / 1.128379 * (1 + 1 / SETUPS) ** 0.5) < 1e-12


def test_a_single_check_beyond_the_limits_asks_for_a_repeat_and_names_nothing() -> None:
    """Planted bug that it caught: the last check alone was judged."""
    assert said([*steady(20), 1.5], 0.1).flags == ()


def test_two_checks_beyond_the_same_limit_are_named() -> None:
    assert "beyond the limits" in said([*steady(20), 1.5, 1.4], 0.1).flags
    assert "beyond the limits" in said([*steady(20), -1.5, -1.4], 0.1).flags


def test_two_checks_beyond_opposite_limits_are_scatter_not_drift() -> None:
    assert "beyond the limits" not in said([*steady(20), 3.0, -3.0], 0.1).flags


@given(st.lists(st.floats(-3, 3), min_size=8, max_size=60))
def test_a_mirrored_series_says_the_mirrored_thing(values: list[float]) -> None:
    """Rising is a change as much as falling: a worn probe face raises responses."""
    up, down = said(values).flags, said([-v for v in values]).flags
    swapped = {"rising": "falling", "falling": "rising", "up": "down", "down": "up"}
    assert [" ".join(swapped.get(w, w) for w in f.split(" ")) for f in up] == list(down)


def test_in_a_lab_of_fifty_innocent_series_hardly_ever_is_one_named() -> None:
    """60 labs of 54 white series, each about a baseline of 5 set-ups. 5 % shared by fifty series (Bonferroni, NIST/SEMATECH
    e-Handbook 7.4.7.3, MEMORY) allows some 5 % of labs; the rule before named one in 4 labs out of 10."""
    dice = random.Random(11)
    labs = 0
    for _ in range(60):
        named = 0
        for _ in range(54):
            baseline = [dice.gauss(0, 0.17) for _ in range(SETUPS)]
            mean = statistics.fmean(baseline)
            points = [dice.gauss(0, 0.17) - mean for _ in range(52)]
            named += bool(said(points, statistics.stdev(baseline)).flags)
        labs += named > 0
    assert labs <= 6  # binomial: more than 6 of 60 at 5 % happens in 3 % of tries; the seed is fixed


def test_a_step_of_six_times_the_scatter_is_always_named() -> None:
    dice = random.Random(12)
    for _ in range(100):
        values = [dice.gauss(0, 0.17) - (1.5 if i > 40 else 0) for i in range(52)]
        assert "beyond the limits" in said(values, 0.17).flags


def test_checks_that_follow_a_start_share_its_chance_and_are_not_judged() -> None:
    """Repeats of one set-up scatter less than set-ups do (NIST/SEMATECH e-Handbook 2.3.4.1: short-term against day-to-day).

    Planted bug that it caught: every check was judged, and follow-ups of one bad start made a name of it.
    """
    values = [*steady(20), 1.5, 1.4, 1.4]
    assert "beyond the limits" in said(values, 0.1).flags
    followed = answers(values, sd=0.1, follows=frozenset({21, 22}))
    drift = drift_of(followed)
    assert "beyond the limits" not in drift.flags
    assert len(drift.amplitude.values) == 21


def test_a_break_starts_the_judgement_anew_and_its_jump_widens_no_limit() -> None:
    """Planted bug that it caught: the moving range across the repair counted, and 2 dB of it hid what came after."""
    values = [*steady(20), *[x + 2.0 for x in steady(10)]]
    repaired = drift_of(answers(values, sd=0.1, breaks=(14.0 * 20 - 1,)))
    unbroken = drift_of(answers(values, sd=0.1))
    assert repaired.amplitude.since == 20
    assert repaired.amplitude.half_width is not None
    assert unbroken.amplitude.half_width is not None
    assert repaired.amplitude.half_width < unbroken.amplitude.half_width
    assert repaired.flags == ("beyond the limits",)
    assert not any("stepped" in f for f in repaired.flags)  # inside the record since the repair nothing stepped


def test_a_step_is_called_a_step_with_its_size_and_a_slope_a_slope() -> None:
    """Planted bug that it caught: any significant line was called a slope, so a dropped block read 'falling'."""
    dice = random.Random(3)
    step = said([dice.gauss(0, 0.1) - (1.0 if i >= 30 else 0.0) for i in range(50)], 0.1)
    assert step.amplitude.stepped == 30
    assert step.amplitude.slope_per_year is step.amplitude.u_slope_per_year is None  # a line through a step is no trend
    assert step.amplitude.line is not None
    assert [f for f in step.flags if f.startswith("stepped down by 1.0")]
    slope = said([dice.gauss(0, 0.1) - 0.03 * i for i in range(50)], 0.1)
    assert "falling" in slope.flags
    assert slope.amplitude.stepped is None


def test_few_set_ups_of_the_baseline_widen_the_limits_and_it_is_said() -> None:
    """√(1 + 1/n), NIST/SEMATECH e-Handbook 7.2.6.3 (READ)."""
    two, many = drift_of(answers(steady(20), sd=0.2, setups=2)), drift_of(answers(steady(20), sd=0.2, setups=20))
    assert two.amplitude.half_width is not None
    assert many.amplitude.half_width is not None
    assert abs(two.amplitude.half_width / many.amplitude.half_width - math.sqrt(1.5 / 1.05)) < 1e-12
    assert "only 2 set-ups" in two.about_limits
    assert many.about_limits == ""


DIGIT = 20 * math.log10(81 / 80)  # a reading of 80 and its last digit, 1: dB
U_DIGIT = 20 / math.log(10) / 80 * math.sqrt(2 / 12)  # in the reading and in the baseline: JCGM 100:2008, 4.3.7


def test_set_ups_that_read_the_same_digits_leave_limits_of_that_digit_and_not_of_nothing() -> None:
    """Planted bug that it caught: eight checks of 80 left limits of ±0.00 dB, and the first 81 twice was 'beyond'."""
    same = drift_of(answers([0.0] * 8, sd=0.0, digit=U_DIGIT))
    assert same.amplitude.half_width is not None
    assert math.isclose(same.amplitude.half_width, 3 * U_DIGIT * math.sqrt(1 + 1 / SETUPS))
    assert same.amplitude.by_digit
    assert "last digit" in same.about_limits
    assert drift_of(answers([*[0.0] * 8, DIGIT, DIGIT], sd=0.0, digit=U_DIGIT)).flags == ()
    assert "beyond the limits" in drift_of(answers([*[0.0] * 8, 3 * DIGIT, 3 * DIGIT], sd=0.0, digit=U_DIGIT)).flags


def test_a_digit_that_turned_over_for_good_is_no_step() -> None:
    """78.4 and 78.6 read 78 and 79. Planted bug that it caught: a third of the limits, half a digit, was 'stepped up'."""
    turned = [*[0.0] * 20, *[DIGIT] * 20]
    assert drift_of(answers(turned, sd=0.0, digit=U_DIGIT)).flags == ()
    assert [
        f for f in drift_of(answers([2 * x for x in turned], sd=0.0, digit=U_DIGIT)).flags if f.startswith("stepped up")
    ]


def test_a_digit_finer_than_the_scatter_changes_nothing_and_is_not_told() -> None:
    fine, unknown = (drift_of(answers(steady(20), sd=0.2, digit=d)) for d in (U_DIGIT / 10, 0.0))
    assert fine.amplitude.half_width == unknown.amplitude.half_width
    assert not fine.amplitude.by_digit
    assert fine.about_limits == ""


def test_limits_know_the_three_widths_of_which_they_are_the_widest() -> None:
    """Individuals chart, the set-ups' own scatter and the last digit, each with √(1 + 1/n): sources as above."""
    w = drift_of(answers(steady(20), sd=0.05, digit=0.01)).amplitude.widths
    assert w is not None
    root = math.sqrt(1 + 1 / SETUPS)
    found = [w.mean_range, w.by_range, w.by_setups, w.by_digit]
    assert found == pytest.approx([0.2, 0.6 / 1.128379 * root, 0.15 * root, 0.03 * root])


def test_where_too_few_checks_can_be_judged_it_is_said_how_many_and_what_keeps_most_of_the_others_from_it() -> None:
    """Planted bug that it caught: 47 readings hidden in noise were told as 'too few checks', as if more would help."""
    hidden = replace(answers([math.nan] * 9 + [0.1], sd=0.1), why_not=dict.fromkeys(range(9), HIDDEN_IN_NOISE))
    says = drift_of(hidden).about_limits
    assert says.startswith("1 of 10 checks since the baseline can be judged, and it takes 8")
    assert says.endswith(f"9 of them: the reading {HIDDEN_IN_NOISE}")
    assert drift_of(answers([0.1] * 3)).about_limits == "3 of 3 checks since the baseline can be judged, and it takes 8"
