"""The condition of equipment: against the scatter of its own set-ups, display undone. It stops no job."""

import math
import statistics
from typing import Any

import numpy as np
import pytest

from refstd.base.reason import Reason, Weight
from refstd.eddy.signals import Order
from refstd.rules.condition import condition, condition_reasons
from refstd.rules.figures import trendable
from refstd.rules.readings import ReadingSet
from tests.rules.occasions import FULL, RS, readings, target


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


def test_the_uncertainty_is_that_of_the_last_digit_and_the_noise_of_both() -> None:
    """JCGM 100:2008, 4.3.7 and 5.1.2 (MEMORY), worked by hand for one figure a notch.

    Read 80 in whole % FSH: digit 1/√12 = 0.28868. Noise 2: 2/√3 = 1.15470. Together 1.19024; of 80 it is 1.48780 % or
    8.68589 × 0.0148780 = 0.129228 dB. The mean of four such set-ups: half of it. Together 0.129228 × √1.25 = 0.144481 dB.
    """
    past = tuple(readings(f"set-up {n}", n1="80", noise="2") for n in range(4))
    (c,) = condition(readings("new", n1="80", noise="2"), past, ())
    assert c.u_db == pytest.approx(0.144481, abs=1e-6)
    assert c.u_deg is None
    assert (c.u_from, c.how) == ("last digits and noise", "gain undone")
    assert c.in_words() == "+0.00 dB (u 0.14 dB); gain undone, u from last digits and noise"


def test_without_noise_on_record_only_the_digits_count() -> None:
    """80.0 read to 0.1: 8.68589 × 0.1/√12/80 = 0.003134 dB; against the mean of one set-up √2 times that."""
    past = (readings("set-up 1", n1="80.0"),)
    (c,) = condition(readings("new", n1="80.0"), past, ())
    assert c.u_db == pytest.approx(0.004433, abs=1e-6)
    assert c.u_from == "last digits"


@pytest.mark.parametrize(("order", "how"), [(RS, "display undone"), (None, "as seen, common gain undone")])
def test_with_both_parts_the_uncertainty_follows_the_display(order: Order | None, how: str) -> None:
    """Random draws with a fixed seed, 200,000: an independent way to the same figures, good to about 1 %."""
    gains, rng = ("40", "52"), np.random.default_rng(7)
    past = (readings("set-up 1", n1=("3.0", "4.0"), unit="div", gains=gains, rotation="30", order=order, noise="0.1"),)
    (c,) = condition(
        readings("new", n1=("3.0", "4.0"), unit="div", gains=gains, rotation="30", order=order, noise="0.1"), past, ()
    )
    a, b = (10**2, 10**2.6) if order else (1, 1)
    drawn = [
        (3 + rng.uniform(-0.05, 0.05, 200_000) + rng.uniform(-0.1, 0.1, 200_000)) / a
        + 1j * (4 + rng.uniform(-0.05, 0.05, 200_000) + rng.uniform(-0.1, 0.1, 200_000)) / b
        for _ in range(2)
    ]
    ratio = drawn[0] / drawn[1]
    assert c.u_db == pytest.approx((20 * np.log10(np.abs(ratio))).std(), rel=0.02)
    assert c.u_deg == pytest.approx(np.degrees(np.angle(ratio)).std(), rel=0.02)
    assert c.how == how


def test_changed_settings_leave_an_error_out_and_say_so() -> None:
    past = (readings("set-up 1", n1="80"),)
    (c,) = condition(readings("new", n1="80", gains=("40", "46")), past, ())
    assert c.u_from == "last digits, without what the changed gains or rotation are off by"
    assert c.amplitude_db == pytest.approx(-6)


@pytest.mark.parametrize(
    ("seen", "noise", "says"),
    [
        ("80", None, ""),
        ("80", "16", ""),  # five times exactly
        ("79.9", "16", "deflects by only 4.9 × the noise; below 5 × it is not trended"),
        ("6.4", "2", "deflects by only 3.2 × the noise; below 5 × it is not trended"),
        (("-3", "4"), "1", ""),  # 5 long
        (("-3", "3.9"), "1", "deflects by only 4.9 × the noise; below 5 × it is not trended"),
        (FULL, "2", "is at least full screen, which is not trended"),
    ],
)
def test_below_five_times_the_noise_and_off_the_screen_nothing_is_trended(
    seen: Any, noise: str | None, says: str
) -> None:
    """physics: noise of σ lifts a peak of 5 σ by 20·log10(1 + 1/50) = 0.17 dB, with a scatter of 8.686/5 = 1.7 dB."""
    new = readings("new", n1=seen, noise=noise)
    assert trendable(new, new.readings[0]) == says


def test_a_notch_that_sank_into_the_noise_is_news_and_one_that_always_stood_there_is_not() -> None:
    """A response that has all but gone must not be folded away as 'not trended'.

    Planted bug it caught: both were told with the same weight.
    """
    high = tuple(readings(f"set-up {n}", n1="80", noise="2") for n in range(3))
    low = tuple(readings(f"set-up {n}", n1="9", noise="2") for n in range(3))
    sunk = readings("new", n1="9", noise="2")
    for past, weight in ((high, Weight.ADVISES), (low, Weight.SUPPORTS)):
        (c,) = found = condition(sunk, past, ())
        assert (c.amplitude_db, c.u_db) == (None, None)
        (reason,) = condition_reasons(sunk, found, past)
        assert reason.weight is weight
        assert "4.5 × the noise" in reason.says
        assert reason.limit == "deflection at least 5 × the noise"
    (c,) = condition(readings("new", n1="80", noise="2"), low, ())
    assert c.amplitude_db is None
    assert c.why_not.startswith("is not compared with set-up 0: deflects by only 4.5 × the noise")


def three(record: str, shallow: str, middle: str, deep: str) -> ReadingSet:
    return readings(record, n05=shallow, n1=middle, n15=deep)


SAME = tuple(three(f"set-up {n}", *heights) for n, heights in enumerate((("40.0", "80.0", "90.0"), ("40.2", "80.4", "90.5"),
             ("39.8", "79.6", "89.5"))))  # fmt: skip


def pattern_of(new: ReadingSet, past: tuple[ReadingSet, ...]) -> list[Reason]:
    return [r for r in condition_reasons(new, condition(new, past, ()), past) if r.rule == "pattern"]


def test_where_the_notches_moved_the_pattern_over_them_is_told_as_a_hint_with_its_figures() -> None:
    """Half the height is 6.02 dB less (20·log10 2, READ), on each notch: all alike."""
    (told,) = pattern_of(three("new", "20.0", "40.0", "45.0"), SAME)
    assert told.says.startswith("All notches have fallen alike: look at gain, drive, cable")
    assert told.cure.startswith("a hint, not a finding")
    assert told.figure == "0.500 mm: −6.02 dB; 1.000 mm: −6.02 dB; 1.500 mm: −6.02 dB (gain undone)"
    assert told.weight is Weight.ADVISES  # it passes and fails nothing


def test_the_pattern_knows_the_depths_whatever_the_order_of_reading() -> None:
    """The shallowest fell by 40/28 = 3.10 dB, the deepest by nothing: lift-off, common practice, no source."""
    (told,) = pattern_of(readings("new", n15="90.0", n05="28.0", n1="68.0"), SAME)
    assert told.says.startswith("The shallowest notch has fallen most")


def test_no_pattern_is_told_where_nothing_moved_or_the_scatter_is_not_known() -> None:
    assert pattern_of(three("new", "40.1", "80.1", "90.0"), SAME) == []
    assert pattern_of(three("new", "20.0", "40.0", "45.0"), SAME[:2]) == []
