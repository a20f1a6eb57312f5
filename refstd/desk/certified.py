"""The certified values in force, with how each was judged when it was filed; and that judgement, made once, at filing."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from sqlalchemy import select

from refstd.desk.items import among
from refstd.desk.papers import certificates_in_force, papers_before
from refstd.register.certificates import Certificate, CertifiedValue, Conformity, Tolerance
from refstd.register.equipment import Equipment, Notch
from refstd.register.lab import Change, Look
from refstd.register.revisions import standing
from refstd.rules.certified import CertifiedPoint, points_in_force, with_limits_of
from refstd.rules.conformity import judge, rule_in_short
from refstd.rules.version import RULES_VERSION


def points_of(
    look: Look, certificates: Mapping[int, Sequence[Certificate]], ids: Collection[int] | None
) -> dict[int, tuple[CertifiedPoint, ...]]:
    """Return the certified values in force of each item. certificates: those in force, oldest first."""
    by_paper: dict[int, list[CertifiedValue]] = {}
    papers_asked = None if ids is None else [p.id for papers in certificates.values() for p in papers]
    mine = (CertifiedValue.entry <= look.upto, *among(CertifiedValue.certificate_id, papers_asked))
    for value in look.session.execute(select(CertifiedValue).where(*mine).order_by(CertifiedValue.id)).scalars():
        by_paper.setdefault(value.certificate_id, []).append(value)
    asked = None if ids is None else [v.id for values in by_paper.values() for v in values]
    judged = kept_outcomes(look, asked)
    notches = select(Notch.id, Notch.label).where(*among(Notch.equipment_id, ids))
    labels = dict(look.session.execute(notches).all())

    def as_filed(paper: Certificate, v: CertifiedValue) -> tuple[str, CertifiedPoint]:
        label = labels[v.notch_id] if v.notch_id else ""
        return v.stage, point_as_filed(paper, v, label, judged.get(v.id))

    found = {}
    for number, papers in certificates.items():
        points = points_in_force([as_filed(p, v) for v in by_paper.get(p.id, [])] for p in papers)
        # Every value with limits of its day was judged on filing: other limits came with a paper filed after it.
        found[number] = tuple(replace(p, late=not p.kept and p.limits_from != "") for p in points)
    return found


@dataclass(frozen=True, slots=True)
class KeptOutcome:
    """How a certified value was judged when it was filed, for good. says: rule with r, limits, probability and risk in words.

    conforming_percent: the probability of conformity in %, None without U and k. judged_at: when it was filed.
    """

    outcome: str  # pass, conditional pass, conditional fail, fail, not judged
    decision_rule: str
    guard_ratio: Decimal | None
    rule_source: str
    lower: Decimal | None
    upper: Decimal | None
    limit_source: str
    conforming_percent: Decimal | None
    says: str
    judged_at: datetime

    @property
    def in_short(self) -> str:
        """Return the rule with its r, and the probability of conformity P."""
        return rule_in_short(self.decision_rule, self.guard_ratio, self.conforming_percent)


def kept_outcome(c: Conformity) -> KeptOutcome:
    """Return a kept outcome as it is shown."""
    return KeptOutcome(
        c.outcome, c.decision_rule, c.guard_ratio, c.rule_source, c.lower_limit, c.upper_limit, c.limit_source, c.conforming_percent,
        c.says, c.recorded_at,
    )  # fmt: skip


def kept_outcomes(look: Look, values: Collection[int] | None) -> dict[int, Conformity]:
    """Return how certified values were judged when they were filed, by the internal id of the value."""
    kept = (Conformity.entry <= look.upto, *among(Conformity.certified_value_id, values))
    return {c.certified_value_id: c for c in look.session.execute(select(Conformity).where(*kept)).scalars()}


@dataclass(frozen=True, slots=True)
class JudgedKept:
    """How a certified value was judged when it was filed, with what it is of. `in_force`: its paper counts."""

    asset_no: str
    certificate: str
    in_force: bool
    notch: str
    quantity: str
    stage: str
    value: Decimal
    unit: str
    decision_rule: str
    guard_ratio: Decimal | None
    rule_source: str
    lower_limit: Decimal | None
    upper_limit: Decimal | None
    limit_source: str
    outcome: str
    conforming_percent: Decimal | None
    says: str
    rules_version: str
    recorded_at: datetime


def judged_in(look: Look) -> tuple[JudgedKept, ...]:
    """Return every kept outcome within a look, in the order of filing."""
    rows = look.session.execute(
        select(Conformity, CertifiedValue, Certificate, Equipment.asset_no, Notch.label)
        .join(CertifiedValue, CertifiedValue.id == Conformity.certified_value_id)
        .join(Certificate, Certificate.id == CertifiedValue.certificate_id)
        .join(Equipment, Equipment.id == Certificate.equipment_id)
        .outerjoin(Notch, Notch.id == CertifiedValue.notch_id)
        .where(Conformity.entry <= look.upto)
        .order_by(Conformity.id)
    )
    counts = {p.id for papers in certificates_in_force(look).values() for p in papers}
    return tuple(
        JudgedKept(
            asset_no, p.number, p.id in counts, label or "", v.quantity, v.stage, v.value, v.unit, c.decision_rule, c.guard_ratio,
            c.rule_source, c.lower_limit, c.upper_limit, c.limit_source, c.outcome, c.conforming_percent, c.says, c.rules_version,
            c.recorded_at,
        )
        for c, v, p, asset_no, label in rows
    )  # fmt: skip


def point_as_filed(paper: Certificate, v: CertifiedValue, notch: str, kept: Conformity | None) -> CertifiedPoint:
    """Return a value as printed, or with limits, rule and outcome as they were kept with it."""
    printed = CertifiedPoint(
        notch, v.quantity, v.value, v.unit, v.expanded_uncertainty, v.coverage_factor, v.lower_limit, v.upper_limit,
        v.limit_source, paper.decision_rule, paper.guard_ratio, f"certificate {paper.number}",
        adjusted_after=paper.adjusted and v.stage == "as found",
    )  # fmt: skip
    if kept is None:
        return printed
    elsewhere = "" if printed.limited else kept.limit_source  # told already: the source must not grow with every paper
    return replace(
        printed, lower=kept.lower_limit, upper=kept.upper_limit, limit_source=kept.limit_source, decision_rule=kept.decision_rule,
        guard_ratio=kept.guard_ratio, limits_from=elsewhere, kept=kept.outcome, conforming_percent=kept.conforming_percent,
    )  # fmt: skip


def keep_conformity(
    change: Change, item: Equipment, paper: Certificate, values: Sequence[tuple[CertifiedValue, str]]
) -> None:
    """Judge each value with limits, as the rules and tolerances of today have it, and keep the outcome. values: with the notch's label.

    Limits: the paper's, else the item's tolerance, else those in force. Rule: the paper's, else the tolerance's, else
    with limits that are carried the rule that they had.
    """
    papers = papers_before(change, paper, certificates_in_force(change, [item.id]).get(item.id, []))
    before = {p.place: p for p in points_of(change, {item.id: papers}, [item.id])[item.id]}
    printed = [(v, point_as_filed(paper, v, label, None)) for v, label in values]
    stated = {p.place: p for _, p in printed if p.limited}
    allowed = tolerances_of(change, item)
    for value, point in printed:
        tolerance = allowed.get(point.place)
        point = with_limits_of(point, stated.get(point.place))
        rule_source = point.record if point.decision_rule else ""
        if tolerance is not None:
            own = replace(tolerance, record=point.record)  # a tolerance is the item's, not an earlier paper's
            point = with_limits_of(point, own)
            if not point.decision_rule and own.decision_rule:
                point = replace(point, decision_rule=own.decision_rule, guard_ratio=own.guard_ratio)
            rule_source = rule_source or (tolerance.record if point.decision_rule else "")
        earlier = before.get(point.place)
        point = with_limits_of(point, earlier)
        if not point.limited:
            continue
        if earlier is not None and point.decision_rule and not rule_source:
            rule_source = f"as carried from {earlier.record}"
        judged = judge(point, rule_source)
        change.add(
            Conformity(
                certified_value_id=value.id, decision_rule=point.decision_rule, guard_ratio=point.guard_ratio, rule_source=rule_source,
                lower_limit=point.lower, upper_limit=point.upper, limit_source=point.limit_source, outcome=judged.outcome,
                conforming_percent=judged.conforming_percent, says=judged.says, rules_version=RULES_VERSION,
            )
        )  # fmt: skip


def tolerances_of(look: Look, item: Equipment) -> dict[tuple[str, str, str], CertifiedPoint]:
    """Return the tolerances in force of an item by place, each as a value with limits and rule, without a figure of its own."""
    rows = look.session.execute(
        standing(Tolerance, look.upto, Tolerance.equipment_id == item.id, Tolerance.active.is_(True))
    ).scalars()
    labels = dict(look.session.execute(select(Notch.id, Notch.label).where(Notch.equipment_id == item.id)).all())
    points = [
        CertifiedPoint(
            labels[r.notch_id] if r.notch_id else "", r.quantity, Decimal(), r.unit, None, None,
            r.lower_limit, r.upper_limit, r.source, r.decision_rule, r.guard_ratio, f"tolerance of {item.asset_no}, {r.source}",
        )
        for r in rows
    ]  # fmt: skip
    return {p.place: p for p in points}
