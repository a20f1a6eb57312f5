"""The condition of the equipment: a check against the baseline of its setup, display undone. It does not stop a job."""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from refstd.base.quantity import Unit, derived
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.eddy.patterns import hint
from refstd.eddy.signals import Display, deviation_deg, uncertainty
from refstd.rules.figures import (
    LEAST_SIGNAL_TO_NOISE,
    amplitude_change_db,
    cure_of,
    how_compared,
    mean_deg,
    signal_pair,
    step_of,
    trendable,
)
from refstd.rules.readings import NotchReading, ReadingSet, Target

HIDDEN_BEFORE = "is not compared with "
NOISE_SOURCE = "below it the noise decides the peak; our own computation and common practice, no source"
FEWEST_SETUPS = 3  # below this a scatter is a guess, and nothing is judged from it


@dataclass(frozen=True, slots=True)
class NotchCondition:
    """How one notch answers compared with the baseline; None with `why_not` where that cannot be said.

    amplitude_db, phase_deg: deviation from the mean of the baseline's set-ups; scatter_db: their own standard deviation.
    u_db, u_deg: standard uncertainty of the deviation, of what was read alone (`reading_uncertainty`); `u_from` says of
    what. how: what was done with the displays.
    gain_needed_db: vertical gain at which the notch would reach its target.
    """

    notch: str
    depth_mm: float
    amplitude_db: float | None
    phase_deg: float | None
    scatter_db: float | None
    gain_needed_db: float | None
    why_not: str = ""
    u_db: float | None = None
    u_deg: float | None = None
    u_from: str = ""
    how: str = ""

    def figure(self) -> str:
        """Return the deviation in dB and °, each with its standard uncertainty; '' where there is none."""
        rows = ((self.amplitude_db, self.u_db, Unit.DB), (self.phase_deg, self.u_deg, Unit.DEGREE))
        return ", ".join(
            derived(value, unit, sign=True) + (f" (u {derived(u, unit)})" if u is not None else "")
            for value, u, unit in rows
            if value is not None
        )

    def basis(self) -> str:
        """Return what was done with the displays before the figures, and what their uncertainty is made of."""
        return ", ".join(filter(None, (self.how, f"u from {self.u_from}" if self.u_from else "")))

    def in_words(self) -> str:
        """Return the deviation, what it rests on, or why there is none."""
        return self.why_not if self.amplitude_db is None else f"{self.figure()}; {self.basis()}"


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
            reasons.append(_why_not_reason(new, c, baseline))
            continue
        reasons.append(_deviation_reason(c, len(baseline), f"{new.record}, {record}"))
    reasons += _pattern_reasons(new, found, baseline, reasons)
    return tuple(reasons)


def _why_not_reason(new: ReadingSet, c: NotchCondition, baseline: tuple[ReadingSet, ...]) -> Reason:
    """Return why a notch is not compared. One that always stood close to the noise is no news; one that sank into it is."""
    reading = new.on(c.notch)
    hidden = reading is not None and c.why_not == trendable(new, reading)
    if not hidden and not c.why_not.startswith(HIDDEN_BEFORE):
        cure = cure_of(c.why_not) if c.why_not.startswith("is not comparable") else ""
        return Reason("condition", f"notch {c.notch} {c.why_not}", record=new.record, cure=cure, weight=Weight.ADVISES)
    sank = not any(then is not None and trendable(s, then) for s, then in ((s, s.on(c.notch)) for s in baseline))
    says = f"notch {c.notch} {c.why_not}" + ("; it stood above that in the baseline" if sank else "")
    limit = f"deflection at least {LEAST_SIGNAL_TO_NOISE:g} × the noise"
    cure = "look at the tip, connector and gain, and for what makes the noise" if sank else ""
    return Reason(
        "condition", says, "", limit, NOISE_SOURCE, new.record, cure, Weight.ADVISES if sank else Weight.SUPPORTS
    )


def _pattern_reasons(
    new: ReadingSet, found: tuple[NotchCondition, ...], baseline: tuple[ReadingSet, ...], so_far: list[Reason]
) -> list[Reason]:
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
            f"{'; '.join(pattern.figures)} ({how_compared(new, *baseline)})",
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
    why_not = trendable(new, reading) if not reading.full_screen else ""
    if not baseline:
        why_not = "has no baseline"
    for past in baseline:
        then = past.on(reading.notch)
        change = "was not read for the baseline" if then is None else amplitude_change_db(new, reading, past, then)
        if isinstance(change, str):
            why_not = why_not or change
            continue
        assert then is not None
        before = trendable(past, then)
        if why_not or before:
            why_not = why_not or f"{HIDDEN_BEFORE}{past.record}: {before}"
            continue
        changes.append(change)
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
        _gain_needed(new, reading, targets),
        "" if complete else why_not,
        *(_uncertainty(new, reading, baseline) if complete else ()),
    )


def _uncertainty(
    new: ReadingSet, reading: NotchReading, baseline: tuple[ReadingSet, ...]
) -> tuple[float | None, float | None, str, str]:
    """Return u (dB, °) of the deviation from the baseline's mean, what it is made of, and what was done with the displays.

    One instrument: what its gains and rotation are off by is common to all and cancels while the settings are the same.
    Law of propagation for a difference from a mean of n, JCGM 100:2008, 5.1.2.
    """
    how = how_compared(new, *baseline)
    parts = [reading_uncertainty(new, reading)]
    parts += [reading_uncertainty(s, then) for s in baseline if (then := s.on(reading.notch)) is not None]
    noisy = any(s.noise for s in (new, *baseline))
    u_from = "last digits and noise" if noisy else "last digits"
    if not all(new.same_settings(s) for s in baseline):
        u_from += ", without what the changed gains or rotation are off by"

    def of_difference(values: Sequence[float | None]) -> float | None:
        known = [v for v in values if v is not None]
        return math.hypot(known[0], math.hypot(*known[1:]) / (len(known) - 1)) if len(known) == len(values) else None

    u_db = of_difference([db for db, _ in parts])
    u_deg = of_difference([deg for _, deg in parts])
    return u_db, u_deg, u_from if u_db is not None else "", how


def reading_uncertainty(seen: ReadingSet, reading: NotchReading) -> tuple[float | None, float | None]:
    """Return the standard uncertainty of one reading as read: amplitude in dB, phase in °; None where there is none.

    Of the last digit, uniform within it: digit/√12; of the noise on record, taken as the half-width of a uniform
    distribution: noise/√3 (JCGM 100:2008, 4.3.7). Good above 5 times the noise.
    """
    noise = float(seen.noise or 0) / math.sqrt(3)
    u_vertical = math.hypot(step_of(reading.vertical) / math.sqrt(12), noise)
    if not reading.vertical and not reading.horizontal:
        return None, None
    if not seen.directed:
        return 20 / math.log(10) * u_vertical / abs(float(reading.vertical or 0)), None
    assert reading.horizontal is not None
    display = seen.display
    if display.order is None and not display.equal_gains:  # compared as seen: only the common gain is undone
        display = Display(display.rotation_deg, display.horizontal_gain_db, display.horizontal_gain_db, None)
    u_horizontal = math.hypot(step_of(reading.horizontal) / math.sqrt(12), noise)
    u = uncertainty(float(reading.horizontal), float(reading.vertical or 0), display, u_horizontal, u_vertical)
    return u.amplitude_db, u.phase_deg


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
    if not new.directed or key(reading.notch) == key(new.phase_reference):
        return None
    pair = signal_pair(new, reading, past, then)
    if isinstance(pair, str) or not pair[0] or not pair[1]:
        return None
    return float(deviation_deg(*pair))


def _gain_needed(new: ReadingSet, reading: NotchReading, targets: Sequence[Target]) -> float | None:
    target = next((t for t in targets if key(t.notch) == key(reading.notch) and t.unit == new.unit), None)
    if target is None or reading.full_screen or not reading.vertical:
        return None
    return float(new.vertical_gain_db) + 20 * math.log10(float(target.value / abs(reading.vertical)))


def _deviation_reason(c: NotchCondition, setups: int, record: str) -> Reason:
    assert c.amplitude_db is not None
    figure = c.in_words()
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


__all__ = [
    "FEWEST_SETUPS",
    "NotchCondition",
    "baseline_reference",
    "condition",
    "condition_reasons",
    "reading_uncertainty",
]
