"""What a filed certificate changes: each value judged, the item's verdict, for which procedures it is out, checks, what is due."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import select

from refstd.base.errors import NotFound
from refstd.base.quantity import plain, with_unit
from refstd.base.text import key, safe
from refstd.desk.agreement import Agreement, agreements_with
from refstd.desk.certified import kept_outcomes, point_as_filed
from refstd.desk.depths import CheckUse, checks_on_values, depths_in_force
from refstd.desk.doubt import why_no_finding
from refstd.desk.duties import DueRow, due_row
from refstd.desk.findings import FindingShown, findings_of_paper
from refstd.desk.items import items_of
from refstd.desk.known import named
from refstd.desk.papers import papers_before, standing_certificates, values_of
from refstd.desk.procedures import procedures_in
from refstd.desk.serviceability import facts_of
from refstd.register.certificates import Certificate, CertifiedValue, Conformity
from refstd.register.equipment import Equipment, Notch
from refstd.register.lab import Lab, Look, When
from refstd.rules.agreement import LIMIT, SOURCE
from refstd.rules.certified import DEPTH, CertifiedPoint, late_in_words, quantity_key, with_limits_of
from refstd.rules.conformity import STRIKES, rule_in_short
from refstd.rules.serviceability import serviceability
from refstd.rules.verdict import Standing, Verdict


@dataclass(frozen=True, slots=True)
class ValueFiled:
    """A value as filed beside the nominal, and how it was judged. says: limits, rule and risk in words, '' without limits.

    outcome: '' where it has no limits. nominal_mm: the nominal depth of the notch, None for another quantity.
    """

    notch: str
    quantity: str
    stage: str
    nominal_mm: Decimal | None
    value: Decimal
    unit: str
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    coverage_probability_percent: Decimal | None
    lower: Decimal | None
    upper: Decimal | None
    limit_source: str
    decision_rule: str
    guard_ratio: Decimal | None
    rule_source: str
    outcome: str
    conforming_percent: Decimal | None
    says: str

    @property
    def what(self) -> str:
        return f"notch {self.notch}, {self.quantity}" if self.notch else self.quantity

    @property
    def judged_in_short(self) -> str:
        """Return the rule with its r, and the probability of conformity P; '' without limits."""
        return rule_in_short(self.decision_rule, self.guard_ratio, self.conforming_percent) if self.outcome else ""

    def in_words(self) -> str:
        """Return the value in one line: nominal, measured, U with k, and how it was judged."""
        nominal = "" if self.nominal_mm is None else f"nominal {plain(self.nominal_mm)} mm, "
        u, k, p = self.expanded_uncertainty, self.coverage_factor, self.coverage_probability_percent
        spread = "no U" if u is None else f"U = {with_unit(plain(u), self.unit)}"
        spread += f", k = {plain(k)}" if k is not None else "" if u is None else ", k not given"
        spread += f", {plain(p)} %" if p is not None else ""
        judged = self.says or "no limits, not judged"
        return f"{self.what}: {nominal}{self.stage} {with_unit(plain(self.value), self.unit)} ({spread}): {judged}"


@dataclass(frozen=True, slots=True)
class OutFor:
    """A procedure in force for which the item may not be used, and why, where it is not out altogether."""

    code: str
    procedure: str
    why: str


@dataclass(frozen=True, slots=True)
class Filed:
    """The answer to filing a certificate. earlier: the certificate before with values of these notches, '' for none.

    out_for: procedures that this item is out for besides what its verdict says. checks: those with a reading that rests on
    the depth that this paper takes the place of. due: what is owed, with its state. agreements: each value that came
    in against the one that went out with the paper before, and the same against the paper after if there is one.
    """

    asset_no: str
    number: str
    activity: str
    earlier: str
    values: tuple[ValueFiled, ...]
    verdict: Verdict
    out_for: tuple[OutFor, ...]
    checks: tuple[CheckUse, ...]
    due: tuple[DueRow, ...]
    agreements: tuple[Agreement, ...]
    findings: tuple[FindingShown, ...] = ()  # that it opened
    in_doubt: str = ""  # why no finding was opened though it found the item out of tolerance

    @property
    def not_conforming(self) -> tuple[ValueFiled, ...]:
        return tuple(v for v in self.values if v.outcome in STRIKES)

    def in_words(self) -> tuple[str, ...]:
        """Return the answer line by line."""
        lines = [v.in_words() for v in self.values]
        lines += [a.in_words() for a in self.agreements]
        lines += [f.in_a_line() for f in self.findings]
        lines += [self.in_doubt] if self.in_doubt else []
        lines.append(self.verdict.headline())
        lines += [f"out for {o.procedure}: {o.why}" for o in self.out_for]
        if self.checks:
            used = ", ".join(f"{c.number} ({', '.join(c.notches)})" for c in self.checks)
            many = "1 check" if len(self.checks) == 1 else f"{len(self.checks)} checks"
            lines.append(f"{many} used the depths from before: {used}")
        elif any(v.nominal_mm is not None for v in self.values) and self.earlier:
            lines.append("no check used the depths from before")
        for row in self.due:
            day = f"due {row.due_on}" if row.due_on else "no date by the calendar"
            put_off = f", deferred to {row.deferred_to} by {row.deferral}" if row.deferred_to else ""
            used = f", {row.uses}" if row.uses else ""
            lines.append(f"{row.activity}: {day}{put_off}{used}, {row.state}, {row.how_often} ({row.source})")
        if not self.due:
            lines.append("nothing is scheduled for it")
        return tuple(lines)

    def as_dict(self) -> dict[str, object]:
        """Return the answer as JSON has it."""
        return {
            "schema": "refstd.filed/1", "item": self.asset_no, "certificate": self.number, "activity": self.activity,
            "earlier": self.earlier, "values": [{n: getattr(v, n) for n in _FIELDS} for v in self.values],
            "agreements": [
                {"what": a.what, "earlier": a.earlier.certificate, "later": a.later.certificate, "outcome": a.outcome, "e_n": a.e_n,
                 "limit": str(LIMIT), "source": SOURCE, "says": a.in_words()}
                for a in self.agreements
            ],
            "findings": [
                {"finding": f.number, "cause": f.cause, "says": f.says, "holds": list(f.holds())} for f in self.findings
            ],
            "in_doubt": self.in_doubt, "standing": self.verdict.standing, "headline": self.verdict.headline(),
            "out_for": [{"procedure": o.procedure, "why": o.why} for o in self.out_for],
            "checks": [
                {"number": c.number, "happened_at": c.happened_at.isoformat(), "outcome": c.outcome, "notches": list(c.notches)}
                for c in self.checks
            ],
            "due": [
                {"activity": r.activity, "due_on": str(r.due_on) if r.due_on else None,
                 "deferred_to": str(r.deferred_to) if r.deferred_to else None, "state": r.state, "how_often": r.how_often,
                 "source": r.source}
                for r in self.due
            ],
        }  # fmt: skip


_FIELDS = tuple(ValueFiled.__dataclass_fields__)


def filed(lab: Lab, asset_no: str, number: str, when: When) -> Filed:
    """Return what a certificate in force changes, as it stands at a moment."""
    with lab.look(when) as look:
        item = named(look, Equipment, asset_no)
        papers = standing_certificates(look, item.id)
        paper = next((p for p in papers if key(p.number) == key(number)), None)
        if paper is None:
            raise NotFound(
                f"{item.asset_no} has no certificate {safe(number)} in force", "", f"See `refstd show {item.asset_no}`."
            )
        return _filed(look, item, paper, papers)


def _filed(look: Look, item: Equipment, paper: Certificate, papers: Sequence[Certificate]) -> Filed:
    values = values_of(look, paper.id)
    judged = kept_outcomes(look, [v.id for v in values])
    shown = items_of(look, [item.id])[item.id]
    labels = dict(look.session.execute(select(Notch.id, Notch.label).where(Notch.equipment_id == item.id)).all())
    nominal = {key(n.label): n.depth_mm for n in shown.notches}
    facts = facts_of(look, [item.id])[item.id]
    verdict = serviceability(facts, look.today, look.due_soon_days)
    earlier = _earlier(look, paper, papers, values)
    late = _late(paper, [v for v in values if v.id not in judged], labels, facts.points)
    return Filed(
        item.asset_no, paper.number, paper.activity, earlier.number if earlier else "",
        tuple(_value(v, labels[v.notch_id] if v.notch_id else "", nominal, judged.get(v.id), late.get(v.id, "")) for v in values), verdict,
        _out_for(look, item, verdict), _checks_then(look, paper, earlier, papers, values),
        tuple(due_row(look, shown, duty, verdict) for duty in facts.duties),
        agreements_with(look, paper), findings_of_paper(look, paper), why_no_finding(look, paper),
    )  # fmt: skip


def _late(
    paper: Certificate, values: Sequence[CertifiedValue], labels: Mapping[int, str], points: Sequence[CertifiedPoint]
) -> dict[int, str]:
    """Return what the verdict says of values that have limits only from a paper that was filed after theirs."""
    limits = {p.place: p for p in points if p.late and p.record == f"certificate {paper.number}"}
    said = {}
    for v in values:
        point = point_as_filed(paper, v, labels[v.notch_id] if v.notch_id else "", None)
        if point.place in limits:
            said[v.id] = late_in_words(with_limits_of(point, limits[point.place]))
    return said


def _value(
    v: CertifiedValue, notch: str, nominal: dict[str, Decimal], kept: Conformity | None, late: str
) -> ValueFiled:
    depth = nominal.get(key(notch)) if notch and quantity_key(v.quantity) == DEPTH else None
    head = (notch, v.quantity, v.stage, depth, v.value, v.unit, v.expanded_uncertainty, v.coverage_factor)
    probability = v.coverage_probability_percent
    if kept is None:
        return ValueFiled(
            *head, probability, v.lower_limit, v.upper_limit, v.limit_source, "", None, "", "", None, late
        )
    return ValueFiled(
        *head, probability, kept.lower_limit, kept.upper_limit, kept.limit_source, kept.decision_rule, kept.guard_ratio,
        kept.rule_source, kept.outcome, kept.conforming_percent, kept.says,
    )  # fmt: skip


def _out_for(look: Look, item: Equipment, verdict: Verdict) -> tuple[OutFor, ...]:
    """Return the procedures in force that need what the item cannot give, where it is not out for all."""
    if verdict.standing == Standing.DO_NOT_USE:
        return ()
    facts = facts_of(look, [item.id])[item.id]
    out = []
    for procedure in procedures_in(look):
        asked = serviceability(facts, look.today, look.due_soon_days, procedure.needs)
        if asked.standing == Standing.DO_NOT_USE:
            out.append(OutFor(procedure.code, procedure.name, asked.headline()))
    return tuple(out)


def _earlier(
    look: Look, paper: Certificate, papers: Sequence[Certificate], values: Sequence[CertifiedValue]
) -> Certificate | None:
    """Return the newest certificate before, superseded by this one or older in force, with a value of one of its notches."""
    own = {v.notch_id for v in values}
    if paper.supersedes_id is not None:
        return look.session.get_one(Certificate, paper.supersedes_id)
    before = papers_before(look, paper, papers)
    return next((p for p in reversed(before) if own & {v.notch_id for v in values_of(look, p.id)}), None)


def _checks_then(
    look: Look, paper: Certificate, earlier: Certificate | None, papers: Sequence[Certificate], values: Sequence[CertifiedValue]
) -> tuple[CheckUse, ...]:  # fmt: skip
    """Return the checks with a reading that rests on the depth of a notch that a value of the paper takes the place of."""
    measured = {v.notch_id for v in values if v.notch_id is not None and quantity_key(v.quantity) == DEPTH}
    before = papers_before(look, paper, papers)
    if earlier is not None and paper.supersedes_id is not None:
        before.append(earlier)
    was = depths_in_force(before, look, date.max)
    return checks_on_values(look, [value for notch, value in was.items() if notch in measured])
