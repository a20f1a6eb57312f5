"""The whole life of an item, as it was known at any instant: every record, when it happened, when and by whom it was recorded."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import or_, select

from refstd.base.quantity import plain
from refstd.desk.certificates import ValueShown, values_of
from refstd.desk.certified import kept_outcome, kept_outcomes
from refstd.desk.comparison_record import ComparisonShown, comparisons_in
from refstd.desk.findings import FindingShown, findings_in
from refstd.desk.happened import EventShown, event_in_words, events_of, ref_of
from refstd.desk.items import ItemShown, items
from refstd.desk.known import named
from refstd.desk.order_tests import OrderTestShown, order_tests_in
from refstd.desk.owed import interval_in_words
from refstd.desk.people import code_of
from refstd.desk.receipt import ReceiptShown, receipts_in
from refstd.desk.serviceability import Status, status_of
from refstd.desk.setups import SetupShown, setup_shown
from refstd.desk.tolerances import ToleranceShown, tolerance_in_words, tolerances_in
from refstd.register.certificates import Attachment, Certificate, Tolerance
from refstd.register.checks import Baseline, BlockComparison, ResponseCheck, Setup, SwapStep, SwapTest
from refstd.register.custody import (
    AgainstAdvice,
    AgainstAdviceItem,
    ItemFound,
    Loan,
    LoanHandover,
    LoanReturn,
    Loss,
    LossTold,
)
from refstd.register.equipment import (
    Deferral,
    Equipment,
    EquipmentEvent,
    EquipmentRevision,
    EquipmentState,
    IntervalReview,
    Notch,
    NotchRevision,
    OrderTest,
    ReceiptInspection,
    Schedule,
)
from refstd.register.lab import Lab, Look, When
from refstd.register.log import LogEntry
from refstd.register.procedures import Job


@dataclass(frozen=True, slots=True)
class Event:
    """One thing on record about an item."""

    happened_at: datetime
    recorded_at: datetime
    by: str
    entry: int
    kind: str  # description, notch, state, event, schedule, deferral, interval, tolerance, certificate, loan, return, receipt, order test, check, baseline, comparison
    says: str
    superseded: bool = False
    ref: str = ""  # of an event: the log entry, with a number where an entry brought several


@dataclass(frozen=True, slots=True)
class CertificateShown:
    """A certificate as on record; `superseded_by` or withdrawn ones stay on record and count no longer."""

    number: str
    activity: str
    laboratory: str
    accreditation: str
    performed_on: str
    issued_on: str
    method: str
    place: str
    temperature_c: str
    traceability: str
    adjusted: bool
    adjustment: str
    decision_rule: str
    guard_ratio: str
    result: str
    in_force: bool
    paper: str
    paper_sha256: str
    values: tuple[ValueShown, ...]
    environment: str = ""
    certificate_id: int = 0  # internal: a correction may bear the same number
    supersedes_id: int | None = None  # the internal id of the record that it takes the place of
    recorded_at: datetime | None = None
    why: str = ""  # of a correction or a withdrawal
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class ItemRecord:
    """The record of an item (ISO/IEC 17025:2017, 6.4.13)."""

    status: Status
    events: tuple[Event, ...]
    certificates: tuple[CertificateShown, ...]
    setups: tuple[SetupShown, ...]
    findings: tuple[FindingShown, ...]
    order_tests: tuple[OrderTestShown, ...] = ()
    happened: tuple[EventShown, ...] = ()  # events that count, oldest first
    comparisons: tuple[ComparisonShown, ...] = ()  # of a block, on either side, newest first
    receipts: tuple[ReceiptShown, ...] = ()  # oldest first
    tolerances: tuple[ToleranceShown, ...] = ()  # in force

    @property
    def item(self) -> ItemShown:
        return self.status.item


def item_record(lab: Lab, asset_no: str, when: When) -> ItemRecord:
    """Return everything on record about an item at an instant."""
    with lab.look(when) as look:
        return record_within(look, asset_no)


def record_within(look: Look, asset_no: str) -> ItemRecord:
    """Return an item's record within a look."""
    row = named(look, Equipment, asset_no)
    shown = items(look)[row.id]
    setups = [
        setup_shown(look, s)
        for s in look.session.execute(select(Setup).where(Setup.entry <= look.upto).order_by(Setup.number)).scalars()
        if row.id in (s.block_id, s.probe_id, s.instrument_id)
    ]
    numbers = {s.number for s in setups}
    about = tuple(f for f in findings_in(look) if shown.asset_no in (*f.items, f.asset_no) or numbers & set(f.setups))
    events = tuple(sorted(_events(look, row, setups), key=lambda e: (e.happened_at, e.entry)))
    return ItemRecord(
        status_of(look, row.id), events, certificates_within(look, row.id), tuple(setups), about,
        order_tests_in(look, [row.id]) if row.kind == "instrument" else (), events_of(look, [row.id]),
        comparisons_in(look, row.id) if row.kind == "block" else (), receipts_in(look, row.id),
        tolerances_in(look, row.id),
    )  # fmt: skip


def _events(look: Look, row: Equipment, setups: list[SetupShown]) -> Iterable[Event]:
    by = _Recorder(look)
    own: list[tuple[Any, Any, str, Callable[[Any], str]]] = [
        (EquipmentRevision, EquipmentRevision.equipment_id, "description", lambda r: f"revision {r.revision}: {r.why}"),
        (EquipmentState, EquipmentState.equipment_id, "state", lambda r: f"{r.state}{_at(r.location)}: {r.why}"),
        (EquipmentEvent, EquipmentEvent.equipment_id, "event", _event_words),
        (Schedule, Schedule.equipment_id, "schedule", _schedule_words),
        (Deferral, Deferral.equipment_id, "deferral", lambda r: _deferral_words(look, r)),
        (IntervalReview, IntervalReview.equipment_id, "interval", lambda r: _review_words(look, r)),
        (Certificate, Certificate.equipment_id, "certificate", _certificate_words),
        (Loan, Loan.equipment_id, "loan", lambda r: _loan_words(look, r)),
        (
            ReceiptInspection,
            ReceiptInspection.equipment_id,
            "receipt",
            lambda r: f"receipt inspection: {row.asset_no} is {r.outcome} ({r.ordered_as})",
        ),
        (Loss, Loss.equipment_id, "loss", lambda r: f"lost; last seen {r.last_seen}"),
        (
            ItemFound,
            ItemFound.equipment_id,
            "found",
            lambda r: (
                f"found by {code_of(look, r.person_id)}: {r.place}, {'sound' if r.sound else 'not sound'}: {r.condition}"
            ),
        ),
        (OrderTest, OrderTest.equipment_id, "order test", lambda r: f"two readings tell {r.found}"),
    ]
    for table, column, kind, words in own:
        yield from by.events(table, column == row.id, kind, words)
    notches = select(Notch.id).where(Notch.equipment_id == row.id)
    labels = dict(look.session.execute(select(Notch.id, Notch.label).where(Notch.equipment_id == row.id)).all())
    yield from by.events(
        Tolerance, Tolerance.equipment_id == row.id, "tolerance",
        lambda r: tolerance_in_words(r, labels[r.notch_id] if r.notch_id else ""),
    )  # fmt: skip
    yield from by.events(
        NotchRevision, NotchRevision.notch_id.in_(notches), "notch",
        lambda r: f"notch {labels[r.notch_id]}, revision {r.revision}: {plain(r.depth_mm)} mm deep, {r.process}, {r.site} ({r.why})",
    )  # fmt: skip
    yield from by.events(
        BlockComparison, or_(BlockComparison.primary_id == row.id, BlockComparison.secondary_id == row.id), "comparison",
        lambda r: _comparison_words(look, r),
    )  # fmt: skip
    loans = select(Loan.id).where(Loan.equipment_id == row.id)
    yield from by.events(
        LoanHandover,
        LoanHandover.loan_id.in_(loans),
        "hand-over",
        lambda r: f"handed over to {code_of(look, r.person_id)}: {r.condition}",
    )
    yield from by.events(
        LoanReturn,
        LoanReturn.loan_id.in_(loans),
        "return",
        lambda r: f"came back {'sound' if r.sound else 'not sound'}: {r.condition}",
    )
    taken = select(AgainstAdviceItem.against_advice_id).where(AgainstAdviceItem.equipment_id == row.id)
    yield from by.events(
        AgainstAdvice, AgainstAdvice.id.in_(taken), "against advice", lambda r: _against_words(look, r)
    )
    lost = select(Loss.id).where(Loss.equipment_id == row.id)
    yield from by.events(LossTold, LossTold.loss_id.in_(lost), "loss", lambda r: f"told of the loss: {r.told}")
    ids = [s.setup_id for s in setups]
    yield from by.events(
        ResponseCheck, ResponseCheck.setup_id.in_(ids), "check",
        lambda r: f"{r.occasion} check {r.number} on {_setup_number(setups, r.setup_id)}: {r.outcome}",
    )  # fmt: skip
    made = select(ResponseCheck.id).where(ResponseCheck.setup_id.in_(ids))
    yield from by.events(
        SwapTest, SwapTest.check_id.in_(made), "swap test",
        lambda r: f"swap test {r.number} begun from check {_check_number(look, r.check_id)}; suspected: {r.suspects}",
    )  # fmt: skip
    yield from by.events(SwapStep, SwapStep.check_id.in_(made), "swap test", lambda r: _swap_words(look, r))
    yield from by.events(
        Baseline, Baseline.setup_id.in_(ids), "baseline",
        lambda r: f"baseline of {_setup_number(setups, r.setup_id)}, approved by {code_of(look, r.approved_by_id)}",
    )  # fmt: skip


class _Recorder:
    """Turns rows into events, with the person and instant of the log entry that brought them."""

    def __init__(self, look: Look) -> None:
        self._look = look
        self._people = dict(
            look.session.execute(select(LogEntry.sequence, LogEntry.person).where(LogEntry.sequence <= look.upto)).all()
        )

    def events(self, table: Any, condition: Any, kind: str, words: Callable[[Any], str]) -> Iterable[Event]:
        rows = self._look.session.execute(
            select(table).where(condition, table.entry <= self._look.upto).order_by(table.id)
        ).scalars().all()  # fmt: skip
        superseded = {getattr(r, "supersedes_id", None) for r in rows}
        seen: Counter[int] = Counter()
        for r in rows:
            seen[r.entry] += 1
            happened_at = getattr(r, "happened_at", r.recorded_at)
            yield Event(
                happened_at, r.recorded_at, self._people[r.entry], r.entry, kind, words(r), r.id in superseded,
                ref_of(r.entry, seen[r.entry]),
            )  # fmt: skip


def _at(location: str) -> str:
    return f", {location}" if location else ""


def _event_words(r: EquipmentEvent) -> str:
    """Return an event as recorded; a correction and a withdrawal say what they do."""
    says = event_in_words(r.event, r.tape, r.tape_thickness_mm) + (f" ({r.note})" if r.note else "")
    if r.withdrawn:
        return f"withdrawn: {says}: {r.why}"
    return f"{says}, corrects an earlier record: {r.why}" if r.supersedes_id else says


def _schedule_words(r: Schedule) -> str:
    every = interval_in_words(r)
    often = every if every == "once" else f"every {every}"
    return (
        f"{r.activity} {often} ({r.source})"
        + (f", by {r.done_by}" if r.done_by else "")
        + ("" if r.active else ", ended")
    )


def _deferral_words(look: Look, r: Deferral) -> str:
    if r.withdrawn:
        return f"deferral of the {r.activity} due {r.due_on} withdrawn: {r.why}"
    return f"{r.activity} due {r.due_on} deferred to {r.until} by {code_of(look, r.person_id)}: {r.why}"


def _review_words(look: Look, r: IntervalReview) -> str:
    done = "taken" if r.taken else "turned down"
    by = code_of(look, r.person_id)
    return f"interval of the {r.activity} by {r.method}: {r.interval_before} to {r.interval_proposed}, {done} by {by}: {r.why} ({r.rests_on})"


def _certificate_words(r: Certificate) -> str:
    if r.withdrawn:
        return f"{r.activity} certificate {r.number} withdrawn: {r.why}"
    corrects = f", corrects an earlier record: {r.why}" if r.supersedes_id else ""
    return f"{r.activity} certificate {r.number} of {r.performed_on} by {r.laboratory}{corrects}"


def _against_words(look: Look, r: AgainstAdvice) -> str:
    job, by = look.session.get_one(Job, r.job_id).number, code_of(look, r.person_id)
    return f"taken against advice for job {job}: decided by {by} ({r.authority}), {r.why}; advised: {'; '.join(r.advised.split(chr(10)))}"


def _loan_words(look: Look, r: Loan) -> str:
    job = look.session.get_one(Job, r.job_id).number
    return f"out to {code_of(look, r.person_id)} for job {job}, due back {r.due_back_on}"


def _comparison_words(look: Look, r: BlockComparison) -> str:
    names = items(look)
    corrects = f", corrects an earlier record: {r.why}" if r.supersedes_id else ""
    return f"comparison {r.number} of {names[r.secondary_id].asset_no} with its primary {names[r.primary_id].asset_no}: {r.outcome}{corrects}"


def _check_number(look: Look, check_id: int) -> str:
    return look.session.get_one(ResponseCheck, check_id).number


def _swap_words(look: Look, r: SwapStep) -> str:
    number = look.session.get_one(SwapTest, r.swap_test_id).number
    result = {"cannot tell": "cannot tell whether the deviation stayed"}.get(r.result, f"the deviation {r.result}")
    return f"swap test {number}: {r.exchanged} exchanged, check {_check_number(look, r.check_id)}: {result}"


def _setup_number(setups: list[SetupShown], setup_id: int) -> str:
    return next(s.number for s in setups if s.setup_id == setup_id)


def certificates_within(look: Look, equipment_id: int) -> tuple[CertificateShown, ...]:
    """Return every certificate of an item, in force or not, oldest first."""
    rows = (
        look.session.execute(
            select(Certificate)
            .where(Certificate.equipment_id == equipment_id, Certificate.entry <= look.upto)
            .order_by(Certificate.performed_on, Certificate.id)
        )
        .scalars()
        .all()
    )
    superseded = {r.supersedes_id for r in rows if r.supersedes_id}
    labels = dict(look.session.execute(select(Notch.id, Notch.label).where(Notch.equipment_id == equipment_id)).all())
    return tuple(_certificate_shown(look, r, labels, r.id not in superseded and not r.withdrawn) for r in rows)


def _certificate_shown(look: Look, r: Certificate, labels: dict[int, str], in_force: bool) -> CertificateShown:
    filed = values_of(look, r.id)
    judged = {number: kept_outcome(c) for number, c in kept_outcomes(look, [v.id for v in filed]).items()}
    paper = look.session.get(Attachment, r.attachment_id) if r.attachment_id else None
    values = tuple(
        ValueShown(
            labels[v.notch_id] if v.notch_id else "", v.quantity, v.stage, v.value, v.unit, v.expanded_uncertainty, v.coverage_factor,
            v.lower_limit, v.upper_limit, v.limit_source, v.coverage_probability_percent, v.method, v.point,
            judged.get(v.id),
        )
        for v in filed
    )  # fmt: skip
    return CertificateShown(
        r.number, r.activity, r.laboratory, r.accreditation, str(r.performed_on), str(r.issued_on or ""), r.method, r.place,
        plain(r.temperature_c) if r.temperature_c is not None else "", r.traceability, r.adjusted, r.adjustment, r.decision_rule,
        plain(r.guard_ratio) if r.guard_ratio is not None else "", r.result, in_force, paper.name if paper else "",
        paper.sha256 if paper else "", values, r.environment,
        r.id, r.supersedes_id, r.recorded_at, r.why, r.withdrawn,
    )  # fmt: skip
