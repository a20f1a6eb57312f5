"""Response checks: what is kept, what it means for the job and for the equipment, and what is held when it fails."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.desk.certificates import Paper, keep_paper
from refstd.desk.check_facts import (
    Judged,
    Task,
    is_conductivity_work,
    judge,
    last_of,
    new_set,
    task_for,
    timed_lots,
)
from refstd.desk.check_facts import checks_of as checks_of
from refstd.desk.check_values import SWAP_TEST
from refstd.desk.check_values import CheckDraft as CheckDraft
from refstd.desk.check_values import CheckSheet as CheckSheet
from refstd.desk.check_values import CheckVerdict as CheckVerdict
from refstd.desk.check_values import Picture as Picture
from refstd.desk.check_values import Preview as Preview
from refstd.desk.check_values import ReadingDraft as ReadingDraft
from refstd.desk.check_values import Series as Series
from refstd.desk.depths import certified_then
from refstd.desk.doubt import hold_what_is_in_doubt
from refstd.desk.entry import draft_or_refuse, instant_from_words, row_from
from refstd.desk.findings import finding_shown, held_lots, keep_finding
from refstd.desk.happened import members
from refstd.desk.items import items
from refstd.desk.kept_checks import check_shown as check_shown
from refstd.desk.kept_checks import checks as checks
from refstd.desk.kept_checks import picture_of, verdict_shown
from refstd.desk.known import named, next_number, notches_of, of_kind
from refstd.desk.late import read_at, refuse_not_in_hand, who_read
from refstd.desk.people import code_of, may, someone
from refstd.desk.qualifications import standing_to_sign
from refstd.desk.setups import notch_depths, reading_set
from refstd.desk.starts import timed_checks, timed_events
from refstd.register.checks import BaselineSet, CheckReason, Reading, ResponseCheck, Setup
from refstd.register.findings import ExaminedLot, Finding
from refstd.register.lab import CLOCK_SLACK, Change, Lab, Look, When
from refstd.register.people import Person
from refstd.register.procedures import Job
from refstd.rules.authority import refuse_own
from refstd.rules.qualified import told_with_a_check
from refstd.rules.response import FOLLOW_UP, Outcome
from refstd.rules.slips import likely_slips
from refstd.rules.timeline import line_of, lots_failed, lots_left_alone
from refstd.rules.version import RULES_VERSION


def check_sheet(
    lab: Lab,
    setup: str,
    occasion: str,
    when: When,
    *,
    job: str = "",
    procedure: str = "",
    by: str = "",
    read_at: str = "",
) -> CheckSheet:
    """Return what is to be read on a setup for an occasion, the settings to begin from, and what stands against it.

    by: the one who makes the check; on a job it is told beforehand whether they may sign for its lots.
    read_at: when it was read, for what is entered later; '' is now.
    """
    with lab.look(when) as look:
        row = named(look, Setup, setup)
        at = instant_from_words(read_at, look.zone) if read_at else None
        task = task_for(look, row, occasion, job, procedure, at=at, maker=by.upper())
        depths = sorted(notch_depths(look, row.block_id).values(), key=lambda n: (-n[1], n[0]))
        last = task.start or last_of(look, row)
        settings = (last.rotation_deg, last.horizontal_gain_db, last.vertical_gain_db) if last else None
        registered = items(look)
        return CheckSheet(
            row.number, registered[row.instrument_id].asset_no, registered[row.probe_id].asset_no,
            registered[row.block_id].asset_no, row.measure, row.unit, row.phase_reference, task.job.number if task.job else "",
            task.procedure, tuple(depths), task.start.number if task.start else "", settings, bool(task.baseline), task.stops,
            task.kit, _signer(look, task, named(look, Person, by).id, at or when.now) if by else (),
            task.procedure.temperature_band_c is not None or is_conductivity_work(look, row),
        )  # fmt: skip


def _signer(look: Look, task: Task, person_id: int, moment: datetime) -> tuple[Reason, ...]:
    """Return what the one who makes a check on a job should know of signing for its lots."""
    if task.job is None:
        return ()
    reasons = standing_to_sign(look, person_id, task.procedure, moment)
    return (*told_with_a_check(reasons), *(r for r in reasons if r.weight is Weight.ADVISES))


def preview_check(lab: Lab, draft: CheckDraft, readings: Sequence[ReadingDraft], when: When) -> Preview:
    """Return what the check would say, with likely slips marked. Nothing is kept."""
    with lab.look(when) as look:
        row = named(look, Setup, draft.setup)
        moment = instant_from_words(draft.happened_at, look.zone) if draft.happened_at else when.now
        task = task_for(
            look, row, draft.occasion, draft.job or "", draft.procedure or "", with_items=_with_items(look, draft), at=moment
        )  # fmt: skip
        new = new_set(look, row, draft, readings, "these readings")
        judged = judge(look, task, new, moment)
        last = task.start or last_of(look, row)
        last_set = reading_set(look, last) if last else None
        reference = task.start_set or (task.baseline[-1] if task.baseline else None) or last_set
        return Preview(
            judged.outcome, judged.reasons, judged.condition, likely_slips(new, reference, last_set),
            picture_of(task, new, judged.reasons),
            judged.outcome not in (Outcome.ACCEPTABLE, "kept for a baseline") and draft.occasion != SWAP_TEST,
            judged.figures,
        )  # fmt: skip


def record_check(
    lab: Lab,
    draft: CheckDraft,
    readings: Sequence[ReadingDraft],
    repeat: Sequence[ReadingDraft] = (),
    again: CheckDraft | None = None,
    *,
    sheet: Paper | None = None,
    by: str,
    now: datetime,
    operation: str = "",
) -> CheckVerdict:
    """Keep a response check, judge it, and hold what it leaves in doubt; return the verdict as kept.

    What was read earlier says when (`happened_at`), by whom (`done_by`) and may bring the scan of its paper (`sheet`); it
    is compared with the start that was open then, and holds what it would have held then and all examined since.

    `repeat` is the one second set of readings allowed after a named remedy; both sets are kept and the second is judged.
    `again` has the settings and the instant of the repeat where they differ from the first set's.
    """
    if draft.occasion == SWAP_TEST:  # it holds nothing, so it must not stand in for a check that would
        raise Refusal(
            "a swap test's check belongs to a step of one", "occasion", "Begin the swap test, then make its step."
        )
    with lab.change(by=by, now=now, operation=operation) as change:
        verdict = keep_check(change, draft, readings, repeat, again, sheet=sheet)
        more = {"late": verdict.late} if verdict.late else {}
        change.record("response check recorded", check=verdict.number, outcome=verdict.outcome, **more)
        return verdict


def keep_check(
    change: Change,
    draft: CheckDraft,
    readings: Sequence[ReadingDraft],
    repeat: Sequence[ReadingDraft] = (),
    again: CheckDraft | None = None,
    *,
    sheet: Paper | None = None,
) -> CheckVerdict:
    """Add the rows of a check, of its repeat, and of the finding that follows."""
    may(change, "make a response check")
    setup, moment = named(change, Setup, draft.setup), read_at(change, draft.happened_at)
    accessories = _with_items(change, draft)
    task = task_for(
        change,
        setup,
        draft.occasion,
        draft.job or "",
        draft.procedure or "",
        with_items=accessories,
        at=moment,
        maker=(draft.done_by or change.by.code).upper(),
    )
    if task.job is not None:
        refuse_not_in_hand(change, (*members(setup), *accessories), task.job.number, moment)
    if task.stops:
        raise Refusal(task.stops[0].says, task.stops[0].record, f"First {task.stops[0].cure}.")
    if repeat:
        return _keep_both(change, task, draft, readings, repeat, again or draft, sheet)
    row, judged = _keep_set(change, task, draft, readings, sheet=sheet)
    return _concluded(change, task, row, judged)


def correct_check(
    lab: Lab,
    number: str,
    readings: Sequence[ReadingDraft],
    why: str,
    second_person: str,
    *,
    by: str,
    now: datetime,
    operation: str = "",
) -> CheckVerdict:
    """Correct a slip of the pen in a check by a superseding record with the reason and a second person's name.

    Holds that the first record made stay until they are released; a correction that fails holds like any failed check,
    and a corrected start check holds the lots that were examined under it.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "make a response check")
        before = named(change, ResponseCheck, number)
        if not why.strip():
            raise Refusal("a correction needs a reason", before.number, "Give it with --why.")
        _refuse_frozen(change, before)
        witness = someone(change, second_person)
        refuse_own(f"confirm a correction of {before.number}", code=witness.code, maker=change.by.code)
        setup = change.session.get_one(Setup, before.setup_id)
        job = change.session.get(Job, before.job_id) if before.job_id else None
        draft = _draft_of(change, before, setup.number)
        task = task_for(
            change,
            setup,
            before.occasion,
            job.number if job else "",
            "",
            ignoring=before,
            with_items=_with_items(change, draft),
            at=before.happened_at,
            maker=code_of(change, before.person_id),
        )
        row, judged = _keep_set(
            change, task, draft, readings, supersedes=before, why=why.strip(), second_person_id=witness.person_id
        )
        verdict = _concluded(change, task, row, judged)
        change.record("response check corrected", check=row.number, corrects=before.number, why=why.strip())
        return verdict


def _refuse_frozen(change: Change, check: ResponseCheck) -> None:
    """Refuse to correct what a baseline rests on, which is frozen, and what is corrected already."""
    later = change.session.execute(select(ResponseCheck.number).where(ResponseCheck.supersedes_id == check.id)).first()
    if later:
        raise Refusal(
            f"{check.number} is corrected already by {later.number}", "", f"Correct {later.number} if need be."
        )
    if change.session.execute(select(BaselineSet.id).where(BaselineSet.check_id == check.id)).first():
        raise Refusal(
            f"a baseline rests on {check.number}", "", "Take new set-ups and replace the baseline with a reason."
        )


def _draft_of(change: Change, check: ResponseCheck, setup: str) -> CheckDraft:
    """Return the occasion and settings of a kept check."""
    values = {name: getattr(check, name) for name in CheckDraft.model_fields if hasattr(check, name)} | {
        "happened_at": ""
    }
    for name, number in (("cable", check.cable_id), ("adapter", check.adapter_id)):
        values[name] = items(change)[number].asset_no if number else None
    return draft_or_refuse(CheckDraft, values | {"setup": setup}, check.number)


def _with_items(look: Look, draft: CheckDraft) -> tuple[int, ...]:
    """Return the cable and adapter of a check by internal id: they belong to the kit like the rest."""
    return tuple(of_kind(look, n, "accessory").id for n in (draft.cable, draft.adapter) if n)


def _keep_both(
    change: Change,
    task: Task,
    draft: CheckDraft,
    readings: Sequence[ReadingDraft],
    repeat: Sequence[ReadingDraft],
    again: CheckDraft,
    sheet: Paper | None,
) -> CheckVerdict:
    """Keep both sets, each with its own settings and instant, and judge the second."""
    remedy = again.remedy or draft.remedy
    if not remedy:
        raise Refusal("a repeat follows on a named remedy", "", "Name it: connector, tape, gain or block wiped.")
    if (again.setup, again.occasion, again.job) != (draft.setup, draft.occasion, draft.job):
        raise Refusal("a repeat is of the same setup, occasion and job", "", "Record another check instead.")
    first, judged = _keep_set(change, task, draft.model_copy(update={"remedy": ""}), readings, sheet=sheet)
    if judged.outcome == Outcome.ACCEPTABLE:
        raise Refusal("the first set is acceptable; it is not repeated", "", "Record the first set alone.")
    row, judged = _keep_set(
        change, task, again.model_copy(update={"remedy": remedy}), repeat, repeats=first, sheet=sheet
    )
    return _concluded(change, task, row, judged)


def _keep_set(
    change: Change,
    task: Task,
    draft: CheckDraft,
    readings: Sequence[ReadingDraft],
    *,
    repeats: ResponseCheck | None = None,
    supersedes: ResponseCheck | None = None,
    why: str = "",
    second_person_id: int | None = None,
    sheet: Paper | None = None,
) -> tuple[ResponseCheck, Judged]:
    number = next_number(change, ResponseCheck, "C")
    new = new_set(change, task.setup, draft, readings, f"check {number}")
    happened_at = supersedes.happened_at if supersedes else _happened_at(change, task, draft)
    reader = who_read(change, draft.done_by, "make a response check")
    judged = judge(change, task, new, happened_at)
    if task.job is not None:  # who is not qualified may not sign for a lot; what they read stands
        told = told_with_a_check(standing_to_sign(change, reader.person_id, task.procedure, happened_at))
        judged = replace(judged, reasons=(*judged.reasons, *told))
    certificate_id, depths = certified_then(change, task.setup.block_id, happened_at)
    row = row_from(
        ResponseCheck, draft, number=number, number_key=key(number), setup_id=task.setup.id,
        job_id=task.job.job_id if task.job else None, procedure_revision_id=task.procedure.revision_id,
        person_id=reader.person_id, start_check_id=task.start.id if task.start else None, baseline_id=task.baseline_id,
        certificate_id=certificate_id,
        cable_id=of_kind(change, draft.cable, "accessory").id if draft.cable else None,
        adapter_id=of_kind(change, draft.adapter, "accessory").id if draft.adapter else None,
        repeats_id=repeats.id if repeats else None, outcome=str(judged.outcome), covers=_covers(change, task, judged, happened_at),
        rules_version=RULES_VERSION, second_person_id=second_person_id, supersedes_id=supersedes.id if supersedes else None,
        why=why, happened_at=happened_at,
        sheet_id=keep_paper(change, sheet) if sheet else supersedes.sheet_id if supersedes else None,
    )  # fmt: skip
    change.add(row)
    _keep_readings(change, row, readings, depths)
    change.add_all([
        CheckReason(
            check_id=row.id, place=place, comparison=part, rule=r.rule, says=r.says, figure=r.figure, limit_shown=r.limit,
            source=r.source, read_from=r.record, cure=r.cure, weight=str(r.weight),
        )
        for part, reasons in (("job", judged.reasons), ("condition", judged.condition))
        for place, r in enumerate(reasons, start=1)
    ])  # fmt: skip
    hold_what_is_in_doubt(change, (*members(task.setup), *(i for i in (row.cable_id, row.adapter_id) if i)))
    return row, judged


def _keep_readings(
    change: Change, row: ResponseCheck, readings: Sequence[ReadingDraft], depths: Mapping[int, int]
) -> None:
    setup = change.session.get_one(Setup, row.setup_id)
    notches = notches_of(change, setup.block_id)
    change.add_all([
        Reading(
            check_id=row.id, notch_id=(notch := notches[key(r.notch)].id), place=place, horizontal=r.horizontal,
            vertical=r.vertical, full_screen=r.full_screen, certified_value_id=depths.get(notch),
        )
        for place, r in enumerate(readings, start=1)
    ])  # fmt: skip


def _happened_at(change: Change, task: Task, draft: CheckDraft) -> datetime:
    """Return when the readings were taken; what follows a start and is entered late needs the one that was open then."""
    moment = read_at(change, draft.happened_at)
    late = moment < change.instant - CLOCK_SLACK
    if task.job is not None and task.start is None and draft.occasion in FOLLOW_UP and late:
        raise Refusal(
            f"no start check of job {task.job.number} was open on setup {task.setup.number} at that time",
            draft.happened_at,
            "Check date and time; enter the start check of that work first.",
        )
    return moment


def _concluded(change: Change, task: Task, row: ResponseCheck, judged: Judged) -> CheckVerdict:
    """Open the finding that a check asks for, with what it holds, and return the verdict."""
    failed = judged.outcome == Outcome.NOT_ACCEPTABLE and row.occasion != SWAP_TEST
    lots, uncovered_since = _lots_to_hold(change, task, row, failed=failed)
    number = ""
    if failed:
        cause = "failed job check" if task.job else "failed response check"
        first = next(r.says for r in judged.reasons if r.weight is Weight.STOPS)
        says = f"{row.occasion} check {row.number} on setup {task.setup.number} not acceptable: {first}"
        number = keep_finding(change, cause, says, setup=task.setup, lots=lots, check=row)
    elif lots:
        number = keep_finding(change, "other", uncovered_since, lots=lots, check=row)
    held = finding_shown(change, named(change, Finding, number)).holds() if number else ()
    return verdict_shown(change, row, judged.reasons, judged.condition, task, finding=number, held=held)


def _lots_to_hold(
    change: Change, task: Task, row: ResponseCheck, *, failed: bool
) -> tuple[tuple[ExaminedLot, ...], str]:
    """Return the lots that a check puts in doubt, and why where it did not itself fail.

    A failed check: the lots since the last acceptable one. A new start, or an end that came on record late: the lots that
    no acceptable check has followed, since nothing will cover them now. A corrected start: all lots examined under it.
    """
    if task.job is None:
        return (), ""
    checks, every = timed_checks(change, task.job.job_id, task.setup.id), timed_lots(change, task.job.job_id)
    held = held_lots(change)
    if row.occasion == "start" and row.supersedes_id is not None:
        line = line_of(checks, row.id)
        lots = [x for x in every if x.start_id in line and x.id not in held]
        says = f"start check {row.number} corrects the one that these lots were examined under"
    else:
        events = timed_events(change, checks)
        doubted = lots_failed(checks, events, every, row.id) if failed else ()
        alone = lots_left_alone(checks, events, every)
        lots = sorted({*doubted, *(x for x in alone if x.id not in held)}, key=lambda x: x.id)
        says = f"no acceptable check closed the work on these lots before {row.occasion} check {row.number}"
    return tuple(change.session.get_one(ExaminedLot, x.id) for x in lots), says


def _covers(look: Look, task: Task, judged: Judged, happened_at: datetime) -> str:
    """Return until when, or until which event, an acceptable check covers the work."""
    if judged.outcome != Outcome.ACCEPTABLE or task.job is None:
        return ""
    if judged.happened:
        return f"the work before {judged.happened[0].in_words()}; then a new start check"
    if task.occasion == "end":
        return "closes the work since the start check"
    events = "until an exchange of probe, cable or instrument, another operator, a knock or a doubt"
    hours = task.procedure.check_every_hours
    if hours is None:
        return f"{events}; end check at the end of the work"
    until = (happened_at + timedelta(hours=float(hours))).astimezone(look.zone)
    return f"until {until:%Y-%m-%d %H:%M} ({task.procedure.name}, {task.procedure.check_paragraph}), or {events}"
