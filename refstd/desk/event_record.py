"""An event as a record to be read: what happened, who recorded it, what was corrected, and what each record caused."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from sqlalchemy import select

from refstd.base.errors import NotFound
from refstd.base.quantity import plain
from refstd.desk.caused import Caused, caused_by_entry
from refstd.desk.findings import FindingShown, finding_shown
from refstd.desk.happened import event_in_words, place_of, ref_of
from refstd.desk.known import named
from refstd.desk.people import code_of
from refstd.register.equipment import Equipment, EquipmentEvent
from refstd.register.findings import Finding
from refstd.register.lab import Lab, Look, When
from refstd.rules.events import breaks


@dataclass(frozen=True, slots=True)
class EventVersion:
    """One record of an event: the first, a correction or the withdrawal. `thickness` is that of a tape, in mm, as text.

    `caused` and `findings` are what this record changed when it was kept, and the findings it opened as they stand now.
    """

    ref: str
    event: str
    tape: str
    thickness: str
    note: str
    happened_at: datetime
    recorded_at: datetime
    person: str
    withdrawn: bool
    why: str
    says: str
    caused: Caused
    findings: tuple[FindingShown, ...]

    @property
    def does(self) -> str:
        """Return what this record does, in a word."""
        return "withdraws" if self.withdrawn else "corrects" if self.why else "records"


@dataclass(frozen=True, slots=True)
class EventRecord:
    """An event with all its records, oldest first. The last one counts."""

    asset_no: str
    versions: tuple[EventVersion, ...]

    @property
    def newest(self) -> EventVersion:
        return self.versions[-1]

    @property
    def counts(self) -> bool:
        return not self.newest.withdrawn

    @property
    def breaks(self) -> bool:
        return breaks(self.newest.event)

    @property
    def findings(self) -> tuple[FindingShown, ...]:
        """Return every finding that a record of it opened, oldest first."""
        return tuple(f for v in self.versions for f in v.findings)

    def headline(self) -> str:
        """Return whether it counts, and what it is."""
        newest = self.newest
        if newest.withdrawn:
            stays = "; what it had held stays held until it is released" if self.findings else ""
            return f"WITHDRAWN: {newest.says} did not happen: {newest.why}{stays}"
        corrected = ", corrected" if len(self.versions) > 1 else ""
        return f"COUNTS{corrected}: {newest.says}" + ("; the record breaks there" if self.breaks else "")


def event_record(lab: Lab, asset_no: str, ref: str, when: When) -> EventRecord:
    """Return an event of an item by the log entry that brought it or one of its corrections, or refuse."""
    with lab.look(when) as look:
        return event_record_within(look, asset_no, ref)


def event_record_within(look: Look, asset_no: str, ref: str) -> EventRecord:
    """Return an event within a look."""
    item = named(look, Equipment, asset_no)
    own = (EquipmentEvent.equipment_id == item.id, EquipmentEvent.entry <= look.upto)
    rows = look.session.execute(select(EquipmentEvent).where(*own).order_by(EquipmentEvent.id)).scalars().all()
    seen: Counter[int] = Counter()
    refs = {}
    for row in rows:
        seen[row.entry] += 1
        refs[row.id] = ref_of(row.entry, seen[row.entry])
    asked = next((r for r in rows if refs[r.id] == ref.removesuffix("/1")), None)
    if asked is None:
        raise NotFound(
            f"log entry {ref} brought no event of {item.asset_no}", "",
            f"See `refstd show {item.asset_no}` for the events and their entries.",
        )  # fmt: skip
    line = {asked.id}
    for row in reversed(rows):  # a record is always newer than the one that it corrects
        if row.id in line and row.supersedes_id:
            line.add(row.supersedes_id)
    for row in rows:
        if row.supersedes_id in line:
            line.add(row.id)
    versions = tuple(_version(look, row, refs[row.id]) for row in rows if row.id in line)
    return EventRecord(item.asset_no, versions)


def _version(look: Look, row: EquipmentEvent, ref: str) -> EventVersion:
    opened = select(Finding).where(Finding.entry == row.entry).order_by(Finding.id)
    return EventVersion(
        ref, row.event, row.tape, plain(row.tape_thickness_mm) if row.tape_thickness_mm is not None else "", row.note,
        row.happened_at, row.recorded_at, code_of(look, row.person_id), row.withdrawn, row.why,
        event_in_words(row.event, row.tape, row.tape_thickness_mm),
        caused_by_entry(look, row.equipment_id, row.entry, row.recorded_at),
        tuple(finding_shown(look, f) for f in look.session.execute(opened).scalars()),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class EventRow:
    """One record of an event with every field that was kept; `corrects` is the record that it takes the place of."""

    asset_no: str
    ref: str
    event: str
    tape: str
    tape_thickness_mm: Decimal | None
    happened_at: datetime
    recorded_at: datetime
    person: str
    note: str
    corrects: str
    withdrawn: bool
    why: str


def event_rows(look: Look) -> tuple[EventRow, ...]:
    """Return every record of every event, corrected and withdrawn ones too, in the order in which they were kept."""
    query = (
        select(EquipmentEvent, Equipment.asset_no, place_of())
        .join(Equipment, Equipment.id == EquipmentEvent.equipment_id)
        .where(EquipmentEvent.entry <= look.upto)
        .order_by(EquipmentEvent.id)
    )
    found: list[EventRow] = []
    refs: dict[int | None, str] = {None: ""}
    for e, asset_no, place in look.session.execute(query):
        refs[e.id] = ref_of(e.entry, place)
        found.append(
            EventRow(
                asset_no, refs[e.id], e.event, e.tape, e.tape_thickness_mm, e.happened_at, e.recorded_at,
                code_of(look, e.person_id), e.note, refs[e.supersedes_id], e.withdrawn, e.why,
            )
        )  # fmt: skip
    return tuple(found)
