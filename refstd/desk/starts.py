"""Which start check of a job is open, and what happened to its kit since: then a new one is asked for."""

from collections.abc import Collection, Iterator
from datetime import datetime

from sqlalchemy import or_, select, tuple_

from refstd.desk.happened import happened_to, members
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.custody import ShiftHandover, ShiftHandoverSetup
from refstd.register.equipment import Equipment
from refstd.register.lab import Look
from refstd.register.procedures import Job, JobRevision
from refstd.register.revisions import newest_of_each
from refstd.rules.events import HANDED_ON, Ended, Happened
from refstd.rules.timeline import TimedCheck, events_under, open_start


def start_check_of(look: Look, setup_id: int, job_id: int | None, at: datetime | None = None) -> ResponseCheck | None:
    """Return the acceptable start check that a job's next checks on a setup are compared with, or were at an instant."""
    if job_id is None:
        return None
    start = open_start(timed_checks(look, job_id, setup_id), at)
    return look.session.get_one(ResponseCheck, start.id) if start else None


def timed_checks(look: Look, job_id: int, setup_id: int) -> tuple[TimedCheck, ...]:
    """Return all checks of a setup on a job, corrected ones included, as the timeline's rules want them."""
    rows = look.session.execute(
        select(ResponseCheck)
        .where(ResponseCheck.job_id == job_id, ResponseCheck.setup_id == setup_id, ResponseCheck.entry <= look.upto)
        .order_by(ResponseCheck.id)
    ).scalars()
    setup = look.session.get_one(Setup, setup_id)
    return tuple(timed_check(c, setup) for c in rows)


def timed_check(c: ResponseCheck, setup: Setup) -> TimedCheck:
    """Return a check as the timeline's rules want it, with its whole kit."""
    kit = (*members(setup), *(i for i in (c.cable_id, c.adapter_id) if i))
    return TimedCheck(
        c.id, c.number, c.occasion, c.outcome, c.happened_at, c.start_check_id, c.supersedes_id, c.repeats_id, frozenset(kit)
    )  # fmt: skip


def timed_events(look: Look, checks: tuple[TimedCheck, ...]) -> tuple[Happened, ...]:
    """Return what happened to the kits of these checks, and where their job went on with somebody else unchecked."""
    return (*happened_to(look, frozenset[int]().union(*(c.items for c in checks))), *_handed_on(look, checks))


def _handed_on(look: Look, checks: tuple[TimedCheck, ...]) -> Iterator[Happened]:
    """Yield each hand-over of the checks' job for which their setup was not closed: it ends the start check like an event."""
    ids = select(ResponseCheck.job_id, ResponseCheck.setup_id).where(ResponseCheck.id.in_([c.id for c in checks]))
    rows = look.session.execute(
        select(ShiftHandover, Setup.instrument_id)
        .join(ShiftHandoverSetup, ShiftHandoverSetup.shift_handover_id == ShiftHandover.id)
        .join(Setup, Setup.id == ShiftHandoverSetup.setup_id)
        .where(
            ShiftHandoverSetup.closing_check_id.is_(None),
            ShiftHandover.entry <= look.upto,
            tuple_(ShiftHandover.job_id, ShiftHandoverSetup.setup_id).in_(ids),
        )
    )
    for row, instrument_id in rows:
        at = f"{row.happened_at.astimezone(look.zone):%Y-%m-%d %H:%M}"
        asset_no = look.session.get_one(Equipment, instrument_id).asset_no
        yield Happened(instrument_id, asset_no, HANDED_ON, row.happened_at, at)


def events_since_start(look: Look, start: ResponseCheck, until: datetime) -> tuple[Happened, ...]:
    """Return what happened to the kit of a job's start check until an instant: each asks for a new start check."""
    assert start.job_id is not None
    checks = timed_checks(look, start.job_id, start.setup_id)
    return tuple(events_under(checks, timed_events(look, checks), start.id, until))


def open_jobs(look: Look) -> frozenset[int]:
    """Return the jobs that are open, by internal id."""
    newest = newest_of_each(look.session, JobRevision, JobRevision.job_id, look.upto)
    return frozenset(number for number, revision in newest.items() if revision.open)


def ended_starts(look: Look, equipment_ids: Collection[int]) -> tuple[Ended, ...]:
    """Return the open start checks of open jobs, of kits with these items, under which something happened until now."""
    return tuple(ended for _, _, ended in ended_work(look, equipment_ids))


def ended_work(look: Look, equipment_ids: Collection[int]) -> tuple[tuple[int, int, Ended], ...]:
    """Return the same, each with its job and setup by internal id."""
    check = ResponseCheck
    of_item = or_(
        *(
            c.in_(equipment_ids)
            for c in (Setup.block_id, Setup.probe_id, Setup.instrument_id, check.cable_id, check.adapter_id)
        )
    )
    pairs = (
        select(check.job_id, check.setup_id, Setup.number)
        .join(Setup, Setup.id == check.setup_id)
        .where(of_item, check.entry <= look.upto, check.job_id.in_(open_jobs(look)))
        .distinct()
        .order_by(Setup.number)
    )
    found = []
    for job_id, setup_id, number in look.session.execute(pairs) if equipment_ids else ():
        start = start_check_of(look, setup_id, job_id)
        events = events_since_start(look, start, look.instant) if start else ()
        if start and events and job_id is not None:
            ended = Ended(number, look.session.get_one(Job, job_id).number, start.number, events)
            found.append((job_id, setup_id, ended))
    return tuple(found)
