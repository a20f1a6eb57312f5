"""Do an item's papers agree with each other? Each is held against the one before; a disagreement of a block opens a finding."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import func, select

from refstd.desk.happened import events_of
from refstd.desk.holds import keep_finding
from refstd.desk.papers import standing_certificates, values_of
from refstd.register.certificates import Certificate
from refstd.register.equipment import Equipment, Notch
from refstd.register.findings import Finding, FindingAction
from refstd.register.lab import Change, Look
from refstd.rules.agreement import LIMIT, SOURCE, Agreement, Measured, Question, agreements, questions

CAUSE = "certificates disagree"
__all__ = [
    "CAUSE",
    "LIMIT",
    "Agreement",
    "BothPapers",
    "PaperSide",
    "Question",
    "agreements_of",
    "agreements_with",
    "both_papers",
    "papers_asked",
    "question_papers",
]


@dataclass(frozen=True, slots=True)
class PaperSide:
    """One of two papers that are held against each other, in its own words."""

    number: str
    activity: str
    laboratory: str
    method: str
    place: str
    performed_on: str
    temperature_c: str
    environment: str
    traceability: str
    in_force: bool


@dataclass(frozen=True, slots=True)
class BothPapers:
    """Two papers of an item side by side: what each says of the same things, and the usual causes as questions.

    `rows` are all values that both have, those that disagree first; `limit` and `source` are those of |E_n|.
    """

    asset_no: str
    earlier: PaperSide
    later: PaperSide
    rows: tuple[Agreement, ...]
    questions: tuple[Question, ...]
    limit: str = str(LIMIT)
    source: str = SOURCE

    def in_words(self) -> tuple[str, ...]:
        """Return both papers, each value of both, and the questions, one a line."""
        return (
            *(
                f"{when}: certificate {p.number} of {p.performed_on}, {p.laboratory}" + (f", {p.method}" if p.method else "")
                for when, p in (("earlier", self.earlier), ("later", self.later))
            ),
            *(row.in_words() for row in self.rows),
            *(f"{q.asks} {f'On record: {q.on_record}.' if q.on_record else ''}".strip() for q in self.questions),
        )  # fmt: skip


def agreements_of(look: Look, equipment_id: int) -> tuple[Agreement, ...]:
    """Return each paper of an item in force against the newest one before it that has the same thing, oldest first."""
    labels = _labels(look, equipment_id)
    return agreements(_measured(look, p, labels) for p in standing_certificates(look, equipment_id))


def agreements_with(look: Look, certificate: Certificate) -> tuple[Agreement, ...]:
    """Return how a paper in force agrees with the one before it, and with the next where it is not the newest."""
    own = certificate.id
    every = agreements_of(look, certificate.equipment_id)
    return tuple(a for a in every if own in (a.earlier.certificate_id, a.later.certificate_id))


def question_papers(change: Change, item: Equipment) -> tuple[str, ...]:
    """Open a finding for every two papers in force of a block that disagree and that no finding asks about yet.

    A paper corrected while the finding is open belongs to that finding: it is noted there, and no second one is opened.

    To be asked after a paper was filed, corrected or withdrawn; returns the findings' numbers. An instrument or a probe
    moves between two calibrations by its nature, and its limits judge that; a notch does not.
    """
    if item.kind != "block":
        return ()
    apart: dict[tuple[int, int], list[Agreement]] = {}
    for a in agreements_of(change, item.id):
        if a.disagrees:
            apart.setdefault((a.earlier.certificate_id, a.later.certificate_id), []).append(a)
    mine = (Finding.cause == CAUSE, Certificate.equipment_id == item.id)
    asked = select(Finding).join(Certificate, Certificate.id == Finding.certificate_id).where(*mine)
    known: set[tuple[int | None, int | None]] = set()
    for finding in change.session.execute(asked).scalars().all():
        earlier, later = papers_asked(change, finding)
        known |= {(finding.earlier_certificate_id, finding.certificate_id), (earlier.id, later.id)}
        _note_correction(change, finding, earlier, later, apart.get((earlier.id, later.id), []))
    return tuple(_opened(change, item, pair, rows) for pair, rows in apart.items() if pair not in known)


def papers_asked(look: Look, finding: Finding) -> tuple[Certificate, Certificate]:
    """Return the two papers that a finding is about, each as last corrected or withdrawn before the finding was released.

    While it is open a correction belongs to the same question; what is corrected after the release is a new one.
    """
    ended = look.session.execute(
        select(func.min(FindingAction.entry)).where(
            FindingAction.finding_id == finding.id, FindingAction.kind == "release", FindingAction.entry <= look.upto
        )
    ).scalar_one()
    until = look.upto if ended is None else ended - 1

    def last(number: int | None) -> Certificate:
        paper = look.session.get_one(Certificate, number)
        while True:
            later = select(Certificate).where(Certificate.supersedes_id == paper.id, Certificate.entry <= until)
            after = look.session.execute(later).scalar_one_or_none()
            if after is None:
                return paper
            paper = after

    return last(finding.earlier_certificate_id), last(finding.certificate_id)


def _note_correction(
    change: Change, finding: Finding, earlier: Certificate, later: Certificate, rows: list[Agreement]
) -> None:
    """Tell on an open finding that this act corrects or withdraws one of its papers, and whether they still disagree."""
    for paper in (earlier, later):
        if paper.entry != change.upto or paper.supersedes_id is None:
            continue
        before = change.session.get_one(Certificate, paper.supersedes_id)
        says = f"certificate {before.number} is withdrawn ({paper.why.strip()})"
        if not paper.withdrawn:
            still = f"the two disagree still: {_where(rows)}" if rows else "the two do not disagree any more"
            says = f"certificate {before.number} is corrected by {paper.number} ({paper.why.strip()}); {still}"
        change.add(
            FindingAction(
                finding_id=finding.id, kind="note", person_id=change.by.person_id,
                authority=", ".join(sorted(change.by.authorities)), says=says, happened_at=change.instant,
            )
        )  # fmt: skip


def _where(rows: list[Agreement]) -> str:
    return ", ".join(f"{a.what} |E_n| = {a.figure()}" for a in rows)


def _opened(change: Change, item: Equipment, pair: tuple[int, int], rows: list[Agreement]) -> str:
    earlier, later = (change.session.get_one(Certificate, number) for number in pair)
    says = (
        f"certificates {earlier.number} of {earlier.performed_on} and {later.number} of {later.performed_on} "
        f"of {item.asset_no} disagree: {_where(rows)}; limit {LIMIT} ({SOURCE})"
    )
    return keep_finding(change, CAUSE, says, certificate=later, earlier=earlier)


def both_papers(look: Look, earlier: Certificate, later: Certificate) -> BothPapers:
    """Return two papers of one item side by side."""
    item = look.session.get_one(Equipment, later.equipment_id)
    labels, standing = _labels(look, item.id), {p.id for p in standing_certificates(look, item.id)}
    before, after = _measured(look, earlier, labels), _measured(look, later, labels)
    rows = agreements([before, after])
    shared = [[a.earlier for a in rows], [a.later for a in rows]]
    return BothPapers(
        item.asset_no, _side(earlier, standing), _side(later, standing), tuple(sorted(rows, key=lambda a: not a.disagrees)),
        questions(shared[0] or before, shared[1] or after, _between(look, item, earlier, later)),
    )  # fmt: skip


def _side(p: Certificate, standing: Iterable[int]) -> PaperSide:
    return PaperSide(
        p.number, p.activity, p.laboratory, p.method, p.place, str(p.performed_on),
        format(p.temperature_c, "f") if p.temperature_c is not None else "", p.environment, p.traceability, p.id in standing,
    )  # fmt: skip


def _between(look: Look, item: Equipment, earlier: Certificate, later: Certificate) -> list[str]:
    """Return what is on record about the item from the day of the one paper to that of the other."""
    days = [(e, e.happened_at.astimezone(look.zone).date()) for e in events_of(look, [item.id])]
    return [
        f"{day} {e.in_words().partition(': ')[2]}"
        for e, day in days
        if earlier.performed_on <= day <= later.performed_on
    ]


def _labels(look: Look, equipment_id: int) -> dict[int, str]:
    return dict(look.session.execute(select(Notch.id, Notch.label).where(Notch.equipment_id == equipment_id)).all())


def _measured(look: Look, p: Certificate, labels: dict[int, str]) -> list[Measured]:
    return [
        Measured(
            labels[v.notch_id] if v.notch_id else "", v.quantity, v.stage, v.value, v.unit, v.expanded_uncertainty,
            v.coverage_factor, p.laboratory, v.method or p.method, v.point or p.place, f"certificate {p.number}", p.id, p.performed_on,
            p.adjusted,
        )
        for v in values_of(look, p.id)
    ]  # fmt: skip
