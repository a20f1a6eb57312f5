"""Events: putting on record what happened to an item and may have changed how it answers, and correcting that."""

from datetime import datetime
from typing import Literal

from pydantic import Field
from sqlalchemy import func, or_, select

from refstd.base.errors import NotFound, Problem, Refusal
from refstd.base.quantity import plain
from refstd.base.text import key
from refstd.desk.entry import Draft, Number, OptionalPositive, Words, is_bare_date, refuse_if, start_of_day
from refstd.desk.happened import EventShown as EventShown
from refstd.desk.happened import event_in_words as event_in_words
from refstd.desk.happened import events_of as events_of
from refstd.desk.happened import events_on as events_on
from refstd.desk.happened import possible_events as possible_events
from refstd.desk.items import items_of
from refstd.desk.known import named
from refstd.desk.lots import hold_uncovered, stranded
from refstd.desk.people import code_of, may
from refstd.desk.starts import open_jobs
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.equipment import Equipment, EquipmentEvent
from refstd.register.findings import ExaminedLot
from refstd.register.lab import Change, Lab
from refstd.rules.authority import refuse_own
from refstd.rules.events import LARGEST_TAPE_MM, TAPE_RENEWED, breaks, objection

Event = Literal[
    "tape renewed",
    "tip worn",
    "tip cleaned",
    "reading moves with the cable",
    "play in the bearing",
    "knocked",
    "power off",
    "program recalled",
    "repaired",
    "part exchanged",
    "firmware changed",
]


class EventDraft(Draft):
    """Something that happened to an item."""

    asset_no: Number = Field(title="asset number")
    event: Event = Field(title="what happened")
    tape: Words = Field("", description="kind of tape; asked for with 'tape renewed'")
    tape_thickness_mm: OptionalPositive = Field(
        default=None, title="thickness of the tape, mm", description="asked for with 'tape renewed'"
    )
    happened_at: Words = Field("", description="YYYY-MM-DDTHH:MM; a day alone counts from its start; empty: now")
    note: Words = ""


def record_event(lab: Lab, draft: EventDraft, *, by: str, now: datetime, operation: str = "") -> tuple[str, ...]:
    """Put on record that something happened to an item. From then on its open start checks cover no more work.

    Lots that were logged as examined after it, and before a break all that no check had covered by then, are held.
    Returns the findings' numbers.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "record an event")
        found = keep_event(change, draft)
        change.record("event recorded", item=draft.asset_no, event=draft.event, findings=list(found))
        return found


def correct_event(
    lab: Lab, asset_no: str, entry: int | str, draft: EventDraft | None, why: str, *, by: str, now: datetime, operation: str = ""
) -> tuple[str, ...]:  # fmt: skip
    """Correct what was recorded about an event, with the reason; without a draft it is withdrawn: it did not happen.

    asset_no, entry: the item and the log entry that brought the event, as in '812', or '812/2' for the second event of
    the item that the entry brought. A draft without an instant keeps the event's. One that breaks the record is corrected
    by another person than the one who recorded it: with it goes what stops work. What the first record held stays held
    until it is released. Returns the numbers of new findings.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        before, found = keep_correction(change, asset_no, entry, draft, why)
        action = "event corrected" if draft else "event withdrawn"
        change.record(action, item=asset_no, event=before.event, entry=entry, why=why.strip())
        return found


def keep_correction(
    change: Change, asset_no: str, entry: int | str, draft: EventDraft | None, why: str
) -> tuple[EquipmentEvent, tuple[str, ...]]:
    """Add the row that corrects or withdraws an event; return the record that it supersedes, and new findings' numbers."""
    may(change, "record an event")
    if not why.strip():
        raise Refusal("a correction needs a reason", asset_no, "Say what was wrong.")
    before = _standing_event(change, asset_no, entry)
    if breaks(before.event):
        refuse_own(
            f"{'correct' if draft else 'withdraw'} the event '{before.event}' of {asset_no.upper()}",
            code=change.by.code, maker=code_of(change, before.person_id),
            remedy="Ask a second person who may record events, a technician or a custodian, to do it.",
        )  # fmt: skip
    if draft is None:
        columns = {c.name: getattr(before, c.name) for c in EquipmentEvent.__table__.columns}
        own = {"id": None, "withdrawn": True, "supersedes_id": before.id, "why": why.strip()}
        change.add(EquipmentEvent(**columns | own | {"person_id": change.by.person_id}))
        return before, ()
    if key(draft.asset_no) != key(asset_no):
        raise Refusal(
            f"an event of {asset_no} stays with it", draft.asset_no,
            "Withdraw it there, and record it on the other item.",
        )  # fmt: skip
    return before, keep_event(change, draft, supersedes=before, why=why.strip())


def keep_event(
    change: Change, draft: EventDraft, *, supersedes: EquipmentEvent | None = None, why: str = ""
) -> tuple[str, ...]:
    """Add the row of an event and hold the lots that nothing can cover any more; return the findings' numbers."""
    item = named(change, Equipment, draft.asset_no)
    shown = items_of(change, [item.id])[item.id]
    says, remedy = objection(draft.event, shown.kind, shown.form)
    if says:
        raise Refusal(says, item.asset_no, remedy)
    refuse_if(_tape_problems(draft), f"event of {item.asset_no}")
    moment = change.instant if supersedes is None else supersedes.happened_at
    if draft.happened_at:
        # Of a day alone the start is the cautious reading: all that was examined on it comes after the event.
        moment = start_of_day(draft.happened_at, change.zone)
    _refuse_twice(change, draft, item, moment, supersedes)
    event = change.add(
        EquipmentEvent(
            equipment_id=item.id, event=draft.event, tape=draft.tape, tape_thickness_mm=draft.tape_thickness_mm,
            person_id=change.by.person_id, note=draft.note, withdrawn=False,
            supersedes_id=supersedes.id if supersedes else None, why=why, happened_at=moment,
        )
    )  # fmt: skip
    lots = {x.id: x for job_id, setup_id in _work_touched(change, event) for x in stranded(change, job_id, setup_id)}
    [told] = [e for e in events_of(change, [item.id]) if e.entry == change.upto and e.event == draft.event]
    says = f"{told.in_words()} at {moment.astimezone(change.zone):%Y-%m-%d %H:%M}; these lots have no check that covers them"
    return hold_uncovered(change, lots.values(), says)


def counted_from(draft: EventDraft) -> str:
    """Return how an instant without a time was read, in words; '' where it has one."""
    return (
        f"It counts from the start of {draft.happened_at}: no time was given."
        if is_bare_date(draft.happened_at)
        else ""
    )


def _refuse_twice(
    change: Change, draft: EventDraft, item: Equipment, moment: datetime, supersedes: EquipmentEvent | None
) -> None:
    """Refuse what is on record with the same instant already, unless it takes that record's place."""
    for e in events_of(change, [item.id]):
        if (e.event, e.happened_at) == (draft.event, moment) and (supersedes is None or e.entry != supersedes.entry):
            raise Refusal(
                f"'{e.event}' at {moment.astimezone(change.zone):%Y-%m-%d %H:%M} is on record already", item.asset_no,
                f"Log entry {e.entry} brought it; correct that one, or give another time.",
            )  # fmt: skip


def _work_touched(change: Change, event: EquipmentEvent) -> list[tuple[int, int]]:
    """Return (job, setup) of the work with the item whose lots an event may leave without a check.

    Work in which nothing happened since the event is left to its own closing check; an event that breaks the record
    reaches the open jobs too, since no closing check can come.
    """
    item, check = event.equipment_id, ResponseCheck
    of_item = or_(
        *(c == item for c in (Setup.block_id, Setup.probe_id, Setup.instrument_id, check.cable_id, check.adapter_id))
    )
    pairs = (
        select(check.job_id, check.setup_id, func.max(check.happened_at), func.max(ExaminedLot.happened_at))
        .join(Setup, Setup.id == check.setup_id)
        .join(ExaminedLot, ExaminedLot.job_id == check.job_id)
        .where(of_item)
        .group_by(check.job_id, check.setup_id)
    )
    still_open = open_jobs(change)
    return [
        (job_id, setup_id)
        for job_id, setup_id, checked, examined in change.session.execute(pairs)
        if job_id is not None
        and (max(checked, examined) >= event.happened_at or (breaks(event.event) and job_id in still_open))
    ]


def _tape_problems(draft: EventDraft) -> list[Problem]:
    if draft.event != TAPE_RENEWED:
        given = [n for n, v in (("tape", draft.tape), ("tape_thickness_mm", draft.tape_thickness_mm)) if v]
        return [Problem(n, f"belongs to 'tape renewed', not to '{draft.event}'", "Leave it empty.") for n in given]
    thickness = draft.tape_thickness_mm
    if thickness is not None and thickness > LARGEST_TAPE_MM:
        wrong = f"is {plain(thickness)} mm; the limit is {LARGEST_TAPE_MM} mm (common practice, no source)"
        return [Problem("tape_thickness_mm", wrong, "Give the thickness of the tape alone, in mm.")]
    return [
        Problem(name, "is missing with 'tape renewed'", f"Give the {words} of the new tape.")
        for name, value, words in (("tape", draft.tape, "kind"), ("tape_thickness_mm", draft.tape_thickness_mm, "thickness in mm"))
        if not value
    ]  # fmt: skip


def _standing_event(change: Change, asset_no: str, entry: int | str) -> EquipmentEvent:
    item = named(change, Equipment, asset_no)
    ref = str(entry).removesuffix("/1")
    of_item = [e for e in events_of(change, [item.id]) if e.ref == ref]
    if not of_item:
        raise NotFound(
            f"log entry {ref} brought no event of {item.asset_no} that still counts", "",
            f"See `refstd show {item.asset_no}` for the events and their entries.",
        )  # fmt: skip
    return change.session.get_one(EquipmentEvent, of_item[0].event_id)
