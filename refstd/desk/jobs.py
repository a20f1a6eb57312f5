"""Jobs: opening them under a procedure, closing them, and logging the lots examined."""

from collections.abc import Collection
from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal
from itertools import takewhile

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Problem, Refusal
from refstd.base.quantity import plain
from refstd.base.text import key
from refstd.desk.entry import Day, Draft, NeededWords, Number, OptionalPositive, Positive, Words, refuse_if, row_from
from refstd.desk.job_parts import (
    DetailsDraft,
    DetailsShown,
    Progress,
    details_of,
    details_problems,
    job_parts,
    keep_details,
    keep_job_parts,
    lot_parts,
    progress,
)
from refstd.desk.known import named, refuse_taken
from refstd.desk.people import code_of, may
from refstd.desk.procedures import Form, ProcedureShown, current_revision, procedure_shown
from refstd.desk.recorded import told_late
from refstd.register.checks import ResponseCheck
from refstd.register.equipment import Material, MaterialRevision
from refstd.register.findings import ExaminedLot
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.procedures import Job, JobRevision, ProcedureRevision
from refstd.register.revisions import newest_of_each
from refstd.rules.parts import HOW, Part, in_words, parts_from


class JobDraft(Draft):
    """A job to open."""

    number: Number
    procedure: Number = Field(title="procedure code")
    customer_reference: Words = ""
    parts: NeededWords = Field(description="such as SN-1: holes 1-12, 15; SN-2, zone web")
    material: Number = Field(title="material code of the part")
    form: Form
    bore_diameter_mm: OptionalPositive = Field(None, title="bore diameter, mm")
    frequency_khz: Positive = Field(title="frequency, kHz")
    target_flaw: Words = ""
    place: Words = ""
    starts_on: Day
    ends_on: Day


@dataclass(frozen=True, slots=True)
class MaterialShown:
    """A material as on record."""

    code: str
    name: str
    family: str
    magnetic_class: str
    conductivity_percent_iacs: Decimal | None
    source: str


@dataclass(frozen=True, slots=True)
class JobShown:
    """A job as on record."""

    job_id: int
    number: str
    procedure: ProcedureShown
    customer_reference: str
    parts: str
    material: MaterialShown
    form: str
    bore_diameter_mm: Decimal | None
    frequency_khz: Decimal
    target_flaw: str
    place: str
    starts_on: date
    ends_on: date
    open: bool
    listed: tuple[Part, ...]
    details: DetailsShown


def enter_job(
    lab: Lab,
    draft: JobDraft,
    details: DetailsDraft | None = None,
    *,
    by: str,
    now: datetime,
    operation: str = "",
) -> None:
    """Open a job under the procedure's current revision, with what is known of its parts."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "open a job")
        keep_job(change, draft, details)
        change.record("job opened", job=draft.number)


def describe_job(
    lab: Lab, number: str, draft: DetailsDraft, why: str, *, by: str, now: datetime, operation: str = ""
) -> None:
    """Put on record what is known now of an open job's parts, area and target; what was known before stays readable."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "open a job")
        job = job_named(change, number)
        if not job.open:
            raise Refusal(f"job {job.number} is closed", "", "What is known of a closed job stays as it was.")
        if not why.strip():
            raise Refusal("say where it is from", f"job {job.number}", "Such as 'measured on the part'.")
        refuse_if(details_problems(draft, job.form), f"job {job.number}")
        if draft.model_dump() == asdict(job.details):
            raise Refusal("nothing differs from what is on record", f"job {job.number}", "Change a field, or go back.")
        keep_details(change, job.job_id, draft, why.strip())
        change.record("job described", job=job.number, why=why.strip())


def keep_job(change: Change, draft: JobDraft, details: DetailsDraft | None = None) -> None:
    """Add the rows of a job."""
    refuse_taken(change, Job, draft.number)
    revision = current_revision(change, draft.procedure)
    parts = parts_from(draft.parts)
    problems = [parts] if isinstance(parts, Problem) else []
    if not isinstance(parts, Problem) and any(not p.serial for p in parts):
        problems.append(Problem("parts", "does not say of which part", HOW))
    problems += details_problems(details, draft.form) if details else []
    if draft.ends_on < draft.starts_on:
        problems.append(Problem("ends_on", "is before the first day", "Exchange the two."))
    if draft.form == "bore" and draft.bore_diameter_mm is None:
        problems.append(Problem("bore_diameter_mm", "is missing for holes", "Give the diameter in mm."))
    if draft.form != revision.form:
        problems.append(
            Problem("form", f"the procedure is for a {revision.form}", "Choose the procedure for this form.")
        )
    if not revision.lowest_khz <= draft.frequency_khz <= revision.highest_khz:
        window = f"{plain(revision.lowest_khz)} to {plain(revision.highest_khz)} kHz ({revision.frequency_paragraph})"
        problems.append(Problem("frequency_khz", f"is outside the procedure's {window}", "Choose one inside."))
    refuse_if(problems, f"job {draft.number}")
    job = change.add(Job(number=draft.number, number_key=key(draft.number)))
    change.add(
        row_from(
            JobRevision,
            draft,
            job_id=job.id,
            revision=1,
            why="opened",
            procedure_revision_id=revision.id,
            material_id=named(change, Material, draft.material).id,
            open=True,
        )
    )
    assert not isinstance(parts, Problem)
    keep_job_parts(change, job.id, parts)
    if details is not None and any(details.model_dump().values()):
        keep_details(change, job.id, details, "given when the job was opened")


def job_shown(look: Look, job: Job) -> JobShown:
    """Return a job as on record at the look's instant."""
    row = newest_of_each(look.session, JobRevision, JobRevision.job_id, look.upto, JobRevision.job_id == job.id)[job.id]
    revision = look.session.get_one(ProcedureRevision, row.procedure_revision_id)
    return JobShown(
        job.id,
        job.number,
        procedure_shown(look, revision),
        row.customer_reference,
        row.parts,
        material_shown(look, row.material_id),
        row.form,
        row.bore_diameter_mm,
        row.frequency_khz,
        row.target_flaw,
        row.place,
        row.starts_on,
        row.ends_on,
        row.open,
        tuple(part for _, part in job_parts(look, job.id)),
        details_of(look, job.id),
    )


def material_shown(look: Look, material_id: int) -> MaterialShown:
    """Return a material as on record at the look's instant."""
    cached = ("material", material_id)
    if cached not in look.known:
        material = look.session.get_one(Material, material_id)
        row = newest_of_each(
            look.session,
            MaterialRevision,
            MaterialRevision.material_id,
            look.upto,
            MaterialRevision.material_id == material_id,
        )[material_id]
        look.known[cached] = MaterialShown(
            material.code, row.name, row.family, row.magnetic_class, row.conductivity_percent_iacs, row.source
        )
    shown = look.known[cached]
    assert isinstance(shown, MaterialShown)
    return shown


@dataclass(frozen=True, slots=True)
class LotShown:
    """An examined lot as on record."""

    number: str
    job: str
    start_check: str
    person: str
    happened_at: datetime
    named: tuple[Part, ...]
    late: str = ""  # 'recorded 6 days late by ORLA', '' where the same person logged it on the same day

    @property
    def examined(self) -> str:
        """Return the parts, zones and holes that it examined, in words."""
        return in_words(self.named)


def lots_of(
    look: Look,
    *,
    job_id: int | None = None,
    start_check_id: int | None = None,
    ids: Collection[int] | None = None,
) -> list[tuple[ExaminedLot, LotShown]]:
    """Return examined lots, of a job, of a start check, those with these internal ids or all, oldest first."""
    query = select(ExaminedLot).where(ExaminedLot.entry <= look.upto).order_by(ExaminedLot.happened_at, ExaminedLot.id)
    if job_id is not None:
        query = query.where(ExaminedLot.job_id == job_id)
    if start_check_id is not None:
        query = query.where(ExaminedLot.start_check_id == start_check_id)
    if ids is not None:
        query = query.where(ExaminedLot.id.in_(ids))
    named_in = lot_parts(look, job_id=job_id, ids=ids)
    return [
        (
            lot,
            LotShown(
                lot.number,
                look.session.get_one(Job, lot.job_id).number,
                look.session.get_one(ResponseCheck, lot.start_check_id).number,
                code_of(look, lot.person_id),
                lot.happened_at,
                named_in.get(lot.id, ()),
                told_late(look, lot),
            ),
        )
        for lot in look.session.execute(query).scalars()
    ]


def closed_at(look: Look, job_id: int) -> datetime:
    """Return when a closed job was closed."""
    rows = select(JobRevision).where(JobRevision.job_id == job_id, JobRevision.entry <= look.upto)
    revisions = look.session.execute(rows.order_by(JobRevision.revision.desc())).scalars().all()
    return min(r.recorded_at for r in takewhile(lambda r: not r.open, revisions))


def jobs(lab: Lab, when: When, *, only_open: bool = False) -> tuple[JobShown, ...]:
    """Return the jobs on record, by number."""
    with lab.look(when) as look:
        return jobs_in(look, only_open=only_open)


def jobs_in(look: Look, *, only_open: bool = False) -> tuple[JobShown, ...]:
    """Return the jobs on record at the look's instant, by number."""
    rows = look.session.execute(select(Job).where(Job.entry <= look.upto).order_by(Job.number)).scalars()
    return tuple(j for j in (job_shown(look, row) for row in rows) if j.open or not only_open)


def lots(lab: Lab, when: When) -> tuple[LotShown, ...]:
    """Return the examined lots on record, oldest first."""
    with lab.look(when) as look:
        return tuple(shown for _, shown in lots_of(look))


def job_progress(lab: Lab, number: str, when: When) -> Progress:
    """Return what of a job no lot has examined yet, and what stands in doubt, by part and hole."""
    with lab.look(when) as look:
        return progress(look, named(look, Job, number).id)


def details_on_record(lab: Lab, number: str, when: When) -> dict[str, str]:
    """Return what is known of a job's parts, as a form or command has it."""
    with lab.look(when) as look:
        known = asdict(job_named(look, number).details)
    return {
        field: plain(value) if isinstance(value, Decimal) else str(value) for field, value in known.items() if value
    }


def job_named(look: Look, number: str) -> JobShown:
    """Return a job by its number as on record at the look's instant, or refuse."""
    return job_shown(look, named(look, Job, number))


def materials(lab: Lab, when: When) -> tuple[MaterialShown, ...]:
    """Return the materials on record, by code."""
    with lab.look(when) as look:
        return materials_in(look)


def materials_in(look: Look) -> tuple[MaterialShown, ...]:
    """Return the materials on record at the look's instant, by code."""
    rows = look.session.execute(select(Material).where(Material.entry <= look.upto).order_by(Material.code)).scalars()
    return tuple(material_shown(look, row.id) for row in rows)
