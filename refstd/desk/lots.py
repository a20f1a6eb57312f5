"""Lots examined under a start check, and closing a job: nothing examined goes without a check that covers it, or a hold."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.desk.check_facts import timed_lots
from refstd.desk.doubt import hold_what_is_in_doubt
from refstd.desk.entry import Draft, NeededWords, Number, OptionalNumber, Words
from refstd.desk.findings import held_lots, keep_finding
from refstd.desk.job_parts import keep_lot_parts, named_parts
from refstd.desk.jobs import closed_at, job_shown
from refstd.desk.known import named, next_number
from refstd.desk.late import read_at, who_read
from refstd.desk.people import may
from refstd.desk.pieces import hold_lot_of_job, refuse_unaccounted
from refstd.desk.qualifications import refuse_unqualified
from refstd.desk.starts import timed_checks, timed_events
from refstd.register.checks import ResponseCheck
from refstd.register.findings import ExaminedLot, Finding, FindingAction, FindingHold
from refstd.register.lab import Change, Lab, Look
from refstd.register.procedures import Job, JobRevision
from refstd.register.revisions import newest
from refstd.rules.events import Happened
from refstd.rules.parts import Part
from refstd.rules.timeline import (
    TimedCheck,
    TimedLot,
    counting,
    lot_left_alone,
    lot_objection,
    lots_in_doubt,
    lots_stranded,
    lots_uncovered,
)


class LotDraft(Draft):
    """Parts examined since the last check, under a start check.

    `parts` is read by `rules/parts.py`; of a job with one part, its holes alone will do. `zone` is that of each part
    that does not name one.
    """

    job: Number
    start_check: Number
    parts: NeededWords = Field(description="such as holes 1-12, 15, or SN-1: holes 1-12; SN-2")
    zone: Words = ""
    examined_at: Words = Field("", description="instant; empty: now")
    done_by: OptionalNumber = Field(None, description="who examined them, where somebody else enters it")


@dataclass(frozen=True, slots=True)
class LotLogged:
    """A lot's number; the finding that holds it, and why, '' where nothing does; advice about the one who signed."""

    number: str
    finding: str = ""
    why: str = ""
    advice: tuple[Reason, ...] = ()


def log_lot(lab: Lab, draft: LotDraft, *, by: str, now: datetime, operation: str = "") -> LotLogged:
    """Log parts as examined under a start check; the one who logs them signs for them.

    Who was not qualified as the procedure asks on the day of the work is refused, the checks stay. Parts examined after a check that was not acceptable, after something happened to an item of the kit, after the end
    check, or in a closed job are refused; a lot that is logged late and lies in a period that a failed check left in
    doubt, or that no check covers nor can cover any more, is held.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "log an examined lot")
        logged = keep_lot(change, draft)
        more = {"finding": logged.finding} if logged.finding else {}
        change.record("examined lot logged", lot=logged.number, job=draft.job, **more)
        return logged


def keep_lot(change: Change, draft: LotDraft) -> LotLogged:
    """Add the rows of an examined lot and of its hold."""
    job, start = named(change, Job, draft.job), named(change, ResponseCheck, draft.start_check)
    shown = job_shown(change, job)
    moment = read_at(change, draft.examined_at, "the parts were examined in the future")
    closed = None if shown.open else closed_at(change, job.id)
    if closed is not None and moment >= closed:
        raise Refusal(f"job {job.number} is closed", "", "Open a new job.")
    if start.job_id != job.id:
        raise Refusal(
            f"{start.number} is not a check of job {job.number}", "", "Name the job's acceptable start check."
        )
    checks = timed_checks(change, job.id, start.setup_id)
    events = timed_events(change, checks)
    objection, remedy = lot_objection(checks, events, start.id, moment)
    if objection:
        raise Refusal(objection, f"start check {start.number}", remedy)
    examiner = who_read(change, draft.done_by, "log an examined lot")
    advice = tuple(
        r for r in refuse_unqualified(change, shown.procedure, moment, examiner) if r.weight is Weight.ADVISES
    )
    number = next_number(change, ExaminedLot, "L")
    lot = change.add(
        ExaminedLot(
            number=number, number_key=key(number), job_id=job.id, start_check_id=start.id, person_id=examiner.person_id,
            parts=draft.parts, zone=draft.zone, happened_at=moment,
        )
    )  # fmt: skip
    said = named_parts(draft.parts, "examined lot")
    keep_lot_parts(change, lot, [Part(p.serial, p.zone or draft.zone, p.holes) for p in said])
    missing = hold_lot_of_job(change, lot)
    logged = _held_at_once(change, checks, events, lot, TimedLot(lot.id, number, moment, start.id))
    late = TimedLot(lot.id, number, moment, start.id)
    if closed is not None and not logged.finding and lots_uncovered(checks, events, (late,), start.id):
        logged = _by_itself(change, lot, f"job {job.number} was closed")
    if missing and not logged.finding:
        logged = LotLogged(number, missing, "a piece is unaccounted for on this job")
    doubted = hold_what_is_in_doubt(change, frozenset[int]().union(*(c.items for c in checks)))
    if doubted and not logged.finding:
        logged = LotLogged(number, doubted[0], "an item of the kit was found out of tolerance")
    return replace(logged, advice=advice)


def _held_at_once(
    change: Change, checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], lot: ExaminedLot, this: TimedLot
) -> LotLogged:
    """Hold a lot that was logged late: by the finding of a failed check, else by one of its own.

    A finding that is decided or released was so without this lot, and holds nothing more.
    """
    for check in counting(checks):
        if check.outcome != "not acceptable" or this.examined_at > check.happened_at:
            continue
        if lots_in_doubt(checks, events, (this,), this.start_id, check.happened_at):
            why = f"check {check.number} was not acceptable"
            finding = _undecided_finding(change, check.id)
            if finding is not None:
                change.add(FindingHold(finding_id=finding.id, lot_id=lot.id))
                return LotLogged(this.number, finding.number, why)
            return _by_itself(change, lot, why)
    why = lot_left_alone(checks, events, this)
    return _by_itself(change, lot, why) if why else LotLogged(this.number)


def _undecided_finding(look: Look, check_id: int) -> Finding | None:
    decided = select(FindingAction.finding_id).where(FindingAction.kind != "note")
    return (
        look.session.execute(select(Finding).where(Finding.check_id == check_id, Finding.id.not_in(decided)))
        .scalars()
        .first()
    )


def _by_itself(change: Change, lot: ExaminedLot, why: str) -> LotLogged:
    says = f"lot {lot.number} was logged late and no acceptable check covers it: {why}"
    return LotLogged(lot.number, keep_finding(change, "other", says, lots=(lot,)), why)


def close_job(lab: Lab, number: str, why: str, *, by: str, now: datetime, operation: str = "") -> tuple[str, ...]:
    """Close a job; its records stay. Lots that no acceptable check has followed are held. Returns the findings' numbers."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "open a job")
        job = named(change, Job, number)
        last = newest(change.session, JobRevision, None, JobRevision.job_id == job.id)
        if not last.open:
            raise Refusal(f"job {job.number} is closed already", "", "Nothing to do.")
        columns = {c.name: getattr(last, c.name) for c in JobRevision.__table__.columns}
        change.add(JobRevision(**columns | {"id": None, "revision": last.revision + 1, "why": why, "open": False}))
        refuse_unaccounted(change, job.id, job.number)
        lots = [x for setup in setups_of_job(change, job.id) for x in uncovered(change, job.id, setup)]
        found = hold_uncovered(
            change, lots, f"job {job.number} was closed without an acceptable end check after these lots"
        )
        change.record("job closed", job=job.number, why=why, findings=list(found))
        return found


def uncovered(look: Look, job_id: int, setup_id: int) -> tuple[TimedLot, ...]:
    """Return the lots of a setup on a job that no acceptable check has followed and no finding holds."""
    return _not_held(look, job_id, setup_id, lots_uncovered)


def stranded(look: Look, job_id: int, setup_id: int) -> tuple[TimedLot, ...]:
    """Return the lots of a setup on a job that no check to come can cover, since something happened, and no finding holds."""
    return _not_held(look, job_id, setup_id, lots_stranded)


_Which = Callable[[tuple[TimedCheck, ...], tuple[Happened, ...], tuple[TimedLot, ...], int], tuple[TimedLot, ...]]


def _not_held(look: Look, job_id: int, setup_id: int, which: _Which) -> tuple[TimedLot, ...]:
    checks, lots = timed_checks(look, job_id, setup_id), timed_lots(look, job_id)
    events, held = timed_events(look, checks), held_lots(look)
    starts = {x.start_id for x in lots if any(c.id == x.start_id for c in checks)}
    found = {x.id: x for start in sorted(starts) for x in which(checks, events, lots, start)}
    return tuple(x for x in found.values() if x.id not in held)


def hold_uncovered(
    change: Change, lots: Iterable[TimedLot], says: str, check: ResponseCheck | None = None
) -> tuple[str, ...]:
    """Open a finding that holds lots which no check covers, and return its number; nothing when there are none."""
    rows = tuple(change.session.get_one(ExaminedLot, x.id) for x in lots)
    return (keep_finding(change, "other", says, lots=rows, check=check),) if rows else ()


def setups_of_job(look: Look, job_id: int) -> list[int]:
    """Return the setups that were checked on a job, by internal id."""
    made = (ResponseCheck.job_id == job_id, ResponseCheck.entry <= look.upto)
    query = select(ResponseCheck.setup_id).where(*made).distinct().order_by(ResponseCheck.setup_id)
    return list(look.session.execute(query).scalars())
