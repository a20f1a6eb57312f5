"""What was done with an item in the stretch in which it was out of tolerance; opening the finding and holding the lots."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from sqlalchemy import ColumnElement, or_, select, tuple_

from refstd.base.text import key
from refstd.desk.found import Papers
from refstd.desk.holds import keep_finding
from refstd.register.certificates import Certificate
from refstd.register.checks import BlockComparison, Reading, ResponseCheck, Setup
from refstd.register.equipment import Equipment, Notch, ReceiptInspection, ReceiptPoint
from refstd.register.findings import ExaminedLot, Finding, FindingAction, FindingHold
from refstd.register.lab import Change, Look
from refstd.register.procedures import Job
from refstd.register.revisions import standing
from refstd.rules.asfound import FoundValue
from refstd.rules.certified import CertifiedPoint
from refstd.rules.lookback import OutOfTolerance, PaperSaid, out_of_tolerance
from refstd.rules.receipt import notch_point

CAUSE = "found out of tolerance"
CAUSES = (CAUSE, "does not agree with its primary", "not as ordered")
_DEPTH, _CONDUCTIVITY = "depth", "conductivity"


@dataclass(frozen=True, slots=True)
class Stretch:
    """The time in which what was done with an item is in doubt, the last instant included; since: None for all before.

    notches: internal ids of those that were out; none where it is about the whole item.
    """

    equipment_id: int
    since: datetime | None
    since_record: str
    until: datetime
    notches: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class CheckBetween:
    """A check made in a stretch: evidence for the decision; it does not shorten the stretch."""

    number: str
    happened_at: datetime
    occasion: str
    setup: str
    job: str
    outcome: str

    def in_words(self) -> str:
        job = f", job {self.job}" if self.job else ""
        return f"{self.occasion} check {self.number} on setup {self.setup}{job}: {self.outcome}"


@dataclass(frozen=True, slots=True)
class ComparisonBetween:
    """A comparison made in a stretch in which the item served as primary or as part of the system."""

    number: str
    happened_at: datetime
    secondary: str
    outcome: str

    def in_words(self) -> str:
        return f"comparison {self.number}: {self.secondary} {self.outcome}"


def question_out_of_tolerance(change: Change, item: Equipment, paper: Certificate, before: Certificate | None) -> str:
    """Open the finding of a calibration or verification just filed that found its item out of tolerance; '' for none.

    before: the paper that it corrects. It is asked where a paper before says something, or something was done with the
    item: of a new item nothing is in doubt. A correction that found the same again opens no second finding.
    """
    out = _out(change, paper)
    if out is None or (before is not None and _same(out, _out(change, before))):
        return ""
    stretch = _stretch(change, paper, out, change.instant)
    papers = [p for p in _papers(change, paper) if p.done_on < out.paper.done_on and (p.left or p.whole is not None)]
    if not papers and not checks_in(change, stretch) and not comparisons_in(change, stretch):
        return ""
    since = (
        f"what was done with it since {out.since.record} of {out.since.done_on} is in doubt"
        if out.since
        else "no paper before shows it in tolerance: all that was done with it before is in doubt"
    )
    says = f"{item.asset_no} was found out of tolerance by {out.paper.record} of {out.paper.done_on}: {out.paper.in_words()}; {since}"
    return keep_finding(change, CAUSE, says, certificate=paper)


NOTHING_IN_DOUBT = (
    "found out of tolerance, and no finding was opened: no paper before says anything of it, and no check or comparison "
    "with it was on record"
)


def why_no_finding(look: Look, paper: Certificate) -> str:
    """Return why a calibration or verification that found its item out of tolerance opened no finding; '' where it need not be said.

    What was written down since with a time before it is named: then somebody must look.
    """
    if paper.activity not in ("calibration", "verification") or paper.supersedes_id is not None:
        return ""
    out = _out(look, paper)
    asked = select(Finding.id).where(
        Finding.certificate_id == paper.id, Finding.cause == CAUSE, Finding.entry <= look.upto
    )
    if out is None or look.session.execute(asked.limit(1)).first():
        return ""
    stretch = _stretch(look, paper, out, paper.recorded_at)
    late = [c.in_words() for c in checks_in(look, stretch)]
    late += [c.in_words() for c in comparisons_in(look, stretch)]
    if not late:
        return NOTHING_IN_DOUBT
    return f"{NOTHING_IN_DOUBT}; written down since, from before it: {'; '.join(late)}. Open a finding on the item"


def hold_what_is_in_doubt(change: Change, equipment_ids: Collection[int]) -> tuple[str, ...]:
    """Hold each lot in the stretch of an item found out of tolerance that its finding does not hold yet; the findings' numbers.

    To be asked whenever a paper, a lot or a check is put on record. A finding that is decided or released was so without
    these lots: another one of the same paper holds them.
    """
    asked = (
        select(Finding, Certificate)
        .join(Certificate, Certificate.id == Finding.certificate_id)
        .where(Finding.cause.in_(CAUSES), Certificate.equipment_id.in_(equipment_ids))
        .order_by(Finding.id)
    )
    of_paper: dict[int, list[Finding]] = {}
    papers: dict[int, Certificate] = {}
    for finding, paper in change.session.execute(asked):
        of_paper.setdefault(paper.id, []).append(finding)
        papers[paper.id] = paper
    told = []
    for number, findings in of_paper.items():
        stretch = stretch_of(change, findings[0]) if _still_out(change, papers[number]) else None
        ids = [f.id for f in findings]
        held = set(change.session.execute(select(FindingHold.lot_id).where(FindingHold.finding_id.in_(ids))).scalars())
        lots = tuple(x for x in lots_in(change, stretch) if x.id not in held) if stretch else ()
        if lots:
            told.append(_held_by(change, findings, papers[number], lots))
    return tuple(told)


def _held_by(change: Change, findings: list[Finding], paper: Certificate, lots: tuple[ExaminedLot, ...]) -> str:
    decided = set(
        change.session.execute(select(FindingAction.finding_id).where(FindingAction.kind != "note")).scalars()
    )
    waiting = next((f for f in findings if f.id not in decided), None)
    if waiting is None:
        says = f"more lots are in doubt than were known when {findings[-1].number} was decided: {findings[0].says}"
        return keep_finding(change, findings[0].cause, says, certificate=paper, lots=lots)
    for lot in lots:
        change.add(FindingHold(finding_id=waiting.id, lot_id=lot.id))
    return waiting.number


def stretch_of(look: Look, finding: Finding) -> Stretch | None:
    """Return the stretch that a finding puts in doubt whose paper found its item out of tolerance, or None."""
    paper = look.session.get(Certificate, finding.certificate_id) if finding.certificate_id else None
    if paper is None or finding.cause not in CAUSES:
        return None
    out = _out(look, paper)
    return _stretch(look, paper, out, finding.happened_at) if out else None


def _stretch(look: Look, paper: Certificate, out: OutOfTolerance, found_at: datetime) -> Stretch:
    """Return the stretch in instants: from the beginning of the day of the good paper before, to the end of that after."""

    def beginning(p: PaperSaid, days: int = 0) -> datetime:
        return datetime.combine(p.done_on + timedelta(days=days), time(), look.zone)

    ids = {
        key(n.label): n.id
        for n in look.session.execute(select(Notch).where(Notch.equipment_id == paper.equipment_id)).scalars()
    }
    until = min(found_at, beginning(out.until, 1)) if out.until else found_at
    return Stretch(
        paper.equipment_id, beginning(out.since) if out.since else None,
        f"{out.since.record} of {out.since.done_on}, which left it in tolerance" if out.since else "",
        until, tuple(ids[key(n)] for n in out.notches),
    )  # fmt: skip


def lots_in(look: Look, stretch: Stretch) -> tuple[ExaminedLot, ...]:
    """Return the lots examined in a stretch with a kit of the item, on a job on which one of the notches was read."""
    pairs = select(ResponseCheck.job_id, ResponseCheck.setup_id).where(*_with_item(look, stretch), *_read(stretch))
    return tuple(
        look.session.execute(
            select(ExaminedLot)
            .join(ResponseCheck, ResponseCheck.id == ExaminedLot.start_check_id)
            .where(
                ExaminedLot.entry <= look.upto,
                *_during(stretch, ExaminedLot.happened_at),
                tuple_(ResponseCheck.job_id, ResponseCheck.setup_id).in_(pairs),
            )
            .order_by(ExaminedLot.happened_at, ExaminedLot.id)
        ).scalars()
    )


def checks_in(look: Look, stretch: Stretch) -> tuple[CheckBetween, ...]:
    """Return the checks of a stretch with the item that read one of the notches and that nothing supersedes, oldest first."""
    mine = (*_with_item(look, stretch), *_read(stretch), *_during(stretch, ResponseCheck.happened_at))
    return checks_between(look, *mine)


def checks_between(look: Look, *conditions: ColumnElement[bool]) -> tuple[CheckBetween, ...]:
    """Return the checks that nothing supersedes and that meet all conditions, oldest first."""
    rows = look.session.execute(
        standing(ResponseCheck, look.upto, *conditions).order_by(None).order_by(ResponseCheck.happened_at, ResponseCheck.id)
    ).scalars()  # fmt: skip
    return tuple(
        CheckBetween(
            c.number, c.happened_at, c.occasion, look.session.get_one(Setup, c.setup_id).number,
            look.session.get_one(Job, c.job_id).number if c.job_id else "", c.outcome,
        )
        for c in rows
    )  # fmt: skip


def comparisons_in(look: Look, stretch: Stretch) -> tuple[ComparisonBetween, ...]:
    """Return the comparisons of a stretch that the item served, other than as the secondary, oldest first."""
    c = BlockComparison
    served = or_(*(x == stretch.equipment_id for x in (c.primary_id, c.instrument_id, c.probe_id, c.cable_id)))
    rows = look.session.execute(
        standing(c, look.upto, served, *_during(stretch, c.happened_at)).order_by(None).order_by(c.happened_at, c.id)
    ).scalars()
    return tuple(
        ComparisonBetween(r.number, r.happened_at, look.session.get_one(Equipment, r.secondary_id).asset_no, r.outcome)
        for r in rows
    )


def _with_item(look: Look, stretch: Stretch) -> tuple[ColumnElement[bool], ...]:
    own = stretch.equipment_id
    setups = select(Setup.id).where(or_(Setup.block_id == own, Setup.probe_id == own, Setup.instrument_id == own))
    check = ResponseCheck
    return (
        check.entry <= look.upto,
        or_(check.setup_id.in_(setups), check.cable_id == own, check.adapter_id == own),
    )


def _read(stretch: Stretch) -> tuple[ColumnElement[bool], ...]:
    if not stretch.notches:
        return ()
    return (ResponseCheck.id.in_(select(Reading.check_id).where(Reading.notch_id.in_(stretch.notches))),)


def _during(stretch: Stretch, moment: Any) -> tuple[ColumnElement[bool], ...]:
    return (moment <= stretch.until, *(() if stretch.since is None else (moment >= stretch.since,)))


def _out(look: Look, paper: Certificate) -> OutOfTolerance | None:
    return out_of_tolerance(_papers(look, paper), paper.id)


def _papers(look: Look, paper: Certificate) -> tuple[PaperSaid, ...]:
    """Return what the papers of an item say, its receipt inspections by the points that were measured."""
    said = Papers(look, [paper.equipment_id], paper).said(paper.equipment_id)
    measured = _measured_on_receipt(look, paper.equipment_id)
    return tuple(
        PaperSaid(p.certificate_id, p.record, p.done_on, tuple(v for v, _ in found), tuple(v for v, own in found if own))
        if (found := measured.get(p.certificate_id))
        else p
        for p in said
    )  # fmt: skip


def _measured_on_receipt(look: Look, equipment_id: int) -> dict[int, list[tuple[FoundValue, bool]]]:
    """Return the measured points of an item's receipts by paper; each with whether it may show the item right.

    What a certificate states, a depth or a conductivity, only a certificate shows right again.
    """
    labels = {
        notch_point(n): n
        for n in look.session.execute(select(Notch.label).where(Notch.equipment_id == equipment_id)).scalars()
    }
    rows = look.session.execute(
        select(ReceiptPoint, ReceiptInspection.certificate_id)
        .join(ReceiptInspection, ReceiptInspection.id == ReceiptPoint.receipt_inspection_id)
        .where(
            ReceiptInspection.equipment_id == equipment_id,
            ReceiptInspection.entry <= look.upto,
            ReceiptPoint.value.is_not(None),
        )
        .order_by(ReceiptPoint.id)
    )
    found: dict[int, list[tuple[FoundValue, bool]]] = {}
    for p, number in rows:
        assert p.value is not None
        notch = labels.get(p.asked, "")
        point = CertifiedPoint(
            notch, _DEPTH if notch else p.asked, p.value, p.unit, None, None, p.lower_limit, p.upper_limit, p.limit_source, "", None, "",
        )  # fmt: skip
        found.setdefault(number, []).append((FoundValue(point), not notch and p.asked != _CONDUCTIVITY))
    return found


def _still_out(look: Look, paper: Certificate) -> bool:
    """Return whether a paper, or what corrected it last, still says that the item was found out of tolerance."""
    last: Certificate | None = paper
    while last is not None:
        paper = last
        last = look.session.execute(
            select(Certificate).where(Certificate.supersedes_id == paper.id, Certificate.entry <= look.upto)
        ).scalar_one_or_none()
    return not paper.withdrawn and _out(look, paper) is not None


def _same(one: OutOfTolerance, other: OutOfTolerance | None) -> bool:
    def facts(o: OutOfTolerance) -> Sequence[object]:
        return o.paper.done_on, o.paper.whole, [(v.place, v.point.value, v.point.unit) for v in o.paper.out]

    return other is not None and facts(one) == facts(other)
