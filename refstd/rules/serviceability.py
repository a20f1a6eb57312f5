"""The facts about one item or one kit on one day → serviceable, limited use or do not use, with every reason."""

from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import cast

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.metrology.conformity import Rule, decide
from refstd.rules.due import DueState, state_of
from refstd.rules.verdict import Verdict, verdict_from


@dataclass(frozen=True, slots=True)
class Duty:
    """What an item owes: `due_on` is the last day of validity, None if it was never done."""

    activity: str
    due_on: date | None
    last_done_on: date | None
    every: str
    source: str
    record: str


@dataclass(frozen=True, slots=True)
class CertifiedPoint:
    """A certified value in force, with its U and k as printed, its limits, and the decision rule that the paper names."""

    notch: str
    quantity: str
    value: Decimal
    unit: str
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    lower: Decimal | None
    upper: Decimal | None
    limit_source: str
    decision_rule: str
    guard_ratio: Decimal | None
    record: str


@dataclass(frozen=True, slots=True)
class OpenFinding:
    """A finding that is not released. `setup` is the held setup's number, '' when the item itself is held."""

    number: str
    says: str
    setup: str
    setup_items: tuple[str, ...]
    cleared_by: str  # a later acceptable check of the held setup: it may be used again, the finding stays


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


@dataclass(frozen=True, slots=True)
class ProcedureNeeds:
    """What a procedure needs of a block: the notches that its limits and targets name."""

    name: str
    notches: tuple[str, ...] = field(default=())


def serviceability(item: ItemFacts, today: date, soon_days: int, needs: ProcedureNeeds | None = None) -> Verdict:
    """Return the verdict on one item on a day, for a procedure or for any.

    A certified value outside its limits strikes out its notch; the item as a whole only for a procedure that needs that
    notch. `soon_days` is the lab's own setting and only advises.
    """
    reasons: list[Reason] = []
    struck: list[str] = []
    reasons += _state_reasons(item)
    for duty in item.duties:
        reasons += _duty_reasons(item, duty, today, soon_days)
    if not item.duties and item.kind in ("block", "instrument"):
        reasons.append(
            Reason("schedule", f"nothing is scheduled for {item.asset_no}", record=item.asset_no, weight=Weight.ADVISES,
                   cure="enter what it owes and how often, with the source")
        )  # fmt: skip
    for point in item.points:
        reasons += _point_reasons(item, point, needs, struck)
    for paper in item.not_sound:
        reasons.append(
            Reason(
                "evidence",
                f"{item.asset_no} was found not sound",
                record=paper,
                cure="repair it, then file new evidence",
            )
        )
    reasons += _finding_reasons(item, struck)
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
                   cure="a new acceptable start check frees the setup for new work; held lots wait for a disposition")
        )  # fmt: skip
    return verdict_from(" + ".join(i.asset_no for i in items), _once(reasons), struck)


def _once(reasons: list[Reason]) -> list[Reason]:
    return list(dict.fromkeys(reasons))


_STATE_CURES = {
    "awaiting receipt": "do the receipt inspection, then put it in service",
    "quarantined": "find and remove the cause, then have it released",
    "in repair": "wait for the repair and its verification",
    "lost": "if found: inspect it, then put it in service",
    "retired": "take another; a retired item does not come back",
    "stored": "put it in service first",
    "away at laboratory": "wait until it is back and its certificate is filed",
    "calibrate before use": "have it calibrated and file the certificate",
    "reference only": "take another; this one is kept for comparison only",
    "": "enter its state",
}


def _state_reasons(item: ItemFacts) -> list[Reason]:
    if item.state == "in service":
        return []
    shown = item.state or "of unknown state"
    why = f": {item.state_why}" if item.state_why else ""
    return [
        Reason("state", f"{item.asset_no} is {shown}{why}", record=item.state_record, cure=_STATE_CURES[item.state])
    ]


def duty_state(duty: Duty, today: date, soon_days: int) -> DueState:
    """Return how a duty stands. One that counts from first use and was done, but not used since, is not due yet."""
    if duty.due_on is None and duty.last_done_on is not None:
        return "not due"
    return state_of(duty.due_on, today, soon_days)


def _duty_reasons(item: ItemFacts, duty: Duty, today: date, soon_days: int) -> list[Reason]:
    state = duty_state(duty, today, soon_days)
    if state == "never done":
        return [
            Reason("due", f"{duty.activity} of {item.asset_no} was never done", "never done", f"every {duty.every}", duty.source,
                   duty.record, f"have the {duty.activity} done and file the evidence")
        ]  # fmt: skip
    if duty.due_on is None:
        return []
    days = (today - duty.due_on).days
    if state == "overdue":
        return [
            Reason("due", f"{duty.activity} of {item.asset_no} is overdue since {duty.due_on}", f"{days} days late",
                   f"due {duty.due_on}, every {duty.every}", duty.source, duty.record,
                   f"have the {duty.activity} done and file the evidence")
        ]  # fmt: skip
    if state == "due soon":
        return [
            Reason("due", f"{duty.activity} of {item.asset_no} is due on {duty.due_on}", f"in {-days} days",
                   f"due {duty.due_on}, every {duty.every}", duty.source, duty.record, f"plan the {duty.activity}",
                   Weight.ADVISES)
        ]  # fmt: skip
    return []


def _point_reasons(
    item: ItemFacts, point: CertifiedPoint, needs: ProcedureNeeds | None, struck: list[str]
) -> list[Reason]:
    if point.lower is None and point.upper is None:
        return []
    what = f"notch {point.notch}" if point.notch else point.quantity
    figure = f"{plain(point.value)} {point.unit}"
    if point.expanded_uncertainty is not None:
        k = f", k = {plain(point.coverage_factor)}" if point.coverage_factor is not None else ""
        figure += f" (U = {plain(point.expanded_uncertainty)} {point.unit}{k})"
    limit = _window(point.lower, point.upper, point.unit)
    outcome = _outcome(point)
    if not point.decision_rule and outcome == "pass":
        return [
            Reason("conformity", f"{what} of {item.asset_no} has limits but no decision rule; it was not judged", figure, limit,
                   point.limit_source, point.record, "name the decision rule on the certificate", Weight.ADVISES)
        ]  # fmt: skip
    if outcome == "pass":
        return []
    rule = (
        f"{outcome} by the rule '{point.decision_rule}'"
        if point.decision_rule
        else "outside, no decision rule is named"
    )
    says = f"{what} of {item.asset_no} does not conform ({point.quantity}, {rule})"
    if outcome == "conditional pass":
        return [Reason("conformity", says, figure, limit, point.limit_source, point.record, "watch it at the next calibration",
                       Weight.ADVISES)]  # fmt: skip
    if not point.notch:
        return [Reason("conformity", says, figure, limit, point.limit_source, point.record, "take another item")]
    struck.append(f"notch {point.notch}")
    needed = needs is not None and key(point.notch) in {key(n) for n in needs.notches}
    if needed:
        assert needs is not None
        return [Reason("conformity", f"{says}, and {needs.name} needs it", figure, limit, point.limit_source, point.record,
                       "take a block whose notch conforms")]  # fmt: skip
    return [
        Reason(
            "conformity", says, figure, limit, point.limit_source, point.record, "do not use this notch", Weight.LIMITS
        )
    ]


def following(point: CertifiedPoint, before: CertifiedPoint | None) -> CertifiedPoint:
    """Return a newer value with the limits of the one before where its own paper has none: limits are not lost by silence."""
    if before is None or point.lower is not None or point.upper is not None:
        return point
    return replace(
        point,
        lower=before.lower,
        upper=before.upper,
        limit_source=f"{before.limit_source}, from {before.record}" if before.limit_source else "",
        decision_rule=point.decision_rule or before.decision_rule,
        guard_ratio=point.guard_ratio if point.decision_rule else before.guard_ratio,
    )


def _outcome(point: CertifiedPoint) -> str:
    """Return the decision on a point. Simple acceptance needs no uncertainty; the other rules are not filed without it."""
    lower = None if point.lower is None else float(point.lower)
    upper = None if point.upper is None else float(point.upper)
    if not point.decision_rule or point.expanded_uncertainty is None or point.coverage_factor is None:
        inside = (point.lower is None or point.value >= point.lower) and (
            point.upper is None or point.value <= point.upper
        )
        return "pass" if inside else "fail"
    return decide(
        float(point.value),
        float(point.expanded_uncertainty),
        float(point.coverage_factor),
        cast(Rule, point.decision_rule),
        lower=lower,
        upper=upper,
        ratio=None if point.guard_ratio is None else float(point.guard_ratio),
    ).outcome


def _finding_reasons(item: ItemFacts, struck: list[str]) -> list[Reason]:
    reasons = []
    for finding in item.findings:
        record = f"finding {finding.number}"
        if not finding.setup:
            reasons.append(
                Reason("finding", f"{item.asset_no} is held: {finding.says}", record=record,
                       cure="decide the finding, then have it released by someone with the authority")
            )  # fmt: skip
        elif finding.cleared_by:
            reasons.append(
                Reason("setup hold", f"setup {finding.setup} failed a check and was checked acceptable again ({finding.cleared_by})",
                       record=record, cure="decide the held lots", weight=Weight.ADVISES)
            )  # fmt: skip
        else:
            struck.append(f"setup {finding.setup}")
            reasons.append(
                Reason("setup hold", f"{item.asset_no} is part of setup {finding.setup}, which is held: {finding.says}", record=record,
                       cure="use it in another setup, or make a new acceptable start check", weight=Weight.LIMITS)
            )  # fmt: skip
    return reasons


def _window(lower: Decimal | None, upper: Decimal | None, unit: str) -> str:
    if lower is not None and upper is not None:
        return f"{plain(lower)} to {plain(upper)} {unit}"
    return f"at least {plain(lower)} {unit}" if lower is not None else f"at most {plain(upper or Decimal())} {unit}"
