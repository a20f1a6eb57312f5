"""What each person needs first when they open refstd."""

from dataclasses import dataclass

from sqlalchemy import select

from refstd.desk.checks import checks_of, kept_verdict
from refstd.desk.custody import Out, out_within
from refstd.desk.drift import NotchDrift, drift_within
from refstd.desk.duties import DueRow, due_within
from refstd.desk.findings import FindingShown, findings_in
from refstd.desk.history import LoanPast, loans_within
from refstd.desk.items import ItemShown, items
from refstd.desk.jobs import JobShown, job_shown
from refstd.desk.serviceability import Status, status_of
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Job


@dataclass(frozen=True, slots=True)
class CustodianHome:
    """What is due, what is quarantined or held, what waits for receipt, what is out."""

    due: tuple[DueRow, ...]
    quarantined: tuple[ItemShown, ...]
    awaiting: tuple[ItemShown, ...]
    findings: tuple[FindingShown, ...]
    out: tuple[Out, ...]


@dataclass(frozen=True, slots=True)
class JobInHand:
    """A job with the kit that the technician has for it, its last check and until when that covers the work."""

    job: JobShown
    items: tuple[Status, ...]
    last_check: str
    last_outcome: str
    covers: str
    setup: str


@dataclass(frozen=True, slots=True)
class TechnicianHome:
    """My jobs and kits, when the next check is due, what is held."""

    jobs: tuple[JobInHand, ...]
    open_jobs: tuple[JobShown, ...]
    holds: tuple[FindingShown, ...]


@dataclass(frozen=True, slots=True)
class AuditorHome:
    """What an audit begins with: overdue, drifting, held and unverified items, late returns, the log's head."""

    overdue: tuple[DueRow, ...]
    drifting: tuple[NotchDrift, ...]
    findings: tuple[FindingShown, ...]
    unverified: tuple[ItemShown, ...]
    late: tuple[LoanPast, ...]
    log_sequence: int
    log_hash: str
    newest_entry: str


def custodian_home(lab: Lab, when: When) -> CustodianHome:
    """Return the custodian's day."""
    with lab.look(when) as look:
        shown = items(look).values()
        return CustodianHome(
            due_within(look, within_days=look.due_soon_days),
            tuple(i for i in shown if i.state in ("quarantined", "in repair", "calibrate before use")),
            tuple(i for i in shown if i.state in ("awaiting receipt", "away at laboratory")),
            findings_in(look, only_open=True),
            out_within(look),
        )


def technician_home(lab: Lab, person: str, when: When) -> TechnicianHome:
    """Return the technician's day."""
    with lab.look(when) as look:
        jobs = _open_jobs(look)
        mine: dict[str, list[Status]] = {}
        for item in items(look).values():
            if item.loan is not None and item.loan.holder.casefold() == person.casefold():
                mine.setdefault(item.loan.job, []).append(status_of(look, item.equipment_id))
        in_hand = tuple(_in_hand(look, j, tuple(mine[j.number])) for j in jobs if j.number in mine)
        held = {i.item.asset_no for j in in_hand for i in j.items}
        findings = tuple(
            f
            for f in findings_in(look, only_open=True)
            if set(f.items) & held or f.setups or {x.job for x in f.lots} & set(mine)
        )
        return TechnicianHome(in_hand, jobs, findings)


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
        return AuditorHome(
            tuple(r for r in due if r.state == "overdue"),
            tuple(d for d in drift_within(look) if d.drift.flags),
            findings_in(look, only_open=True),
            unverified,
            tuple(x for x in loans_within(look) if x.late_days),
            look.upto, look.head.hash, look.head.recorded_at,
        )  # fmt: skip


def _open_jobs(look: Look) -> tuple[JobShown, ...]:
    rows = look.session.execute(select(Job).where(Job.entry <= look.upto).order_by(Job.number)).scalars()
    return tuple(j for j in (job_shown(look, row) for row in rows) if j.open)


def _in_hand(look: Look, job: JobShown, mine: tuple[Status, ...]) -> JobInHand:
    checks = [c for c in checks_of(look, job_id=job.job_id) if c.occasion != "set-up"]
    if not checks:
        return JobInHand(job, mine, "", "", "", "")
    last = kept_verdict(look, checks[-1])
    return JobInHand(job, mine, last.number, last.outcome, last.covers, last.setup)
