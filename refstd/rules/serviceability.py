"""The facts about one item or one kit on one day → serviceable, limited use or do not use, with every reason."""

from dataclasses import dataclass, field
from datetime import date

from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.rules.asked_tolerances import AskedTolerance, Nominal, asked_reasons
from refstd.rules.certified import CertifiedPoint, point_reasons
from refstd.rules.duties import Duty, duty_reasons
from refstd.rules.verdict import Verdict, verdict_from


@dataclass(frozen=True, slots=True)
class OpenFinding:
    """A finding that is not released. `setup` is the held setup's number, '' when the item itself is held."""

    number: str
    says: str
    setup: str
    setup_items: tuple[str, ...]
    cleared_by: str  # the later acceptable start check and its day: the setup is free for new work, the finding stays
    from_check: bool = True  # a hold by hand is never freed by a check
    undecided_lots: bool = False  # it holds lots, and nothing is decided about them


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """What is on record about one item."""

    asset_no: str
    kind: str
    state: str
    state_why: str
    state_record: str
    duties: tuple[Duty, ...] = ()
    points: tuple[CertifiedPoint, ...] = ()
    findings: tuple[OpenFinding, ...] = ()
    not_sound: tuple[str, ...] = ()  # newest inspection or verification papers that say 'not sound'
    notches: tuple[str, ...] = ()
    proved: bool = False  # a paper in force says that it is fit, of whichever activity
    nominals: tuple[Nominal, ...] = ()
    advice: tuple[Reason, ...] = ()  # what the answers over the whole lab, and events, say about it


@dataclass(frozen=True, slots=True)
class ProcedureNeeds:
    """What a procedure needs of a block: the notches that it names, and what it asks of certified values."""

    name: str
    notches: tuple[str, ...] = field(default=())
    tolerances: tuple[AskedTolerance, ...] = ()


def serviceability(item: ItemFacts, today: date, soon_days: int, needs: ProcedureNeeds | None = None) -> Verdict:
    """Return the verdict on one item on a day, for a procedure or for any.

    A certified value outside its limits strikes out its notch; the item as a whole only for a procedure that needs that
    notch, or asks for tighter limits or a smaller U. `soon_days` is the lab's own setting and only advises.
    """
    reasons: list[Reason] = []
    struck: list[str] = []
    reasons += _state_reasons(item)
    for duty in item.duties:
        reasons += duty_reasons(item.asset_no, item.state, duty, today, soon_days)
    reasons += _unproved_reasons(item)
    for point in item.points:
        needed = needs is not None and key(point.notch) in {key(n) for n in needs.notches}
        reasons += point_reasons(item.asset_no, point, needs.name if needs and needed else "", struck)
    if needs and item.kind == "block":
        reasons += asked_reasons(
            item.asset_no, item.notches, item.points, item.nominals, needs.name, needs.tolerances
        )  # fmt: skip
    for paper in item.not_sound:
        reasons.append(
            Reason(
                "evidence",
                f"{item.asset_no} was found not sound",
                record=paper,
                cure=f"repair it, then file a newer {paper.partition(' ')[0]} with the result 'sound'",
            )
        )
    reasons += _finding_reasons(item, struck)
    reasons += item.advice
    return verdict_from(item.asset_no, reasons, struck)


def kit_serviceability(
    items: tuple[ItemFacts, ...], today: date, soon_days: int, needs: ProcedureNeeds | None = None
) -> Verdict:
    """Return the verdict on items used together: that of each, and a stop where their common setup is held."""
    together = {i.asset_no for i in items}
    reasons: list[Reason] = []
    struck: list[str] = []
    for item in items:
        alone = serviceability(item, today, soon_days, needs)
        reasons += [r for r in alone.reasons if r.rule != "setup hold" or r.weight is not Weight.LIMITS]
        struck += [s for s in alone.struck if not s.startswith("setup ")]
    held = {
        f.setup: f for i in items for f in i.findings if f.setup and not f.cleared_by and set(f.setup_items) <= together
    }
    for number, finding in sorted(held.items()):
        reasons.append(
            Reason("setup hold", f"setup {number} is held: {finding.says}", record=f"finding {finding.number}",
                   cure=_cure_of_hold(finding))
        )  # fmt: skip
    return verdict_from(" + ".join(i.asset_no for i in items), _once(reasons), struck)


_DECIDE = "decide the held lots"
_RELEASE = "have the finding released by someone with the authority"
_RELEASED = "decide the finding, then have it released by someone with the authority"
_FREED = "a new acceptable start check under the same procedure frees the setup for new work"


def _cure_of_hold(finding: OpenFinding) -> str:
    if not finding.from_check:
        return _RELEASED
    return f"{_FREED}; held lots wait for a disposition" if finding.undecided_lots else _FREED


def _once(reasons: list[Reason]) -> list[Reason]:
    return list(dict.fromkeys(reasons))


_STATE_CURES = {
    "awaiting receipt": "do the receipt inspection, then put it in service",
    "quarantined": "find and remove the cause, then have it released",
    "in repair": "wait for the repair and its verification",
    "lost": "if found: record where and in which condition, inspect it, then put it in service",
    "retired": "take another; a retired item does not come back",
    "stored": "put it in service first",
    "away at laboratory": "wait until it is back and its certificate is filed",
    "calibrate before use": "have it calibrated and file the certificate",
    "reference only": "take another; this one is kept for comparison only",
    "": "enter its state",
}


def _unproved_reasons(item: ItemFacts) -> list[Reason]:
    """Judge an item that owes nothing. A probe or an accessory is proved by each response check, so nothing is asked of it."""
    if item.duties or item.kind not in ("block", "instrument"):
        return []  # a duty that was never done says so itself
    asked_for = item.state == "awaiting receipt" or item.not_sound  # the inspection, or a repair and new evidence
    if not item.proved and not asked_for:
        return [
            Reason("unproved", f"no evidence on record that {item.asset_no} is fit", "no paper", record=item.asset_no,
                   cure="file its certificate, verification or receipt inspection; enter what it owes and how often")
        ]  # fmt: skip
    return [
        Reason("schedule", f"nothing is scheduled for {item.asset_no}", record=item.asset_no, weight=Weight.ADVISES,
               cure="enter what it owes and how often, with the source")
    ]  # fmt: skip


def _state_reasons(item: ItemFacts) -> list[Reason]:
    if item.state == "in service":
        return []
    shown = item.state or "of unknown state"
    why = f": {item.state_why}" if item.state_why else ""
    return [
        Reason("state", f"{item.asset_no} is {shown}{why}", record=item.state_record, cure=_STATE_CURES[item.state])
    ]


def _finding_reasons(item: ItemFacts, struck: list[str]) -> list[Reason]:
    reasons = []
    for finding in item.findings:
        record = f"finding {finding.number}"
        if not finding.setup:
            reasons.append(
                Reason("finding", f"{item.asset_no} is held: {finding.says}", record=record,
                       cure=_RELEASED)
            )  # fmt: skip
        elif finding.cleared_by:
            reasons.append(
                Reason("setup hold", f"setup {finding.setup} failed a check and was freed for new work by {finding.cleared_by}",
                       record=record, cure=_DECIDE if finding.undecided_lots else _RELEASE, weight=Weight.ADVISES)
            )  # fmt: skip
        else:
            struck.append(f"setup {finding.setup}")
            reasons.append(
                Reason("setup hold", f"{item.asset_no} is part of setup {finding.setup}, which is held: {finding.says}", record=record,
                       cure=f"use it in another setup; {_FREED if finding.from_check else _RELEASED}", weight=Weight.LIMITS)
            )  # fmt: skip
    return reasons
