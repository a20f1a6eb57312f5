"""The date to look at equipment before: given only where the record carries it, and never too late for want of caution."""

import random
from decimal import Decimal

import numpy as np
import pytest

from refstd.metrology.drift import crossing, trend
from refstd.rules.drift import drift_of
from refstd.rules.lookbefore import BaselineLimit, LookBefore, NoDate, baseline_limits, in_words, look_before
from refstd.rules.readings import Limit
from tests.rules.test_drift import answers

LIMITS = (BaselineLimit(-2.0, "-2 dB", "PR-1, 6.3"), BaselineLimit(2.0, "2 dB", "PR-1, 6.3"))


def asked(values: list[float], limits: tuple[BaselineLimit, ...] = LIMITS, **how: object) -> LookBefore | NoDate:
    return look_before(drift_of(answers(values, sd=0.1, **how)).amplitude, limits)  # type: ignore[arg-type]


def worn(count: int, per_check: float = -0.03, scatter: float = 0.1, flat: int = 0, seed: int = 5) -> list[float]:
    dice = random.Random(seed)
    return [per_check * max(0, i - flat) + dice.gauss(0, scatter) for i in range(count)]


def test_a_worn_series_gets_a_date_before_the_line_itself_reaches_the_limit() -> None:
    found = asked(worn(45))
    assert isinstance(found, LookBefore)
    assert found.day < found.earliest < found.latest
    assert found.limit.limit_db == -2.0
    truth = 14.0 * 2.0 / 0.03
    assert found.earliest < truth < found.latest
    assert in_words(found, "2033-01-02") == "look at it before 2033-01-02: its trend could reach −2.00 dB (PR-1, 6.3)"


def test_a_flat_start_does_not_make_the_date_late() -> None:
    """Wear begins after a year of nothing. Planted bug that it caught: the line was drawn through the flat year as well,
    and the date fell 100 days behind the day on which the limit was truly reached."""
    flat = 26
    found = asked(worn(flat + 40, flat=flat))
    assert isinstance(found, LookBefore)
    truth = 14.0 * (flat + 2.0 / 0.03)
    assert abs(found.from_day - 14.0 * flat) <= 14.0 * 8
    assert found.day < truth
    days = 14.0 * np.arange(flat + 40)
    whole = crossing(trend(days, np.array(worn(flat + 40, flat=flat))), -2.0)
    assert whole is not None
    assert whole.act_before > found.day


@pytest.mark.parametrize(
    ("values", "limits", "because"),
    [
        (worn(45), (), "no procedure"),
        (worn(45, per_check=0.0), LIMITS, "no slope"),
        (worn(11, per_check=-0.1), LIMITS, "fewer than 12"),
        ([*([0.0, 0.05] * 15), *([-1.0, -1.05] * 8)], LIMITS, "stepped"),
        (worn(20, per_check=-0.012, scatter=0.02), LIMITS, "further ahead than this record is long"),
        (worn(45), (BaselineLimit(2.0, "2 dB", "PR-1, 6.3"),), "no slope toward"),
        ([2.3 + x for x in worn(45)], (BaselineLimit(2.0, "2 dB", "PR-1, 6.3"),), "no slope toward"),
        (worn(45, per_check=-0.002), (BaselineLimit(-0.15, "-0.15 dB", "PR-1, 6.3"),), "no slope stands out"),
    ],
)
def test_no_date_is_given_and_the_reason_is(
    values: list[float], limits: tuple[BaselineLimit, ...], because: str
) -> None:
    """Each gate was taken out in turn and seen to let a date through."""
    found = asked(values, limits)
    assert isinstance(found, NoDate), found
    assert because in found.because


def test_a_repair_starts_the_record_anew() -> None:
    assert isinstance(asked(worn(45), breaks=(14.0 * 40 - 1,)), NoDate)


def test_residuals_that_go_together_widen_the_scatter_by_the_root_of_one_plus_r_over_one_minus_r() -> None:
    """√((1 + r)/(1 − r)) for a first-order process (NIST/SEMATECH e-Handbook 6.4.4.8, MEMORY)."""
    dice = random.Random(4)
    level, values = 0.0, []
    for i in range(60):
        level = 0.7 * level + dice.gauss(0, 0.07)
        values.append(-0.03 * i + level)
    found = asked(values)
    assert isinstance(found, LookBefore)
    assert 1.3 < found.widened < 3.5


def test_a_trend_that_single_wild_checks_bear_is_doubted_in_words() -> None:
    """The median of all slopes hardly moves by a few wild values (Theil 1950, Sen 1968, MEMORY)."""
    sound = asked(worn(45))
    assert isinstance(sound, LookBefore)
    assert not sound.doubted
    wild = [x - (0.8 if i in (33, 35) else 0.0) for i, x in enumerate(worn(36))]
    found = asked(wild)
    assert isinstance(found, LookBefore)
    assert found.doubted
    assert "wild" in in_words(found, "2033-01-02")


def test_limits_against_the_baseline_are_taken_for_their_notch_and_percent_as_the_decibels_that_it_means() -> None:
    """20·log10(0.7) = −3.10 dB (definition of the decibel)."""

    def limit(**values: object) -> Limit:
        fields = {
            "quantity": "amplitude",
            "against": "baseline",
            "notch": None,
            "lower": None,
            "upper": None,
            "unit": "dB",
        }
        return Limit(**(fields | {"paragraph": "6.3"} | values))  # type: ignore[arg-type]

    limits = (
        limit(lower=Decimal("-3"), upper=Decimal("3")), limit(lower=Decimal("-30"), unit="%", notch="1.0 MM"),
        limit(lower=Decimal("-9"), notch="2.0 mm"), limit(lower=Decimal("-1"), against="target"),
        limit(quantity="phase", lower=Decimal("-1"), unit="°"),
    )  # fmt: skip
    found = baseline_limits(limits, "1.0 mm", "PR-1")
    assert [round(x.limit_db, 2) for x in found] == [-3.0, 3.0, -3.1]
    assert found[2].says == "-30 %"
    assert found[0].source == "PR-1, 6.3"
