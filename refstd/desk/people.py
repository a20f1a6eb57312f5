"""People: who works here, in which role, with which authorities."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.text import key
from refstd.desk.entry import Day, Draft, NeededWords, Number, OptionalDay, YesNo
from refstd.desk.known import named, refuse_taken
from refstd.register.lab import Actor, Change, Lab, Look, When, authorities_of
from refstd.register.people import AuthorityGrant, Person, PersonRevision
from refstd.register.revisions import newest_of_each
from refstd.rules.authority import allows, refuse_unless

Role = Literal["custodian", "technician", "auditor"]
Authority = Literal["level 2", "responsible level 3", "quality"]


class PersonDraft(Draft):
    """A person to put on record, or a new description of one."""

    code: Number = Field(title="code")
    name: NeededWords
    role: Role
    active: YesNo = True


class GrantDraft(Draft):
    """An authority to give to a person."""

    person: Number
    authority: Authority
    granted_on: Day
    expires_on: OptionalDay = None
    why: NeededWords


@dataclass(frozen=True, slots=True)
class GrantShown:
    """An authority as it was given."""

    person: str
    authority: str
    granted_on: date
    expires_on: date | None
    why: str


@dataclass(frozen=True, slots=True)
class PersonShown:
    """A person as on record."""

    code: str
    name: str
    role: str
    active: bool
    authorities: tuple[str, ...]


def enter_person(lab: Lab, draft: PersonDraft, *, by: str, now: datetime, operation: str = "") -> None:
    """Put a person on record. Refused for a code that is taken."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep people")
        keep_person(change, draft)
        change.record("person entered", person=draft.code)


def keep_person(change: Change, draft: PersonDraft) -> Person:
    """Add the rows of a person."""
    refuse_taken(change, Person, draft.code)
    person = change.add(Person(code=draft.code, code_key=key(draft.code)))
    change.add(
        PersonRevision(
            person_id=person.id, revision=1, why="entered", name=draft.name, role=draft.role, active=draft.active
        )
    )
    return person


def revise_person(lab: Lab, draft: PersonDraft, why: str, *, by: str, now: datetime, operation: str = "") -> None:
    """Describe a person anew: role changed, or no longer here."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep people")
        person = named(change, Person, draft.code)
        last = _described(change)[person.id]
        change.add(
            PersonRevision(
                person_id=person.id,
                revision=last.revision + 1,
                why=why,
                name=draft.name,
                role=draft.role,
                active=draft.active,
            )
        )
        change.record("person described anew", person=draft.code, why=why)


def grant(lab: Lab, draft: GrantDraft, *, by: str, now: datetime, operation: str = "") -> None:
    """Give an authority to a person, from a day, to a day."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep people")
        keep_grant(change, draft)
        change.record("authority granted", person=draft.person, authority=draft.authority)


def keep_grant(change: Change, draft: GrantDraft) -> None:
    """Add the row of an authority."""
    person = named(change, Person, draft.person)
    change.add(
        AuthorityGrant(
            person_id=person.id,
            authority=draft.authority,
            granted_on=draft.granted_on,
            expires_on=draft.expires_on,
            why=draft.why,
            happened_at=change.instant,
        )
    )


def grants_in(look: Look) -> tuple[GrantShown, ...]:
    """Return every authority as it was given, within a look, oldest first."""
    query = select(AuthorityGrant).where(AuthorityGrant.entry <= look.upto).order_by(AuthorityGrant.id)
    return tuple(
        GrantShown(code_of(look, g.person_id), g.authority, g.granted_on, g.expires_on, g.why)
        for g in look.session.execute(query).scalars()
    )


def people(lab: Lab, when: When) -> tuple[PersonShown, ...]:
    """Return everybody on record."""
    with lab.look(when) as look:
        return people_in(look)


def people_in(look: Look) -> tuple[PersonShown, ...]:
    """Return everybody on record at the look's instant."""
    return tuple(person_shown(look, p) for p in _people_rows(look))


def actor(lab: Lab, code: str, when: When) -> PersonShown:
    """Return the person behind a code, or refuse."""
    with lab.look(when) as look:
        return person_shown(look, named(look, Person, code))


def person_shown(look: Look, person: Person) -> PersonShown:
    """Return a person as on record at the look's instant."""
    described = _described(look)[person.id]
    held = authorities_of(look.session, person.id, look.today, look.upto)
    return PersonShown(person.code, described.name, described.role, described.active, tuple(sorted(held)))


def code_of(look: Look, person_id: int | None) -> str:
    """Return the code of a person by internal id."""
    if not person_id:
        return ""
    if ("code", person_id) not in look.known:
        person = look.session.get(Person, person_id)
        look.known["code", person_id] = person.code if person else ""
    code: str = look.known["code", person_id]
    return code


def may(change: Change, act: str, by: Actor | None = None) -> None:
    """Refuse an act that the acting person may not do."""
    who = by or change.by
    refuse_unless(act, code=who.code, role=who.role, authorities=who.authorities)


def allowed(person: PersonShown, act: str) -> bool:
    """Return whether a person may do an act, so that a screen need not offer what would be refused."""
    return allows(act, role=person.role, authorities=frozenset(person.authorities))


def someone(change: Change, code: str) -> Actor:
    """Return another person who takes part in an act, such as the one who approves."""
    person = named(change, Person, code)
    shown = person_shown(change, person)
    return Actor(person.id, person.code, shown.name, shown.role, frozenset(shown.authorities))


def _people_rows(look: Look) -> list[Person]:
    return list(look.session.execute(select(Person).where(Person.entry <= look.upto).order_by(Person.code)).scalars())


def _described(look: Look) -> dict[int, PersonRevision]:
    return newest_of_each(look.session, PersonRevision, PersonRevision.person_id, look.upto)
