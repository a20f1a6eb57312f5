"""Receipt inspection: what is asked of an item that has come in, what was found, and the item in service or held."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.base.quantity import plain, with_unit
from refstd.desk.certificates import CertificateDraft, keep_certificate
from refstd.desk.doubt import hold_what_is_in_doubt
from refstd.desk.entry import (
    Draft,
    NeededWords,
    Number,
    OptionalDecimal,
    OptionalNumber,
    Words,
    draft_or_refuse,
    instant_from_words,
    refuse_if,
    row_from,
)
from refstd.desk.findings import keep_finding
from refstd.desk.items import ItemShown, items_of
from refstd.desk.known import named, next_number
from refstd.desk.people import code_of, may
from refstd.desk.procedures import current_revision, procedure_shown
from refstd.desk.serviceability import facts_of
from refstd.desk.states import keep_state
from refstd.register.certificates import Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.equipment import Equipment, ReceiptInspection, ReceiptPoint
from refstd.register.findings import Finding
from refstd.register.lab import Change, Lab, Look, When
from refstd.rules.duties import AWAITING
from refstd.rules.receipt import (
    NOT_IN_ORDER,
    Answer,
    Point,
    PointResult,
    Received,
    inspect,
    limits_in_words,
    notch_point,
    points_of,
    received,
)

CAUSE = "not as ordered"


class ReceiptDraft(Draft):
    """A receipt inspection: of which item, ordered as what."""

    asset_no: Number = Field(title="asset number")
    ordered_as: NeededWords = Field(description="order, drawing or part number: what it is held against")
    check: OptionalNumber = Field(
        None, description="the response check on the house instrument and block, if one was made"
    )
    location: Words = Field("", description="where it is kept from now on; empty: where it is")
    happened_at: Words = Field("", description="instant; empty: now")
    note: Words = ""


class PointDraft(Draft):
    """What was found at one point. A measured one has value, unit, limits and their source; its outcome follows."""

    point: NeededWords
    outcome: Literal["", "in order", "not in order", "not looked at"] = Field(
        "", description="of a measured point: empty"
    )
    found: Words = Field("", description="what was seen; why it was not looked at")
    value: OptionalDecimal = None
    unit: Literal["", "mm", "µm", "%IACS", "MS/m", "dB", "°", "%", "div", "% FSH", "ratio"] = ""
    lower_limit: OptionalDecimal = None
    upper_limit: OptionalDecimal = None
    limit_source: Words = Field("", description="order, procedure and paragraph")


@dataclass(frozen=True, slots=True)
class PointAsked:
    """A point to answer, with what is on record to begin from: value, unit and limits with their source."""

    point: Point
    begin_from: dict[str, str]


@dataclass(frozen=True, slots=True)
class ReceiptSheet:
    """What is asked of an item that has come in."""

    item: ItemShown
    points: tuple[PointAsked, ...]


@dataclass(frozen=True, slots=True)
class PointShown:
    """A point as on record."""

    asked: str
    found: str
    value: Decimal | None
    unit: str
    lower: Decimal | None
    upper: Decimal | None
    limit_source: str
    outcome: str

    @property
    def limits(self) -> str:
        return limits_in_words(self.lower, self.upper, self.unit)

    def in_words(self) -> str:
        """Return the point in one line: what was found, against which limit from where."""
        shown = ""
        if self.value is not None:
            shown = f", {with_unit(plain(self.value), self.unit)} (limit {self.limits}, {self.limit_source})"
        return f"{self.asked}: {self.outcome}{shown}" + (f": {self.found}" if self.found else "")


@dataclass(frozen=True, slots=True)
class ReceiptShown:
    """A receipt inspection as on record."""

    asset_no: str
    ordered_as: str
    outcome: str
    points: tuple[PointShown, ...]
    person: str
    happened_at: datetime
    entry: int
    certificate: str
    finding: str
    check: str
    note: str

    def headline(self) -> str:
        """Return what it says in one line."""
        left = sum(p.outcome == "not looked at" for p in self.points)
        more = f"; {left} point{'s' if left != 1 else ''} not looked at" if left else ""
        held = f"; finding {self.finding} holds it" if self.finding else ""
        return f"{self.asset_no} is {self.outcome} ({self.ordered_as}){more}{held}"


def receipt_sheet(lab: Lab, asset_no: str, when: When, *, procedure: str = "") -> ReceiptSheet:
    """Return what is asked of an item, with values and limits that are on record, or refuse what awaits no receipt.

    procedure: where it states a limit on the signal to noise alone, a probe begins from it.
    """
    with lab.look(when) as look:
        item = _awaiting(look, asset_no)
        known = _on_record(look, item, procedure)
        return ReceiptSheet(
            item, tuple(PointAsked(p, known.get(p.name, {})) for p in _points(item))
        )  # fmt: skip


def receive(
    lab: Lab, draft: ReceiptDraft, points: Sequence[PointDraft], *, by: str, now: datetime, operation: str = ""
) -> ReceiptShown:
    """Keep a receipt inspection and file it as evidence. As ordered, the item is in service; else a finding holds it."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "inspect on receipt")
        row = keep_receipt(change, draft, points)
        change.record("item received", item=draft.asset_no, outcome=row.outcome)
        return _shown(change, row)


def keep_receipt(change: Change, draft: ReceiptDraft, points: Sequence[PointDraft]) -> ReceiptInspection:
    """Add the rows of a receipt inspection, its evidence, and the state or the finding that follows."""
    item = _awaiting(change, draft.asset_no)
    results, problems = inspect(_points(item), [_answer(p) for p in points])
    refuse_if(problems, f"receipt inspection of {item.asset_no}")
    outcome = received(results)
    check = _check_of(change, item, draft.check) if draft.check else None
    moment = instant_from_words(draft.happened_at, change.zone) if draft.happened_at else change.instant
    number = next_number(change, Certificate, "RI")
    evidence = {
        "asset_no": item.asset_no, "activity": "inspection", "number": number, "laboratory": change.lab_name,
        "performed_on": moment.astimezone(change.zone).date(), "method": f"receipt inspection against {draft.ordered_as}",
        "result": "sound" if outcome is Received.AS_ORDERED else "not sound",
    }  # fmt: skip
    paper = keep_certificate(change, draft_or_refuse(CertificateDraft, evidence, number), ())
    row = change.add(
        row_from(
            ReceiptInspection, draft, equipment_id=item.equipment_id, check_id=check.id if check else None,
            certificate_id=paper.id, person_id=change.by.person_id, outcome=str(outcome), happened_at=moment,
        )
    )  # fmt: skip
    for place, r in enumerate(results, start=1):
        a = r.answer
        change.add(
            ReceiptPoint(
                receipt_inspection_id=row.id, place=place, asked=r.point.name, found=a.found, value=a.value, unit=a.unit,
                lower_limit=a.lower, upper_limit=a.upper, limit_source=a.limit_source, outcome=r.outcome,
            )
        )  # fmt: skip
    _follow(change, item, outcome, results, draft, paper)
    return row


def _follow(
    change: Change, item: ItemShown, outcome: Received, results: Sequence[PointResult], draft: ReceiptDraft, paper: Certificate
) -> None:  # fmt: skip
    """Put the item in service, or hold it."""
    if outcome is Received.AS_ORDERED:
        keep_state(
            change,
            item.asset_no,
            "in service",
            f"receipt inspection {paper.number}: as ordered",
            location=draft.location,
        )
        return
    wrong = "; ".join(r.in_words() for r in results if r.outcome == NOT_IN_ORDER)
    says = f"{item.asset_no} is not as ordered ({draft.ordered_as}): {wrong}"
    keep_finding(change, CAUSE, says, item=named(change, Equipment, item.asset_no), certificate=paper)
    hold_what_is_in_doubt(change, [item.equipment_id])


def _awaiting(look: Look, asset_no: str) -> ItemShown:
    row = named(look, Equipment, asset_no)
    item = items_of(look, [row.id])[row.id]
    if item.state != AWAITING:
        raise Refusal(
            f"{item.asset_no} is {item.state}, not {AWAITING}", "",
            f"Nothing to do; if it came in anew, put it into the state '{AWAITING}' with the reason first.",
        )  # fmt: skip
    return item


def _points(item: ItemShown) -> tuple[Point, ...]:
    return points_of(item.kind, [n.label for n in item.notches])


def _on_record(look: Look, item: ItemShown, procedure: str) -> dict[str, dict[str, str]]:
    """Return what the points may begin from: certified values with their limits, and the procedure's signal to noise."""
    found: dict[str, dict[str, str]] = {}
    for p in facts_of(look, [item.equipment_id], evidence=False)[item.equipment_id].points:
        name = notch_point(p.notch) if p.notch and p.is_depth else p.quantity
        found[name] = _texts(
            value=p.value,
            unit=p.unit,
            lower_limit=p.lower,
            upper_limit=p.upper,
            limit_source=p.limit_source,
            found=p.record,
        )
    if procedure:
        shown = procedure_shown(look, current_revision(look, procedure))
        for x in shown.limits:
            if x.quantity == "signal to noise" and x.against == "none":
                source = f"{shown.code} issue {shown.issue}, {x.paragraph}"
                found["signal to noise"] = _texts(
                    unit=x.unit, lower_limit=x.lower, upper_limit=x.upper, limit_source=source
                )
    return found


def _texts(**values: Decimal | str | None) -> dict[str, str]:
    return {k: plain(v) if isinstance(v, Decimal) else str(v) for k, v in values.items() if v not in (None, "")}


def _answer(p: PointDraft) -> Answer:
    return Answer(p.point, p.outcome, p.found, p.value, p.unit, p.lower_limit, p.upper_limit, p.limit_source)


def _check_of(change: Change, item: ItemShown, number: str) -> ResponseCheck:
    check = named(change, ResponseCheck, number)
    setup = change.session.get_one(Setup, check.setup_id)
    members = (setup.instrument_id, setup.probe_id, setup.block_id, check.cable_id, check.adapter_id)
    if item.equipment_id not in members:
        raise Refusal(
            f"{item.asset_no} took no part in check {check.number}", "check", "Name the check that was made with it."
        )
    return check


def receipts_in(look: Look, equipment_id: int) -> tuple[ReceiptShown, ...]:
    """Return the receipt inspections of an item, oldest first."""
    mine = (ReceiptInspection.equipment_id == equipment_id, ReceiptInspection.entry <= look.upto)
    rows = look.session.execute(select(ReceiptInspection).where(*mine).order_by(ReceiptInspection.id)).scalars()
    return tuple(_shown(look, row) for row in rows)


def _shown(look: Look, row: ReceiptInspection) -> ReceiptShown:
    points = look.session.execute(
        select(ReceiptPoint).where(ReceiptPoint.receipt_inspection_id == row.id).order_by(ReceiptPoint.place)
    ).scalars()
    check = look.session.get(ResponseCheck, row.check_id) if row.check_id else None
    finding = look.session.execute(
        select(Finding.number).where(Finding.certificate_id == row.certificate_id, Finding.entry == row.entry)
    ).scalars().first()  # fmt: skip
    return ReceiptShown(
        look.session.get_one(Equipment, row.equipment_id).asset_no, row.ordered_as, row.outcome,
        tuple(
            PointShown(p.asked, p.found, p.value, p.unit, p.lower_limit, p.upper_limit, p.limit_source, p.outcome) for p in points
        ),
        code_of(look, row.person_id), row.happened_at, row.entry,
        look.session.get_one(Certificate, row.certificate_id).number, finding or "", check.number if check else "", row.note,
    )  # fmt: skip
