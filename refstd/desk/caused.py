"""What an event will cause, told before it is kept, and what it caused, told on its record: one comparison for both."""

from datetime import datetime

from sqlalchemy import select

from refstd.desk.events import EventDraft, keep_correction, keep_event
from refstd.desk.happened import broken_series
from refstd.desk.jobs import lots_of
from refstd.desk.known import named
from refstd.desk.lots import uncovered
from refstd.desk.people import may
from refstd.desk.serviceability import said_of_events
from refstd.desk.starts import ended_work
from refstd.register.equipment import Equipment
from refstd.register.findings import Finding, FindingHold
from refstd.register.lab import Change, Lab, Look
from refstd.rules.caused import Caused as Caused
from refstd.rules.caused import Situation, caused


class _OnlyAsked(Exception):
    """Leaves the act that was made to see what it would cause, so that it is undone."""


def preview_event(lab: Lab, draft: EventDraft, *, by: str, now: datetime) -> Caused:
    """Return what an event would cause, or refuse as keeping it would. Nothing is kept.

    The event is put in as it would be and taken out again: what is told here cannot be another thing than what happens.
    """
    found: list[Caused] = []
    try:
        with lab.change(by=by, now=now) as change:
            may(change, "record an event")
            keep_event(change, draft)
            found.append(_caused_now(change, draft.asset_no))
            raise _OnlyAsked
    except _OnlyAsked:
        return found[0]


def preview_correction(
    lab: Lab, asset_no: str, entry: int | str, draft: EventDraft | None, why: str, *, by: str, now: datetime
) -> Caused:
    """Return what correcting an event, or withdrawing it, would cause, or refuse as doing it would. Nothing is kept."""
    found: list[Caused] = []
    try:
        with lab.change(by=by, now=now) as change:
            keep_correction(change, asset_no, entry, draft, why)
            found.append(_caused_now(change, asset_no))
            raise _OnlyAsked
    except _OnlyAsked:
        return found[0]


def _caused_now(change: Change, asset_no: str) -> Caused:
    return caused_by_entry(change, named(change, Equipment, asset_no).id, change.upto, change.instant)


def caused_by_entry(look: Look, equipment_id: int, entry: int, recorded_at: datetime) -> Caused:
    """Return what a log entry changed for an item and its work, as it stood at the instant at which it was recorded."""
    before, after = (_at_entry(look, upto, recorded_at) for upto in (entry - 1, entry))
    return caused(_situation(before, equipment_id), _situation(after, equipment_id), _held_by(after))


def _at_entry(look: Look, upto: int, instant: datetime) -> Look:
    """Return a window at a log entry that remembers nothing: what an act undone again showed must not be believed later."""
    today = instant.astimezone(look.zone).date()
    return Look(look.session, look.head, upto, instant, today, look.zone, look.lab_name, look.due_soon_days)


def _situation(look: Look, equipment_id: int) -> Situation:
    ended = []
    for job_id, setup_id, start in ended_work(look, [equipment_id]):
        waiting = {x.id for x in uncovered(look, job_id, setup_id)}
        ended.append((start, _in_words(look, waiting)))
    return Situation(tuple(ended), broken_series(look, equipment_id), said_of_events(look, equipment_id))


def _held_by(look: Look) -> tuple[str, ...]:
    """Return the lots that the findings of the look's own entry hold."""
    holds = select(FindingHold.lot_id).join(Finding, Finding.id == FindingHold.finding_id)
    own = holds.where(Finding.entry == look.upto, FindingHold.entry == look.upto, FindingHold.lot_id.is_not(None))
    return _in_words(look, {number for number in look.session.execute(own).scalars() if number is not None})


def _in_words(look: Look, lots: set[int]) -> tuple[str, ...]:
    if not lots:
        return ()
    return tuple(f"lot {x.number} ({x.examined})" for _, x in lots_of(look, ids=lots))
