"""The condition of equipment: against the scatter of its own set-ups, display undone. It stops no job."""

import math
import statistics

import pytest

from refstd.base.reason import Weight
from refstd.rules.condition import condition, condition_reasons
from refstd.rules.readings import ReadingSet
from tests.rules.occasions import readings, target


def set_ups(*values: str) -> tuple[ReadingSet, ...]:
    return tuple(readings(f"set-up {n}", n1=value) for n, value in enumerate(values, start=1))


def test_the_band_is_three_sigma_of_the_set_ups_widened_by_the_baselines_own_uncertainty() -> None:
    """s·√(1 + 1/n): a new single value against the mean of n (prediction, NIST/SEMATECH e-Handbook 7.2.6.3, MEMORY)."""
    values = ("80.00", "81.00", "79.00", "80.50")
    levels = [20 * math.log10(float(v) / 80) for v in values]
    spread = statistics.stdev(levels)
    band = 3 * spread * math.sqrt(1 + 1 / 4)
    mean = statistics.fmean(levels)
    past = set_ups(*values)
    for beyond, weight in ((-0.01, Weight.SUPPORTS), (0.03, Weight.ADVISES)):
        for sign in (-1, 1):
            new = readings("new", n1=f"{80 * 10 ** ((mean + sign * (band + beyond)) / 20):.4f}")
            reasons = condition_reasons(new, condition(new, past, ()), past)
            assert reasons[0].weight is weight, (beyond, sign)
    assert reasons[0].limit == f"±{band:.2f} dB"
    assert "4 set-ups" in reasons[0].source


def test_two_set_ups_show_a_figure_and_no_limit() -> None:
    past = set_ups("80", "81")
    new = readings("new", n1="20")
    reasons = condition_reasons(new, condition(new, past, ()), past)
    assert [(r.limit, r.weight) for r in reasons] == [("", Weight.SUPPORTS)]
    assert "too few" in reasons[0].says


def test_set_ups_that_read_the_same_digits_do_not_claim_to_have_no_scatter() -> None:
    """One digit up or down is no change: a reading is uniform within its digit, u = digit/√12 (JCGM 100:2008, 4.3.7, MEMORY).

    Planted: the resolution counted once, not for reading and baseline; one digit more was called a change.
    """
    for n in (3, 5, 20):
        past = set_ups(*["80"] * n)
        for seen in ("79", "81"):
            new = readings("new", n1=seen)
            assert condition_reasons(new, condition(new, past, ()), past)[0].weight is Weight.SUPPORTS, (n, seen)
        new = readings("new", n1="84")
        assert condition_reasons(new, condition(new, past, ()), past)[0].weight is Weight.ADVISES


@pytest.mark.parametrize(
    ("seen", "target_value", "gain"), [("80", "80", 40.0), ("40", "80", 46.0206), ("8", "80", 60.0)]
)
def test_the_gain_needed_is_the_gain_set_plus_what_is_missing_to_the_target(
    seen: str, target_value: str, gain: float
) -> None:
    """Half the height needs 6.0206 dB more, a tenth 20 dB more (20·log10 2 and 10, READ).

    Planted: 10·log10 in place of 20·log10.
    """
    new = readings("new", n1=seen, gains=("40", "40"))
    assert condition(new, (), (target("1.0 mm", target_value),))[0].gain_needed_db == pytest.approx(gain, abs=1e-4)
    assert condition(new, (), ())[0].gain_needed_db is None


def test_signal_to_noise_is_the_vertical_deflection_by_the_noise() -> None:
    assert condition(readings("new", n1="-80", noise="4"), (), ())[0].signal_to_noise == pytest.approx(20)
    assert condition(readings("new", n1="-80"), (), ())[0].signal_to_noise is None


def test_the_condition_stops_nothing_however_far_it_is() -> None:
    past = set_ups("80", "81", "79")
    for seen in ("1", "99"):
        new = readings("new", n1=seen)
        for reason in condition_reasons(new, condition(new, past, ()), past):
            assert reason.weight in (Weight.ADVISES, Weight.SUPPORTS)


def test_more_gain_that_was_set_is_no_change_of_the_equipment() -> None:
    past = tuple(readings(f"set-up {n}", n1=v, gains=("40", "40")) for n, v in enumerate(("20.0", "20.1", "19.9")))
    new = readings("new", n1="39.905", gains=("40", "46"))  # 20 at 40 dB is 39.905 at 46 dB
    found = condition(new, past, ())
    assert found[0].amplitude_db == pytest.approx(0, abs=0.01)


def test_a_reading_off_the_screen_says_why_it_has_no_figure() -> None:
    past = set_ups("80", "81", "79")
    new = readings("new", n1="full screen")
    found = condition(new, past, ())
    assert found[0].amplitude_db is None
    assert "off the screen" in condition_reasons(new, found, past)[0].says


def test_without_a_baseline_there_is_nothing_to_compare() -> None:
    new = readings("new", n1="80")
    assert condition_reasons(new, condition(new, (), ()), ()) == ()
