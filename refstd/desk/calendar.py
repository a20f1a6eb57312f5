"""Due dates as events of a calendar: one a duty, known again by its identifier, whatever its date becomes.

Everything follows from the log up to its head, judged on the day of the head's entry: the same head gives the same
events. A duty that had a date and has none any longer (retired, ended, withdrawn evidence) stays, as cancelled, so that
it also goes from a calendar that had taken it in.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from sqlalchemy import func, select

from refstd.base.errors import WrongUsage
from refstd.base.text import key
from refstd.desk.duties import due_within
from refstd.desk.items import items
from refstd.desk.qualifications import people_due_within
from refstd.register.certificates import Certificate
from refstd.register.equipment import Deferral, EquipmentRevision, EquipmentState, Schedule
from refstd.register.lab import Lab, Look, When
from refstd.register.log import LogEntry
from refstd.register.people import Person, PersonRevision, Qualification, VisionTest
from refstd.register.requirements import ProcedureAct
from refstd.rules.qualified import Held, test_of

Subject = tuple[str, str]  # an asset number or a person's code, and what is owed


@dataclass(frozen=True, slots=True)
class DueEvent:
    """One duty. version: the newest log entry that bears on its date; it goes up whenever the date changes."""

    uid: str
    version: int
    changed_at: datetime
    on: date
    title: str
    says: str
    cancelled: bool = False


@dataclass(frozen=True, slots=True)
class DueCalendar:
    """All events, by identifier, with the head of the log from which they follow. remind_days: the lab's 'due soon'."""

    lab_name: str
    sequence: int
    made_at: datetime
    remind_days: int
    events: tuple[DueEvent, ...]


def due_calendar(lab: Lab, when: When) -> DueCalendar:
    """Return the due dates of items and people as they follow from the log up to the moment."""
    if when.today is not None:
        raise WrongUsage("a calendar follows from the records, not from a day", "--today", "Use --as-at, or neither.")
    with lab.look(when) as look:
        recorded_at = _recorded(look, {look.upto})[look.upto]
    with lab.look(When(max(when.now, recorded_at), as_at=recorded_at)) as look:
        found = [*_of_items(look), *_of_people(look)]
        instants = _recorded(look, {version for _, version, *_ in found})
        events = [
            DueEvent(
                _uid(look, subject), version, instants[version],
                on or instants[version].astimezone(look.zone).date(), title if on else f"Cancelled: {title}", says, on is None,
            )
            for subject, version, on, title, says in found
        ]  # fmt: skip
        return DueCalendar(
            look.lab_name, look.upto, recorded_at, look.due_soon_days, tuple(sorted(events, key=lambda e: e.uid))
        )


_Found = tuple[Subject, int, date | None, str, str]


def _of_items(look: Look) -> Iterator[_Found]:
    shown = items(look)
    whole: dict[int, int] = {}
    for table in (EquipmentRevision, EquipmentState):
        for (number,), entry in _newest(look, table.entry, table.equipment_id).items():
            whole[number] = max(entry, whole.get(number, 0))
    parts: dict[tuple[int, str], int] = {}
    for of in (Schedule, Deferral, Certificate):
        for (number, activity), entry in _newest(look, of.entry, of.equipment_id, of.activity).items():
            parts[number, activity] = max(entry, parts.get((number, activity), 0))
    # From first use: any check or check-out may bring the date, so that each new entry of the log counts as a change.
    from_use = set(_newest(look, Schedule.entry, Schedule.equipment_id, Schedule.activity, anchor="first use"))
    ids = {item.asset_no: number for number, item in shown.items()}

    def version(number: int, activity: str) -> int:
        return look.upto if (number, activity) in from_use else max(parts[number, activity], whole.get(number, 0))

    dated = set()
    for row in due_within(look):
        on = row.deferred_to or row.due_on
        if on is None:
            continue
        number = ids[row.asset_no]
        dated.add((number, row.activity))
        state = f" ({row.item_state}: not for use)" if row.item_state == "quarantined" else ""
        says = [
            f"{row.name}, {row.kind}", f"Last day of validity: {on}", f"Every {row.every}, by {row.source}",
            f"Rests on {row.record}, done {row.last_done_on}", f"Deferred by {row.deferral}; due {row.due_on}" if row.deferral else "",
            f"State: {row.item_state}, {row.location}" if row.location else f"State: {row.item_state}",
        ]  # fmt: skip
        title = f"{row.asset_no} {row.activity} due{state}"
        yield (row.asset_no, row.activity), version(number, row.activity), on, title, "\n".join(x for x in says if x)
    owed = set(_newest(look, Schedule.entry, Schedule.equipment_id, Schedule.activity))
    evidenced = set(_newest(look, Certificate.entry, Certificate.equipment_id, Certificate.activity))
    for number, activity in sorted((owed & evidenced) - dated):
        asset_no, state = shown[number].asset_no, shown[number].state
        says = [f"No date is owed any longer. State: {state}"]
        yield (asset_no, activity), version(number, activity), None, f"{asset_no} {activity} due", says[0]


def _of_people(look: Look) -> Iterator[_Found]:
    codes = {p.id: p.code for p in look.session.execute(select(Person)).scalars()}
    procedures = max(_newest(look, ProcedureAct.entry).values(), default=0)  # what they ask for may end a test sooner
    newest: dict[str, int] = {}
    for table in (PersonRevision, Qualification, VisionTest):
        for (number,), entry in _newest(look, table.entry, table.person_id).items():
            newest[codes[number]] = max(entry, newest.get(codes[number], 0), procedures)
    dated = set()
    for p in people_due_within(look):
        if p.owed.due_on is not None:
            dated.add((p.person, p.owed.what))
            says = f"{p.name}\nLast day: {p.owed.due_on}\nBy {p.owed.source}\nRests on {p.owed.record}, done {p.owed.last_done_on}"
            title = f"{p.person} {p.owed.what} ends"
            yield (p.person, p.owed.what), newest[p.person], p.owed.due_on, title, says
    tests = select(VisionTest.person_id, VisionTest.kind).where(VisionTest.entry <= look.upto)
    held = select(Qualification).where(Qualification.entry <= look.upto)
    ever = {(codes[number], test_of(kind)) for number, kind in look.session.execute(tests)}
    ever |= {
        (codes[q.person_id], f"qualification {Held(q.method, q.level, q.sector, q.scheme, q.authorised_on, q.expires_on, '').in_words()}")
        for q in look.session.execute(held).scalars()
    }  # fmt: skip
    for person, what in sorted(ever - dated):
        yield (person, what), newest[person], None, f"{person} {what} ends", "No date is owed any longer."


def _newest(look: Look, entry: Any, *by: Any, **only: str) -> dict[tuple[Any, ...], int]:
    """Return the newest log entry that wrote a row, by these columns."""
    table = entry.class_
    wanted = [getattr(table, name) == value for name, value in only.items()]
    rows = look.session.execute(select(func.max(entry), *by).where(entry <= look.upto, *wanted).group_by(*by))
    return {tuple(group): newest for newest, *group in rows if newest is not None}


def _recorded(look: Look, sequences: set[int]) -> dict[int, datetime]:
    rows = select(LogEntry.sequence, LogEntry.recorded_at).where(LogEntry.sequence <= look.upto)
    return {number: moment for number, moment in look.session.execute(rows) if number in sequences}


def _uid(look: Look, subject: Subject) -> str:
    """Return the identifier: of this store, this item or person and this duty, and of nothing that changes."""
    return f"{uuid5(UUID(look.head.chain), 'due:' + ':'.join(map(key, subject)))}@refstd"
