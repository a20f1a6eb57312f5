"""People's qualifications and tests of vision: recording, correcting, what is owed, and who may sign for a lot."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import AlreadyOnRecord, NotAllowed, Problem, Refusal
from refstd.base.reason import Reason
from refstd.base.text import key
from refstd.desk.entry import Day, Draft, NeededWords, Number, OptionalDay, Words, YesNo, refuse_if, row_from
from refstd.desk.known import named, next_number
from refstd.desk.people import PersonShown, code_of, may, people_in, person_shown
from refstd.desk.procedures import ProcedureShown, procedures_in
from refstd.register.lab import Actor, Change, Lab, Look, When
from refstd.register.people import Person, Qualification, VisionTest
from refstd.register.revisions import standing
from refstd.rules.qualified import Examiner, Held, Owed, Sight, against_signing, owed_by, signing_reasons

LAPSED = ("never done", "not passed", "overdue")  # the states of what is owed that keep somebody from signing


class QualificationDraft(Draft):
    """A person's qualification in a method, with the employer's authorisation."""

    person: Number
    method: NeededWords = Field(description="as certificate and procedure write it, such as ET")
    level: Literal["1", "2", "3"]
    sector: Words = Field("", description="empty: the certificate states none")
    scheme: NeededWords = Field(description="the scheme or written practice that it was given under")
    certificate_no: NeededWords
    authorised_on: Day = Field(description="from this day the employer lets the person work on it")
    expires_on: Day = Field(description="the last day on which it counts")


class VisionDraft(Draft):
    """A person's test of near vision or of colour vision, passed or not."""

    person: Number
    kind: Literal["near vision", "colour"]
    tested_on: Day
    passed: YesNo
    result: Words = Field("", description="as the paper states it")
    expires_on: OptionalDay = Field(
        None,
        description="the last day on which it counts, as the written practice says; near vision is commonly tested every year "
        "(common practice, no source); empty: it was not passed",
    )
    practice: NeededWords = Field(description="the written practice that asks for the test, with its paragraph")


@dataclass(frozen=True, slots=True)
class QualificationShown:
    """A qualification as on record; `superseded_by` is the number of its correction, `corrects` of what it corrects."""

    number: str
    person: str
    method: str
    level: int
    sector: str
    scheme: str
    certificate_no: str
    authorised_on: date
    expires_on: date
    corrects: str
    superseded_by: str
    why: str
    happened_at: datetime


@dataclass(frozen=True, slots=True)
class VisionShown:
    """A test of vision as on record; `superseded_by` is the number of its correction, `corrects` of what it corrects."""

    number: str
    person: str
    kind: str
    tested_on: date
    passed: bool
    result: str
    expires_on: date | None
    practice: str
    corrects: str
    superseded_by: str
    why: str
    happened_at: datetime


@dataclass(frozen=True, slots=True)
class PersonRecord:
    """A person with all that is on record of qualification and vision, newest first, and what is owed."""

    person: PersonShown
    qualifications: tuple[QualificationShown, ...]
    tests: tuple[VisionShown, ...]
    owed: tuple[Owed, ...]


@dataclass(frozen=True, slots=True)
class PersonDue:
    """One thing that a person owes. days: until its last day; negative when that has passed, None where there is none."""

    person: str
    name: str
    owed: Owed
    days: int | None


def record_qualification(lab: Lab, draft: QualificationDraft, *, by: str, now: datetime, operation: str = "") -> str:
    """Put a qualification on record and return its number. Refused for one that stands on record already."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep people")
        if same_qualification(change, draft):
            raise _already(f"this qualification of {draft.person}")
        row = keep_qualification(change, draft)
        change.record("qualification recorded", number=row.number, person=draft.person)
        return row.number


def record_vision(lab: Lab, draft: VisionDraft, *, by: str, now: datetime, operation: str = "") -> str:
    """Put a test of vision on record and return its number. Refused for one that stands on record already."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep people")
        if same_vision(change, draft):
            raise _already(f"this test of {draft.person}")
        row = keep_vision(change, draft)
        change.record("test of vision recorded", number=row.number, person=draft.person)
        return row.number


def correct_qualification(
    lab: Lab, number: str, draft: QualificationDraft, why: str, *, by: str, now: datetime, operation: str = ""
) -> str:
    """Record a qualification anew in an earlier record's place, with the reason; an end before its day is one too."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep people")
        before = named(change, Qualification, number)
        _refuse_correction(change, Qualification, before, draft.person, why)
        row = keep_qualification(change, draft, corrects=before, why=why.strip())
        change.record("qualification corrected", number=row.number, corrects=before.number, why=why.strip())
        return row.number


def correct_vision(
    lab: Lab, number: str, draft: VisionDraft, why: str, *, by: str, now: datetime, operation: str = ""
) -> str:
    """Record a test of vision anew in an earlier record's place, with the reason."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep people")
        before = named(change, VisionTest, number)
        _refuse_correction(change, VisionTest, before, draft.person, why)
        row = keep_vision(change, draft, corrects=before, why=why.strip())
        change.record("test of vision corrected", number=row.number, corrects=before.number, why=why.strip())
        return row.number


def keep_qualification(
    change: Change, draft: QualificationDraft, *, corrects: Qualification | None = None, why: str = ""
) -> Qualification:
    """Add the row of a qualification."""
    person = named(change, Person, draft.person)
    if draft.expires_on < draft.authorised_on:
        problem = Problem("expires_on", f"{draft.expires_on} is before the authorisation", "Give the last day on which it counts.")  # fmt: skip
        refuse_if([problem], f"qualification of {person.code}")
    number = next_number(change, Qualification, "Q")
    return change.add(
        row_from(
            Qualification, draft, number=number, number_key=key(number), person_id=person.id, level=int(draft.level),
            supersedes_id=corrects.id if corrects else None, why=why, happened_at=change.instant,
        )
    )  # fmt: skip


def keep_vision(change: Change, draft: VisionDraft, *, corrects: VisionTest | None = None, why: str = "") -> VisionTest:
    """Add the row of a test of vision."""
    person = named(change, Person, draft.person)
    refuse_if(list(_vision_problems(draft, change.today)), f"test of vision of {person.code}")
    number = next_number(change, VisionTest, "V")
    return change.add(
        row_from(
            VisionTest, draft, number=number, number_key=key(number), person_id=person.id,
            supersedes_id=corrects.id if corrects else None, why=why, happened_at=change.instant,
        )
    )  # fmt: skip


def _vision_problems(draft: VisionDraft, today: date) -> Iterator[Problem]:
    if draft.tested_on > today:
        yield Problem("tested_on", f"{draft.tested_on} is in the future", "Give the day of the test.")
    if draft.passed and draft.expires_on is None:
        yield Problem("expires_on", "is missing", "Give the last day on which the passed test counts, as the written practice says.")  # fmt: skip
    if not draft.passed and draft.expires_on is not None:
        yield Problem("expires_on", "a test that was not passed counts to no day", "Leave it empty.")
    if draft.expires_on is not None and draft.expires_on < draft.tested_on:
        yield Problem("expires_on", f"{draft.expires_on} is before the test", "Give the last day on which it counts.")


def _refuse_correction(change: Change, kind: Any, before: Qualification | VisionTest, person: str, why: str) -> None:
    if not why.strip():
        raise Refusal("a correction needs a reason", before.number, "Say what was wrong.")
    owner = code_of(change, before.person_id)
    if key(owner) != key(person):
        raise Refusal(f"{before.number} is {owner}'s, not {person}'s", "person", "Correct it for the same person; record another one for another.")  # fmt: skip
    later = change.session.execute(select(kind.number).where(kind.supersedes_id == before.id)).scalar()
    if later:
        raise Refusal(f"{before.number} is corrected already by {later}", "", f"Correct {later} if need be.")


def _already(what: str) -> AlreadyOnRecord:
    return AlreadyOnRecord(f"{what} stands on record already, the same in every field", "", "Nothing to do.")


def same_qualification(look: Look, draft: QualificationDraft) -> bool:
    """Return whether a qualification with the same fields stands on record."""
    return any(_alike(q, draft) for q in _standing(look, Qualification) if code_of(look, q.person_id) == draft.person)


def same_vision(look: Look, draft: VisionDraft) -> bool:
    """Return whether a test with the same fields stands on record."""
    return any(_alike(v, draft) for v in _standing(look, VisionTest) if code_of(look, v.person_id) == draft.person)


def _alike(row: Any, draft: Draft) -> bool:
    return all(str(getattr(row, f)) == str(v) for f, v in draft if f != "person")


def _standing(look: Look, kind: Any, person_id: int | None = None) -> list[Any]:
    mine = (kind.person_id == person_id,) if person_id is not None else ()
    return list(look.session.execute(standing(kind, look.upto, *mine)).scalars())


def examiner_of(look: Look, person_id: int) -> Examiner:
    """Return what is on record of a person and nothing supersedes, as the rule wants it."""
    cached = ("examiner", person_id)
    if cached not in look.known:
        code = code_of(look, person_id)
        look.known[cached] = Examiner(
            code,
            tuple(
                Held(q.method, q.level, q.sector, q.scheme, q.authorised_on, q.expires_on, f"qualification {q.number} of {code}")
                for q in _standing(look, Qualification, person_id)
            ),
            tuple(
                Sight(v.kind, v.tested_on, v.passed, v.expires_on, v.practice, f"test of vision {v.number} of {code}")
                for v in _standing(look, VisionTest, person_id)
            ),
        )  # fmt: skip
    found: Examiner = look.known[cached]
    return found


def standing_to_sign(look: Look, person_id: int, procedure: ProcedureShown, moment: datetime) -> tuple[Reason, ...]:
    """Return what stands against a person's signing for work at an instant under a procedure, and what is in order.

    Judged on the civil day of the work in the lab's zone, from what is on record at the look's instant.
    """
    day = moment.astimezone(look.zone).date()
    return signing_reasons(examiner_of(look, person_id), procedure.asks, procedure.name, day, look.due_soon_days)


def may_sign(lab: Lab, person: str, procedure: ProcedureShown, when: When) -> tuple[Reason, ...]:
    """Return how a person stands for signing lots under a procedure now."""
    with lab.look(when) as look:
        return standing_to_sign(look, named(look, Person, person).id, procedure, when.now)


def refuse_unqualified(
    change: Change, procedure: ProcedureShown, moment: datetime, examiner: Actor
) -> tuple[Reason, ...]:
    """Refuse the signature of the one who examined at an instant, with every reason; return what is told besides."""
    reasons = standing_to_sign(change, examiner.person_id, procedure, moment)
    against = against_signing(reasons)
    if against:
        day = moment.astimezone(change.zone).date()
        raise NotAllowed(
            f"{examiner.code} can't sign for what was examined on {day}: {'; '.join(r.in_words() for r in against)}",
            "qualification",
            "The checks stay on record. Once it is put right the lot can be logged with the time at which it was examined.",
        )
    return reasons


def qualifications(lab: Lab, when: When) -> tuple[QualificationShown, ...]:
    """Return every qualification on record, newest first, corrected ones too."""
    with lab.look(when) as look:
        return qualifications_in(look)


def qualifications_in(look: Look, person_id: int | None = None) -> tuple[QualificationShown, ...]:
    """Return the qualifications on record at the look's instant, of a person or all, newest first."""
    return tuple(
        QualificationShown(
            q.number, code_of(look, q.person_id), q.method, q.level, q.sector, q.scheme, q.certificate_no, q.authorised_on,
            q.expires_on, corrects, later, q.why, q.happened_at,
        )
        for q, corrects, later in _every(look, Qualification, person_id)
    )  # fmt: skip


def vision_tests_in(look: Look, person_id: int | None = None) -> tuple[VisionShown, ...]:
    """Return the tests of vision on record at the look's instant, of a person or all, newest first."""
    return tuple(
        VisionShown(
            v.number, code_of(look, v.person_id), v.kind, v.tested_on, v.passed, v.result, v.expires_on, v.practice, corrects,
            later, v.why, v.happened_at,
        )
        for v, corrects, later in _every(look, VisionTest, person_id)
    )  # fmt: skip


def _every(look: Look, kind: Any, person_id: int | None) -> list[tuple[Any, str, str]]:
    """Return every row of a kind, newest first: (row, number of what it corrects, number of its correction)."""
    query = select(kind).where(kind.entry <= look.upto).order_by(kind.id.desc())
    rows = list(
        look.session.execute(query if person_id is None else query.where(kind.person_id == person_id)).scalars()
    )
    numbers = {r.id: r.number for r in rows}
    later = {r.supersedes_id: r.number for r in rows if r.supersedes_id}
    return [(r, numbers.get(r.supersedes_id, ""), later.get(r.id, "")) for r in rows]


def person_record(lab: Lab, code: str, when: When) -> PersonRecord:
    """Return a person with all that is on record of qualification and vision."""
    with lab.look(when) as look:
        person = named(look, Person, code)
        shown = person_shown(look, person)
        owed = _owed(look, shown, person.id)
        return PersonRecord(shown, qualifications_in(look, person.id), vision_tests_in(look, person.id), owed)


def _owed(look: Look, shown: PersonShown, person_id: int) -> tuple[Owed, ...]:
    asked = [(p.name, p.asks) for p in procedures_in(look)]
    examines = shown.active and shown.role == "technician"
    return owed_by(examiner_of(look, person_id), asked, look.today, look.due_soon_days, examines=examines)


def people_due(lab: Lab, when: When, *, within_days: int | None = None) -> tuple[PersonDue, ...]:
    """Return what people owe, most urgent first; `within_days` keeps what falls due by then, is past, or was never done."""
    with lab.look(when) as look:
        return people_due_within(look, within_days=within_days)


def people_due_within(look: Look, *, within_days: int | None = None) -> tuple[PersonDue, ...]:
    """Return what the people who work here owe, within a look."""
    rows = []
    for shown in people_in(look):
        if not shown.active:
            continue
        for owed in _owed(look, shown, named(look, Person, shown.code).id):
            days = (owed.due_on - look.today).days if owed.due_on else None
            if within_days is None or days is None or days <= within_days:
                rows.append(PersonDue(shown.code, shown.name, owed, days))
    return tuple(sorted(rows, key=lambda r: (r.days is not None, r.days or 0, r.person, r.owed.what)))
