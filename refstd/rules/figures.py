"""The figure that a limit is held against: in the limit's own unit, never converted, or the reason there is none."""

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import Unit, derived, plain
from refstd.base.text import key
from refstd.eddy.signals import amplitude_deviation_db, comparable, deviation_deg, to_compare
from refstd.rules.readings import JobQuestion, Limit, NotchReading, ReadingSet, signed


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure in the limit's unit; `at_least` when the reading was off the screen; `step` one digit of the reading.

    how: what was done with the display before it: taken as seen, or undone.
    """

    value: float
    shown: str
    against: str
    at_least: bool = False
    step: float = 0.0
    how: str = ""


AS_SEEN = "as seen"
UNDONE = "display undone"
GAIN_UNDONE = "gain undone"
SAME_VIEW_SEEN = "as seen, common gain undone"  # the order is unknown and both were seen through one view
# Below it the scatter of the peak alone, 1.8 dB at 5, hides what equipment does, and noise lifts the peak by 0.17 dB:
# our own computation, 20·log10(1 + σ²/2A²) and 8.686·σ/A for a noise of σ; as a threshold common practice, no source.
LEAST_SIGNAL_TO_NOISE = 5.0
NO_PHASE = "has no phase: only the vertical part was read"
NO_DIRECTION = "has no phase: an amplitude was read without its direction"
NO_NOISE = "has no signal to noise: the noise was not recorded"
PHASE_IS_REFERENCE = "is the phase reference; its phase is zero by construction"
NO_BASELINE = "has no baseline to compare with"
NO_TARGET = "has no target in the procedure"
OFF_SCREEN_REF = "was off the screen in the record it is compared with"
ZERO = "shows no deflection; nothing can be said in dB or %"
TURNED_OVER = "points the other way than in the record it is compared with"
OTHER_SETTINGS = "was read at other settings than the baseline, so its deflection as seen cannot be compared"
OFF_SCREEN = "is off the screen, where a value is needed"
SAME_VIEW = "set rotation and gains as in that record"
ORDER_TEST = f"{SAME_VIEW}, or have the custodian find the instrument's order: order test on its record page, or `refstd order-test`"
CURES = {
    NO_PHASE: "read horizontal and vertical",
    NO_DIRECTION: "read horizontal and vertical on the impedance plane, with a setup made for it",
    NO_NOISE: "record the noise and check again",
    NO_BASELINE: "take a baseline of this setup first",
    OFF_SCREEN: "this reading cannot be judged; lower the gain by the procedure and make a new start check",
    OFF_SCREEN_REF: "make a new start check with the reading on the screen",
    TURNED_OVER: "check connections and phase, then check again",
    OTHER_SETTINGS: "read it at the baseline's settings, or ask for a limit in dB",
    ZERO: "check connector, cable and gain, then check again",
    NO_TARGET: "ask the responsible level 3 for the target of this notch",
    PHASE_IS_REFERENCE: "nothing: limit the phase of another notch",
}


def cure_of(why_not: str) -> str:
    """Return the next step when there is no figure to judge."""
    if why_not in CURES:
        return CURES[why_not]
    if why_not.startswith("is not comparable"):
        return (
            ORDER_TEST if "order of rotation and gain" in why_not or "rotate before it scales" in why_not else SAME_VIEW
        )
    if why_not.startswith("was not read in"):
        return "make a new record that reads this notch"
    return "read it in the limit's unit, with a setup made for it"


def figure_for(question: JobQuestion, limit: Limit, reading: NotchReading) -> Figure | str:
    if limit.quantity == "signal to noise":
        return _noise_figure(question.new, limit, reading)
    if limit.quantity == "phase":
        return _phase_figure(question, limit, reading)
    if limit.against == "none":
        value = question.new.full_screen if reading.full_screen else abs(reading.vertical or Decimal())
        return _seen(question.new, limit, value, reading, "")
    if limit.against == "target":
        target = next((t for t in question.targets if key(t.notch) == key(reading.notch)), None)
        if target is None:
            return NO_TARGET
        value = question.new.full_screen if reading.full_screen else abs(reading.vertical or Decimal())
        return _change(question.new, limit, value, target.value, reading, f"target {plain(target.value)} {target.unit}")
    return _against_record(question, limit, reading)


def _seen(new: ReadingSet, limit: Limit, value: Decimal, reading: NotchReading, against: str) -> Figure | str:
    if limit.unit != new.unit:
        return f"was read in {new.unit}, the limit is in {limit.unit}; refstd does not convert"
    return Figure(
        float(value), f"{plain(value)} {new.unit}", against, reading.full_screen, step_of(reading.vertical), AS_SEEN
    )


def _change(
    new: ReadingSet, limit: Limit, value: Decimal, reference: Decimal, reading: NotchReading, against: str
) -> Figure | str:
    """Return a change of the vertical deflection as seen, in the limit's unit: points, divisions, % or dB."""
    reference = abs(reference)
    step = step_of(reading.vertical)
    if limit.unit in (Unit.PERCENT_FSH, Unit.DIVISION):
        if limit.unit != new.unit:
            return f"was read in {new.unit}, the limit is in {limit.unit}; refstd does not convert"
        change = value - reference
        return Figure(float(change), f"{signed(change)} {limit.unit}", against, reading.full_screen, step, AS_SEEN)
    if not value or not reference:
        return ZERO
    if limit.unit == Unit.PERCENT:
        percent = float((value - reference) / reference * 100)
        return Figure(
            percent,
            derived(percent, Unit.PERCENT, sign=True),
            against,
            reading.full_screen,
            step / float(reference) * 100,
            AS_SEEN,
        )
    decibel = 20 * math.log10(float(value / reference))
    step_db = 20 * math.log10(1 + step / float(reference))
    return Figure(decibel, derived(decibel, Unit.DB, sign=True), against, reading.full_screen, step_db, AS_SEEN)


def _against_record(question: JobQuestion, limit: Limit, reading: NotchReading) -> Figure | str:
    """Return an amplitude change against the start check or the baseline."""
    new = question.new
    references = (question.start,) if limit.against == "start check" else question.baseline
    sets = [s for s in references if s is not None]
    if not sets:
        return NO_BASELINE
    then = [(s, s.on(reading.notch)) for s in sets]
    if any(r is None for _, r in then):
        return f"was not read in {next(s.record for s, r in then if r is None)}"
    if any(r is not None and r.full_screen for _, r in then):
        return OFF_SCREEN_REF
    if any(r is not None and turned_over(new, reading, r) for _, r in then):
        return TURNED_OVER
    against = sets[0].record if len(sets) == 1 else f"{len(sets)} set-ups of the baseline"
    as_seen = limit.unit in (Unit.PERCENT_FSH, Unit.DIVISION) or reading.full_screen
    if as_seen and not all(new.same_settings(s) for s in sets):
        return OTHER_SETTINGS
    if as_seen or (limit.against == "start check" and not new.directed):
        seen = [abs(r.vertical or Decimal()) for _, r in then if r is not None]
        value = new.full_screen if reading.full_screen else abs(reading.vertical or Decimal())
        return _change(new, limit, value, sum(seen, Decimal()) / len(seen), reading, against)
    how = how_compared(new, *sets)
    changes = []
    for past, past_reading in then:
        assert past_reading is not None
        change = amplitude_change_db(new, reading, past, past_reading)
        if isinstance(change, str):
            return change
        changes.append(change)
    decibel = sum(changes) / len(changes)
    size = abs(float(reading.vertical or 0)) or 1.0
    step_db = 20 * math.log10(1 + step_of(reading.vertical) / size)
    if limit.unit == Unit.DB:
        return Figure(decibel, derived(decibel, Unit.DB, sign=True), against, step=step_db, how=how)
    percent = (10 ** (decibel / 20) - 1) * 100
    return Figure(
        percent, derived(percent, Unit.PERCENT, sign=True), against, step=(10 ** (step_db / 20) - 1) * 100, how=how
    )


def how_compared(new: ReadingSet, *past: ReadingSet) -> str:
    """Return what is done with the displays where the amplitudes or phases of readings are compared."""
    if not new.directed:
        return GAIN_UNDONE
    known = all(s.order is not None or s.display.equal_gains for s in (new, *past))
    return UNDONE if known else SAME_VIEW_SEEN


def trendable(new: ReadingSet, reading: NotchReading) -> str:
    """Return '' if a reading may take part in a trend, else why not: off the screen, or too close to the noise.

    What counts is the whole deflection as seen, horizontal and vertical together, over the noise recorded with it; a
    limit's signal to noise is that of the vertical alone. Without a recorded noise nothing can be said against it. On the
    threshold is in.
    """
    if reading.full_screen:
        return "is at least full screen, which is not trended"
    if not new.noise or reading.vertical is None:
        return ""
    ratio = math.hypot(float(reading.horizontal or 0), float(reading.vertical)) / float(new.noise)
    if ratio >= LEAST_SIGNAL_TO_NOISE - 1e-9:
        return ""
    shown = math.floor(ratio * 10) / 10  # 4.99 is not told as 5
    return f"deflects by only {shown:.1f} × the noise; below {LEAST_SIGNAL_TO_NOISE:g} × it is not trended"


def turned_over(new: ReadingSet, reading: NotchReading, then: NotchReading) -> bool:
    """Return whether a deflection from balance points the other way than before: not the same answer, whatever its size."""
    if new.measure != "vertical from balance" or reading.vertical is None or then.vertical is None:
        return False
    return reading.vertical * then.vertical < 0


def amplitude_change_db(new: ReadingSet, reading: NotchReading, past: ReadingSet, then: NotchReading) -> float | str:
    """Return the change of amplitude between two readings of one notch with the display undone, dB, or why not."""
    if reading.full_screen or then.full_screen:
        return OFF_SCREEN
    assert reading.vertical is not None
    assert then.vertical is not None
    if not new.directed:
        both_set = new.lift_off_horizontal and past.lift_off_horizontal
        objection = comparable(new.display, past.display, new.measured_as, lift_off_horizontal=both_set)
        if objection:
            return _as_clause(objection)
        if not reading.vertical or not then.vertical:
            return ZERO
        gains = float(new.vertical_gain_db), float(past.vertical_gain_db)
        return amplitude_deviation_db(abs(float(reading.vertical)), gains[0], abs(float(then.vertical)), gains[1])
    pair = signal_pair(new, reading, past, then)
    if isinstance(pair, str):
        return pair
    now_signal, past_signal = pair
    if not now_signal or not past_signal:
        return ZERO
    return 20 * math.log10(abs(now_signal) / abs(past_signal))


def signal_pair(
    new: ReadingSet, reading: NotchReading, past: ReadingSet, then: NotchReading
) -> tuple[complex, complex] | str:
    """Return two readings as comparable signals with the display undone, or why they cannot be compared."""
    if reading.horizontal is None or then.horizontal is None or reading.vertical is None or then.vertical is None:
        return NO_PHASE
    try:
        return to_compare(
            (float(reading.horizontal), float(reading.vertical)), new.display,
            (float(then.horizontal), float(then.vertical)), past.display,
        )  # fmt: skip
    except ValueError as error:
        return _as_clause(str(error))


def _phase_figure(question: JobQuestion, limit: Limit, reading: NotchReading) -> Figure | str:
    new = question.new
    if key(reading.notch) == key(new.phase_reference):
        return PHASE_IS_REFERENCE
    if not new.directed:
        return NO_PHASE if new.measured_as == "vertical" else NO_DIRECTION
    if reading.full_screen:
        return OFF_SCREEN
    references = (question.start,) if limit.against == "start check" else question.baseline
    sets = [s for s in references if s is not None]
    if not sets:
        return NO_BASELINE
    turned = []
    for past in sets:
        then = past.on(reading.notch)
        if then is None:
            return f"was not read in {past.record}"
        if then.full_screen:
            return OFF_SCREEN_REF
        pair = signal_pair(new, reading, past, then)
        if isinstance(pair, str):
            return pair
        if not pair[0] or not pair[1]:
            return ZERO
        turned.append(float(deviation_deg(*pair)))
    degrees = mean_deg(turned)
    against = sets[0].record if len(sets) == 1 else f"{len(sets)} set-ups of the baseline"
    return Figure(degrees, derived(degrees, Unit.DEGREE, sign=True), against, how=how_compared(new, *sets))


def mean_deg(angles_deg: Sequence[float]) -> float:
    """Return the mean direction of angles, °, in (−180, 180]: that of 179° and −179° is 180°, not 0°.

    Directions that cancel have no mean; 180° is returned, which no limit takes for agreement.
    """
    total = sum(cmath.exp(1j * math.radians(a)) for a in angles_deg)
    return math.degrees(cmath.phase(total)) if abs(total) > 1e-9 else 180.0


def _noise_figure(new: ReadingSet, limit: Limit, reading: NotchReading) -> Figure | str:
    if new.noise is None or not new.noise:
        return NO_NOISE
    value = new.full_screen if reading.full_screen else abs(reading.vertical or Decimal())
    if not value:
        return ZERO
    ratio = float(value / new.noise)
    against = f"noise {plain(new.noise)} {new.unit}"
    how = f"{new.one_figure} over noise, {AS_SEEN}"
    if limit.unit == Unit.DB:
        decibel = 20 * math.log10(ratio)
        return Figure(decibel, derived(decibel, Unit.DB), against, reading.full_screen, how=how)
    return Figure(ratio, derived(ratio, Unit.RATIO), against, reading.full_screen, how=how)


def step_of(vertical: Decimal | None) -> float:
    """Return one step of a reading's last written digit."""
    if vertical is None:
        return 0.0
    exponent = vertical.as_tuple().exponent
    return float(10**exponent) if isinstance(exponent, int) else 0.0


def _as_clause(sentence: str) -> str:
    return f"is not comparable: {sentence[:1].lower()}{sentence[1:].rstrip('.')}"
