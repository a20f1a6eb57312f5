"""Response checks as they were kept: verdict, what to do, picture; read with the rules of their day."""

from dataclasses import replace

from sqlalchemy import select

from refstd.base.reason import Reason, Weight
from refstd.desk.check_facts import Task, checks_of, task_of_kept
from refstd.desk.check_values import SWAP_TEST, CheckVerdict, Picture, Series
from refstd.desk.findings import finding_shown
from refstd.desk.known import named
from refstd.desk.people import code_of
from refstd.desk.recorded import told_late
from refstd.desk.setups import reading_set
from refstd.desk.starts import timed_checks, timed_events
from refstd.register.checks import CheckReason, ResponseCheck, Setup
from refstd.register.findings import Finding
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Job
from refstd.rules.events import EVENT, NEW_START, Happened
from refstd.rules.pictures import as_shown, mean_as_shown
from refstd.rules.readings import ReadingSet
from refstd.rules.response import FOLLOW_UP, Outcome
from refstd.rules.timeline import events_under


def check_shown(lab: Lab, number: str, when: When) -> tuple[CheckVerdict, Picture]:
    """Return a check as kept, with the rules of its day, and its picture."""
    with lab.look(when) as look:
        row = named(look, ResponseCheck, number)
        return kept_verdict(look, row), kept_picture(look, row)


def checks(lab: Lab, when: When, *, job: str = "", setup: str = "") -> tuple[CheckVerdict, ...]:
    """Return the checks on record that nothing supersedes, newest first, of a job or a setup or all."""
    with lab.look(when) as look:
        return checks_in(look, job=job, setup=setup)


def checks_in(look: Look, *, job: str = "", setup: str = "") -> tuple[CheckVerdict, ...]:
    """Return the checks on record at the look's instant that nothing supersedes, newest first."""
    job_id = named(look, Job, job).id if job else None
    setup_id = named(look, Setup, setup).id if setup else None
    return tuple(kept_verdict(look, row) for row in reversed(checks_of(look, setup_id=setup_id, job_id=job_id)))


def kept_verdict(look: Look, row: ResponseCheck) -> CheckVerdict:
    """Return the verdict of a check as it was kept."""
    rows = look.session.execute(
        select(CheckReason).where(CheckReason.check_id == row.id).order_by(CheckReason.place)
    ).scalars().all()  # fmt: skip
    reasons = {
        part: tuple(
            Reason(r.rule, r.says, r.figure, r.limit_shown, r.source, r.read_from, r.cure, Weight(r.weight))
            for r in rows
            if r.comparison == part
        )
        for part in ("job", "condition")
    }
    task = task_of_kept(look, row, with_sets=False)
    finding = look.session.execute(
        select(Finding).where(Finding.check_id == row.id, Finding.entry <= look.upto)
    ).scalar_one_or_none()
    held: tuple[str, ...] = ()
    if finding is not None:
        held = finding_shown(look, finding).holds()
    verdict = verdict_shown(
        look, row, reasons["job"], reasons["condition"], task, finding=finding.number if finding else "", held=held
    )
    return replace(verdict, ended=_ended(look, row))


def _ended(look: Look, row: ResponseCheck) -> str:
    """Return when and by which event the cover of an acceptable start check, or of one that followed it, ended; or ''."""
    start_id = row.id if row.occasion == "start" else row.start_check_id
    if row.outcome != Outcome.ACCEPTABLE or row.job_id is None or start_id is None or row.occasion == "end":
        return ""
    checks = timed_checks(look, row.job_id, row.setup_id)
    for e in events_under(checks, timed_events(look, checks), start_id, look.instant):
        if e.happened_at >= row.happened_at:
            return f"ended {e.at[-5:] if _same_day(look, row, e) else e.at} by event: {e.asset_no}: {e.event}"
    return ""


def _same_day(look: Look, row: ResponseCheck, e: Happened) -> bool:
    return e.happened_at.astimezone(look.zone).date() == row.happened_at.astimezone(look.zone).date()


def kept_picture(look: Look, row: ResponseCheck) -> Picture:
    """Return the picture of a kept check."""
    task = task_of_kept(look, row)
    new = reading_set(look, row)
    failing = look.session.execute(
        select(CheckReason.says).where(CheckReason.check_id == row.id, CheckReason.weight == str(Weight.STOPS))
    ).scalars()
    reasons = tuple(Reason("", says) for says in failing)
    return picture_of(task, new, reasons)


def verdict_shown(
    look: Look,
    row: ResponseCheck,
    reasons: tuple[Reason, ...],
    about: tuple[Reason, ...],
    task: Task,
    *,
    finding: str,
    held: tuple[str, ...],
) -> CheckVerdict:
    repeated = look.session.get(ResponseCheck, row.repeats_id) if row.repeats_id else None
    return CheckVerdict(
        row.number, row.occasion, task.setup.number, task.job.number if task.job else "", row.happened_at,
        code_of(look, row.person_id), row.outcome, reasons, about, task.kit, _what_to_do(row, reasons), held,
        task.procedure.tell if row.outcome == Outcome.NOT_ACCEPTABLE else "", row.covers, finding,
        repeated.number if repeated else "", row.rules_version, told_late(look, row),
    )  # fmt: skip


def _what_to_do(row: ResponseCheck, reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    if row.occasion == SWAP_TEST:
        return SWAP_TEST_DO[Outcome(row.outcome)]
    if row.outcome == Outcome.NOT_ACCEPTABLE:
        steps = ["Do not inspect with this setup."]
        if row.occasion in FOLLOW_UP:
            steps.append(
                "Parts examined since the last acceptable check count as not examined (ISO 15549:2019, clause 10)."
            )
        return (*steps, "Find the cause, take another kit if need be, and make a new start check.")
    events = [r for r in reasons if r.rule == EVENT]
    if row.outcome == Outcome.NOT_CONCLUSIVE and any(r.weight is Weight.UNDECIDED for r in events):
        return ("This counts as no check. Make a new start check; lots that no check covers are held.",)
    if row.outcome == Outcome.NOT_CONCLUSIVE:
        return ("This counts as no check. Remove the cause named above and check again before inspecting.",)
    if row.outcome == "kept for a baseline":
        return ("Null and set up anew before the next set-up of the baseline.",)
    if row.occasion == "start":
        return (
            "The setup answers as the procedure asks. Inspect by the written procedure; certified personnel decide.",
        )
    if events:
        stand = "The lots examined before what happened stand, as far as the equipment goes."
        return stand, f"{NEW_START[:1].upper()}{NEW_START[1:]}."
    return ("The lots examined since the last acceptable check stand, as far as the equipment goes.",)


_NO_START = "A swap test frees nothing and covers nothing: make a start check before inspecting with this setup."
SWAP_TEST_DO = {
    Outcome.ACCEPTABLE: (_NO_START,),
    Outcome.NOT_CONCLUSIVE: (
        "By the procedure this decides nothing. What it tells the swap test stands there.",
        _NO_START,
    ),
    Outcome.NOT_ACCEPTABLE: (
        "Do not inspect with this setup.",
        "A swap test holds nothing by itself: put what is left over in quarantine, or open a finding that holds it.",
        _NO_START,
    ),
}


def picture_of(task: Task, new: ReadingSet, reasons: tuple[Reason, ...]) -> Picture:
    """Return baseline mean, start check and new readings as the new display shows them."""
    series = []
    if task.baseline:
        series.append(Series("baseline", mean_as_shown(task.baseline, new)))
    if task.start_set is not None:
        series.append(Series("start check", as_shown(task.start_set, new)))
    series.append(Series("now", as_shown(new, new)))
    says = [r.says for r in reasons if r.weight is Weight.STOPS]
    failing = tuple(r.notch for r in new.readings if any(s.startswith(f"notch {r.notch}:") for s in says))
    return Picture(new.unit, float(new.full_screen), new.directed, tuple(series), failing)
