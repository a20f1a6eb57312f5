"""Which of several things moved, found by exchanging one at a time: what each step's check says, and all of them together.

That a deviation goes with what caused it is common practice, no source; it rests on one thing having moved. The conclusion
advises: nothing changes state by it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from refstd.base.quantity import Unit, derived
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.metrology.attribution import Spread
from refstd.metrology.uncertainty import coverage_factor
from refstd.rules.condition import condition
from refstd.rules.figures import cure_of
from refstd.rules.readings import ReadingSet
from refstd.rules.suspects import spread_in_words

Exchanged = Literal["cable", "probe", "block", "instrument"]
Result = Literal["stayed", "went", "cannot tell"]
ORDER: tuple[Exchanged, ...] = get_args(Exchanged)  # the cheapest first; common practice, no source
PROBABILITY = 0.95
NOT_SET_UP = "was not balanced and set up anew"
_NEIGHBOURS = {"cable": ("probe", "instrument"), "probe": ("cable",), "instrument": ("cable",), "block": ()}


@dataclass(frozen=True, slots=True)
class Seen:
    """How far one notch of one check lies from the baseline of its own setup, in dB; None with the reason and the cure.

    record: check and notch. setups: independent set-ups that the baseline rests on.
    """

    record: str
    deviation_db: float | None
    setups: int
    why_not: str = ""
    cure: str = ""


def seen_of(new: ReadingSet, notch: str, baseline: tuple[ReadingSet, ...]) -> Seen:
    """Return how far a notch lies from the baseline's mean, display undone; nothing where `condition` compares nothing."""
    record = f"{new.record}, notch {notch}"

    def nothing(why_not: str, cure: str) -> Seen:
        return Seen(record, None, len(baseline), why_not, cure)

    reading = new.on(notch)
    if reading is None:
        return nothing("was not read", "read it")
    if not baseline:
        return nothing("has no baseline", "take the baseline of this setup first")
    if not (new.nulled and new.phase_set):
        return nothing(NOT_SET_UP, "balance, set the phase reference, and check again")
    [found] = condition(replace(new, readings=(reading,)), baseline, ())
    if found.amplitude_db is None:
        return nothing(found.why_not, cure_of(found.why_not))
    return Seen(record, found.amplitude_db, len(baseline))


def chance_db(spread: Spread, setups: int) -> float:
    """Return how far one more independent set-up may lie from the mean of `setups` by chance, ± dB, two-sided 95 %.

    t·s·√(1 + 1/n), with Student's t for the spread's degrees of freedom: prediction interval, NIST/SEMATECH e-Handbook
    7.2.6.3; JCGM 100:2008, annex G. ValueError for a spread without degrees of freedom.
    """
    if spread.degrees_of_freedom <= 0:
        raise ValueError("A spread needs degrees of freedom. Take baselines from at least two set-ups.")
    factor = float(coverage_factor(PROBABILITY, spread.degrees_of_freedom))
    return factor * spread.sd_db * math.sqrt(1 + 1 / setups)


def source_in_words(spread: Spread) -> str:
    """Return where the limits come from."""
    return (
        f"prediction interval for one more set-up, two-sided 95 %, Student's t: NIST/SEMATECH e-Handbook 7.2.6.3, JCGM 100 G; "
        f"the lab's own spread {spread_in_words(spread)}, {spread.degrees_of_freedom:.0f} degrees of freedom"
    )


def first_reason(first: Seen, spread: Spread) -> Reason:
    """Return what a swap test starts from; its weight stops where a step could not tell the deviation from chance.

    At twice what chance allows, a deviation that stays and one that goes are mistaken for each other in 1 of 40 at most.
    """
    rule = "swap test"
    if first.deviation_db is None:
        return Reason(rule, f"this notch {first.why_not}", record=first.record, cure=first.cure)
    if not (spread.sd_db > 0 and spread.degrees_of_freedom > 0):
        return Reason(
            rule, "the lab's own spread between set-ups is not known, so nothing can be told from chance",
            _db(first.deviation_db), record=first.record, cure="take baselines from several independent set-ups first",
        )  # fmt: skip
    needed = 2 * chance_db(spread, first.setups)
    told = (_db(first.deviation_db), f"at least ±{derived(needed, Unit.DB)}", source_in_words(spread), first.record)
    if abs(first.deviation_db) < needed:
        cure = "watch it: check again, and start when it is larger; take a baseline from more set-ups"
        return Reason(rule, "too small to be followed, since whether it stays or goes could be chance:", *told, cure)
    return Reason(rule, "off its baseline by", *told, weight=Weight.SUPPORTS)


def answer(first: Seen, step: Seen, spread: Spread) -> tuple[Result, Reason]:
    """Return whether the first deviation stayed or went in a step's check, with figures and limits.

    Went: within what chance allows of 0, and further than that from the first. Stayed: beyond what chance allows, nearer
    to the first than to 0, and not more than twice it, since then something else is off too. Else cannot tell.
    """
    if first.deviation_db is None or step.deviation_db is None:
        without = step if step.deviation_db is None else first
        reason = Reason(
            "swap test", f"cannot tell: this notch {without.why_not}", record=without.record, cure=without.cure
        )
        return "cannot tell", replace(reason, weight=Weight.UNDECIDED)
    chance, size = chance_db(spread, step.setups), abs(first.deviation_db)
    gone, stays, most = min(chance, size - chance), max(chance, size / 2), 2 * size
    along = math.copysign(step.deviation_db, step.deviation_db * first.deviation_db)
    result: Result = "cannot tell"
    if abs(step.deviation_db) <= gone:
        result = "went"
    elif stays < along <= most:
        result = "stayed"
    sign = math.copysign(1.0, first.deviation_db)
    went = f"went within ±{derived(gone, Unit.DB)}" if gone > 0 else "cannot be seen to go with so small a baseline"
    limit = f"{went}, stayed from {_db(sign * stays)} to {_db(sign * most)}"
    figure = f"{_db(step.deviation_db)} now, {_db(first.deviation_db)} before"
    told = (figure, limit, source_in_words(spread), f"{step.record}; {first.record}")
    if result == "cannot tell":
        says = "cannot tell, more than twice what it was:" if along > most else "cannot tell:"
        cure = "exchange the same thing once more, against a third one if there is one"
        return result, Reason("swap test", says, *told, cure, Weight.UNDECIDED)
    return result, Reason("swap test", f"the deviation {result}:", *told, weight=Weight.ADVISES)


@dataclass(frozen=True, slots=True)
class Conclusion:
    """What the steps say together.

    left: what it may still be, of what was suspected. settled: the deviation went with one thing alone, which is then
    the only one left. cure: the next step.
    """

    says: str
    cure: str
    left: tuple[Exchanged, ...]
    settled: bool = False


def conclude(
    names: Mapping[Exchanged, str], suspected: Sequence[Exchanged], steps: Sequence[tuple[Exchanged, Result]]
) -> Conclusion:
    """Return what the steps made so far say together. names: what each kind of thing is called in the kit that showed it."""
    told = {kind: {result for k, result in steps if k == kind} - {"cannot tell"} for kind in ORDER}
    went = tuple(k for k in ORDER if "went" in told[k])
    out = tuple(k for k in ORDER if told[k] == {"stayed"})
    both = [k for k in went if "stayed" in told[k]]
    left = tuple(k for k in suspected if k not in out)
    if both:
        return Conclusion(
            f"the deviation stayed and went with another {' and another '.join(both)}: a contact that makes and breaks, or chance",
            "look at the connectors, then exchange it once more", tuple(k for k in ORDER if k in {*went}),
        )  # fmt: skip
    if len(went) > 1:
        return Conclusion(_several(went), "make the first check again as it was; look at connectors and contacts", went)
    if went:
        return _went_with(names, went[0], out)
    if not steps:
        return Conclusion("nothing was exchanged yet", "exchange one thing, everything else as it is", left)
    if not out:
        return Conclusion("no step could tell yet", "exchange it once more", left)
    if left:
        return _stayed(names, left, out)
    others = [names[k] for k in ORDER if k not in out]
    unseen = f"{' or '.join(others)}, not exchanged; or " if others else ""
    return Conclusion(
        f"the deviation stayed whatever was exchanged: {unseen}two things at once; or what all checks share "
        "(person, procedure, temperature, shim)",
        "look at those; have another person make the check", (),
    )  # fmt: skip


def _went_with(names: Mapping[Exchanged, str], thing: Exchanged, out: Sequence[Exchanged]) -> Conclusion:
    says = f"the deviation went with the {thing}: {names[thing]} is left"
    open_ends = [k for k in _NEIGHBOURS[thing] if k not in out]
    if open_ends:
        says += f", or its connection to the {' or the '.join(open_ends)}, which was made anew with it"
    return Conclusion(
        says, f"put the first {thing} back: the deviation must come back; then confirm it", (thing,), True
    )


def _stayed(names: Mapping[Exchanged, str], left: tuple[Exchanged, ...], out: Sequence[Exchanged]) -> Conclusion:
    says = f"the deviation stayed without {', '.join(names[k] for k in out)}: left {'is' if len(left) == 1 else 'are'} "
    says += ", ".join(names[k] for k in left)
    if len(left) == 1:
        unseen = [names[k] for k in ORDER if k not in (*out, *left)]
        says += f", by exclusion: it was not exchanged itself{', nor was ' + ', '.join(unseen) if unseen else ''}"
        return Conclusion(says, f"exchange the {left[0]} too: the deviation must go", left)
    return Conclusion(says, "exchange the next thing, everything else as it was first", left)


def _several(went: Sequence[Exchanged]) -> str:
    said = " and with the ".join(went)
    if "cable" in went and "block" not in went:
        between = "connectors at both its ends" if len(went) > 2 else "connector between them"
        return f"the deviation went with the {said}: the {between} may be the cause, or it went by itself"
    return f"the deviation went with the {said}: one thing alone does not explain that; it may have gone by itself"


def notch_like(wanted: tuple[str, float], there: Sequence[tuple[str, float]]) -> str:
    """Return which notch of another block stands for the wanted one, '' for none; each is (label, depth in mm).

    The one of the same label, else the nearest in depth: what an instrument, a probe or a cable does, all notches show.
    """
    same = next((label for label, _ in there if key(label) == key(wanted[0])), "")
    return same or min(there, key=lambda n: (abs(n[1] - wanted[1]), -n[1]), default=("", 0.0))[0]


def _db(value: float) -> str:
    return derived(value, Unit.DB, sign=True)
