"""The checks of one setup on one job in time: which start is open, what covers a lot, and which lots are in doubt.

ISO 15549:2019, clause 10: functional checks at the start, in intervals and at the end of an examination; what was
examined since the previous successful check counts as not examined when one fails.

Something that happened to an item of the kit asks for a new start check: nothing is examined under the old one from then
on, while a later check under it may still close the work before. After an event that breaks the record not even that.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from refstd.rules.events import Happened
from refstd.rules.response import Outcome


@dataclass(frozen=True, slots=True)
class TimedCheck:
    """A check of the setup on the job. `start_id` is what it was compared with; `repeats_id` the first set it repeats.

    `items` is the kit by internal id, cable and adapter included.
    """

    id: int
    number: str
    occasion: str
    outcome: str
    happened_at: datetime
    start_id: int | None = None
    supersedes_id: int | None = None
    repeats_id: int | None = None
    items: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class TimedLot:
    """A lot examined under a start check."""

    id: int
    number: str
    examined_at: datetime
    start_id: int


def counting(checks: Iterable[TimedCheck]) -> list[TimedCheck]:
    """Return the checks that count, oldest first: not corrected by a later record, and not the first set of a repeat."""
    every = list(checks)
    gone = {c.supersedes_id for c in every} | {c.repeats_id for c in every}
    return sorted((c for c in every if c.id not in gone), key=lambda c: (c.happened_at, c.id))


def line_of(checks: Iterable[TimedCheck], check_id: int) -> frozenset[int]:
    """Return the ids of a check and of all records that it corrects or that correct it."""
    pairs = [(c.id, c.supersedes_id) for c in checks if c.supersedes_id is not None]
    line, grown = {check_id}, True
    while grown:
        more = {i for pair in pairs if line & set(pair) for i in pair} - line
        grown = bool(more)
        line |= more
    return frozenset(line)


def newest_of(checks: tuple[TimedCheck, ...], check_id: int) -> TimedCheck | None:
    """Return the record that counts for a check: itself, or its newest correction."""
    line = line_of(checks, check_id)
    return next((c for c in counting(checks) if c.id in line), None)


def open_start(
    checks: tuple[TimedCheck, ...], at: datetime | None = None, leaving_out: int | None = None
) -> TimedCheck | None:
    """Return the acceptable start check that the next checks are compared with; with `at`, the one open at that instant.

    It is the newest one, unless an end check has closed it or a check that was not acceptable has ended it: then a new
    start is due. What is entered late is compared with the start that was open when it was read, whatever came since.
    """
    for check in reversed(counting(checks)):
        if (at is not None and check.happened_at > at) or check.id == leaving_out:
            continue
        if check.outcome == Outcome.NOT_ACCEPTABLE:
            return None
        if check.outcome != Outcome.ACCEPTABLE:
            continue
        if check.occasion == "end":
            return None
        if check.occasion == "start":
            return check
    return None


def start_before(checks: tuple[TimedCheck, ...], check_id: int) -> int | None:
    """Return the start check under which work went on when a check was made: what it was compared with, else the open one."""
    check = next(c for c in checks if c.id == check_id)
    if check.start_id is not None:
        return check.start_id
    before = open_start(checks, check.happened_at, leaving_out=check_id)
    return before.id if before else None


def under(checks: tuple[TimedCheck, ...], start_id: int) -> list[TimedCheck]:
    """Return the checks that count under a start, the start itself first."""
    line = line_of(checks, start_id)
    return [c for c in counting(checks) if c.id in line or c.start_id in line]


def events_under(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], start_id: int, until: datetime | None = None
) -> list[Happened]:
    """Return what happened to the kit under a start (until an instant, which counts), oldest first.

    An item belongs to the kit from the check on that brought it; what happens at that very instant counts as after it.
    """
    joined: dict[int, datetime] = {}
    for check in under(checks, start_id):
        for item in check.items:
            joined.setdefault(item, check.happened_at)
    return sorted(
        (
            e
            for e in events
            if e.equipment_id in joined
            and joined[e.equipment_id] <= e.happened_at
            and (until is None or e.happened_at <= until)
        ),
        key=lambda e: e.happened_at,
    )


def last_good(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], start_id: int, before: datetime | None = None
) -> TimedCheck | None:
    """Return the last acceptable check under a start (before an instant), or None when even the start is not acceptable.

    One that followed an event which breaks the record says nothing of the work before, and is none.
    """
    broken = next((e.happened_at for e in events_under(checks, events, start_id) if e.breaks), None)
    good = [
        c
        for c in under(checks, start_id)
        if c.outcome == Outcome.ACCEPTABLE
        and (before is None or c.happened_at < before)
        and (broken is None or c.happened_at < broken)
    ]
    return good[-1] if good else None


def lots_in_doubt(
    checks: tuple[TimedCheck, ...],
    events: tuple[Happened, ...],
    lots: tuple[TimedLot, ...],
    start_id: int,
    failed_at: datetime,
) -> tuple[TimedLot, ...]:
    """Return the lots that a failure leaves in doubt: all under the start since the last acceptable check before it.

    A lot examined after the failure is in doubt too: the setup had failed. Later acceptable checks do not free lots.
    """
    good = last_good(checks, events, start_id, failed_at)
    return tuple(x for x in _lots_under(checks, lots, start_id) if good is None or x.examined_at >= good.happened_at)


def lots_uncovered(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], lots: tuple[TimedLot, ...], start_id: int
) -> tuple[TimedLot, ...]:
    """Return the lots that no acceptable check has followed, and those examined after something had happened to the kit."""
    good = last_good(checks, events, start_id)
    late = {x.id for x in lots_after_event(checks, events, lots, start_id)}
    return tuple(
        x
        for x in _lots_under(checks, lots, start_id)
        if good is None or x.examined_at >= good.happened_at or x.id in late
    )


def lots_after_event(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], lots: tuple[TimedLot, ...], start_id: int
) -> tuple[TimedLot, ...]:
    """Return the lots examined under a start after something had happened to the kit: no check can cover them."""
    first = next(iter(events_under(checks, events, start_id)), None)
    return tuple(x for x in _lots_under(checks, lots, start_id) if first and x.examined_at >= first.happened_at)


def lots_stranded(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], lots: tuple[TimedLot, ...], start_id: int
) -> tuple[TimedLot, ...]:
    """Return the lots that no check to come can cover: those after an event, and before one that breaks the record all
    that no acceptable check had followed by then."""
    if any(e.breaks for e in events_under(checks, events, start_id)):
        return lots_uncovered(checks, events, lots, start_id)
    return lots_after_event(checks, events, lots, start_id)


def lot_left_alone(checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], lot: TimedLot) -> str:
    """Return why no check to come can cover a lot that none covers so far, or '' where one does or still can."""
    if not lots_uncovered(checks, events, (lot,), lot.start_id):
        return ""
    broken = next((e for e in events_under(checks, events, lot.start_id) if e.breaks), None)
    if broken is not None:
        return broken.in_words()
    now = open_start(checks)
    if now is None:
        return "the work under that start check has ended"
    return "" if now.id in line_of(checks, lot.start_id) else f"start check {now.number} has begun new work"


def lots_failed(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], lots: tuple[TimedLot, ...], check_id: int
) -> tuple[TimedLot, ...]:
    """Return the lots that a check which is not acceptable leaves in doubt, in whatever order all came on record.

    They are those since the last acceptable check before it, under the start that was open then, and those examined under
    that start after it. Any other check leaves none.
    """
    check, start_id = next(c for c in checks if c.id == check_id), start_before(checks, check_id)
    if check.outcome != Outcome.NOT_ACCEPTABLE or start_id is None:
        return ()
    return lots_in_doubt(checks, events, lots, start_id, check.happened_at)


def lots_left_alone(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], lots: tuple[TimedLot, ...]
) -> tuple[TimedLot, ...]:
    """Return the lots under these checks' starts that no check covers nor can cover any more."""
    mine = {c.id for c in checks}
    return tuple(x for x in lots if x.start_id in mine and lot_left_alone(checks, events, x))


def lot_objection(
    checks: tuple[TimedCheck, ...], events: tuple[Happened, ...], start_id: int, examined_at: datetime
) -> tuple[str, str]:
    """Return why parts examined at an instant cannot be logged under a start check and what to do, or ('', '')."""
    start = newest_of(checks, start_id)
    if start is None or start.occasion != "start" or start.outcome != Outcome.ACCEPTABLE:
        return "this is not an acceptable start check of the job", "Parts are examined only after one; name it."
    if examined_at < start.happened_at:
        return (
            f"the parts were examined before the start check {start.number}",
            "Check the time, or name the start check before.",
        )
    for check in counting(checks):
        if not start.happened_at <= check.happened_at < examined_at or check.id == start.id:
            continue
        if check.outcome == Outcome.NOT_ACCEPTABLE:
            return (
                f"check {check.number} was not acceptable before these parts were examined",
                "Make a new start check and examine them again.",
            )
        if check.outcome == Outcome.ACCEPTABLE and check.occasion == "end":
            return (
                f"end check {check.number} had closed the work before",
                "Make a new start check, or correct the time.",
            )
        if check.outcome == Outcome.ACCEPTABLE and check.occasion == "start":
            return f"start check {check.number} was made before these parts were examined", f"Name {check.number}."
    for event in events_under(checks, events, start_id, examined_at):
        return f"{event.in_words()}; make a new start check first", _AFTER_EVENT
    return "", ""


_AFTER_EVENT = "What was examined after it counts only after a new start check; if the time is wrong, correct it."


def _lots_under(checks: tuple[TimedCheck, ...], lots: tuple[TimedLot, ...], start_id: int) -> list[TimedLot]:
    line = line_of(checks, start_id)
    return [x for x in lots if x.start_id in line]


def freed_by(checks: tuple[tuple[TimedCheck, int], ...], failed_id: int | None) -> TimedCheck | None:
    """Return the check that frees a setup for new work after a check of it failed, or None.

    `checks` are all checks of the setup, on any job, each with its procedure's internal id; `failed_id` is None for a
    hold made by hand, which no check frees. What frees it is a later acceptable start check under the same procedure
    that is no correction of an earlier record; the lots stay held.
    """
    failed = next((pair for pair in checks if pair[0].id == failed_id), None)
    if failed is None:
        return None
    standing = {c.id for c in counting(c for c, _ in checks)}
    for check, procedure_id in sorted(checks, key=lambda pair: (pair[0].happened_at, pair[0].id)):
        if (
            check.id in standing
            and check.id > failed[0].id
            and check.happened_at >= failed[0].happened_at
            and check.occasion == "start"
            and check.outcome == Outcome.ACCEPTABLE
            and check.supersedes_id is None
            and procedure_id == failed[1]
        ):
            return check
    return None
