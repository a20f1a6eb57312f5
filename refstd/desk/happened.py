"""What happened to items and may have changed how they answer, as the questions of desk and rules want it."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import aliased

from refstd.base.quantity import plain
from refstd.base.reason import Reason
from refstd.desk.items import items_of
from refstd.desk.known import named
from refstd.register.checks import Baseline, BaselineSet, ResponseCheck, Setup
from refstd.register.equipment import Equipment, EquipmentEvent
from refstd.register.lab import CLOCK_SLACK, Lab, Look, When
from refstd.register.people import Person
from refstd.register.revisions import standing
from refstd.rules.events import Happened, baseline_reasons, breaks, suitable


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
    event_id: int = 0
    place: int = 1  # among the events of this item that the entry brought: an import brings several

    @property
    def ref(self) -> str:
        """Return by what the event is named beside its item: '812', or '812/2' for the second that an entry brought."""
        return ref_of(self.entry, self.place)

    def in_words(self) -> str:
        """Return what happened to which item, without the time, such as 'P-202: tape renewed, PTFE 0.10 mm'."""
        return f"{self.asset_no}: {event_in_words(self.event, self.tape, self.tape_thickness_mm)}"


def ref_of(entry: int, place: int) -> str:
    """Return how one of an item's events is named."""
    return str(entry) if place == 1 else f"{entry}/{place}"


def place_of() -> ColumnElement[int]:
    """Return, as a column, which of the events of its item that its log entry brought a row is."""
    other = aliased(EquipmentEvent)
    mine = (other.equipment_id == EquipmentEvent.equipment_id, other.entry == EquipmentEvent.entry)
    return (
        select(func.count())
        .select_from(other)
        .where(*mine, other.id <= EquipmentEvent.id)
        .correlate(EquipmentEvent)
        .scalar_subquery()
    )


def event_in_words(event: str, tape: str, tape_thickness_mm: Decimal | None) -> str:
    """Return an event with the tape that it names."""
    kind = f", {tape} {plain(tape_thickness_mm)} mm" if tape_thickness_mm is not None else ""
    return f"{event}{kind}"


def events_of(look: Look, equipment_ids: Collection[int] | None = None) -> tuple[EventShown, ...]:
    """Return what happened to these items, or to all, as it counts at the look's instant, oldest first."""
    if EquipmentEvent not in look.known:
        look.known[EquipmentEvent] = _every_event(look)
    every: tuple[EventShown, ...] = look.known[EquipmentEvent]
    return every if equipment_ids is None else tuple(e for e in every if e.equipment_id in equipment_ids)


def _every_event(look: Look) -> tuple[EventShown, ...]:
    until = look.instant + CLOCK_SLACK
    mine = (EquipmentEvent.withdrawn.is_(False), EquipmentEvent.happened_at <= until)
    query = (
        standing(EquipmentEvent, look.upto, *mine)
        .join(Equipment, Equipment.id == EquipmentEvent.equipment_id)
        .join(Person, Person.id == EquipmentEvent.person_id)
        .with_only_columns(EquipmentEvent, Equipment.asset_no, Person.code, place_of())
        .order_by(None)
        .order_by(EquipmentEvent.happened_at, EquipmentEvent.id)
    )
    return tuple(
        EventShown(
            e.equipment_id, asset_no, e.event, e.tape, e.tape_thickness_mm, e.happened_at, code, e.note, e.entry,
            breaks(e.event), e.id, place,
        )
        for e, asset_no, code, place in look.session.execute(query)
    )  # fmt: skip


def events_on(lab: Lab, asset_nos: Collection[str], when: When) -> tuple[EventShown, ...]:
    """Return what happened to these items as it counts, oldest first."""
    with lab.look(when) as look:
        return events_of(look, [named(look, Equipment, number).id for number in asset_nos])


def event_behind(look: Look, entry: int, says: str) -> str:
    """Return the event that a finding of a log entry rests on, as reference and asset number, or ''.

    says: what the finding says; it begins with the item and the event, by which those of an import are told apart.
    """
    query = (
        select(EquipmentEvent, Equipment.asset_no, place_of())
        .join(Equipment, Equipment.id == EquipmentEvent.equipment_id)
        .where(EquipmentEvent.entry == entry)
    )
    found = (
        f"{ref_of(entry, place)} {no}"
        for e, no, place in look.session.execute(query)
        if says.startswith(f"{no}: {e.event}")
    )
    return next(found, "")


def happened_to(look: Look, equipment_ids: Collection[int] | None = None) -> tuple[Happened, ...]:
    """Return the same events as the rules want them, oldest first."""
    return tuple(_happened(look, e) for e in events_of(look, equipment_ids))


def _happened(look: Look, e: EventShown) -> Happened:
    at = f"{e.happened_at.astimezone(look.zone):%Y-%m-%d %H:%M}"
    return Happened(e.equipment_id, e.asset_no, e.event, e.happened_at, at)


def events_of_setups(look: Look, setups: Collection[Setup]) -> dict[int, tuple[EventShown, ...]]:
    """Return, by setup, what happened to its three items and to the cables and adapters of its checks, oldest first.

    What happened to a cable counts where a check before was made with it, unless all checks since name another one.
    """
    every = events_of(look)
    three = {s.id: members(s) for s in setups}
    of_three = {i for own in three.values() for i in own}
    used = _accessories_used(look, {e.equipment_id for e in every} - of_three)
    return {
        number: tuple(
            e for e in every if e.equipment_id in own or _was_used(used.get((number, e.equipment_id)), e.happened_at)
        )
        for number, own in three.items()
    }


_Used = list[tuple[datetime, bool | None]]


def _accessories_used(look: Look, equipment_ids: Collection[int]) -> dict[tuple[int, int], _Used]:
    """Return, by setup and accessory, each check's instant and whether it names that one (None: it names none)."""
    found: dict[tuple[int, int], _Used] = {}
    for column in (ResponseCheck.cable_id, ResponseCheck.adapter_id) if equipment_ids else ():
        theirs = select(ResponseCheck.setup_id).where(column.in_(equipment_ids))
        query = standing(ResponseCheck, look.upto, ResponseCheck.setup_id.in_(theirs))
        rows = look.session.execute(
            query.with_only_columns(ResponseCheck.setup_id, ResponseCheck.happened_at, column).order_by(None)
        ).all()
        for setup_id, number in {(s, n) for s, _, n in rows if n is not None and n in equipment_ids}:
            found[setup_id, number] = [(at, None if n is None else n == number) for s, at, n in rows if s == setup_id]
    return found


def _was_used(checks: _Used | None, at: datetime) -> bool:
    """Return whether a check until an instant names the accessory, and not all since name another one."""
    if checks is None or not any(named_it for when, named_it in checks if when <= at):
        return False
    since = [named_it for when, named_it in checks if when > at]
    return not since or any(named_it is not False for named_it in since)


def baseline_advice(look: Look, setups: Collection[Setup]) -> dict[int, tuple[Reason, ...]]:
    """Return, by setup, the advice that its baseline is from before a repair; setups without a baseline say nothing."""
    taken = _set_ups(look, setups)
    based = [s for s in setups if s.id in taken]
    events = events_of_setups(look, based) if based else {}
    return {s.id: baseline_reasons(s.number, taken[s.id][0], [_happened(look, e) for e in events[s.id]]) for s in based}


def broken_series(look: Look, equipment_id: int) -> dict[str, tuple[datetime, ...]]:
    """Return, by setup with a baseline, when what happened to an item broke its record since, oldest first."""
    setups = look.session.execute(select(Setup).where(Setup.entry <= look.upto).order_by(Setup.number)).scalars().all()
    taken = _set_ups(look, setups)
    based = [s for s in setups if s.id in taken]
    events = events_of_setups(look, based) if based else {}
    found = {}
    for s in based:
        mine = [e for e in events[s.id] if e.breaks and e.equipment_id == equipment_id]
        found[s.number] = tuple(e.happened_at for e in mine if e.happened_at > taken[s.id][1])
    return {number: instants for number, instants in found.items() if instants}


def _set_ups(look: Look, setups: Collection[Setup]) -> dict[int, tuple[datetime, datetime]]:
    """Return, by setup with a baseline in force, the instants of the baseline's first and last set-up."""
    query = (
        standing(Baseline, look.upto, Baseline.setup_id.in_([s.id for s in setups]))
        .join(BaselineSet, BaselineSet.baseline_id == Baseline.id)
        .join(ResponseCheck, ResponseCheck.id == BaselineSet.check_id)
        .with_only_columns(Baseline.setup_id, func.min(ResponseCheck.happened_at), func.max(ResponseCheck.happened_at))
        .order_by(None)
        .group_by(Baseline.setup_id)
    )
    return {number: (first, last) for number, first, last in look.session.execute(query)}


def members(setup: Setup) -> tuple[int, int, int]:
    """Return the three items of a setup by internal id."""
    return setup.block_id, setup.probe_id, setup.instrument_id


def possible_events(lab: Lab, asset_no: str, when: When) -> tuple[str, ...]:
    """Return the events that can happen to an item."""
    with lab.look(when) as look:
        number = named(look, Equipment, asset_no).id
        shown = items_of(look, [number])[number]
        return suitable(shown.kind, shown.form)
