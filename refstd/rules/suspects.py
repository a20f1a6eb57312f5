"""What the evidence over a whole lab says about one item: named, tied with others, or nothing; a name asks for a check.

The method is in `metrology.attribution`. A hint below the bar has no standing: no state changes by it and no report
carries it. What is named is confirmed with two partners independent of one another before anything is decided.
"""

import math
import statistics
from dataclasses import dataclass

from refstd.base.quantity import Unit, derived
from refstd.base.reason import Reason, Weight
from refstd.metrology.attribution import CLIP, NAME_AT, SPREAD_MARGIN, Evidence, Judgement, Spread
from refstd.metrology.incidence import COMMON, Candidate, Deviation, Swap, confirmation_checks

SOURCE = (
    "evidence of a single cause, generalised least squares; the bar is from our own simulation (about one false name in a "
    "hundred labs of this size in two years), no published source"
)
METHOD = (
    "Asked which single item, if it alone had moved, best explains how far the recent checks lie from their baselines, and "
    "by how much better than the next. Windows of 8 and 26 weeks; the lab's own spread between independent set-ups, taken "
    "10 % larger; what all checks share is a candidate too. It cannot see all items of a kind moving together."
)


NEWEST = 8  # readings whose median says where an item is by now
SHOWN = 6  # candidates, the best of a ranking


@dataclass(frozen=True, slots=True)
class Suspect:
    """One item that the evidence names, or that is tied with others that the checks so far cannot tell apart.

    readings: of it in the window, oldest first. ranking: the best candidates when it was named, itself among them.
    counted_db: how far off a reading may be and still count in full; more counts as this. before: what has broken the
    record since it was named, '' where nothing has; then all figures are those from before.
    """

    evidence: Evidence
    tied_with: tuple[Candidate, ...]
    readings: tuple[Deviation, ...]
    confirm: tuple[Deviation, ...]
    ranking: tuple[Evidence, ...] = ()
    counted_db: float = math.inf
    before: str = ""

    @property
    def candidate(self) -> Candidate:
        return self.evidence.candidate

    @property
    def newest(self) -> tuple[float, int]:
        """The median of its newest readings in dB, as they are, and how many these are."""
        own = [r.deviation_db for r in self.readings[-NEWEST:]]
        return statistics.median(own), len(own)

    @property
    def further(self) -> int:
        """How many of its readings lie further off than counts in the score."""
        return sum(1 for r in self.readings if abs(r.deviation_db) > self.counted_db)


def in_words(candidate: Candidate) -> str:
    """Return what a candidate is called."""
    if candidate == COMMON:
        return "what all checks share (person, procedure, temperature, shim)"
    return f"{candidate.code}, notch {candidate.notch}" if candidate.kind == "notch" else candidate.code


def suspects_of(
    judgement: Judgement, readings: tuple[Deviation, ...], now_days: float, spread: Spread
) -> tuple[Suspect, ...]:
    """Return what is named and what is tied, with the readings behind each and the checks that would confirm it."""
    found = []
    for n, e in enumerate((*judgement.named, *judgement.tied)):
        own = [r for r in readings if e.candidate.took_part(r) and now_days - e.window_days < r.days <= now_days]
        own.sort(key=lambda r: (r.days, r.check, r.notch))
        others = tuple(t.candidate for t in judgement.tied if t != e) if e in judgement.tied else ()
        ranking = judgement.rankings[min(n, len(judgement.named))][:SHOWN]
        setups = min((r.baseline_setups for r in own), default=math.inf)
        counted = CLIP * SPREAD_MARGIN * spread.sd_db * math.sqrt(1 + 1 / setups)
        confirm = confirmation_checks(e.candidate, readings)
        found.append(Suspect(e, others, tuple(own), confirm, ranking, counted))
    return tuple(found)


ENOUGH = f"until the checks since would name it (score {NAME_AT:g}) if it were as far off as before, or a finding on it is decided"


def checked_enough(before: Suspect, now: Judgement) -> bool:
    """Return whether the checks by now would name what was named before, were it as far off as then.

    That is so where its effect is known by now to a standard uncertainty of the old effect divided by the bar. What is not
    named then has not moved as far any more; until then not being named says nothing.
    """
    own = next((e for e in now.evidence if e.candidate == before.candidate), None)
    return own is not None and own.u_effect_db * NAME_AT <= abs(before.evidence.effect_db)


def spread_in_words(spread: Spread) -> str:
    """Return the spread, and where the readings' last digit sets it."""
    return derived(spread.sd_db, Unit.DB) + (", set by the readings' last digit" if spread.by_digit else "")


def effect_in_words(e: Evidence) -> str:
    """Return by how much it moved, with its standard uncertainty."""
    return f"{derived(e.effect_db, Unit.DB, sign=True)} ± {derived(e.u_effect_db, Unit.DB)}"


def suspect_reason(suspect: Suspect) -> Reason:
    """Return what a named or tied item's verdict says. It advises; the confirmation decides what is done."""
    e = suspect.evidence
    own = in_words(e.candidate)
    weeks = f"{e.readings} readings in {e.window_days / 7:.0f} weeks"
    way = "more" if e.effect_db > 0 else "less"
    if suspect.tied_with:
        others = ", ".join(in_words(c) for c in suspect.tied_with)
        says, cure = (
            f"{own} or {others} answers {way} than it used to; the checks so far cannot tell which",
            "make the swap test",
        )
    else:
        says = f"{own} answers {way} than it used to, whatever it is used with"
        cure = "confirm it with two partners independent of one another; then decide"
    if suspect.before:
        says = f"{says.replace(' answers ', ' answered ')}: named before {suspect.before}, not checked enough since"
        cure = f"make a start check and compare, or the swap test; it stands {ENOUGH}"
    newest, count = suspect.newest
    lately = f"the newest {count} at {derived(newest, Unit.DB, sign=True)} (median)"
    checks = sorted({r.check for r in suspect.readings})
    record = f"checks {checks[0]} to {checks[-1]}" if len(checks) > 1 else f"check {checks[0]}" if checks else ""
    return Reason(
        "suspect", says, f"{effect_in_words(e)}, {weeks}, {lately}, score {e.score:.1f}", f"named from {NAME_AT:g}", SOURCE, record, cure,
        Weight.ADVISES,
    )  # fmt: skip


def score_in_words(suspect: Suspect) -> str:
    """Return how the score was reached: it is lower than effect over uncertainty where readings lie far off."""
    own = f"score {suspect.evidence.score:.1f} = effect / its uncertainty"
    if not suspect.further:
        return own
    return (
        f"{own}, no reading counted as further off than ±{derived(suspect.counted_db, Unit.DB)} (4 standard deviations), so that none "
        f"alone names an item: {suspect.further} of {len(suspect.readings)} lie further off"
    )


def swap_in_words(swap: Swap, start: Deviation | None = None) -> str:
    """Return what to exchange, and what the answer would mean."""
    held = " or ".join(in_words(c) for c in swap.holds)
    if swap.change == "cable":
        return f"exchange the cable: {swap.instrument}, {swap.probe}, {swap.block} as before. If the deviation goes, it was the cable."
    new = getattr(swap, swap.change)
    known = "" if swap.known else " (no baseline of this pair: ask first whether they may be used together)"
    return (
        f"exchange the {swap.change} for {new}: check {swap.instrument}, {swap.probe}, {swap.block}{known}. "
        f"If the deviation stays, it is {held}; if it goes, it is what was exchanged."
    )
