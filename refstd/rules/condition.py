"""The condition of the equipment: a check against the baseline of its setup, display undone. It does not stop a job."""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from refstd.base.quantity import Unit, derived
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.eddy.patterns import hint
from refstd.eddy.signals import deviation_deg
from refstd.rules.figures import amplitude_change_db, cure_of, mean_deg, signal_pair, step_of
from refstd.rules.readings import NotchReading, ReadingSet, Target

FEWEST_SETUPS = 3  # below this a scatter is a guess, and nothing is judged from it


@dataclass(frozen=True, slots=True)
class NotchCondition:
    """How one notch answers compared with the baseline; None with `why_not` where that cannot be said.

    amplitude_db, phase_deg: deviation from the mean of the baseline's set-ups; scatter_db: their own standard deviation.
    signal_to_noise: ratio of the vertical deflection to the noise as seen. gain_needed_db: vertical gain at which the
    notch would reach its target.
    """

    notch: str
    depth_mm: float
    amplitude_db: float | None
    phase_deg: float | None
    scatter_db: float | None
    signal_to_noise: float | None
    gain_needed_db: float | None
    why_not: str = ""


def condition(
    new: ReadingSet, baseline: tuple[ReadingSet, ...], targets: tuple[Target, ...]
) -> tuple[NotchCondition, ...]:
    """Return the condition per notch, in the order of the readings."""
    return tuple(_of_notch(new, r, baseline, targets) for r in new.readings)


def condition_reasons(
    new: ReadingSet, found: tuple[NotchCondition, ...], baseline: tuple[ReadingSet, ...]
) -> tuple[Reason, ...]:
    """Return what the condition advises: deviations beyond the baseline's own scatter, and the pattern over the notches."""
    if not baseline:
        return ()
    record = f"{len(baseline)} set-ups of the baseline"
    reasons = []
    for c in found:
        if c.why_not:
            reasons.append(
                Reason(
                    "condition",
                    f"notch {c.notch} {c.why_not}",
                    record=new.record,
                    cure=cure_of(c.why_not),
                    weight=Weight.ADVISES,
                )
            )
            continue
        reasons.append(_deviation_reason(c, len(baseline), f"{new.record}, {record}"))
    reasons += _pattern_reasons(new, found, reasons)
    return tuple(reasons)


def _pattern_reasons(new: ReadingSet, found: tuple[NotchCondition, ...], so_far: list[Reason]) -> list[Reason]:
    """Return the pattern over the notches, where something moved and the setup's own scatter is known."""
    moved = any(r.rule == "condition" and r.limit and r.weight is Weight.ADVISES for r in so_far)
    scatters = [c.scatter_db for c in found if c.scatter_db]
    measured = [(c.depth_mm, c.amplitude_db) for c in found if c.amplitude_db is not None]
    if not moved or not scatters:
        return []
    pattern = hint(measured, math.sqrt(statistics.fmean(s * s for s in scatters)))
    return [
        Reason(
            "pattern",
            pattern.says,
            "; ".join(pattern.figures),
            record=new.record,
            weight=Weight.ADVISES,
            cure="a hint, not a finding: exchange one thing at a time to find out",
        )
    ]


def baseline_reference(baseline: tuple[ReadingSet, ...], notch: str) -> tuple[float, float] | None:
    """Return (mean, standard deviation) of the baseline's set-ups relative to the first, dB; None if not comparable."""
    first = baseline[0].on(notch) if baseline else None
    if first is None:
        return None
    levels = []
    for each in baseline:
        reading = each.on(notch)
        change = "not read" if reading is None else amplitude_change_db(each, reading, baseline[0], first)
        if isinstance(change, str):
            return None
        levels.append(change)
    return statistics.fmean(levels), statistics.stdev(levels) if len(levels) > 1 else 0.0


def _of_notch(
    new: ReadingSet, reading: NotchReading, baseline: tuple[ReadingSet, ...], targets: tuple[Target, ...]
) -> NotchCondition:
    changes: list[float] = []
    turns: list[float] = []
    why_not = "" if baseline else "has no baseline"
    for past in baseline:
        then = past.on(reading.notch)
        change = "was not read for the baseline" if then is None else amplitude_change_db(new, reading, past, then)
        if isinstance(change, str):
            why_not = why_not or change
            continue
        changes.append(change)
        assert then is not None
        turn = _turn(new, reading, past, then)
        if turn is not None:
            turns.append(turn)
    complete = bool(baseline) and len(changes) == len(baseline)
    reference = baseline_reference(baseline, reading.notch) if complete else None
    return NotchCondition(
        reading.notch,
        reading.depth_mm,
        statistics.fmean(changes) if complete else None,
        mean_deg(turns) if complete and len(turns) == len(baseline) else None,
        _scatter_db(reference[1], reading) if reference and len(baseline) >= FEWEST_SETUPS else None,
        _signal_to_noise(new, reading),
        _gain_needed(new, reading, targets),
        "" if complete else why_not,
    )


def _scatter_db(between_setups_db: float, reading: NotchReading) -> float:
    """Return the standard deviation of a single new set-up against the baseline, dB, with the readings' own resolution.

    A reading to one last digit is uniform within it: u = digit/√12 (JCGM 100:2008, 4.3.7). It counts twice, for the new
    reading and for the baseline: set-ups that read the same digits share their rounding, and would otherwise claim no
    scatter at all. One digit up or down is then never a change.
    """
    if not reading.vertical:
        return between_setups_db
    digit = step_of(reading.vertical) / float(abs(reading.vertical))
    return math.hypot(between_setups_db, 20 * math.log10(1 + digit * math.sqrt(2 / 12)))


def _turn(new: ReadingSet, reading: NotchReading, past: ReadingSet, then: NotchReading) -> float | None:
    if new.vertical_only or key(reading.notch) == key(new.phase_reference):
        return None
    pair = signal_pair(new, reading, past, then)
    if isinstance(pair, str) or not pair[0] or not pair[1]:
        return None
    return float(deviation_deg(*pair))


def _signal_to_noise(new: ReadingSet, reading: NotchReading) -> float | None:
    if not new.noise or reading.vertical is None or reading.full_screen:
        return None
    return float(abs(reading.vertical) / new.noise)


def _gain_needed(new: ReadingSet, reading: NotchReading, targets: Sequence[Target]) -> float | None:
    target = next((t for t in targets if key(t.notch) == key(reading.notch) and t.unit == new.unit), None)
    if target is None or reading.full_screen or not reading.vertical:
        return None
    return float(new.vertical_gain_db) + 20 * math.log10(float(target.value / abs(reading.vertical)))


def _deviation_reason(c: NotchCondition, setups: int, record: str) -> Reason:
    assert c.amplitude_db is not None
    figure = derived(c.amplitude_db, Unit.DB, sign=True)
    if c.phase_deg is not None:
        figure += f", {derived(c.phase_deg, Unit.DEGREE, sign=True)}"
    if c.scatter_db is None:
        return Reason(
            "condition", f"notch {c.notch} against the baseline; {setups} set-ups are too few to say what is usual", figure,
            record=record, cure=f"take a baseline from at least {FEWEST_SETUPS} independent set-ups", weight=Weight.SUPPORTS,
        )  # fmt: skip
    # 3σ of a single new set-up against a mean of n: the baseline's own uncertainty widens the band (σ·√(1 + 1/n)).
    band = 3 * c.scatter_db * math.sqrt(1 + 1 / setups)
    limit = f"±{derived(band, Unit.DB)}"
    source = f"3σ of this setup's own {setups} set-ups, with the uncertainty of their mean"
    if abs(c.amplitude_db) > band:
        way = "more" if c.amplitude_db > 0 else "less"
        return Reason("condition", f"notch {c.notch} answers {way} than it used to", figure, limit, source, record,
                      "look at the tip, tape, connector and block; it ages, or something was exchanged", Weight.ADVISES)  # fmt: skip
    return Reason(
        "condition", f"notch {c.notch} answers as it used to", figure, limit, source, record, weight=Weight.SUPPORTS
    )


__all__ = ["FEWEST_SETUPS", "NotchCondition", "baseline_reference", "condition", "condition_reasons"]
