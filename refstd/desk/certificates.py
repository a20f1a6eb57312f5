"""Certificates: filing a laboratory's evidence with its values and its paper, correcting and withdrawing it."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import AlreadyOnRecord, NotFound, Problem, Refusal
from refstd.base.text import key, safe
from refstd.desk.agreement import question_papers
from refstd.desk.certified import KeptOutcome, keep_conformity
from refstd.desk.depths import question_uses
from refstd.desk.doubt import hold_what_is_in_doubt, question_out_of_tolerance
from refstd.desk.entry import (
    AnyDecimal,
    Day,
    DecisionRule,
    Draft,
    NeededWords,
    Number,
    OptionalDay,
    OptionalDecimal,
    OptionalPositive,
    ValueUnit,
    Words,
    YesNo,
    refuse_if,
    row_from,
)
from refstd.desk.known import named, notches_of
from refstd.desk.papers import certificates_in_force as certificates_in_force
from refstd.desk.papers import standing_certificates as standing_certificates
from refstd.desk.papers import values_of as values_of
from refstd.desk.people import may
from refstd.register.certificates import Attachment, Certificate, CertifiedValue
from refstd.register.equipment import Equipment
from refstd.register.lab import Change, Lab, When
from refstd.register.revisions import standing
from refstd.rules.certified import DEPTH, quantity_key
from refstd.rules.conformity import limit_problems, rule_problems

LARGEST_PAPER = 10 * 1024 * 1024
KINDS_OF_PAPER = {
    b"%PDF-": "application/pdf",
    b"\x89PNG": "image/png",
    b"\xff\xd8\xff": "image/jpeg",
    b"<?xml": "text/xml",
}


class CertificateDraft(Draft):
    """A certificate, inspection or verification record to file."""

    asset_no: Number = Field(title="asset number")
    activity: Literal["calibration", "verification", "comparison", "inspection"] = "calibration"
    number: NeededWords = Field(title="certificate number")
    laboratory: NeededWords = Field(description="who did it: laboratory, or this lab")
    accreditation: Words = ""
    performed_on: Day
    issued_on: OptionalDay = None
    method: Words = Field("", description="method and place of measurement on the item")
    place: Words = ""
    temperature_c: OptionalDecimal = Field(None, title="temperature, °C")
    environment: Words = Field("", description="humidity and what else of the surroundings the paper states")
    traceability: Words = Field("", description="standards used and their certificates")
    adjusted: YesNo = False
    adjustment: Words = ""
    decision_rule: DecisionRule = Field("", description="none by default")
    guard_ratio: OptionalDecimal = Field(None, title="guard band ratio r (w = r·U)")
    result: Literal["", "sound", "not sound"] = ""


class ValueDraft(Draft):
    """One value of a certificate."""

    notch: Words = Field("", description="empty for a value of the whole item")
    quantity: NeededWords = Field("depth", description="such as depth, length, width, conductivity")
    stage: Literal["as found", "as left"] = "as left"
    value: AnyDecimal
    unit: ValueUnit = "mm"
    expanded_uncertainty: OptionalPositive = Field(None, title="expanded uncertainty U")
    coverage_factor: OptionalPositive = Field(None, title="coverage factor k")
    coverage_probability_percent: OptionalPositive = Field(None, title="coverage probability, %")
    method: Words = Field("", description="how this value was measured, where it differs from the paper's method")
    point: Words = Field("", description="where on the notch, such as: deepest, middle, 1 mm from the end")
    lower_limit: OptionalDecimal = None
    upper_limit: OptionalDecimal = None
    limit_source: Words = ""


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper to attach: its name as shown, its bytes; its media type where whoever read it knows it."""

    name: str
    content: bytes
    media_type: str = ""


@dataclass(frozen=True, slots=True)
class ValueShown:
    """A certified value as filed, and how it was judged then; None where it had no limits."""

    notch: str
    quantity: str
    stage: str
    value: Decimal
    unit: str
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    lower_limit: Decimal | None
    upper_limit: Decimal | None
    limit_source: str
    coverage_probability_percent: Decimal | None = None
    method: str = ""
    point: str = ""
    judged: KeptOutcome | None = None

    @property
    def is_depth(self) -> bool:
        return quantity_key(self.quantity) == DEPTH


def file_certificate(
    lab: Lab,
    draft: CertificateDraft,
    values: Sequence[ValueDraft] = (),
    paper: Paper | None = None,
    *,
    supersedes: str = "",
    why: str = "",
    by: str,
    now: datetime,
    operation: str = "",
) -> None:
    """File a certificate with its values and paper. `supersedes` corrects an earlier one (its number), with the reason."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "file a certificate")
        refuse_if(_unsaid(change, draft), f"certificate {draft.number}")
        keep_certificate(change, draft, values, paper, supersedes=supersedes, why=why)
        change.record("certificate filed", item=draft.asset_no, activity=draft.activity, number=draft.number)


def keep_certificate(
    change: Change,
    draft: CertificateDraft,
    values: Sequence[ValueDraft],
    paper: Paper | None = None,
    *,
    supersedes: str = "",
    why: str = "",
    withdrawn: bool = False,
) -> Certificate:
    """Add the rows of a certificate, how each of its values is judged, and the finding where it disagrees with another one."""
    item = named(change, Equipment, draft.asset_no)
    notches = notches_of(change, item.id)
    refuse_if(_problems(change, draft, values, {k: n.label for k, n in notches.items()}), f"certificate {draft.number}")
    before = _to_supersede(change, item, draft, supersedes, why)
    certificate = change.add(
        row_from(
            Certificate,
            draft,
            equipment_id=item.id,
            withdrawn=withdrawn,
            attachment_id=keep_paper(change, paper) if paper else None,
            supersedes_id=before.id if before else None,
            why=why,
            happened_at=change.instant,
        )
    )
    rows = []
    for value in values:
        notch = notches[key(value.notch)] if value.notch else None
        row = row_from(CertifiedValue, value, certificate_id=certificate.id, notch_id=notch.id if notch else None)
        rows.append((change.add(row), notch.label if notch else ""))
    keep_conformity(change, item, certificate, rows)
    question_papers(change, item)
    if before is not None:
        question_uses(change, item, before, certificate, why)
    if certificate.activity in ("calibration", "verification"):  # a comparison and a receipt open their own finding
        question_out_of_tolerance(change, item, certificate, before)
    hold_what_is_in_doubt(change, [item.id])
    return certificate


def withdraw_certificate(
    lab: Lab, asset_no: str, number: str, why: str, *, by: str, now: datetime, operation: str = ""
) -> None:
    """Withdraw a certificate: it stays on record and counts no longer."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "file a certificate")
        if not why.strip():
            raise Refusal("withdrawing needs a reason", number, "Give it with --why.")
        item = named(change, Equipment, asset_no)
        before = standing_of(change, item, number)
        if before is None:
            raise NotFound(
                f"{item.asset_no} has no certificate {safe(number)} in force", "", f"See `refstd show {item.asset_no}`."
            )
        keep_withdrawal(change, before, why)
        change.record("certificate withdrawn", item=item.asset_no, number=number, why=why.strip())


def keep_withdrawal(change: Change, before: Certificate, why: str) -> None:
    """Add the row that withdraws a certificate in force; those before and after it are held against each other now."""
    columns = {c.name: getattr(before, c.name) for c in Certificate.__table__.columns}
    columns |= {
        "id": None,
        "withdrawn": True,
        "supersedes_id": before.id,
        "why": why.strip(),
        "happened_at": change.instant,
    }
    change.add(Certificate(**columns))
    item = change.session.get_one(Equipment, before.equipment_id)
    question_papers(change, item)
    question_uses(change, item, before, None, why)
    hold_what_is_in_doubt(change, [item.id])


def paper_bytes(lab: Lab, sha256: str, when: When) -> tuple[str, bytes]:
    """Return name and bytes of an attached paper."""
    with lab.look(when) as look:
        attached = select(Attachment).where(Attachment.sha256 == sha256, Attachment.entry <= look.upto)
        row = look.session.execute(attached).scalar_one_or_none()
        if row is None:
            raise NotFound(
                "no paper with that hash is attached", safe(sha256)[:16], "See the item's record for its papers."
            )
        return row.name, row.content


def standing_of(change: Change, item: Equipment, number: str) -> Certificate | None:
    """Return an item's certificate in force by its number, or None."""
    rows = change.session.execute(
        standing(Certificate, change.upto, Certificate.equipment_id == item.id, Certificate.withdrawn.is_(False))
    ).scalars()
    return next((c for c in rows if key(c.number) == key(number)), None)


def _to_supersede(
    change: Change, item: Equipment, draft: CertificateDraft, supersedes: str, why: str
) -> Certificate | None:
    if not supersedes:
        if standing_of(change, item, draft.number) is not None:
            raise AlreadyOnRecord(
                f"{item.asset_no} has a certificate {draft.number} already",
                "",
                "To correct it, file it with --supersedes and a reason.",
            )
        return None
    before = standing_of(change, item, supersedes)
    if before is None:
        raise NotFound(
            f"{item.asset_no} has no certificate {safe(supersedes)} in force", "", f"See `refstd show {item.asset_no}`."
        )
    if not why.strip():
        raise Refusal("a correction needs a reason", draft.number, "Give it with --why.")
    other = standing_of(change, item, draft.number)
    if other is not None and other.id != before.id:
        raise AlreadyOnRecord(
            f"{item.asset_no} has another certificate {safe(draft.number)} in force, of {other.performed_on}",
            safe(supersedes),
            "Give the correction its own number, or correct or withdraw the other one.",
        )
    return before


def _unsaid(change: Change, draft: CertificateDraft) -> list[Problem]:
    """Return what is wrong with a paper that takes the place of one which says 'not sound', and says nothing of it itself.

    Silence never makes an item sound again; asked of whoever files by hand, as a file that is read in cannot be asked.
    """
    item = named(change, Equipment, draft.asset_no)
    papers = [p for p in standing_certificates(change, item.id) if p.activity == draft.activity and p.result]
    last = papers[-1] if papers else None
    if draft.result or last is None or last.result != "not sound" or draft.performed_on < last.performed_on:
        return []
    wrong = f"is empty, and {draft.activity} {last.number} of {last.performed_on} found {item.asset_no} not sound"
    return [Problem("result", wrong, "Say whether it is sound or not sound now, as the paper has it.")]


def _problems(
    change: Change, draft: CertificateDraft, values: Sequence[ValueDraft], notches: dict[str, str]
) -> list[Problem]:
    problems = []
    if draft.performed_on > change.today:
        problems.append(Problem("performed_on", f"{draft.performed_on} is in the future", "Give the day it was done."))
    if draft.issued_on is not None and draft.issued_on < draft.performed_on:
        problems.append(Problem("issued_on", "is before the day it was done", "Check both dates."))
    if draft.adjustment and not draft.adjusted:
        problems.append(Problem("adjusted", "says no, and an adjustment is described", "Say yes, or describe none."))
    problems += rule_problems(draft.decision_rule, draft.guard_ratio)
    for place, value in enumerate(values, start=1):
        where = f"value {place}"
        if value.notch and key(value.notch) not in notches:
            known = ", ".join(notches.values()) or "none"
            problems.append(
                Problem(where, f"{draft.asset_no} has no notch '{safe(value.notch)}'", f"Its notches: {known}.")
            )
        problems += limit_problems(value.lower_limit, value.upper_limit, f"{where}, lower_limit")
        if (value.lower_limit is not None or value.upper_limit is not None) and not value.limit_source:
            problems.append(Problem(where, "has a limit without its source", "Say where the limit comes from."))
        if draft.decision_rule in ("guard band", "iso 14253-1") and None in (
            value.expanded_uncertainty,
            value.coverage_factor,
        ):
            problems.append(Problem(where, f"the rule '{draft.decision_rule}' needs U and k", "Give both as printed."))
    return problems


def keep_paper(change: Change, paper: Paper) -> int:
    """Keep a paper once by its content and return its internal id; refuse one that is too large or of no known kind."""
    digest = hashlib.sha256(paper.content).hexdigest()
    row = change.session.execute(select(Attachment).where(Attachment.sha256 == digest)).scalar_one_or_none()
    if row is not None:
        return row.id
    if len(paper.content) > LARGEST_PAPER and not paper.media_type:
        raise Refusal("the paper is larger than 10 MB", safe(paper.name), "Scan it at a lower resolution.")
    media = paper.media_type or next(
        (m for start, m in KINDS_OF_PAPER.items() if paper.content.startswith(start)), None
    )
    if media is None:
        raise Refusal("the paper is not a PDF, PNG, JPEG or XML file", safe(paper.name), "Attach one of these.")
    name = safe(paper.name)[:100]
    return change.add(
        Attachment(sha256=digest, name=name, media_type=media, size=len(paper.content), content=paper.content)
    ).id
