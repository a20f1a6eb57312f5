"""What was named before something broke the record: it stays named until the checks since could name it again, or clear it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import select

from refstd.desk.items import items
from refstd.metrology.attribution import Judgement
from refstd.metrology.incidence import Candidate
from refstd.register.checks import Baseline, Setup
from refstd.register.equipment import EquipmentEvent
from refstd.register.findings import FindingAction, FindingHold
from refstd.register.lab import Look
from refstd.rules.events import RULES
from refstd.rules.suspects import Suspect, checked_enough

Judged = tuple[Judgement, tuple[Suspect, ...]]


@dataclass(frozen=True, slots=True)
class _Break:
    """What ended a record of answers: the log entry that brought it, in words, and the items that it is about."""

    entry: int
    recorded_at: datetime
    in_words: str
    asset_nos: frozenset[str]


def named_before(look: Look, since: datetime, now: Judged, judged: Callable[[Look], Judged]) -> tuple[Suspect, ...]:
    """Return what was named or tied as the record stood before each break, and neither is now nor was checked enough since.

    since: breaks before that instant are left out, as the evidence then would be. now: what the record says. judged: says
    the same of an earlier look; what it says of one never changes, so it is remembered.
    """
    decided = _decided(look)
    carried: dict[Candidate, Suspect] = {}
    for b in _breaks(look, since):
        asked = ("named before", b.entry)
        if asked not in look.remembered:
            day = b.recorded_at.astimezone(look.zone).date()
            look.remembered[asked] = judged(replace(look, upto=b.entry - 1, today=day, known={}))
        then: Judged = look.remembered[asked]
        carried = _still(carried, then)
        for s in then[1]:
            if any(b.asset_nos & {r.instrument, r.probe, r.block} for r in s.readings):
                carried[s.candidate] = replace(s, before=b.in_words)
        carried = {c: s for c, s in carried.items() if decided.get(c.code, 0) <= b.entry}
    return tuple(_still(carried, now).values())


def _still(carried: dict[Candidate, Suspect], by_then: Judged) -> dict[Candidate, Suspect]:
    """Return what is carried over and that the record by then neither names itself nor was checked enough to."""
    named = {s.candidate for s in by_then[1]}
    return {c: s for c, s in carried.items() if c not in named and not checked_enough(s, by_then[0])}


def _breaks(look: Look, since: datetime) -> list[_Break]:
    """Return what broke the record of an item or began a new baseline, oldest first."""
    code = {number: i.asset_no for number, i in items(look).items()}
    event, baseline = EquipmentEvent, Baseline
    breaking = [name for name, rule in RULES.items() if rule.breaks]
    rows = look.session.execute(
        select(event).where(
            event.entry <= look.upto, event.recorded_at >= since, event.withdrawn.is_(False), event.event.in_(breaking)
        )
    ).scalars()
    found = [
        _Break(
            e.entry, e.recorded_at, f"{code[e.equipment_id]}: {e.event} {_day(look, e.happened_at)}",
            frozenset((code[e.equipment_id],)),
        )
        for e in rows
    ]  # fmt: skip
    anew = look.session.execute(
        select(baseline, Setup)
        .join(Setup, Setup.id == baseline.setup_id)
        .where(baseline.entry <= look.upto, baseline.recorded_at >= since, baseline.supersedes_id.is_not(None))
    )
    found += [
        _Break(
            b.entry, b.recorded_at, f"the new baseline of setup {s.number} {_day(look, b.happened_at)}",
            frozenset(code[n] for n in (s.instrument_id, s.probe_id, s.block_id)),
        )
        for b, s in anew
    ]  # fmt: skip
    return sorted(found, key=lambda b: (b.entry, b.in_words))


def _decided(look: Look) -> dict[str, int]:
    """Return, by asset number, the last log entry that decided or released a finding on the item."""
    code = {number: i.asset_no for number, i in items(look).items()}
    rows = look.session.execute(
        select(FindingHold.equipment_id, FindingAction.entry)
        .join(FindingAction, FindingAction.finding_id == FindingHold.finding_id)
        .where(FindingAction.kind != "note", FindingHold.equipment_id.is_not(None), FindingAction.entry <= look.upto)
        .order_by(FindingAction.entry)
    )
    return {code[number]: entry for number, entry in rows if number is not None}


def _day(look: Look, moment: datetime) -> str:
    return f"{moment.astimezone(look.zone):%Y-%m-%d}"
