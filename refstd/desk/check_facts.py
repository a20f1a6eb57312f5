"""Everything that a response check is judged on, gathered once, and the judgement itself."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import Problem, Refusal
from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import key, safe
from refstd.desk.against import allowed_for, decided_on
from refstd.desk.check_values import SWAP_TEST, CheckDraft, ReadingDraft
from refstd.desk.entry import refuse_if
from refstd.desk.happened import baseline_advice
from refstd.desk.items import items_of
from refstd.desk.jobs import JobShown, closed_at, job_shown
from refstd.desk.kits import match_within
from refstd.desk.known import named
from refstd.desk.late import as_it_stood
from refstd.desk.procedures import ProcedureShown, current_revision, procedure_shown
from refstd.desk.serviceability import kit_verdict
from refstd.desk.setups import assembled, baseline_of, baseline_sets, notch_depths, reading_set
from refstd.desk.starts import events_since_start, start_check_of, timed_checks, timed_events
from refstd.register.checks import Baseline, ResponseCheck, Setup
from refstd.register.findings import ExaminedLot
from refstd.register.lab import Look
from refstd.register.procedures import Job, ProcedureRevision
from refstd.register.revisions import standing
from refstd.rules.condition import NotchCondition, condition, condition_reasons
from refstd.rules.events import ASKS_ANEW, Happened, reasons_after_start
from refstd.rules.readings import JobQuestion, NotchReading, ReadingSet, one_figure
from refstd.rules.response import FOLLOW_UP, judge_response
from refstd.rules.timeline import TimedLot, last_good
from refstd.rules.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Task:
    """Everything that a check is judged on, gathered once."""

    setup: Setup
    occasion: str
    job: JobShown | None
    procedure: ProcedureShown
    start: ResponseCheck | None
    start_set: ReadingSet | None
    baseline_id: int | None
    baseline: tuple[ReadingSet, ...]
    stops: tuple[Reason, ...]
    kit: tuple[Reason, ...]
    unfit: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Judged:
    outcome: str
    reasons: tuple[Reason, ...]
    condition: tuple[Reason, ...]
    figures: tuple[NotchCondition, ...]
    happened: tuple[Happened, ...] = ()  # to the kit between the start check and this one


def task_for(
    look: Look,
    setup: Setup,
    occasion: str,
    job: str,
    procedure: str,
    *,
    ignoring: ResponseCheck | None = None,
    with_items: Sequence[int] = (),
    at: datetime | None = None,
    maker: str = "",
) -> Task:
    """Return what a check is judged on: as things stand, or for readings taken earlier as they stood at that instant.

    What may not be used stops a start before anything is read. Readings that were taken already are kept all the same;
    with equipment that was not to be used they decide nothing. maker: whose check it is, '' where that is not known yet: a
    kit that somebody let go against advice is never let go by them for a check of their own.
    """
    moment = at or look.instant
    then = as_it_stood(look, moment)
    shown = job_shown(look, named(look, Job, job)) if job else None
    if shown is not None:
        revision = shown.procedure
    elif procedure:
        revision = procedure_shown(look, current_revision(look, procedure))
    elif ignoring is not None and ignoring.procedure_revision_id:
        revision = procedure_shown(look, look.session.get_one(ProcedureRevision, ignoring.procedure_revision_id))
    else:
        raise Refusal(
            "a check is judged by a procedure", "", "Name the job, or the procedure for a check without a job."
        )
    if occasion == SWAP_TEST and shown is not None:
        raise Refusal(
            "a swap test is made outside a job", f"job {shown.number}", "Name the procedure in place of the job."
        )
    if occasion in FOLLOW_UP and shown is None:
        raise Refusal(
            f"a check on the occasion '{occasion}' belongs to a job", "", "Name the job with its start check."
        )
    start = None
    if occasion in FOLLOW_UP and shown is not None:
        start = start_check_of(look, setup.id, shown.job_id, moment)
        if ignoring is not None and ignoring.start_check_id:
            start = look.session.get_one(ResponseCheck, ignoring.start_check_id)
    baseline = baseline_of(look, setup.id)
    members = (setup.block_id, setup.probe_id, setup.instrument_id, *with_items)
    kit = kit_verdict(then, members, revision.needs, evidence=shown is not None)  # without a job nothing is inspected
    against = _against_the_kit(then, setup, shown, kit, with_items)
    told = tuple(r for r in kit.reasons if r.rule != ASKS_ANEW)  # this check answers that, or says it itself
    if shown is not None:
        numbers = [i.asset_no for n, i in items_of(then, members).items() if n in members]
        decided = decided_on(then, shown.job_id, numbers, maker)
        against = tuple(r for r in allowed_for(against, decided) if r.weight is Weight.STOPS)
        told += tuple(a.reason() for a in decided)
    closed = _closed(look, shown, moment) if occasion == "start" or occasion in FOLLOW_UP else ()
    stops_work = occasion == "start" and then is look
    closed += _withdrawn(revision) if occasion == "start" else ()
    return Task(
        setup, occasion, shown, revision, start, reading_set(look, start) if start else None,
        baseline.id if baseline else None, baseline_sets(look, baseline),
        (*closed, *(against if stops_work else ())), told,
        against if occasion in FOLLOW_UP or (occasion == "start" and not stops_work) else (),
    )  # fmt: skip


def _closed(look: Look, job: JobShown | None, moment: datetime) -> tuple[Reason, ...]:
    """Return the objection that a job is closed; what was read before it was closed may still be entered."""
    if job is None or job.open or moment < closed_at(look, job.job_id):
        return ()
    return (Reason("job", f"job {job.number} is closed", record=f"job {job.number}", cure="open a new job"),)


def _withdrawn(procedure: ProcedureShown) -> tuple[Reason, ...]:
    if procedure.standing != "withdrawn":
        return ()
    act = next(a for a in procedure.acts if a.kind == "withdrawn")
    return (
        Reason("procedure", f"{procedure.name} was withdrawn by {act.person}: {act.why}", record=procedure.name,
               cure="ask the responsible level 3; open the job anew under a procedure in force"),
    )  # fmt: skip


# What keeps a kit from going out, and not from being checked once it is in hand.
_OF_CHECKING_OUT = ("custody", "due during the job", "connectors", "setup hold")


def _against_the_kit(
    look: Look, setup: Setup, job: JobShown | None, kit: Verdict, with_items: Sequence[int]
) -> tuple[Reason, ...]:
    """Return what stops work with this kit on this job: its serviceability, and whether it suits the job at all."""
    found = [r for r in kit.reasons if r.weight is Weight.STOPS and r.rule != "setup hold"]
    if job is not None:
        members = (setup.block_id, setup.probe_id, setup.instrument_id, *with_items)
        suits = [r for m in match_within(look, job, members) for r in m.reasons]
        found += [r for r in suits if r.weight is Weight.STOPS and r.rule not in _OF_CHECKING_OUT]
        if setup.frequency_khz != job.frequency_khz:
            found.append(
                Reason(
                    "frequency", f"setup {setup.number} is not at the job's frequency", f"{plain(setup.frequency_khz)} kHz",
                    f"{plain(job.frequency_khz)} kHz", f"job {job.number}", f"setup {setup.number}", "take a setup at the job's frequency",
                )
            )  # fmt: skip
    return tuple(dict.fromkeys(found))


def task_of_kept(look: Look, row: ResponseCheck, *, with_sets: bool = True) -> Task:
    """Return what a kept check was judged on; `with_sets` brings the readings of its start check and baseline too."""
    setup = look.session.get_one(Setup, row.setup_id)
    job = job_shown(look, look.session.get_one(Job, row.job_id)) if row.job_id else None
    assert row.procedure_revision_id is not None
    revision = procedure_shown(look, look.session.get_one(ProcedureRevision, row.procedure_revision_id))
    start = look.session.get(ResponseCheck, row.start_check_id) if row.start_check_id else None
    baseline = look.session.get(Baseline, row.baseline_id) if row.baseline_id else None
    start_set = reading_set(look, start) if start and with_sets else None
    sets = baseline_sets(look, baseline) if with_sets else ()
    return Task(setup, row.occasion, job, revision, start, start_set, row.baseline_id, sets, (), ())


def new_set(look: Look, setup: Setup, draft: CheckDraft, readings: Sequence[ReadingDraft], record: str) -> ReadingSet:
    refuse_if(reading_problems(look, setup, draft, readings), "readings")
    depths = {key(label): (label, depth) for label, depth in notch_depths(look, setup.block_id).values()}
    as_read = tuple(
        NotchReading(
            *depths[key(r.notch)],
            None if r.full_screen else r.horizontal,
            None if r.full_screen else r.vertical,
            r.full_screen,
        )
        for r in readings
    )
    unkept = ResponseCheck(
        rotation_deg=draft.rotation_deg, horizontal_gain_db=draft.horizontal_gain_db, vertical_gain_db=draft.vertical_gain_db,
        phase_set=draft.phase_set, noise=draft.noise, nulled=draft.nulled, block_temperature_c=draft.block_temperature_c,
        part_temperature_c=draft.part_temperature_c,
    )  # fmt: skip
    return assembled(look, setup, unkept, as_read, record)


def reading_problems(look: Look, setup: Setup, draft: CheckDraft, readings: Sequence[ReadingDraft]) -> list[Problem]:
    if not readings:
        return [Problem("readings", "there are none", "Read the notches, largest first.")]
    labels = {key(label): label for label, _ in notch_depths(look, setup.block_id).values()}
    problems, seen = [], set()
    if draft.noise is not None and draft.noise < 0:
        problems.append(Problem("noise", "is negative", "Give its amplitude."))
    for place, r in enumerate(readings, start=1):
        where = f"reading {place} ({safe(r.notch)})"
        if key(r.notch) not in labels:
            problems.append(
                Problem(where, "the block has no such notch", f"Its notches: {', '.join(labels.values())}.")
            )
        if key(r.notch) in seen:
            problems.append(Problem(where, "is given twice", "Give one reading a notch."))
        seen.add(key(r.notch))
        if r.full_screen:
            if r.vertical is not None or r.horizontal is not None:
                problems.append(Problem(where, "is full screen and has a value", "Give one or the other."))
            continue
        if r.vertical is None:
            problems.append(
                Problem(
                    where, f"has no {one_figure(setup.measure)} value", "Give it, or mark it as at least full screen."
                )
            )
        if setup.measure == "horizontal and vertical" and r.horizontal is None:
            problems.append(
                Problem(where, "has no horizontal value", f"Setup {setup.number} reads horizontal and vertical.")
            )
        if setup.measure == "amplitude peak to peak" and r.vertical is not None and r.vertical < 0:
            problems.append(Problem(where, "is a negative amplitude", "An amplitude has no sign: give its size."))
        if setup.measure != "horizontal and vertical" and r.horizontal is not None:
            problems.append(Problem(where, "has a horizontal value", f"Setup {setup.number} reads {setup.measure}."))
    return problems


def judge(look: Look, task: Task, new: ReadingSet, happened_at: datetime) -> Judged:
    """Return what a set of readings says: for the job by the procedure, and about the equipment by its baseline."""
    figures = condition(new, task.baseline, task.procedure.targets)
    outdated = baseline_advice(look, [task.setup]).get(task.setup.id, ())
    about = (*condition_reasons(new, figures, task.baseline), *outdated)
    if task.occasion == "set-up":
        return Judged("kept for a baseline", (), about, figures)
    p = task.procedure
    good = _last_good_at(look, task, happened_at)
    events = events_since_start(look, task.start, happened_at) if task.start else ()
    question = JobQuestion(
        task.occasion,
        new,
        task.start_set,
        task.baseline,
        p.limits,
        p.targets,
        p.name,
        hours_since_last=(happened_at - good).total_seconds() / 3600 if good else None,
        every_hours=p.check_every_hours,
        every_paragraph=p.check_paragraph,
        baseline_setups_needed=p.baseline_setups if p.needs_baseline else 0,
        baseline_paragraph=p.baseline_paragraph,
        unfit=task.unfit,
        happened=reasons_after_start(events, task.start.number, task.occasion) if task.start else (),
        temperature_band_c=p.temperature_band_c,
        temperature_paragraph=p.temperature_paragraph,
        conductivity_work=new.block_temperature_c is not None and is_conductivity_work(look, task.setup),
    )
    outcome, reasons = judge_response(question)
    return Judged(str(outcome), reasons, about, figures, events)


def is_conductivity_work(look: Look, setup: Setup) -> bool:
    """Return whether a setup's block is a standard of conductivity."""
    return items_of(look, [setup.block_id])[setup.block_id].form == "conductivity"


def checks_of(look: Look, *, setup_id: int | None = None, job_id: int | None = None) -> list[ResponseCheck]:
    """Return the checks that nothing supersedes, of a setup or a job or all, oldest first."""
    conditions = []
    if setup_id is not None:
        conditions.append(ResponseCheck.setup_id == setup_id)
    if job_id is not None:
        conditions.append(ResponseCheck.job_id == job_id)
    rows = look.session.execute(standing(ResponseCheck, look.upto, *conditions)).scalars()
    return sorted(rows, key=lambda c: (c.happened_at, c.id))


def timed_lots(look: Look, job_id: int) -> tuple[TimedLot, ...]:
    """Return the lots of a job as the timeline's rules want them."""
    rows = look.session.execute(
        select(ExaminedLot).where(ExaminedLot.job_id == job_id, ExaminedLot.entry <= look.upto).order_by(ExaminedLot.id)
    ).scalars()
    return tuple(TimedLot(x.id, x.number, x.happened_at, x.start_check_id) for x in rows)


def _last_good_at(look: Look, task: Task, before: datetime) -> datetime | None:
    if task.start is None or task.job is None:
        return None
    checks = timed_checks(look, task.job.job_id, task.setup.id)
    good = last_good(checks, timed_events(look, checks), task.start.id, before)
    return good.happened_at if good else None


def last_of(look: Look, setup: Setup) -> ResponseCheck | None:
    rows = checks_of(look, setup_id=setup.id)
    return rows[-1] if rows else None
