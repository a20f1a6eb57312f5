"""A response check as a record to be read later: what was read, at which settings, by whom, and what it meant."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.base.quantity import plain
from refstd.desk.check_values import CheckVerdict
from refstd.desk.depths import DepthUsed, depths_used
from refstd.desk.items import items
from refstd.desk.kept_checks import kept_verdict
from refstd.desk.known import named
from refstd.desk.people import code_of
from refstd.desk.setups import SetupShown, reading_set, setup_shown
from refstd.register.certificates import Attachment, Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Procedure, ProcedureRevision
from refstd.rules.readings import ReadingSet
from refstd.rules.temperature import in_words as temperatures_in_words


@dataclass(frozen=True, slots=True)
class CheckRecord:
    """A kept check with everything that it rests on. `corrects` and `corrected_by` name other records of it."""

    verdict: CheckVerdict
    setup: SetupShown
    procedure: str
    start_check: str
    readings: ReadingSet
    nulled: bool
    cable: str
    adapter: str
    certificate: str
    remedy: str
    note: str
    recorded_at: datetime
    entry: int
    corrects: str
    corrected_by: str
    second_person: str
    why: str
    depths: tuple[DepthUsed, ...]  # certified, of the notches that were read, where one was in force
    sheet: str  # the scan of the paper sheet, by name
    sheet_sha256: str


def check_record(lab: Lab, number: str, when: When) -> CheckRecord:
    """Return a check as kept, or refuse a number that is not on record."""
    with lab.look(when) as look:
        return check_record_within(look, number)


def check_record_within(look: Look, number: str) -> CheckRecord:
    """Return a check as kept, within a look."""
    row = named(look, ResponseCheck, number)
    registered = items(look)
    later = look.session.execute(
        select(ResponseCheck.number).where(ResponseCheck.supersedes_id == row.id, ResponseCheck.entry <= look.upto)
    ).scalar_one_or_none()
    paper = look.session.get(Attachment, row.sheet_id) if row.sheet_id else None
    certificate = look.session.get(Certificate, row.certificate_id) if row.certificate_id else None
    return CheckRecord(
        verdict=kept_verdict(look, row),
        setup=setup_shown(look, look.session.get_one(Setup, row.setup_id)),
        procedure=_procedure(look, row.procedure_revision_id),
        start_check=_number(look, row.start_check_id),
        readings=reading_set(look, row),
        nulled=row.nulled,
        cable=registered[row.cable_id].asset_no if row.cable_id else "",
        adapter=registered[row.adapter_id].asset_no if row.adapter_id else "",
        certificate=certificate.number if certificate else "",
        remedy=row.remedy,
        note=row.note,
        recorded_at=row.recorded_at,
        entry=row.entry,
        corrects=_number(look, row.supersedes_id),
        corrected_by=later or "",
        second_person=code_of(look, row.second_person_id),
        why=row.why,
        depths=depths_used(look, row),
        sheet=paper.name if paper else "",
        sheet_sha256=paper.sha256 if paper else "",
    )


def conditions_in_words(setup: SetupShown) -> str:
    """Return the conditions of a setup in one line, such as 'frequency_khz 200; measure vertical from balance'."""
    return "; ".join(f"{name} {value}" for name, value in setup.conditions)


def settings_in_words(record: CheckRecord) -> str:
    """Return the settings of a check in one line."""
    r = record.readings
    noise = f", noise {plain(r.noise)} {r.unit}" if r.noise is not None else ""
    balanced = "balanced" if record.nulled else "not balanced"
    phase = f"phase reference {r.phase_reference}" if r.phase_set else "phase reference not set"
    warmth = temperatures_in_words(r.block_temperature_c, r.part_temperature_c)
    return f"{r.settings_in_words()}, {balanced}, {phase}{noise}{', ' if warmth else ''}{warmth}"


def recorded_in_words(record: CheckRecord, recorded: str) -> str:
    """Return when a check was recorded (as shown), how late, and by which log entry."""
    late = f", {record.verdict.late}" if record.verdict.late else ""
    return f"{recorded}{late}, log entry {record.entry}"


def sheet_in_words(record: CheckRecord) -> str:
    """Return the scan of the paper sheet by name and content, '' where none is attached."""
    return f"{record.sheet}, SHA-256 {record.sheet_sha256}" if record.sheet else ""


def _number(look: Look, check_id: int | None) -> str:
    return look.session.get_one(ResponseCheck, check_id).number if check_id else ""


def _procedure(look: Look, revision_id: int | None) -> str:
    if revision_id is None:
        return ""
    revision = look.session.get_one(ProcedureRevision, revision_id)
    return f"procedure {look.session.get_one(Procedure, revision.procedure_id).code} issue {revision.issue}"
