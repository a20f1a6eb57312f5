"""ISO 15549:2019, clause 10, as scenarios of one start check: what each occasion's check means for what was examined.

READ of the clause: checks at intervals, at least at start and end, when parts of the equipment are exchanged and when
personnel change; a failed check is recorded, and all examined since the previous successful check counts as not examined.
That a knock, new tape, a power-off, a recalled program or a repair asks for a new start check, and that an end check may close the work before it: common
practice, no source.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from refstd.rules.events import Happened
from refstd.rules.timeline import (
    TimedCheck,
    TimedLot,
    lot_objection,
    lots_failed,
    lots_left_alone,
    lots_uncovered,
    open_start,
)

DAY = datetime(2031, 3, 14, 8, tzinfo=UTC)
GOOD, BAD = "acceptable", "not acceptable"
PROBE = 2


def at(minutes: int) -> datetime:
    return DAY + timedelta(minutes=minutes)


def check(number: int, occasion: str, outcome: str, minutes: int, **more: Any) -> TimedCheck:
    more = {"start_id": 1 if occasion != "start" else None, "items": frozenset({1, PROBE, 3})} | more
    return TimedCheck(number, f"C-{number}", occasion, outcome, at(minutes), **more)


START = check(1, "start", GOOD, 0)
LOTS = (
    TimedLot(1, "L-1", at(30), 1),
    TimedLot(2, "L-2", at(90), 1),
)  # examined after half an hour, after an hour and a half


def happened(event: str, minutes: int) -> tuple[Happened, ...]:
    return (Happened(PROBE, "P-1", event, at(minutes), "then"),)


@pytest.mark.parametrize("occasion", ["interim", "exchange", "operator", "doubt", "end"])
def test_each_occasions_check_covers_what_went_before_or_leaves_it_in_doubt(occasion: str) -> None:
    """At an hour the check holds, at two hours it does or does not: only the lot between the two is touched."""
    middle = check(2, "interim", GOOD, 60)
    held = (START, middle, check(3, occasion, GOOD, 120))
    failed = (START, middle, check(3, occasion, BAD, 120))

    assert lots_uncovered(held, (), LOTS, 1) == ()
    assert [x.id for x in lots_failed(failed, (), LOTS, 3)] == [2]
    assert open_start(failed) is None  # new work needs a new start check
    assert (open_start(held) is None) == (occasion == "end")


def test_without_an_end_check_the_last_stretch_is_not_covered() -> None:
    checks = (START, check(2, "interim", GOOD, 60))
    assert [x.id for x in lots_uncovered(checks, (), LOTS, 1)] == [2]
    assert lots_left_alone(checks, (), LOTS) == ()  # a check to come still can
    again = (*checks, check(3, "start", GOOD, 150))
    assert [x.id for x in lots_left_alone(again, (), LOTS)] == [2]  # now none can: hold and decide


@pytest.mark.parametrize(
    "event", ["knocked", "tape renewed", "tip cleaned", "reading moves with the cable", "power off", "program recalled"]
)
def test_an_event_ends_the_validity_from_then_on_and_a_closing_check_covers_what_went_before(event: str) -> None:
    events = happened(event, 60)
    objection, remedy = lot_objection((START,), events, 1, at(61))
    assert event in objection
    assert "new start check" in remedy
    assert lot_objection((START,), events, 1, at(59)) == ("", "")

    closed = (START, check(2, "end", GOOD, 70))
    assert lots_uncovered(closed, events, LOTS[:1], 1) == ()
    assert [x.id for x in lots_uncovered(closed, events, LOTS, 1)] == [
        2
    ]  # examined after the event: no check covers it


@pytest.mark.parametrize("event", ["repaired", "part exchanged"])
def test_where_no_closing_check_can_speak_for_the_work_before_it_is_held(event: str) -> None:
    """Before and after is not one thing, so the check after it says nothing of the work before."""
    events = happened(event, 60)
    closed = (START, check(2, "end", GOOD, 70))
    assert [x.id for x in lots_left_alone(closed, events, LOTS[:1])] == [1]
