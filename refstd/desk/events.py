"""Events: what happened to an item and may have changed how it answers."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal

from pydantic import Field

from refstd.base.errors import NotFound, Problem, Refusal
from refstd.base.quantity import plain
from refstd.desk.entry import Draft, Number, OptionalPositive, Words, instant_from_words, refuse_if
from refstd.desk.items import among, items_of
from refstd.desk.known import named
from refstd.desk.people import may
from refstd.register.equipment import Equipment, EquipmentEvent
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.people import Person
from refstd.register.revisions import standing
from refstd.rules.events import TAPE_RENEWED, breaks, objection, suitable

Event = Literal[
    "tape renewed",
    "tip worn",
    "tip cleaned",
    "reading moves with the cable",
    "play in the bearing",
    "knocked",
    "repaired",
    "part exchanged",
    "firmware changed",
]


class EventDraft(Draft):
    """Something that happened to an item."""

    asset_no: Number = Field(title="asset number")
    event: Event = Field(title="what happened")
    tape: Words = Field("", description="kind of tape; with 'tape renewed' only")
    tape_thickness_mm: OptionalPositive = Field(
        None, title="thickness of the tape, mm", description="with 'tape renewed'"
    )
    happened_at: Words = Field("", description="instant; empty: now")
    note: Words = ""


@dataclass(frozen=True, slots=True)
class EventShown:
    """An event that counts: nothing supersedes it. `entry` is the log entry that brought it, by which it is corrected."""

    equipment_id: int
    asset_no: str
    event: str
    tape: str
    tape_thickness_mm: Decimal | None
    happened_at: datetime
    person: str
    note: str
    entry: int
    breaks: bool

    def in_words(self) -> str:
        """Return what happened to which item, without the time, such as 'P-202: tape renewed, PTFE 0.10 mm'."""
        return f"{self.asset_no}: {event_in_words(self.event, self.tape, self.tape_thickness_mm)}"


def event_in_words(event: str, tape: str, tape_thickness_mm: Decimal | None) -> str:
    """Return an event with the tape that it names."""
    kind = f", {tape} {plain(tape_thickness_mm)} mm" if tape_thickness_mm is not None else ""
    return f"{event}{kind}"


def record_event(lab: Lab, draft: EventDraft, *, by: str, now: datetime, operation: str = "") -> None:
    """Put on record that something happened to an item."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "record an event")
        keep_event(change, draft)
        change.record("event recorded", item=draft.asset_no, event=draft.event)


def correct_event(
    lab: Lab, asset_no: str, entry: int, draft: EventDraft | None, why: str, *, by: str, now: datetime, operation: str = ""
) -> None:  # fmt: skip
    """Correct what was recorded about an event, with the reason; without a draft it is withdrawn: it did not happen.

    asset_no, entry: the item and the log entry that brought the event. A draft without an instant keeps the event's.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "record an event")
        if not why.strip():
            raise Refusal("a correction needs a reason", asset_no, "Give it with --why.")
        before = _standing_event(change, asset_no, entry)
        if draft is None:
            columns = {c.name: getattr(before, c.name) for c in EquipmentEvent.__table__.columns}
            own = {"id": None, "withdrawn": True, "supersedes_id": before.id, "why": why.strip()}
            change.add(EquipmentEvent(**columns | own | {"person_id": change.by.person_id}))
        else:
            keep_event(change, draft, supersedes=before, why=why.strip())
        action = "event corrected" if draft else "event withdrawn"
        change.record(action, item=asset_no, event=before.event, entry=entry, why=why.strip())


def keep_event(change: Change, draft: EventDraft, *, supersedes: EquipmentEvent | None = None, why: str = "") -> None:
    """Add the row of an event."""
    item = named(change, Equipment, draft.asset_no)
    shown = items_of(change, [item.id])[item.id]
    says, remedy = objection(draft.event, shown.kind, shown.form)
    if says:
        raise Refusal(says, item.asset_no, remedy)
    refuse_if(_tape_problems(draft), f"event of {item.asset_no}")
    moment = change.instant if supersedes is None else supersedes.happened_at
    if draft.happened_at:
        moment = instant_from_words(draft.happened_at, change.zone)
    change.add(
        EquipmentEvent(
            equipment_id=item.id, event=draft.event, tape=draft.tape, tape_thickness_mm=draft.tape_thickness_mm,
            person_id=change.by.person_id, note=draft.note, withdrawn=False,
            supersedes_id=supersedes.id if supersedes else None, why=why, happened_at=moment,
        )
    )  # fmt: skip


def events_of(look: Look, equipment_ids: Collection[int] | None = None) -> tuple[EventShown, ...]:
    """Return what happened to these items, or to all, as it counts at the look's instant, oldest first. One query."""
    mine = (EquipmentEvent.withdrawn.is_(False), *among(EquipmentEvent.equipment_id, equipment_ids))
    query = (
        standing(EquipmentEvent, look.upto, *mine)
        .join(Equipment, Equipment.id == EquipmentEvent.equipment_id)
        .join(Person, Person.id == EquipmentEvent.person_id)
        .with_only_columns(EquipmentEvent, Equipment.asset_no, Person.code)
        .order_by(None)
        .order_by(EquipmentEvent.happened_at, EquipmentEvent.id)
    )
    return tuple(
        EventShown(
            e.equipment_id, asset_no, e.event, e.tape, e.tape_thickness_mm, e.happened_at, code, e.note, e.entry,
            breaks(e.event),
        )
        for e, asset_no, code in look.session.execute(query)
    )  # fmt: skip


def possible_events(lab: Lab, asset_no: str, when: When) -> tuple[str, ...]:
    """Return the events that can happen to an item."""
    with lab.look(when) as look:
        number = named(look, Equipment, asset_no).id
        shown = items_of(look, [number])[number]
        return suitable(shown.kind, shown.form)


def _tape_problems(draft: EventDraft) -> list[Problem]:
    if draft.event != TAPE_RENEWED:
        given = [n for n, v in (("tape", draft.tape), ("tape_thickness_mm", draft.tape_thickness_mm)) if v]
        return [Problem(n, f"belongs to 'tape renewed', not to '{draft.event}'", "Leave it empty.") for n in given]
    return [
        Problem(name, "is missing with 'tape renewed'", f"Give the {words} of the new tape.")
        for name, value, words in (("tape", draft.tape, "kind"), ("tape_thickness_mm", draft.tape_thickness_mm, "thickness in mm"))
        if not value
    ]  # fmt: skip


def _standing_event(change: Change, asset_no: str, entry: int) -> EquipmentEvent:
    item = named(change, Equipment, asset_no)
    mine = (EquipmentEvent.equipment_id == item.id, EquipmentEvent.entry == entry, EquipmentEvent.withdrawn.is_(False))
    found = change.session.execute(standing(EquipmentEvent, change.upto, *mine)).scalars().all()
    if len(found) != 1:
        raise NotFound(
            f"log entry {entry} brought no event of {item.asset_no} that still counts", "",
            f"See `refstd show {item.asset_no}` for the events and their entries.",
        )  # fmt: skip
    return found[0]
