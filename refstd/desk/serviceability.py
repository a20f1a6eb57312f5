"""May this equipment be relied on? Gathers the facts and asks the one rule, for every list, screen and report."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import or_, select

from refstd.base.quantity import Unit
from refstd.base.reason import Reason
from refstd.desk.certified import points_of
from refstd.desk.freed import freeing_check
from refstd.desk.happened import happened_to
from refstd.desk.items import ItemShown, items, items_of
from refstd.desk.known import named
from refstd.desk.owed import duties_of
from refstd.desk.papers import certificates_in_force
from refstd.desk.procedures import current_revision, procedure_shown
from refstd.desk.starts import ended_starts
from refstd.desk.suspects import suspects_within
from refstd.register.certificates import Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.equipment import Equipment
from refstd.register.findings import Finding, FindingAction, FindingHold
from refstd.register.lab import CLOCK_SLACK, Lab, Look, When
from refstd.register.revisions import standing
from refstd.rules.agreement import paper_advice
from refstd.rules.asked_tolerances import Nominal
from refstd.rules.certified import DEPTH, CertifiedPoint, place_of
from refstd.rules.duties import Duty
from refstd.rules.events import Happened, ailment_reasons, ailments, asked_anew, unverified_reasons
from refstd.rules.serviceability import (
    ItemFacts,
    OpenFinding,
    ProcedureNeeds,
    kit_serviceability,
    serviceability,
)
from refstd.rules.suspects import suspect_reason
from refstd.rules.verdict import CAUTION, EXIT_OF, Standing, Verdict


@dataclass(frozen=True, slots=True)
class Status:
    """An item, its verdict, and the state of the evidence behind it."""

    item: ItemShown
    verdict: Verdict
    duties: tuple[Duty, ...]
    points: tuple[CertifiedPoint, ...] = ()  # the certified values in force


def status(lab: Lab, asset_nos: Sequence[str], when: When, procedure: str = "") -> tuple[Status, ...]:
    """Return the verdict on each item, for a procedure or for any; and on all together when there are several."""
    with lab.look(when) as look:
        return status_within(look, asset_nos, procedure)


def status_within(look: Look, asset_nos: Sequence[str], procedure: str = "") -> tuple[Status, ...]:
    """Return the verdict on each item, within a look."""
    needs = _needs(look, procedure)
    return tuple(status_of(look, named(look, Equipment, number).id, needs) for number in asset_nos)


def kit_status_within(look: Look, asset_nos: Sequence[str], procedure: str = "") -> Verdict:
    """Return the verdict on items used together, within a look."""
    return kit_verdict(look, [named(look, Equipment, n).id for n in asset_nos], _needs(look, procedure))


def kit_status(lab: Lab, asset_nos: Sequence[str], when: When, procedure: str = "") -> Verdict:
    """Return the verdict on items used together."""
    with lab.look(when) as look:
        return kit_status_within(look, asset_nos, procedure)


def register_status(lab: Lab, when: When, kind: str = "") -> tuple[Status, ...]:
    """Return every item of a kind, or all, with its verdict."""
    with lab.look(when) as look:
        return register_within(look, kind)


def register_within(look: Look, kind: str = "") -> tuple[Status, ...]:
    """Return every item of a kind, or all, with its verdict, within a look."""
    return tuple(status_of(look, i.equipment_id) for i in items(look).values() if not kind or i.kind == kind)


def status_of(look: Look, equipment_id: int, needs: ProcedureNeeds | None = None) -> Status:
    """Return one item's status within a look."""
    item, facts = items(look)[equipment_id], all_facts(look)[equipment_id]
    return Status(item, serviceability(facts, look.today, look.due_soon_days, needs), facts.duties, facts.points)


def kit_verdict(
    look: Look, equipment_ids: Sequence[int], needs: ProcedureNeeds | None = None, *, evidence: bool = True
) -> Verdict:
    """Return the verdict on items used together, within a look."""
    facts = facts_of(look, equipment_ids, evidence=evidence)
    return kit_serviceability(tuple(facts[i] for i in equipment_ids), look.today, look.due_soon_days, needs)


def all_facts(look: Look) -> dict[int, ItemFacts]:
    """Return the facts about every item at the look's instant, by internal id."""
    if "facts" not in look.known:
        look.known["facts"] = _gathered(look)
    gathered: dict[int, ItemFacts] = look.known["facts"]
    return gathered


def facts_of(look: Look, ids: Collection[int], *, evidence: bool = True) -> dict[int, ItemFacts]:
    """Return the facts about at least these items, by internal id: one check does not read the whole register.

    evidence: with what the answers over the whole lab say, which takes longer than all the rest.
    """
    if "facts" in look.known:
        return all_facts(look)
    known: dict[int, ItemFacts] = look.known.setdefault(("facts of", evidence), {})
    missing = [number for number in ids if number not in known]
    if missing:
        known.update(_gathered(look, missing, evidence=evidence))
    return known


def _needs(look: Look, procedure: str) -> ProcedureNeeds | None:
    return procedure_shown(look, current_revision(look, procedure)).needs if procedure else None


def _gathered(look: Look, ids: Collection[int] | None = None, *, evidence: bool = True) -> dict[int, ItemFacts]:
    certificates = certificates_in_force(look, ids)
    points, findings = points_of(look, certificates, ids), open_findings(look)
    moved = suspects_within(look) if evidence else None
    shown = items(look) if ids is None else items_of(look, ids)
    ailing, of_papers = _ailing(look, ids, certificates), _about_papers(look)
    duties = duties_of(look, certificates, ids, {number: item.asset_no for number, item in shown.items()})
    facts = {}
    for number in shown if ids is None else ids:
        item = shown[number]
        papers = certificates.get(number, [])
        newest = {p.activity: p for p in papers if p.result}
        not_sound = tuple(f"{p.activity} {p.number}" for p in newest.values() if p.result == "not sound")
        facts[number] = ItemFacts(
            item.asset_no, item.kind, item.state, item.state_why if item.state != "in service" else "",
            f"state of {item.state_since.astimezone(look.zone):%Y-%m-%d}", duties.get(number, ()), points.get(number, ()),
            tuple(findings.get(number, ())), not_sound, tuple(n.label for n in item.notches),
            any(p.result != "not sound" for p in papers), _nominals(item),
            (*(suspect_reason(s) for s in (moved.about(item.asset_no) if moved else ())), *ailing.get(number, ()), *of_papers.get(number, ())),
        )  # fmt: skip
    return facts


def _nominals(item: ItemShown) -> tuple[Nominal, ...]:
    """Return what an item's notches and material were made to be, as described."""
    sizes = [
        Nominal(place_of(n.label, quantity, Unit.MM), value, Unit.MM)
        for n in item.notches
        for quantity, value in ((DEPTH, n.depth_mm), ("length", n.length_mm), ("width", n.width_mm))
        if value is not None
    ]
    iacs = item.material.conductivity_percent_iacs if item.material else None
    if iacs is None:
        return tuple(sizes)
    return (*sizes, Nominal(place_of("", "conductivity", Unit.PERCENT_IACS), iacs, Unit.PERCENT_IACS))


def said_of_events(look: Look, equipment_id: int) -> tuple[Reason, ...]:
    """Return what the verdict on an item says because of what happened to it."""
    return tuple(_ailing(look, [equipment_id], certificates_in_force(look, [equipment_id])).get(equipment_id, ()))


def _ailing(
    look: Look, ids: Collection[int] | None, certificates: dict[int, list[Certificate]]
) -> dict[int, list[Reason]]:
    """Return what is to be said of items that something happened to: unverified, not started anew, not cured or not checked since."""
    events: dict[int, list[Happened]] = {}
    for e in happened_to(look, ids):
        events.setdefault(e.equipment_id, []).append(e)
    checked = _last_acceptable(look, events)
    ended = ended_starts(look, events)
    said = {}
    for number, own in events.items():
        done = [(p.activity, p.performed_on) for p in certificates.get(number, []) if p.result != "not sound"]
        days = [(e, e.happened_at.astimezone(look.zone).date()) for e in own]
        last = checked.get(number)
        said[number] = [
            *unverified_reasons(days, done), *asked_anew(own, ended, last), *ailment_reasons(ailments(own), last)
        ]  # fmt: skip
    return said


def _last_acceptable(look: Look, ids: Collection[int]) -> dict[int, datetime]:
    """Return the instant of the last acceptable check of each of these items, on whichever setup."""
    if not ids:
        return {}
    found: dict[int, datetime] = {}
    kit: tuple[Any, ...] = (
        Setup.block_id,
        Setup.probe_id,
        Setup.instrument_id,
        ResponseCheck.cable_id,
        ResponseCheck.adapter_id,
    )
    rows = look.session.execute(
        standing(
            ResponseCheck,
            look.upto,
            ResponseCheck.outcome == "acceptable",
            ResponseCheck.occasion != "swap test",
            or_(*(c.in_(ids) for c in kit)),
        )
        .join(Setup, Setup.id == ResponseCheck.setup_id)
        .with_only_columns(ResponseCheck.happened_at, *kit)
        .order_by(None)
        .order_by(ResponseCheck.happened_at)
    )
    for moment, *in_use in rows:
        found |= {number: moment for number in in_use if number in ids}
    return found


def _about_papers(look: Look) -> dict[int, list[Reason]]:
    """Return, by item, what the open findings about its certificates say; one that holds the item says so itself."""
    released = select(FindingAction.finding_id).where(FindingAction.kind == "release", FindingAction.entry <= look.upto)
    holding = select(FindingHold.finding_id).where(
        FindingHold.equipment_id.is_not(None), FindingHold.entry <= look.upto
    )
    rows = look.session.execute(
        select(Finding, Certificate.equipment_id)
        .join(Certificate, Certificate.id == Finding.certificate_id)
        .where(Finding.entry <= look.upto, Finding.id.not_in(released), Finding.id.not_in(holding))
        .order_by(Finding.id)
    )
    found: dict[int, list[Reason]] = {}
    for finding, number in rows:
        found.setdefault(number, []).append(paper_advice(finding.number, finding.says))
    return found


def open_findings(look: Look) -> dict[int, list[OpenFinding]]:
    """Return, by item, the findings that are not released and hold the item or a setup that it is part of."""
    until = look.instant + CLOCK_SLACK
    released = select(FindingAction.finding_id).where(
        FindingAction.kind == "release", FindingAction.entry <= look.upto, FindingAction.happened_at <= until
    )
    decided = select(FindingAction.finding_id).where(
        FindingAction.kind == "disposition", FindingAction.entry <= look.upto
    )
    undecided = set(
        look.session.execute(
            select(FindingHold.finding_id).where(
                FindingHold.lot_id.is_not(None), FindingHold.entry <= look.upto, FindingHold.finding_id.not_in(decided)
            )
        ).scalars()
    )
    rows = look.session.execute(
        select(FindingHold, Finding)
        .join(Finding, Finding.id == FindingHold.finding_id)
        .where(
            Finding.entry <= look.upto,
            FindingHold.entry <= look.upto,
            Finding.happened_at <= until,
            Finding.id.not_in(released),
            FindingHold.lot_id.is_(None),
        )
        .order_by(Finding.id)
    )
    found: dict[int, list[OpenFinding]] = {}
    for hold, finding in rows:
        if hold.equipment_id is not None:
            found.setdefault(hold.equipment_id, []).append(OpenFinding(finding.number, finding.says, "", (), ""))
            continue
        assert hold.setup_id is not None
        setup = look.session.get_one(Setup, hold.setup_id)
        members = (setup.block_id, setup.probe_id, setup.instrument_id)
        numbers = tuple(look.session.get_one(Equipment, m).asset_no for m in members)
        cleared = freeing_check(look, setup.id, finding)
        for member in members:
            from_check = finding.check_id is not None
            found.setdefault(member, []).append(
                OpenFinding(
                    finding.number, finding.says, setup.number, numbers, cleared, from_check, finding.id in undecided
                )
            )
    return found


__all__ = [
    "CAUTION",
    "EXIT_OF",
    "CertifiedPoint",
    "Duty",
    "Standing",
    "Status",
    "Verdict",
    "all_facts",
    "kit_status",
    "kit_status_within",
    "kit_verdict",
    "register_status",
    "register_within",
    "said_of_events",
    "status",
    "status_of",
    "status_within",
]
