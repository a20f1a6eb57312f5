"""Look-back without a finding, both ways: from an item to all work of a period, and from a job to all that it rested on."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import NotFound, WrongUsage
from refstd.base.text import safe
from refstd.desk.entry import instant_from_words, start_of_day
from refstd.desk.findings import FindingShown, findings_in
from refstd.desk.items import ItemShown, items_of
from refstd.desk.jobs import JobShown, LotShown, job_shown, lots_of
from refstd.desk.known import found, named
from refstd.desk.papers import certificates_in_force
from refstd.desk.starts import timed_check
from refstd.register.certificates import Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.equipment import Equipment
from refstd.register.findings import ExaminedLot
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Job
from refstd.rules.reach import Kits
from refstd.rules.timeline import TimedCheck, TimedLot


@dataclass(frozen=True, slots=True)
class CheckMade:
    """A check as a look-back names it."""

    number: str
    occasion: str
    outcome: str
    setup: str
    job: str
    happened_at: datetime


@dataclass(frozen=True, slots=True)
class Paper:
    """A certificate as a look-back names it; of the day of the work, '' in `number` where none was in force."""

    number: str
    activity: str
    laboratory: str
    performed_on: str


@dataclass(frozen=True, slots=True)
class ItemsWork:
    """What an item had a part in, in a period; both ends count."""

    item: ItemShown
    since: datetime | None
    until: datetime
    lots: tuple[LotShown, ...]
    jobs: tuple[JobShown, ...]
    checks: tuple[CheckMade, ...]
    certificates: tuple[Paper, ...]  # in force at any time of the period, oldest first
    findings: tuple[FindingShown, ...]  # that hold the item, a setup of it, or one of these lots


@dataclass(frozen=True, slots=True)
class RestedOn:
    """What a job rested on, by one of its items on one day: its papers of that day and its checks of that day."""

    day: str
    item: ItemShown
    papers: tuple[Paper, ...]
    checks: tuple[CheckMade, ...]


@dataclass(frozen=True, slots=True)
class JobsItems:
    """A job with everything that it rested on, day by day."""

    job: JobShown
    rows: tuple[RestedOn, ...]
    lots: tuple[LotShown, ...]


def period(look: Look, since: str, until: str) -> tuple[datetime | None, datetime]:
    """Return a period from words: a bare date begins with its first moment and ends with its last; '' is open, or now."""
    first = start_of_day(since, look.zone) if since else None
    last = instant_from_words(until, look.zone) if until else look.instant
    if first is not None and first > last:
        raise WrongUsage("the period ends before it begins", f"{since} to {until or 'now'}", "Exchange the two.")
    return first, last


def work_of_item(lab: Lab, asset_no: str, when: When, since: str = "", until: str = "") -> ItemsWork:
    """Return all lots, jobs, checks and certificates that an item had a part in, in a period."""
    with lab.look(when) as look:
        return work_within(look, asset_no, since, until)


def work_within(look: Look, asset_no: str, since: str = "", until: str = "") -> ItemsWork:
    """Return the same within a look."""
    row = named(look, Equipment, asset_no)
    first, last = period(look, since, until)
    kits, lots = Kits(_checks(look)), _lots(look)
    made = kits.checks_with(row.id, first, last)
    with_it = kits.lots_with(lots, row.id, first, last)
    shown = tuple(s for _, s in lots_of(look, ids={x.id for x in with_it})) if with_it else ()
    checks = _checks_made(look, made)
    numbers, setups = {x.number for x in shown}, {c.setup for c in checks}
    asset = row.asset_no
    about = tuple(
        f
        for f in findings_in(look)
        if f.happened_at <= last
        and (asset in (*f.items, f.asset_no) or setups & set(f.setups) or numbers & {x.number for x in f.lots})
    )
    jobs = sorted({x.job for x in shown} | {c.job for c in checks if c.job})
    return ItemsWork(
        items_of(look, [row.id])[row.id], first, last, shown, tuple(job_shown(look, named(look, Job, n)) for n in jobs),
        checks, _papers_between(look, row.id, first, last), about,
    )  # fmt: skip


def items_of_job(lab: Lab, number: str, when: When) -> JobsItems:
    """Return every item that a job rested on, day by day, with its papers and its checks of that day."""
    with lab.look(when) as look:
        return rested_within(look, number)


def rested_within(look: Look, number: str) -> JobsItems:
    """Return the same within a look."""
    job = job_shown(look, named(look, Job, number))
    every = [c for c in _checks(look, job.job_id) if c.occasion != "set-up"]
    gone = {c.supersedes_id for c in every}
    days: dict[tuple[str, int], list[TimedCheck]] = {}
    for c in sorted(every, key=lambda c: (c.happened_at, c.id)):
        day = f"{c.happened_at.astimezone(look.zone):%Y-%m-%d}"
        for item in c.items if c.id not in gone else ():
            days.setdefault((day, item), []).append(c)
    ids = {item for _, item in days}
    shown, papers = items_of(look, ids), certificates_in_force(look, ids)
    order = sorted(days, key=lambda k: (k[0], _KINDS.index(shown[k[1]].kind), shown[k[1]].asset_no))
    rows = tuple(
        RestedOn(day, shown[item], _papers_of_day(papers.get(item, []), day), _checks_made(look, days[day, item]))
        for day, item in order
    )
    return JobsItems(job, rows, tuple(s for _, s in lots_of(look, job_id=job.job_id)))


def what_is(look: Look, number: str) -> str:
    """Return whether a number is an item's or a job's, or refuse one that is neither."""
    for kind, table in (("item", Equipment), ("job", Job)):
        if found(look, table, number) is not None:
            return kind
    raise NotFound(f"neither an item nor a job is on record as '{safe(number)}'", "", "See `refstd find`.")


_KINDS = ("block", "probe", "instrument", "accessory")


def _checks(look: Look, job_id: int | None = None) -> tuple[TimedCheck, ...]:
    """Return every check on record, or of a job, corrected ones too, with the items of its kit."""
    query = select(ResponseCheck, Setup).join(Setup, Setup.id == ResponseCheck.setup_id)
    query = query.where(ResponseCheck.entry <= look.upto).order_by(ResponseCheck.id)
    if job_id is not None:
        query = query.where(ResponseCheck.job_id == job_id)
    return tuple(timed_check(c, s) for c, s in look.session.execute(query))


def _lots(look: Look) -> tuple[TimedLot, ...]:
    rows = look.session.execute(select(ExaminedLot).where(ExaminedLot.entry <= look.upto)).scalars()
    return tuple(TimedLot(x.id, x.number, x.happened_at, x.start_check_id) for x in rows)


def _checks_made(look: Look, checks: Collection[TimedCheck]) -> tuple[CheckMade, ...]:
    made = []
    for c in checks:
        row = look.session.get_one(ResponseCheck, c.id)
        job = look.session.get_one(Job, row.job_id).number if row.job_id else ""
        setup = look.session.get_one(Setup, row.setup_id).number
        made.append(CheckMade(c.number, c.occasion, c.outcome, setup, job, c.happened_at))
    return tuple(made)


def _shown(paper: Certificate) -> Paper:
    return Paper(paper.number, paper.activity, paper.laboratory, str(paper.performed_on))


def _papers_of_day(papers: Collection[Certificate], day: str) -> tuple[Paper, ...]:
    """Return the newest paper of each activity that was done by a day."""
    newest = {p.activity: _shown(p) for p in papers if str(p.performed_on) <= day}
    return tuple(newest[activity] for activity in sorted(newest))


def _papers_between(look: Look, equipment_id: int, since: datetime | None, until: datetime) -> tuple[Paper, ...]:
    """Return the papers done in a period, and before them the newest of each activity done before it began."""
    papers = certificates_in_force(look, [equipment_id]).get(equipment_id, [])
    last = until.astimezone(look.zone).date()
    first = since.astimezone(look.zone).date() if since else None
    before = {p.activity: p for p in papers if first is not None and p.performed_on < first}
    inside = [p for p in papers if p.performed_on <= last and (first is None or p.performed_on >= first)]
    return tuple(_shown(p) for p in (*before.values(), *inside))
