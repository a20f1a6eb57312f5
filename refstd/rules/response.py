"""A response check → acceptable, not acceptable or not conclusive: each of the procedure's limits against its figure.

Two comparisons, never one. This module holds the first: the limits of the procedure, in the procedure's own units.
The condition of the equipment against its baseline is in `condition.py`; it does not stop a job.
"""

import math
from dataclasses import replace
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

from refstd.base.errors import Exit
from refstd.base.quantity import DERIVED_DECIMALS, Unit, plain, with_unit
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.rules.figures import CURES, OFF_SCREEN, PHASE_IS_REFERENCE, Figure, cure_of, figure_for
from refstd.rules.readings import JobQuestion, Limit
from refstd.rules.temperature import Temperatures, temperature_reasons

# On the limit is inside. Undoing a display leaves the last bits of a float to chance: 0.9 times a reading is −10 % for a
# person and −10.000000000000002 % for the machine. A hair of that size decides nothing.
_HAIR = 1e-9
FOLLOW_UP = ("interim", "end", "exchange", "operator", "doubt")


class Outcome(StrEnum):
    """What a response check says."""

    ACCEPTABLE = "acceptable"
    NOT_ACCEPTABLE = "not acceptable"
    NOT_CONCLUSIVE = "not conclusive"


EXIT_OF = {
    Outcome.ACCEPTABLE: Exit.YES, Outcome.NOT_ACCEPTABLE: Exit.NO, Outcome.NOT_CONCLUSIVE: Exit.NOT_CONCLUSIVE,
}  # fmt: skip


def judge_response(question: JobQuestion) -> tuple[Outcome, tuple[Reason, ...]]:
    """Return the outcome of a response check and every reason, kept limits included.

    Limits in % FSH or divisions, and all limits against a target, are judged on the vertical deflection as seen, to
    which notches are set; other limits in dB or % on the amplitude (horizontal and vertical: the signal with the display
    undone; vertical: the vertical part; amplitude: the amplitude), and each figure says which.
    Limits against the start check need unchanged settings (ISO 15549:2019, clause 10: settings kept through the
    examination). A reading off the screen meets a minimum and decides nothing that needs a value.
    """
    reasons = _settings_reasons(question)
    if not reasons:
        for limit in applicable(question.limits, question.occasion):
            reasons += _limit_reasons(question, limit)
        reasons += _missing_limit(question)
    reasons += [*_preparation_reasons(question), *_baseline_reasons(question), *_interval_reasons(question)]
    reasons += _temperature(question)
    reasons += [*(replace(r, weight=Weight.UNDECIDED) for r in question.unfit), *question.happened]
    weights = {r.weight for r in reasons}
    if Weight.STOPS in weights:
        return Outcome.NOT_ACCEPTABLE, tuple(reasons)
    if Weight.UNDECIDED in weights:
        return Outcome.NOT_CONCLUSIVE, tuple(reasons)
    return Outcome.ACCEPTABLE, tuple(reasons)


def applicable(limits: tuple[Limit, ...], occasion: str) -> list[Limit]:
    """Return the limits that an occasion is judged by: the start by targets, what follows by the start."""
    if occasion in FOLLOW_UP:
        return [x for x in limits if x.against != "target"]
    return [x for x in limits if x.against != "start check"]


def _settings_reasons(question: JobQuestion) -> list[Reason]:
    """Return why the comparison is not possible at all, before any limit is looked at."""
    new, start = question.new, question.start
    if question.occasion not in FOLLOW_UP:
        return []
    if start is None:
        return [
            Reason("start check", "there is no start check to compare with", record=new.record, weight=Weight.UNDECIDED,
                   cure="make a start check first")
        ]  # fmt: skip
    if new.same_settings(start):
        return []
    return [
        Reason("settings unchanged", "the settings differ from the start check's", new.settings_in_words(),
               start.settings_in_words(), f"{question.procedure}; ISO 15549:2019, clause 10", start.record,
               "put the settings back and check again; that closes the old start. Then make a new start check",
               Weight.UNDECIDED)
    ]  # fmt: skip


def _missing_limit(question: JobQuestion) -> list[Reason]:
    """Return the objection that the procedure lacks the limit which this occasion rests on: nothing else stands in for it.

    A start, and what follows it, rest on a limit of the amplitude: signal to noise alone would pass a response that has
    halved. Any other occasion rests on at least one limit.
    """
    found = applicable(question.limits, question.occasion)
    if question.occasion == "start" or question.occasion in FOLLOW_UP:
        wanted = "" if any(x.quantity == "amplitude" for x in found) else " of the amplitude for this occasion"
    else:
        wanted = "" if found else " for this occasion"
    if not wanted:
        return []
    return [
        Reason("limits", f"{question.procedure} states no limit{wanted}", weight=Weight.UNDECIDED, source=question.procedure,
               record=question.new.record, cure="ask the responsible level 3 which limit applies")
    ]  # fmt: skip


def _preparation_reasons(question: JobQuestion) -> list[Reason]:
    """Return the objection that a start check was taken without balancing or without the phase reference set."""
    new = question.new
    left_out = [
        w for w, done in (("not balanced", new.nulled), ("its phase reference not set", new.phase_set)) if not done
    ]
    if question.occasion != "start" or not left_out:
        return []
    return [
        Reason("preparation", f"the check was taken with the instrument {' and '.join(left_out)}", weight=Weight.UNDECIDED,
               source=question.procedure, record=new.record, cure="balance, set the phase reference, and check again")
    ]  # fmt: skip


def _baseline_reasons(question: JobQuestion) -> list[Reason]:
    """Return the objection that a procedure asks for a baseline and the setup has none, or one from too few set-ups."""
    needed, there = question.baseline_setups_needed, len(question.baseline)
    if there >= needed:
        return []
    return [
        Reason(
            "baseline",
            f"{question.procedure} asks for a baseline and this setup has {'too small a one' if there else 'none'}",
            f"{there} independent set-ups" if there else "none",
            f"{needed} independent set-ups",
            f"{question.procedure}, {question.baseline_paragraph}",
            question.new.record,
            "take the baseline first",
            Weight.UNDECIDED,
        )
    ]


def _interval_reasons(question: JobQuestion) -> list[Reason]:
    """Return the advice that a check came later than the procedure's interval: the equipment may be good all the same."""
    hours, every = question.hours_since_last, question.every_hours
    if question.occasion not in FOLLOW_UP or hours is None or every is None or hours <= float(every):
        return []
    return [
        Reason(
            "check interval",
            f"this check is {hours - float(every):.1f} h later than the procedure's interval",
            f"{hours:.1f} h since the last acceptable check",
            f"at most {plain(every)} h",
            f"{question.procedure}, {question.every_paragraph}",
            question.new.record,
            "tell the responsible level 3, who decides on what was examined after the interval",
            Weight.ADVISES,
        )
    ]


def _temperature(question: JobQuestion) -> list[Reason]:
    new, source = question.new, f"{question.procedure}, {question.temperature_paragraph}"
    known = Temperatures(
        new.block_temperature_c, new.part_temperature_c, question.temperature_band_c, source, question.conductivity_work
    )
    return temperature_reasons(known, question.occasion, new.record)


def _limit_reasons(question: JobQuestion, limit: Limit) -> list[Reason]:
    """Judge one limit on the notch it names, else on every notch that must be read: a bad one cannot be left out."""
    if limit.notch:
        notches = [limit.notch]
    elif limit.against == "target":
        notches = [t.notch for t in question.targets]
    else:
        notches = _to_be_read(question)
    if limit.quantity == "phase" and not limit.notch:
        notches = [n for n in notches if key(n) != key(question.new.phase_reference)]
    return [_one(question, limit, notch) for notch in notches]


def _to_be_read(question: JobQuestion) -> list[str]:
    """Return the notches that were read, those of the start check, and those that the procedure names."""
    labels = [r.notch for r in question.new.readings]
    if question.occasion in FOLLOW_UP and question.start is not None:
        labels += [r.notch for r in question.start.readings]
    if question.occasion == "start":
        labels += [t.notch for t in question.targets] + [x.notch for x in question.limits if x.notch]
    return list({key(label): label for label in reversed(labels)}.values())[::-1]


def _one(question: JobQuestion, limit: Limit, notch: str) -> Reason:
    source = f"{question.procedure}, {limit.paragraph}"
    reading = question.new.on(notch)
    rule = f"{limit.quantity} {'' if limit.against == 'none' else 'against ' + limit.against}".strip()
    if reading is None:
        return _undecided(rule, notch, "was not read", limit, source, question.new.record, "read it and check again")
    figure = figure_for(question, limit, reading)
    if isinstance(figure, str):
        return _undecided(rule, notch, figure, limit, source, question.new.record, cure_of(figure))
    if figure.at_least:
        return _beyond_the_screen(rule, notch, figure, limit, source, question.new.record)
    return _judged(rule, notch, figure, limit, source, question)


def _judged(rule: str, notch: str, figure: Figure, limit: Limit, source: str, question: JobQuestion) -> Reason:
    low, high = _outside(figure.value, limit)
    record = ", ".join(p for p in (question.new.record, figure.against) if p)
    if low or high:
        return Reason(
            rule, f"notch {notch}: {limit.quantity} too {'low' if low else 'high'}", _told(figure, limit), limit.in_words(), source, record,
            "do not inspect; look at connector, tape, gain and block, and check once more or take another kit",
        )  # fmt: skip
    width = float(limit.upper - limit.lower) if limit.lower is not None and limit.upper is not None else math.inf
    coarse = figure.step and width < 2 * figure.step
    says = f"notch {notch}: {limit.quantity} within its limit"
    if coarse:
        says += "; the band is finer than the reading's last digit, so read with one digit more"
    weight = Weight.ADVISES if coarse else Weight.SUPPORTS
    return Reason(rule, says, _told(figure, limit), limit.in_words(), source, record, weight=weight)


def _outside(value: float, limit: Limit) -> tuple[bool, bool]:
    """Return whether a value is below, and whether it is above a limit. On the limit is inside."""
    low = limit.lower is not None and value < float(limit.lower) - _HAIR * max(1.0, abs(float(limit.lower)))
    high = limit.upper is not None and value > float(limit.upper) + _HAIR * max(1.0, abs(float(limit.upper)))
    return low, high


def _told(figure: Figure, limit: Limit) -> str:
    """Return the figure with as many digits as it takes to see on which side of the limit it is."""
    unit = Unit(limit.unit)
    for places in range(DERIVED_DECIMALS[unit], 9):
        rounded = Decimal(repr(figure.value)).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)
        if _outside(float(rounded), limit) != _outside(figure.value, limit):
            continue
        if places == DERIVED_DECIMALS[unit]:
            break
        sign = "" if limit.against == "none" else "+"
        return _with_how(with_unit(f"{rounded:{sign}.{places}f}".replace("-", "−"), unit), figure)
    return _with_how(figure.shown, figure)


def _with_how(shown: str, figure: Figure) -> str:
    """Return the figure with what was done with the display: taken as seen, or undone."""
    return f"{shown} ({figure.how})" if figure.how else shown


def _beyond_the_screen(rule: str, notch: str, figure: Figure, limit: Limit, source: str, record: str) -> Reason:
    """Judge a reading of at least full screen: it meets a minimum below it, and decides nothing else."""
    shown = _with_how(f"≥ {figure.shown}" if not figure.shown.startswith("≥") else figure.shown, figure)
    if limit.upper is not None and figure.value > float(limit.upper):
        return Reason(rule, f"notch {notch}: {limit.quantity} too high, off the screen", shown, limit.in_words(), source, record,
                      "do not inspect; check the gain, then check once more")  # fmt: skip
    if limit.upper is None and limit.lower is not None and figure.value >= float(limit.lower):
        return Reason(rule, f"notch {notch}: {limit.quantity} within its limit, off the screen", shown, limit.in_words(), source,
                      record, weight=Weight.SUPPORTS)  # fmt: skip
    return _undecided(rule, notch, OFF_SCREEN, limit, source, record, CURES[OFF_SCREEN])


def _undecided(rule: str, notch: str, says: str, limit: Limit, source: str, record: str, cure: str) -> Reason:
    weight = Weight.ADVISES if says == PHASE_IS_REFERENCE else Weight.UNDECIDED
    return Reason(rule, f"notch {notch} {says}", "no figure", limit.in_words(), source, record, cure, weight)
