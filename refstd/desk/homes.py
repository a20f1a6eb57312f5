"""What each person needs first when they open refstd."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select

from refstd.base.text import key
from refstd.desk.against import AgainstShown, against_in
from refstd.desk.checks import checks_of
from refstd.desk.custody import Out, out_within
from refstd.desk.decisions import Decision, decisions_within
from refstd.desk.drift import NotchDrift, drift_within
from refstd.desk.duties import DueRow, due_within
from refstd.desk.entry import instant_from_words
from refstd.desk.findings import FindingShown, findings_in
from refstd.desk.happened import members
from refstd.desk.items import ItemShown, items
from refstd.desk.jobs import JobShown, job_shown
from refstd.desk.kept_checks import kept_verdict
from refstd.desk.known import named
from refstd.desk.late import as_it_stood, out_for_job
from refstd.desk.loans import LoanPast, loans_within
from refstd.desk.lost import LossShown, losses_in
from refstd.desk.lots import uncovered
from refstd.desk.owners import ReturnDue, returns_within
from refstd.desk.qualifications import PersonDue, people_due_within
from refstd.desk.reservations import shortages_within
from refstd.desk.serviceability import Status, status_of
from refstd.desk.setups import SetupShown, setup_shown
from refstd.desk.shifts import handed_to_since
from refstd.desk.starts import events_since_start, start_check_of
from refstd.desk.suspects import Suspects, suspects_within
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.columns import instant_text
from refstd.register.lab import Lab, Look, When
from refstd.register.log import LogEntry
from refstd.register.procedures import Job
from refstd.rules.countdown import counted_down
from refstd.rules.events import Happened
from refstd.rules.reservations import Shortage


@dataclass(frozen=True, slots=True)
class CustodianHome:
    """What moved, what is due, what is quarantined or held, what waits for receipt, what is out."""

    suspects: Suspects
    due: tuple[DueRow, ...]
    returns: tuple[ReturnDue, ...]  # to their owners
    people: tuple[PersonDue, ...]
    quarantined: tuple[ItemShown, ...]
    awaiting: tuple[ItemShown, ...]
    findings: tuple[FindingShown, ...]
    out: tuple[Out, ...]
    lost: tuple[LossShown, ...] = ()
    short: tuple[Shortage, ...] = ()


@dataclass(frozen=True, slots=True)
class JobInHand:
    """A job with the kit that the technician has for it, its last check and until when that covers the work."""

    job: JobShown
    items: tuple[Status, ...]
    last_check: str
    last_outcome: str
    covers: str
    setup: str
    next_check: str
    late: str = ""  # what of the kit was due back before today, in words


@dataclass(frozen=True, slots=True)
class SetupInHand:
    """A setup whose items are all in hand, with the start check that stands for it and the likely next occasion.

    `event` says what happened to its kit since that start check, '' when nothing did: then a new one is asked for.
    """

    setup: SetupShown
    start_check: str
    likely: str
    event: str = ""


@dataclass(frozen=True, slots=True)
class KitInHand:
    """What a technician has in hand for a job, and the setups that can be checked with it, last used first."""

    job: JobShown
    items: tuple[Status, ...]
    setups: tuple[SetupInHand, ...]
    cable: str
    adapter: str


@dataclass(frozen=True, slots=True)
class TechnicianHome:
    """My jobs and kits, when the next check is due, what is held."""

    jobs: tuple[JobInHand, ...]
    open_jobs: tuple[JobShown, ...]
    holds: tuple[FindingShown, ...]


@dataclass(frozen=True, slots=True)
class AuditorHome:
    """What an audit begins with: what moved, overdue, deferred, decided by authority, drifting, held and unverified items, late returns, the log's head."""

    suspects: Suspects
    overdue: tuple[DueRow, ...]
    deferred: tuple[DueRow, ...]
    decided: tuple[Decision, ...]
    drifting: tuple[NotchDrift, ...]
    findings: tuple[FindingShown, ...]
    unverified: tuple[ItemShown, ...]
    late: tuple[LoanPast, ...]
    log_sequence: int
    log_hash: str
    newest_entry: str
    overridden: tuple[AgainstShown, ...] = ()


def custodian_home(lab: Lab, when: When) -> CustodianHome:
    """Return the custodian's day."""
    with lab.look(when) as look:
        shown = items(look).values()
        return CustodianHome(
            suspects_within(look),
            tuple(r for r in due_within(look, within_days=look.due_soon_days) if r.state != "before use"),
            returns_within(look, within_days=look.due_soon_days),
            people_due_within(look, within_days=look.due_soon_days),
            tuple(i for i in shown if i.state in ("quarantined", "in repair", "calibrate before use")),
            tuple(i for i in shown if i.state in ("awaiting receipt", "away at laboratory")),
            findings_in(look, only_open=True),
            out_within(look),
            tuple(x for x in losses_in(look) if x.found_at is None),
            shortages_within(look),
        )


def technician_home(lab: Lab, person: str, when: When) -> TechnicianHome:
    """Return the technician's day."""
    with lab.look(when) as look:
        jobs = _open_jobs(look)
        mine: dict[str, list[Status]] = {}
        for item in items(look).values():
            if item.loan is not None and _is_mine(item, person):
                mine.setdefault(item.loan.job, []).append(status_of(look, item.equipment_id))
        in_hand = tuple(_in_hand(look, j, tuple(mine[j.number])) for j in jobs if j.number in mine)
        held = {i.item.asset_no for j in in_hand for i in j.items}
        findings = tuple(
            f
            for f in findings_in(look, only_open=True)
            if set(f.items) & held or f.held_setups or {x.job for x in f.lots} & set(mine)
        )
        return TechnicianHome(in_hand, jobs, findings)


def kit_in_hand(lab: Lab, person: str, job: str, when: When, read_at: str = "") -> KitInHand:
    """Return what a person has in hand for a job, and the setups that these items make.

    read_at: for readings taken earlier, whoever took them: what was out for the job at that instant.
    """
    with lab.look(when) as look:
        shown = job_shown(look, named(look, Job, job))
        at = instant_from_words(read_at, look.zone) if read_at else None
        if at is not None:
            out = out_for_job(look, shown.job_id, at)
            mine = [i for i in items(look).values() if i.equipment_id in out]
        else:
            mine = [i for i in items(look).values() if _is_mine(i, person) and i.loan and i.loan.job == shown.number]
        bench = {i.equipment_id for i in items(look).values() if i.shared and not i.loan}
        held = {i.equipment_id for i in mine}
        used = {c.setup_id: c.happened_at for c in checks_of(look, job_id=shown.job_id)}
        rows = look.session.execute(select(Setup).where(Setup.entry <= look.upto).order_by(Setup.number)).scalars()
        possible = [
            s for s in rows if {s.instrument_id, s.probe_id, s.block_id} <= held | bench and held & set(members(s))
        ]
        used_at_bench = sorted({s.block_id for s in possible} - held)
        possible.sort(key=lambda s: -used[s.id].timestamp() if s.id in used else 0)
        ready = []
        for row in possible:
            start = start_check_of(look, row.id, shown.job_id, at)
            event = _event_since(look, start, at)
            likely = "interim" if start else "start"
            if event is not None:
                likely = "end" if not event.breaks and uncovered(look, shown.job_id, row.id) else "start"
            ready.append(
                SetupInHand(
                    setup_shown(look, row), start.number if start else "", likely, event.in_words() if event else ""
                )
            )
        then = as_it_stood(look, at) if at else look
        cables = [i.asset_no for i in mine if i.kind == "accessory" and i.form == "cable"]
        adapters = [i.asset_no for i in mine if i.kind == "accessory" and i.form == "adapter"]
        return KitInHand(
            shown, tuple(status_of(then, n) for n in (*(i.equipment_id for i in mine), *used_at_bench)), tuple(ready),
            cables[0] if len(cables) == 1 else "", adapters[0] if len(adapters) == 1 else "",
        )  # fmt: skip


def auditor_home(lab: Lab, when: When) -> AuditorHome:
    """Return what an audit begins with."""
    with lab.look(when) as look:
        due = due_within(look)
        never = {r.asset_no for r in due if r.state == "never done"}
        scheduled = {r.asset_no for r in due}
        unverified = tuple(
            i
            for i in items(look).values()
            if i.state == "in service"
            and (i.asset_no in never or (i.kind in ("block", "instrument") and i.asset_no not in scheduled))
        )
        newest = look.session.get_one(LogEntry, look.upto)  # in the past, the entry that was newest then
        return AuditorHome(
            suspects_within(look),
            tuple(r for r in due if r.state == "overdue"),
            tuple(r for r in due if r.deferred_to),
            decisions_within(look),
            tuple(d for d in drift_within(look) if d.flags),
            findings_in(look, only_open=True),
            unverified,
            tuple(x for x in loans_within(look) if x.late_days),
            look.upto, newest.hash, instant_text(newest.recorded_at), against_in(look),
        )  # fmt: skip


def _open_jobs(look: Look) -> tuple[JobShown, ...]:
    rows = look.session.execute(select(Job).where(Job.entry <= look.upto).order_by(Job.number)).scalars()
    return tuple(j for j in (job_shown(look, row) for row in rows) if j.open)


def _in_hand(look: Look, job: JobShown, mine: tuple[Status, ...]) -> JobInHand:
    checks = [c for c in checks_of(look, job_id=job.job_id) if c.occasion != "set-up"]
    if not checks:
        return JobInHand(job, mine, "", "", "", "", "start check before the first part", _late(look, mine))
    last = kept_verdict(look, checks[-1])
    return JobInHand(
        job,
        mine,
        last.number,
        last.outcome,
        last.covers_now,
        last.setup,
        _next_check(look, job, last.occasion, checks[-1]),
        _late(look, mine),
    )


def _late(look: Look, mine: tuple[Status, ...]) -> str:
    """Return what of a kit was due back before today."""
    late = [
        (s.item.asset_no, s.item.loan.due_back_on) for s in mine if s.item.loan and look.today > s.item.loan.due_back_on
    ]
    days = sorted({day for _, day in late})
    return "; ".join(
        f"{', '.join(n for n, d in late if d == day)} due back {day}, {(look.today - day).days} days late"
        for day in days
    )


def _event_since(look: Look, start: ResponseCheck | None, at: datetime | None = None) -> Happened | None:
    """Return what happened to the kit of an open start check: one that breaks the record before any other."""
    events = events_since_start(look, start, at or look.instant) if start else ()
    return next((e for e in events if e.breaks), events[0] if events else None)


def _next_check(look: Look, job: JobShown, occasion: str, last: ResponseCheck) -> str:
    """Return when the next check is due, counted from the last one of the job."""
    taken_by = handed_to_since(look, job.job_id, last.happened_at)
    if taken_by:
        return f"start check by {taken_by}, who took the job over, before anything more is examined"
    if last.outcome == "not conclusive":
        return "now: the last one counts as no check"
    if last.outcome != "acceptable":
        return "a new start check before anything more is examined"
    if occasion == "end":
        return "start check before new work"
    event = _event_since(look, start_check_of(look, last.setup_id, job.job_id))
    if event is not None:
        closing = "" if event.breaks else "; an end check before it closes the work before"
        return f"{event.in_words()}: a new start check before anything more is examined{closing}"
    hours = job.procedure.check_every_hours
    if hours is None:
        return "end check at the end of the work"
    until = (last.happened_at + timedelta(hours=float(hours))).astimezone(look.zone)
    says, overdue = counted_down(until, look.instant, f"{until:%Y-%m-%d %H:%M}")
    if overdue:
        return f"{says}: check before anything more is examined"
    return f"{says} ({job.procedure.name}, {job.procedure.check_paragraph})"


def _is_mine(item: ItemShown, person: str) -> bool:
    return item.loan is not None and key(item.loan.holder) == key(person)
