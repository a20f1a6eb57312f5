"""A job in hand goes on with the next person: closing check, lots since, open holds and equipment, in one act with both names.

ISO 15549:2019, clause 10: functional checks at the end of an examination and when the operator changes. The closing check
comes first; where none is possible the lots that no check covers are held. The next person begins with a start check.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.desk.custody import keep_hand_over
from refstd.desk.entry import Draft, NeededWords, Number, Words
from refstd.desk.findings import FindingShown, findings_in
from refstd.desk.items import items
from refstd.desk.jobs import LotShown, job_named, lots_of
from refstd.desk.known import named
from refstd.desk.lots import hold_uncovered, setups_of_job, uncovered
from refstd.desk.people import PersonShown, allowed, code_of, may, people_in, person_shown, someone
from refstd.desk.starts import events_since_start, start_check_of, timed_checks
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.custody import Loan, LoanHandover, ShiftHandover, ShiftHandoverSetup
from refstd.register.equipment import Equipment
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.people import Person
from refstd.register.procedures import Job
from refstd.rules.timeline import counting


class ShiftDraft(Draft):
    """A job that goes on with another person. `impossible` says why no closing check can be made, where none can."""

    job: Number
    to: Number = Field(title="goes on with")
    condition: NeededWords = Field("as handed out", title="condition of the equipment")
    impossible: Words = Field("", title="no closing check possible: why")
    note: Words = Field("", title="what the next one should know")


@dataclass(frozen=True, slots=True)
class AtWork:
    """A setup that was at work on a job, and the check that closed its work; '' where that is missing, with `missing` why."""

    setup: str
    closing_check: str
    outcome: str = ""
    missing: str = ""
    setup_id: int = 0
    check_id: int | None = None

    def in_words(self) -> str:
        """Return how its work was closed."""
        if self.closing_check:
            return f"setup {self.setup} closed by {self.closing_check} ({self.outcome})"
        return f"setup {self.setup} without a closing check"


@dataclass(frozen=True, slots=True)
class ShiftReady:
    """What would be handed over now: the equipment in the person's hands, the setups at work, lots since, holds, to whom."""

    items: tuple[str, ...]
    work: tuple[AtWork, ...]
    lots: tuple[LotShown, ...]
    holds: tuple[FindingShown, ...]
    receivers: tuple[PersonShown, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """Return what is missing before it can be handed over."""
        return tuple(w.missing for w in self.work if w.missing)


@dataclass(frozen=True, slots=True)
class ShiftShown:
    """A hand-over as on record; lots and open holds as they were when it was made."""

    job: str
    person: str
    to: str
    happened_at: datetime
    condition: str
    impossible: str
    note: str
    items: tuple[str, ...]
    work: tuple[AtWork, ...]
    lots: tuple[LotShown, ...]
    holds: tuple[FindingShown, ...]

    @property
    def closed_by(self) -> str:
        """Return which checks closed the work, or why none did, in words."""
        says = "; ".join(w.in_words() for w in self.work) or "nothing was at work"
        return f"{says}; none possible: {self.impossible}" if self.impossible else says

    @property
    def lots_since(self) -> str:
        """Return the lots logged since the hand-over before, in words."""
        return "; ".join(f"{x.number} ({x.examined})" for x in self.lots) or "none"

    @property
    def open_holds(self) -> str:
        """Return the open findings that hold lots, setups or equipment of the job, in words."""
        return "; ".join(f"{f.number} holds {f.holds_and_freed()}" for f in self.holds) or "none"

    def in_words(self) -> str:
        """Return all of it in one line."""
        parts = [
            f"{self.person} to {self.to}", f"equipment {', '.join(self.items)}: {self.condition}", self.closed_by,
            f"lots since: {self.lots_since}", f"open holds: {self.open_holds}", self.note,
        ]  # fmt: skip
        return "; ".join(p for p in parts if p)


def hand_shift_over(lab: Lab, draft: ShiftDraft, *, by: str, now: datetime, operation: str = "") -> ShiftShown:
    """Hand a job with its equipment over to the next person, or refuse with what is missing; return what is on record.

    Every setup at work needs its end check first. Where none is possible, `impossible` says why: then the lots that no
    acceptable check has followed are held, and nothing more is examined under the start check before.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        row, found = _keep(change, draft)
        change.record(
            "shift handed over", job=draft.job, to=draft.to, **({"findings": list(found)} if found else {})
        )  # fmt: skip
        return _shown(change, row)


def _keep(change: Change, draft: ShiftDraft) -> tuple[ShiftHandover, tuple[str, ...]]:
    may(change, "check out")
    job, receiver = job_named(change, draft.job), someone(change, draft.to)
    if not job.open:
        raise Refusal(f"job {job.number} is closed", "", "Check the equipment in.")
    if not person_shown(change, named(change, Person, draft.to)).active:
        raise Refusal(f"{receiver.code} no longer works here", "to", "Hand over to a person who does.")
    ready = _ready(change, job.job_id, change.by.code)
    if not ready.items:
        raise Refusal(
            f"nothing of job {job.number} is out with {change.by.code}", "",
            "Who has it hands it over; see `refstd custody`.",
        )  # fmt: skip
    if ready.missing and not draft.impossible:
        raise Refusal(
            "; ".join(ready.missing), f"job {job.number}",
            "Make the end check first; if none is possible, say why: then the lots that no check covers are held.",
        )  # fmt: skip
    if draft.impossible and not ready.missing:
        raise Refusal(
            f"the work is closed: {'; '.join(w.in_words() for w in ready.work) or 'nothing was at work'}",
            "no closing check possible", "Leave that reason out.",
        )  # fmt: skip
    keep_hand_over(change, ready.items, receiver, draft.condition)
    says = f"no closing check was possible when job {job.number} went on with {receiver.code}: {draft.impossible}"
    lots = [x for w in ready.work if w.missing for x in uncovered(change, job.job_id, w.setup_id)]
    found = hold_uncovered(change, {x.id: x for x in lots}.values(), says)
    row = change.add(
        ShiftHandover(
            job_id=job.job_id, person_id=change.by.person_id, to_person_id=receiver.person_id, condition=draft.condition,
            impossible=draft.impossible, note=draft.note, happened_at=change.instant,
        )
    )  # fmt: skip
    for w in ready.work:
        change.add(ShiftHandoverSetup(shift_handover_id=row.id, setup_id=w.setup_id, closing_check_id=w.check_id))
    return row, found


def shift_ready(lab: Lab, job: str, person: str, when: When) -> ShiftReady:
    """Return what a person would hand over of a job, what is missing for it, and who can take it."""
    with lab.look(when) as look:
        return _ready(look, job_named(look, job).job_id, person)


def shifts(lab: Lab, job: str, when: When) -> tuple[ShiftShown, ...]:
    """Return the hand-overs of a job, oldest first."""
    with lab.look(when) as look:
        return shifts_within(look, job_named(look, job).job_id)


def shifts_within(look: Look, job_id: int | None = None) -> tuple[ShiftShown, ...]:
    """Return the hand-overs of a job, or all, within a look, oldest first."""
    return tuple(_shown(look, row) for row in _rows(look, job_id))


def handed_to_since(look: Look, job_id: int, since: datetime) -> str:
    """Return to whom a job was handed over at or after an instant, by the newest hand-over, '' where it was not."""
    rows = [r for r in _rows(look, job_id) if r.happened_at >= since]
    return code_of(look, rows[-1].to_person_id) if rows else ""


def _rows(look: Look, job_id: int | None) -> list[ShiftHandover]:
    of_job = () if job_id is None else (ShiftHandover.job_id == job_id,)
    query = select(ShiftHandover).where(ShiftHandover.entry <= look.upto, *of_job).order_by(ShiftHandover.id)
    return list(look.session.execute(query).scalars())


def _ready(look: Look, job_id: int, person: str) -> ShiftReady:
    job = look.session.get_one(Job, job_id).number
    mine = [
        i.asset_no for i in items(look).values() if i.loan and i.loan.job == job and i.loan.holder == person
    ]  # fmt: skip
    before = _rows(look, job_id)
    since = before[-1].entry if before else 0
    lots = tuple(shown for row, shown in lots_of(look, job_id=job_id) if row.entry > since)
    takers = tuple(p for p in people_in(look) if p.active and p.code != person and allowed(p, "check out"))
    work = tuple(_at_work(look, job_id, since))
    return ShiftReady(tuple(mine), work, lots, _holds(look, job_id, mine), takers)


def _at_work(look: Look, job_id: int, since: int) -> Iterator[AtWork]:
    """Yield the setups at work on a job since a log entry: each with the check that closed it, or with what is missing."""
    for setup_id in setups_of_job(look, job_id):
        number = look.session.get_one(Setup, setup_id).number
        start = start_check_of(look, setup_id, job_id)
        last = next(
            (c for c in reversed(counting(timed_checks(look, job_id, setup_id))) if c.occasion != "set-up"), None
        )
        if start is not None:
            events = events_since_start(look, start, look.instant)
            if events and not uncovered(look, job_id, setup_id):
                continue  # it covers no more work, and what it covered is followed by a check or held
            says = f"no end check of setup {number} since start check {start.number}"
            if last is not None and last.occasion == "end":
                says += f"; end check {last.number} was {last.outcome} and counts as none"
            yield AtWork(number, "", missing=says, setup_id=setup_id)
        elif last is not None and look.session.get_one(ResponseCheck, last.id).entry > since:
            yield AtWork(number, last.number, last.outcome, setup_id=setup_id, check_id=last.id)


def _holds(look: Look, job_id: int, equipment: list[str]) -> tuple[FindingShown, ...]:
    """Return the open findings that hold lots of the job, setups that were checked on it, or this equipment."""
    job = look.session.get_one(Job, job_id).number
    setups = {look.session.get_one(Setup, i).number for i in setups_of_job(look, job_id)}
    return tuple(
        f
        for f in findings_in(look, only_open=True)
        if job in {x.job for x in f.lots} or setups & set(f.held_setups) or set(f.items) & set(equipment)
    )


def _shown(look: Look, row: ShiftHandover) -> ShiftShown:
    """Return a hand-over with lots and holds as they stood at its log entry."""
    then = Look(
        look.session, look.head, row.entry, row.happened_at, row.happened_at.astimezone(look.zone).date(), look.zone,
        look.lab_name, look.due_soon_days, {}, look.remembered,
    )  # fmt: skip
    before = [r.entry for r in _rows(then, row.job_id) if r.entry < row.entry]
    since = before[-1] if before else 0
    handed = select(Equipment.asset_no).join(Loan, Loan.equipment_id == Equipment.id)
    given = handed.join(LoanHandover, LoanHandover.loan_id == Loan.id).where(LoanHandover.entry == row.entry)
    equipment = list(look.session.execute(given.order_by(Equipment.asset_no)).scalars())
    return ShiftShown(
        look.session.get_one(Job, row.job_id).number, code_of(look, row.person_id), code_of(look, row.to_person_id),
        row.happened_at, row.condition, row.impossible, row.note, tuple(equipment), tuple(_closed(look, row)),
        tuple(shown for lot, shown in lots_of(then, job_id=row.job_id) if lot.entry > since),
        _holds(then, row.job_id, equipment),
    )  # fmt: skip


def _closed(look: Look, row: ShiftHandover) -> Iterator[AtWork]:
    query = (
        select(Setup.number, ResponseCheck.number, ResponseCheck.outcome)
        .select_from(ShiftHandoverSetup)
        .join(Setup, Setup.id == ShiftHandoverSetup.setup_id)
        .outerjoin(ResponseCheck, ResponseCheck.id == ShiftHandoverSetup.closing_check_id)
        .where(ShiftHandoverSetup.shift_handover_id == row.id)
        .order_by(Setup.number)
    )
    for setup, check, outcome in look.session.execute(query):
        yield AtWork(setup, check or "", outcome or "")
