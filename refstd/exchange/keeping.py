"""How a record of each kind is put on record inside an import's one act: the same steps and rules as one by one."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, cast

from refstd.base.errors import Refusal
from refstd.desk.certificates import CertificateDraft, keep_certificate
from refstd.desk.entry import Draft
from refstd.desk.equipment import ItemDraft, MaterialDraft, keep_item, keep_material
from refstd.desk.findings import findings_of_paper
from refstd.desk.jobs import JobDraft, keep_job
from refstd.desk.known import found, refuse_taken
from refstd.desk.order_tests import PastOrderTestDraft, keep_past_order_test
from refstd.desk.people import GrantDraft, PersonDraft, grants_in, keep_grant, keep_person, may, person_shown
from refstd.desk.procedure_entry import ProcedureDraft, keep_procedure
from refstd.desk.qualifications import (
    QualificationDraft,
    VisionDraft,
    keep_qualification,
    keep_vision,
    same_qualification,
    same_vision,
)
from refstd.desk.requirements import ASKED
from refstd.desk.reservations import ReservationDraft, keep_reservation
from refstd.desk.schedules import ScheduleDraft, keep_schedule
from refstd.desk.setups import SetupDraft, keep_setup, setup_warnings
from refstd.desk.tolerances import ToleranceDraft, keep_tolerance
from refstd.register.equipment import Material
from refstd.register.lab import Change
from refstd.register.people import Person
from refstd.register.procedures import Job


@dataclass(frozen=True, slots=True)
class Record:
    """A record with the rows that complete it (`parts`, by kind) and where those rows stand (`places`)."""

    draft: Draft
    parts: dict[str, tuple[Draft, ...]]
    places: dict[str, tuple[str, ...]]


Warnings = list[str]


def _material(change: Change, record: Record, _warnings: Warnings) -> bool:
    draft = cast(MaterialDraft, record.draft)
    may(change, "keep the register")
    refuse_taken(change, Material, draft.code)
    keep_material(change, draft)
    return True


def _person(change: Change, record: Record, _warnings: Warnings) -> bool:
    draft = cast(PersonDraft, record.draft)
    may(change, "keep people")
    known = found(change, Person, draft.code)
    if known is not None:
        shown = person_shown(change, known)
        if (shown.name, shown.role, shown.active) == (draft.name, draft.role, draft.active):
            return False
    keep_person(change, draft)
    return True


def _authority(change: Change, record: Record, _warnings: Warnings) -> bool:
    draft = cast(GrantDraft, record.draft)
    may(change, "keep people")
    wanted = (draft.person, draft.authority, draft.granted_on, draft.expires_on, draft.why)
    if any((g.person, g.authority, g.granted_on, g.expires_on, g.why) == wanted for g in grants_in(change)):
        return False
    keep_grant(change, draft)
    return True


def _qualification(change: Change, record: Record, _warnings: Warnings) -> bool:
    draft = cast(QualificationDraft, record.draft)
    may(change, "keep people")
    if same_qualification(change, draft):
        return False
    keep_qualification(change, draft)
    return True


def _vision(change: Change, record: Record, _warnings: Warnings) -> bool:
    draft = cast(VisionDraft, record.draft)
    may(change, "keep people")
    if same_vision(change, draft):
        return False
    keep_vision(change, draft)
    return True


def _item(change: Change, record: Record, _warnings: Warnings) -> bool:
    may(change, "keep the register")
    keep_item(change, cast(ItemDraft, record.draft), cast(Any, record.parts.get("notches", ())))
    return True


def _order_test(change: Change, record: Record, _warnings: Warnings) -> bool:
    may(change, "keep the register")
    return keep_past_order_test(change, cast(PastOrderTestDraft, record.draft))


def _schedule(change: Change, record: Record, _warnings: Warnings) -> bool:
    may(change, "keep schedules")
    keep_schedule(change, cast(ScheduleDraft, record.draft))
    return True


def _tolerance(change: Change, record: Record, _warnings: Warnings) -> bool:
    may(change, "set a tolerance")
    keep_tolerance(change, cast(ToleranceDraft, record.draft))
    return True


def _certificate(change: Change, record: Record, warnings: Warnings) -> bool:
    may(change, "file a certificate")
    kept = keep_certificate(change, cast(CertificateDraft, record.draft), cast(Any, record.parts["values"]))
    warnings += [f.in_a_line() for f in findings_of_paper(change, kept)]
    return True


def _procedure(change: Change, record: Record, _warnings: Warnings) -> bool:
    draft = cast(ProcedureDraft, record.draft)
    may(change, "file a procedure")
    parts = cast(Any, record.parts)
    asked = {name: parts[name] for name in ASKED}
    keep_procedure(change, draft, parts["limits"], parts["targets"], parts["named"], parts["families"], asked, "")
    return True


def _job(change: Change, record: Record, _warnings: Warnings) -> bool:
    draft = cast(JobDraft, record.draft)
    may(change, "open a job")
    refuse_taken(change, Job, draft.number)
    details = cast(Any, record.parts["job_details"])
    if len(details) > 1:
        raise Refusal(f"job {draft.number} is described {len(details)} times", "job_details", "Keep one row.")
    keep_job(change, draft, *details)
    return True


def _setup(change: Change, record: Record, warnings: Warnings) -> bool:
    draft = cast(SetupDraft, record.draft)
    may(change, "make a setup")
    number = keep_setup(change, draft)
    warnings += [f"setup {number}: {w}" for w in setup_warnings(change, draft)]
    return True


def _reservation(change: Change, record: Record, _warnings: Warnings) -> bool:
    may(change, "reserve")
    keep_reservation(change, cast(ReservationDraft, record.draft))
    return True


# kind → puts one record on record and returns whether it was new
KEEP: dict[str, Callable[[Change, Record, Warnings], bool]] = {
    "materials": _material, "people": _person, "authorities": _authority, "qualifications": _qualification,
    "vision_tests": _vision, "blocks": _item, "probes": _item, "instruments": _item,
    "accessories": _item, "order_tests": _order_test, "schedules": _schedule, "tolerances": _tolerance, "certificates": _certificate, "procedures": _procedure, "jobs": _job,
    "setups": _setup, "reservations": _reservation,
}  # fmt: skip
