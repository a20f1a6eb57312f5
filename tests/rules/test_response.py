"""The job comparison: every kind of limit in its own unit, and what cannot be decided."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.eddy.signals import Order
from refstd.rules.condition import condition, condition_reasons
from refstd.rules.readings import Limit, ReadingSet
from refstd.rules.response import Outcome, judge_response
from tests.published import decibels, display_transforms
from tests.rules.occasions import FULL, RS, SR, asked, limit, outcome, readings, target

GOOD, BAD, OPEN = Outcome.ACCEPTABLE, Outcome.NOT_ACCEPTABLE, Outcome.NOT_CONCLUSIVE


@pytest.mark.parametrize(
    ("new", "start", "band", "expected"),
    [
        # ± % of the start check
        ("72", "80", limit("%", "-10", "10"), GOOD),
        ("71.9", "80", limit("%", "-10", "10"), BAD),
        ("88", "80", limit("%", "-10", "10"), GOOD),
        ("88.1", "80", limit("%", "-10", "10"), BAD),
        # ± points of full screen height: 8 points of 80 are 10 %, of 40 they are 20 %
        ("32", "40", limit("% FSH", "-8", "8"), GOOD),
        ("31.9", "40", limit("% FSH", "-8", "8"), BAD),
        ("48.1", "40", limit("% FSH", "-8", "8"), BAD),
        # ± dB
        ("40", "80", limit("dB", "-6.1", "6.1"), GOOD),
        ("40", "80", limit("dB", "-6.0", "6.0"), BAD),
        # a window that is not symmetric
        ("75", "80", limit("% FSH", "-10", "2"), GOOD),
        ("83", "80", limit("% FSH", "-10", "2"), BAD),
        # a minimum alone, a maximum alone
        ("95", "80", limit("%", "-10", None), GOOD),
        ("95", "80", limit("%", None, "10"), BAD),
    ],
)
def test_a_vertical_reading_is_held_against_the_start_check_in_the_limits_own_unit(
    new: str, start: str, band: Limit, expected: Outcome
) -> None:
    question = asked(readings("new", n1=new), band, start=readings("start", n1=start))
    assert outcome(question) is expected


@pytest.mark.parametrize(
    ("new", "start", "expected"), [("2.5", "3.0", GOOD), ("2.4", "3.0", BAD), ("3.5", "3.0", GOOD), ("3.6", "3.0", BAD)]
)
def test_a_band_in_divisions_is_held_against_readings_in_divisions(new: str, start: str, expected: Outcome) -> None:
    band = limit("div", "-0.5", "0.5")
    question = asked(readings("new", unit="div", n1=new), band, start=readings("start", unit="div", n1=start))
    assert outcome(question) is expected


@pytest.mark.parametrize(("ratio", "decibel"), decibels.DRIFT_LIMITS)
def test_a_change_in_db_is_twenty_times_the_logarithm_of_the_amplitude_ratio(ratio: float, decibel: float) -> None:
    """20·log10(A/A0), DERIVED from the definition; printed to 0.001 dB or 4 digits of the ratio."""
    new, start = readings("new", n1=f"{ratio * 50:.3f}"), readings("start", n1="50.000")
    wide = limit("dB", f"{decibel - 0.01:.3f}", f"{decibel + 0.01:.3f}")
    beside = limit("dB", f"{decibel + 0.01:.3f}", f"{decibel + 0.02:.3f}")
    assert outcome(asked(new, wide, start=start)) is GOOD
    assert outcome(asked(new, beside, start=start)) is BAD


@pytest.mark.parametrize(
    ("ratio", "in_db", "in_percent"),
    [
        # DERIVED: −2 dB is a ratio of 0.7943 (−20.6 %), +2 dB of 1.2589 (+25.9 %); −20 % is 0.800, +20 % is 1.200.
        ("0.790", BAD, BAD),
        ("0.795", GOOD, BAD),
        ("0.799", GOOD, BAD),
        ("0.800", GOOD, GOOD),
        ("1.200", GOOD, GOOD),
        ("1.201", GOOD, BAD),
        ("1.258", GOOD, BAD),
        ("1.260", BAD, BAD),
    ],
)
def test_two_db_and_twenty_per_cent_are_two_different_limits(ratio: str, in_db: Outcome, in_percent: Outcome) -> None:
    """Planted: a dB taken as 10 % of the amplitude; 0.795 turned to not acceptable by the limit in dB."""
    new, start = readings("new", n1=f"{float(ratio) * 50:.3f}"), readings("start", n1="50.000")
    assert outcome(asked(new, limit("dB", "-2", "2"), start=start)) is in_db
    assert outcome(asked(new, limit("%", "-20", "20"), start=start)) is in_percent


@pytest.mark.parametrize(("reading", "baseline", "order", "decibel", "degrees"), display_transforms.DEVIATIONS)
def test_a_signal_is_compared_with_its_display_undone(
    reading: tuple[float, ...], baseline: tuple[float, ...], order: Order, decibel: float, degrees: float
) -> None:
    """Reference vectors DERIVED with a separate prototype (plane rotation and scaling); both orders, unequal gains.

    Against the baseline, since gains may differ there. Planted: the order ignored, always
    rotate-then-scale; the vectors of the other order failed.
    """

    def occasion(record: str, seen: tuple[float, ...]) -> ReadingSet:
        h, v, rotation, gain_h, gain_v = seen
        return readings(
            record,
            n1=(str(h), str(v)),
            rotation=str(rotation),
            gains=(str(gain_h), str(gain_v)),
            order=order,
            unit="div",
        )

    for unit, value, quantity in (("dB", decibel, "amplitude"), ("°", degrees, "phase")):
        at = limit(unit, f"{value - 0.002:.6f}", f"{value + 0.002:.6f}", against="baseline", quantity=quantity)
        beside = limit(unit, f"{value + 0.002:.6f}", f"{value + 0.01:.6f}", against="baseline", quantity=quantity)
        new, past = occasion("new", reading), occasion("past", baseline)
        assert outcome(asked(new, at, occasion="periodic", baseline=(past,))) is GOOD
        assert outcome(asked(new, beside, occasion="periodic", baseline=(past,))) is BAD


@pytest.mark.parametrize(("order", "expected"), [(RS, GOOD), (SR, GOOD), (None, OPEN)])
def test_an_unknown_order_of_rotation_and_gain_decides_nothing_at_unequal_settings(
    order: Order | None, expected: Outcome
) -> None:
    band = limit("dB", "-20", "20", against="baseline")
    new = readings("new", n1=("30", "40"), rotation="30", gains=("40", "52"), order=order)
    past = readings("past", n1=("30", "40"), rotation="40", gains=("40", "52"), order=order)
    assert outcome(asked(new, band, occasion="start", baseline=(past,))) is expected
    same = readings("past", n1=("30", "40"), rotation="30", gains=("40", "52"), order=order)
    assert outcome(asked(new, band, occasion="start", baseline=(same,))) is GOOD


def test_vertical_alone_is_compared_by_the_vertical_gain_when_lift_off_was_horizontal_both_times() -> None:
    """From 40 to 46 dB a steady signal grows by 6 dB on the screen: nothing has changed. 20 → 39.905 (10^0.3)."""
    band = limit("dB", "-0.1", "0.1", against="baseline")
    new = readings("new", n1="39.905", gains=("40", "46"), rotation="10")
    past = readings("past", n1="20.000", gains=("40", "40"), rotation="10")
    assert outcome(asked(new, band, occasion="start", baseline=(past,))) is GOOD
    unset = readings("past", n1="20.000", gains=("40", "40"), rotation="25", phase_set=False)
    assert outcome(asked(new, band, occasion="start", baseline=(unset,))) is OPEN


def test_raising_the_vertical_gain_raises_the_flaw_against_lift_off() -> None:
    """Common practice, no source: both gains at 40 dB, then vertical +10 dB, raises the flaw and leaves lift-off flat.

    Lift-off is set horizontal (rotate, then scale). As seen, the notch grows by 10^0.5 = 3.162; with the display undone
    nothing has changed, in amplitude or phase.
    """
    before = readings("before", n1=("-10", "20"), gains=("40", "40"))
    after = readings("after", n1=("-10", "63.2456"), gains=("40", "50"))
    assert (
        outcome(asked(after, limit("dB", "-0.01", "0.01", against="baseline"), occasion="periodic", baseline=(before,)))
        is GOOD
    )
    turned = limit("°", "-0.01", "0.01", against="baseline", quantity="phase")
    assert outcome(asked(after, turned, occasion="periodic", baseline=(before,))) is GOOD
    seen = limit("% FSH", "60", None, against="none")
    assert outcome(asked(after, seen, occasion="periodic")) is GOOD
    assert outcome(asked(before, seen, occasion="periodic")) is BAD


def test_a_helicopter_manuals_figure_is_data_of_a_procedure() -> None:
    """TM 1-1520-253-23 and TM 1-1520-265-23 (READ): gain set so that the 0.040 in notch gives 3 vertical divisions.

    The tolerance of half a division is ours. 0.040 in = 1.016 mm.
    """
    manual = target("0.040 in", "3", "div")
    band = limit("div", "-0.5", "0.5", against="target", notch="0.040 in")

    def seen(value: str) -> Outcome:
        new = readings("new", unit="div", n040=value)
        return outcome(asked(new, band, occasion="start", targets=(manual,)))

    assert seen("3.0") is GOOD
    assert seen("2.5") is GOOD
    assert seen("2.4") is BAD
    assert seen("3.6") is BAD


def test_a_failed_follow_up_check_is_judged_against_the_start_and_a_start_against_its_target() -> None:
    """ISO 15549:2019, clause 10 (READ): a drift allowance is stated, and checked at least at start and end."""
    to_target = limit("% FSH", "-5", "5", against="target")
    to_start = limit("%", "-10", "10")
    start = readings("start", n1="84")
    common: dict[str, Any] = {"targets": (target("1.0 mm", "80"),)}
    assert outcome(asked(start, to_target, to_start, occasion="start", **common)) is GOOD
    end = readings("end", n1="76")  # within 5 points of the target, 9.5 % below the start
    assert outcome(asked(end, to_target, to_start, start=start, **common)) is GOOD
    end = readings("end", n1="75.5")  # still within the target's band, 10.1 % below the start
    assert outcome(asked(end, to_target, to_start, start=start, **common)) is BAD


def test_settings_changed_since_the_start_check_decide_nothing() -> None:
    """ISO 15549:2019, clause 10 (READ): settings kept through the examination. Whatever the readings say."""
    start = readings("start", n1="80", gains=("40", "40"))
    changes: tuple[dict[str, Any], ...] = ({"gains": ("40", "41")}, {"gains": ("41", "40")}, {"rotation": "1"})
    for changed in changes:
        new = readings("new", n1="80", **changed)
        decided, reasons = judge_response(asked(new, limit("%", "-10", "10"), start=start))
        assert decided is OPEN
        assert [r.rule for r in reasons] == ["settings unchanged"]
        assert "ISO 15549:2019, clause 10" in reasons[0].source
        assert "new start check" in reasons[0].cure


@pytest.mark.parametrize("occasion", ["interim", "end", "exchange", "operator", "doubt"])
def test_a_follow_up_without_a_start_check_decides_nothing(occasion: str) -> None:
    assert outcome(asked(readings("new", n1="80"), limit("%", "-10", "10"), occasion=occasion)) is OPEN


@pytest.mark.parametrize(
    ("band", "expected"),
    [
        (limit("% FSH", "80", None, against="none"), GOOD),  # at least 80: 100 or more is
        (limit("% FSH", "80", "95", against="none"), BAD),  # at most 95: it is not, whatever the value
        (limit("% FSH", "80", "120", against="none"), OPEN),  # somewhere above 100
        (limit("% FSH", None, "120", against="none"), OPEN),
        (limit("%", "-10", None), GOOD),  # against the start check at 80: at least +25 %
        (limit("%", "-10", "10"), BAD),
        (limit("dB", "-2", "3"), OPEN),
        (limit("%", "-30", "30"), OPEN),
        (limit("% FSH", "-30", "30"), OPEN),
        (limit("°", "-5", "5", quantity="phase"), OPEN),
    ],
)
def test_a_reading_off_the_screen_meets_a_minimum_and_decides_nothing_that_needs_a_value(
    band: Limit, expected: Outcome
) -> None:
    start = readings("start", n1=("-10", "80"))
    new = readings("new", n1=FULL, measure="horizontal and vertical")
    assert outcome(asked(new, band, start=start)) is expected


def test_a_start_check_off_the_screen_cannot_be_compared_with() -> None:
    question = asked(readings("new", n1="80"), limit("%", "-10", "10"), start=readings("start", n1=FULL))
    assert outcome(question) is OPEN


@pytest.mark.parametrize(
    ("unit", "least", "expected"),
    [("ratio", "3", GOOD), ("ratio", "20", GOOD), ("ratio", "20.1", BAD), ("dB", "26.0", GOOD), ("dB", "26.1", BAD)],
)
def test_signal_to_noise_is_limited_as_a_ratio_or_in_db(unit: str, least: str, expected: Outcome) -> None:
    """80 against 4 is a ratio of 20, and 20·log10(20) = 26.02 dB (a ratio of 10 is 20 dB and of 2 is 6.02 dB, READ)."""
    new = readings("new", n1="80", noise="4")
    question = asked(new, limit(unit, least, against="none", quantity="signal to noise"), occasion="periodic")
    assert outcome(question) is expected
    told = next(r.figure for r in judge_response(question)[1] if r.rule == "signal to noise")
    assert told.endswith("(vertical over noise, as seen)")  # of the two ratios to the noise that are told, this one


def test_noise_that_was_not_recorded_decides_nothing() -> None:
    least = limit("ratio", "3", against="none", quantity="signal to noise")
    for noise in (None, "0"):
        assert outcome(asked(readings("new", n1="80", noise=noise), least, occasion="start")) is OPEN


def test_phase_is_limited_in_degrees_and_skips_the_notch_that_the_phase_was_set_on() -> None:
    """The set notch's phase is zero by construction: it is no result. The other turns from 63.4° to 45.0°."""
    band, wide = limit("°", "-5", "5", quantity="phase"), limit("%", "-90", "90")
    start = readings("start", n1=("0", "80"), n05=("20", "40"), phase_reference="1.0 mm")
    new = readings("new", n1=("60", "60"), n05=("20", "40"), phase_reference="1.0 mm")
    decided, reasons = judge_response(asked(new, band, wide, start=start))
    assert decided is GOOD
    assert [r.says.split(":")[0] for r in reasons if r.rule.startswith("phase")] == ["notch 0.5 mm"]
    turned = readings("new", n1=("0", "80"), n05=("40", "40"), phase_reference="1.0 mm")
    decided, reasons = judge_response(asked(turned, band, start=start))
    assert decided is BAD
    assert reasons[0].figure == "−18.4° (display undone)"


def test_a_phase_turned_over_is_not_averaged_away() -> None:
    """Directions are averaged as directions: the mean of 359° and 1° is 0°, of 179° and −179° it is 180° (CONSTRUCTED).

    Planted: the plain mean of the degrees; a signal upside down passed as 0°.
    """
    past = (readings("a", n1=("80", "1")), readings("b", n1=("80", "-1")))
    upside_down = readings("new", n1=("-80", "0"))
    band = limit("°", "-5", "5", against="baseline", quantity="phase")
    decided, reasons = judge_response(asked(upside_down, band, occasion="start", baseline=past))
    assert decided is BAD
    assert reasons[0].figure in ("+180.0° (display undone)", "−180.0° (display undone)")
    crossed = (readings("a", n1=("80", "0")), readings("b", n1=("-80", "0")))
    assert outcome(asked(readings("new", n1=("80", "0")), band, occasion="start", baseline=crossed)) is BAD


def test_a_phase_limit_on_the_reference_notch_itself_is_named_and_decides_nothing_by_itself() -> None:
    band = limit("°", "-5", "5", quantity="phase", notch="1.0 mm")
    start = readings("start", n1=("0", "80"), phase_reference="1.0 mm")
    _, reasons = judge_response(asked(start, band, limit("%", "-10", "10"), start=start))
    assert [r.weight for r in reasons] == [Weight.ADVISES, Weight.SUPPORTS]
    assert "zero by construction" in reasons[0].says


def test_vertical_alone_has_no_phase() -> None:
    band = limit("°", "-5", "5", quantity="phase")
    assert outcome(asked(readings("new", n1="80"), band, start=readings("start", n1="80"))) is OPEN


def test_units_are_never_converted() -> None:
    """A limit in divisions says nothing about readings in % FSH: the division's size is the instrument's affair."""
    start = readings("start", n1="80")
    decided, reasons = judge_response(asked(readings("new", n1="80"), limit("div", "-1", "1"), start=start))
    assert decided is OPEN
    assert "does not convert" in reasons[0].says
    decided, _ = judge_response(asked(readings("new", n1="80"), limit("div", "3", None, against="none"), start=start))
    assert decided is OPEN


def test_no_limit_for_the_occasion_is_not_an_acceptance() -> None:
    decided, reasons = judge_response(asked(readings("new", n1="80"), limit("%", "-10", "10"), occasion="start"))
    assert decided is OPEN
    assert "states no limit" in reasons[0].says


def test_a_notch_that_a_limit_names_and_nobody_read_decides_nothing() -> None:
    band = limit("%", "-10", "10", notch="0.5 mm")
    assert outcome(asked(readings("new", n1="80"), band, start=readings("start", n1="80", n05="40"))) is OPEN


def test_a_deflection_of_nothing_has_no_db_and_no_per_cent() -> None:
    """Zero amplitude has no value in dB. In points it has: 0 − 80 = −80 % FSH."""
    start = readings("start", n1="80")
    for unit in ("dB", "%"):
        assert outcome(asked(readings("new", n1="0"), limit(unit, "-10", "10"), start=start)) is OPEN
    assert outcome(asked(readings("new", n1="0"), limit("% FSH", "-10", "10"), start=start)) is BAD


@pytest.mark.parametrize(
    ("new", "band", "weight"),
    [
        ("80", limit("% FSH", "-0.5", "0.5"), Weight.ADVISES),  # read to whole points: one step is the whole band
        ("80.0", limit("% FSH", "-0.5", "0.5"), Weight.SUPPORTS),
        ("80", limit("% FSH", "-1", "1"), Weight.SUPPORTS),
        ("80", limit("%", "-1", "1"), Weight.ADVISES),  # one point of 80 is 1.25 %
    ],
)
def test_a_band_finer_than_the_readings_last_digit_is_pointed_out(new: str, band: Limit, weight: Weight) -> None:
    decided, reasons = judge_response(asked(readings("new", n1=new), band, start=readings("start", n1="80")))
    assert decided is GOOD
    assert reasons[0].weight is weight


@given(
    horizontal=st.integers(-80, 80),
    vertical=st.integers(10, 99),
    rotation=st.integers(-180, 180),
    gains=st.tuples(st.integers(30, 60), st.integers(30, 60)),
    tenths=st.sampled_from([9, 11]),
)
def test_a_signal_exactly_on_its_limit_is_inside_whatever_display_it_was_seen_through(
    horizontal: int, vertical: int, rotation: int, gains: tuple[int, int], tenths: int
) -> None:
    """0.9 times and 1.1 times a reading are −10 % and +10 %: on the limit is inside.

    Planted: none needed; before the hair of 1e-9 the last bits of a float refused two readings in five.
    """
    settings: dict[str, Any] = {"rotation": str(rotation), "gains": (str(gains[0]), str(gains[1]))}
    start = readings("start", n1=(str(horizontal), str(vertical)), **settings)
    seen = (f"{horizontal * tenths / 10:.1f}", f"{vertical * tenths / 10:.1f}")
    new = readings("new", n1=seen, **settings)
    assert outcome(asked(new, limit("%", "-10", "10"), start=start)) is GOOD
    assert outcome(asked(new, limit("%", "-9.99", "9.99"), start=start)) is BAD


@given(st.integers(6500, 7500), st.integers(1, 3))
def test_the_figure_shown_stands_on_the_same_side_of_the_limit_as_the_figure_judged(
    hundredths: int, places: int
) -> None:
    """A figure of −10.04 % beside a limit of ±10 % is not shown as −10.0 %."""
    new = readings("new", n1=f"{hundredths / 100:.{places}f}")
    decided, reasons = judge_response(asked(new, limit("%", "-10", "10"), start=readings("start", n1="80.00")))
    shown = float(reasons[0].figure.removesuffix(" % (as seen)").replace("−", "-"))
    assert (shown < -10) is (decided is BAD)


def test_every_limit_that_was_held_is_shown_with_its_figure_and_paragraph() -> None:
    bands = (limit("%", "-10", "10"), limit("ratio", "3", against="none", quantity="signal to noise"))
    _, reasons = judge_response(asked(readings("new", n1="80", noise="4"), *bands, start=readings("start", n1="80")))
    assert [(r.figure, r.limit, r.source) for r in reasons] == [
        ("+0.0 % (as seen)", "±10 % against the start check", "procedure PR-1 issue A, 6.3"),
        ("20.00 (vertical over noise, as seen)", "at least 3", "procedure PR-1 issue A, 6.3"),
    ]


def test_signal_to_noise_alone_never_passes_a_check_that_follows_the_start() -> None:
    """A response at half its height may still stand far above the noise. Planted bug it caught: any limit sufficed."""
    half = readings("new", n1="40", noise="1")
    least = limit("ratio", "3", against="none", quantity="signal to noise")
    decided, reasons = judge_response(asked(half, least, start=readings("start", n1="80")))
    assert decided is OPEN
    assert "no limit of the amplitude" in reasons[-1].says


def test_a_notch_of_the_start_check_that_is_not_read_again_decides_against() -> None:
    start = readings("start", n1="80", n05="40")
    decided, reasons = judge_response(asked(readings("new", n1="80"), limit("%", "-10", "10"), start=start))
    assert decided is OPEN
    assert any("notch 0.5 mm was not read" in r.says for r in reasons)


def test_a_deflection_that_points_the_other_way_is_not_the_same_answer() -> None:
    start = readings("start", n1="80", measure="vertical from balance")
    new = readings("new", n1="-80", measure="vertical from balance")
    assert outcome(asked(new, limit("%", "-10", "10"), start=start)) is OPEN


def test_each_figure_says_whether_it_was_taken_as_seen_or_with_the_display_undone() -> None:
    """On the start check's settings a vertical part is taken as seen; a signal of known order is undone, an unknown one is not."""
    start, new = readings("start", n1=("-18", "80")), readings("new", n1=("-18", "78"))
    unknown: dict[str, Any] = {"gains": ("40", "50"), "order": None}
    cases = [
        (limit("% FSH", "-5", "5"), new, start, "−2 % FSH (as seen)"),
        (limit("dB", "-2", "2"), new, start, "−0.21 dB (display undone)"),
        (limit("%", "-9", "9"), readings("new", n1="78"), readings("start", n1="80"), "−2.5 % (as seen)"),
        (limit("dB", "-2", "2"), readings("new", n1=("-18", "78"), **unknown), readings("start", n1=("-18", "80"), **unknown),
         "−0.21 dB (as seen, common gain undone)"),
        (limit("ratio", "3", against="none", quantity="signal to noise"), readings("new", n1="78", noise="4"), start,
         "19.50 (vertical over noise, as seen)"),
    ]  # fmt: skip
    for band, now, then, shown in cases:
        assert judge_response(asked(now, band, start=then))[1][0].figure == shown
    past = readings("past", n1="80", gains=("40", "46"))
    reasons = judge_response(asked(readings("new", n1="80"), limit("dB", "-9", "9", against="baseline"), occasion="periodic", baseline=(past,)))[1]  # fmt: skip
    assert reasons[0].figure == "+6.00 dB (gain undone)"
    full = judge_response(
        asked(readings("new", n1=FULL), limit("% FSH", "60", None, against="none"), occasion="periodic")
    )[1]
    assert full[0].figure == "≥ 100 % FSH (as seen)"


AMPLITUDE = "amplitude peak to peak"
BASELINE_BAND = limit("dB", "-1", "1", against="baseline")


@pytest.mark.parametrize(
    ("now", "then", "expected"),
    [
        # equal gains both times: the change of gain is taken off
        ({"gains": ("46", "46")}, {"gains": ("40", "40"), "rotation": "30"}, BAD),
        ({"gains": ("40", "40"), "rotation": "75"}, {"gains": ("40", "40"), "rotation": "30"}, GOOD),
        # unequal gains: only the same rotation and difference
        ({"gains": ("40", "46")}, {"gains": ("40", "46")}, GOOD),
        ({"gains": ("43", "49")}, {"gains": ("40", "46")}, BAD),
        ({"gains": ("40", "46"), "rotation": "10"}, {"gains": ("40", "46")}, OPEN),
        ({"gains": ("40", "48")}, {"gains": ("40", "46")}, OPEN),
        ({"gains": ("40", "40")}, {"gains": ("40", "46")}, OPEN),
    ],
)
def test_an_amplitude_without_direction_is_compared_at_equal_gains_or_in_the_same_view(
    now: dict[str, Any], then: dict[str, Any], expected: Outcome
) -> None:
    """physics: from a scalar amplitude one may normalise only at equal gains; 46 dB for the same height is 6 dB less.

    Planted bug it caught: the amplitude compared as a vertical part, which a set lift-off excused from one rotation.
    """
    new, past = readings("new", n1="80", measure=AMPLITUDE, **now), readings("past", n1="80", measure=AMPLITUDE, **then)
    decided, reasons = judge_response(asked(new, BASELINE_BAND, occasion="periodic", baseline=(past,)))
    assert decided is expected
    if expected is OPEN:
        assert "an amplitude peak-to-peak was read without its direction" in reasons[0].says
        assert reasons[0].cure == "set rotation and gains as in that record"
    if now["gains"] == ("46", "46"):
        assert reasons[0].figure == "−6.00 dB (gain undone)"


def test_an_amplitude_has_no_phase_and_says_so() -> None:
    new = readings("new", n1="80", measure=AMPLITUDE)
    _, reasons = judge_response(asked(new, limit("°", "-5", "5", quantity="phase"), start=new))
    assert "an amplitude was read without its direction" in reasons[0].says
    assert "impedance plane" in reasons[0].cure


heights = st.integers(1, 99).map(str)


@given(
    st.lists(st.tuples(heights, heights), min_size=3, max_size=3), st.lists(st.tuples(heights, heights), min_size=3, max_size=3),
    st.permutations(range(3)), st.permutations(range(3)), st.sampled_from(["start", "end", "periodic"]),
)  # fmt: skip
def test_the_order_in_which_notches_were_read_changes_no_verdict(
    now: list[tuple[str, str]], then: list[tuple[str, str]], one: list[int], other: list[int], occasion: str
) -> None:
    """Planted bug it caught: a reading held against the reading in the same place of the other record, not of its notch."""
    names = ("n05", "n1", "n15")

    def taken(record: str, values: list[tuple[str, str]], places: list[int] | range) -> ReadingSet:
        return readings(record, noise="2", **{names[i]: values[i] for i in places})  # type: ignore[arg-type]

    bands = (limit("%", "-10", "10"), limit("dB", "-2", "2", against="baseline"), limit("% FSH", "-8", "8", against="target"),
             limit("ratio", "3", against="none", quantity="signal to noise"))  # fmt: skip
    found = set()
    for new_places, past_places in ((range(3), range(3)), (one, other)):
        new, past = taken("new", now, new_places), taken("past", then, past_places)
        question = asked(
            new, *bands, occasion=occasion, start=past, baseline=(past,) * 3, targets=(target("1.0 mm", "80"),)
        )
        decided, reasons = judge_response(question)
        notched = condition(new, (past,) * 3, question.targets)
        aged = condition_reasons(new, notched, (past,) * 3)
        found.add((decided, frozenset(reasons), frozenset(notched), frozenset(aged)))
    assert len(found) == 1
