"""Sending equipment away: what would be left without, and what is still at work."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from refstd.base.reason import Reason, Weight
from refstd.rules.matching import Match

# What stands against an item today and not for good: where it is, and that it falls due while the job lasts.
PASSING = ("custody", "due during the job")


@dataclass(frozen=True, slots=True)
class Need:
    """What needs equipment of a kind: an open job, or a material with its blocks.

    served_by: what suits it and may be relied on today. until: its last day; None where it has none, or it has passed.
    """

    subject: str
    kind: str
    served_by: frozenset[str]
    source: str
    until: date | None = None


@dataclass(frozen=True, slots=True)
class Going:
    """An item that is to be away, by this day at the latest."""

    asset_no: str
    by: date

    @property
    def month(self) -> date:
        return self.by.replace(day=1)


def serves(match: Match) -> bool:
    """Return whether an item suits a job and may be relied on, wherever it is now."""
    return all(r.weight is not Weight.STOPS or r.rule in PASSING for r in match.reasons)


def left_without(needs: Sequence[Need], going: Sequence[Going]) -> dict[Going, tuple[Reason, ...]]:
    """Return, for each that goes, what its going leaves without any item that serves: alone, or with those of its month.

    Those of other months are taken to be back. A need that has ended before the month leaves nothing wanting; nor does
    an item that does not serve today: it is missed already.
    """
    away: dict[date, set[str]] = {}
    for g in going:
        away.setdefault(g.month, set()).add(g.asset_no)
    found: dict[Going, tuple[Reason, ...]] = {}
    for g in dict.fromkeys(going):
        wanting = [n for n in needs if g.asset_no in n.served_by and (n.until is None or n.until >= g.month)]
        reasons = [_reason(g, need) for need in wanting if need.served_by <= away[g.month]]
        if reasons:
            found[g] = tuple(reasons)
    return found


def _reason(g: Going, need: Need) -> Reason:
    others = sorted(need.served_by - {g.asset_no})
    says = f"{g.asset_no} is the only {need.kind} for {need.subject} that may be relied on"
    cure = f"have another {need.kind} ready before it goes"
    if others:
        together = f"the only {need.kind}s for {need.subject} that may be relied on, and go in the same month"
        says = f"{' and '.join([g.asset_no, *others])} are {together}"
        cure = "send one when the other is back"
    if need.until is not None and need.until < g.by:
        cure += f", or send it after {need.until}"
    return Reason("left without", says, f"no {need.kind} left", "", need.source, need.subject, cure, Weight.ADVISES)


def still_at_work(asset_no: str, says: str) -> Reason:
    """Return that an item is at work: parts hang on its end check."""
    cure = "make the end check of that work before it goes"
    return Reason("at work", f"{asset_no} is {says}", record=asset_no, cure=cure, weight=Weight.ADVISES)
