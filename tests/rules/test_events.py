"""What happened to an item: which items it can happen to, what it asks for, and what of the work it leaves standing."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest

from refstd.base.reason import Weight
from refstd.register.equipment import EVENTS
from refstd.rules import events
from refstd.rules.events import Happened
from refstd.rules.timeline import TimedCheck, TimedLot, events_under, lot_objection, lots_stranded, lots_uncovered

DAY = datetime(2031, 3, 14, 8, tzinfo=UTC)
GOOD, BAD = "acceptable", "not acceptable"
PROBE, CABLE = 2, 9
KIT = frozenset((1, PROBE, 3))


def at(minutes: float) -> datetime:
    return DAY + timedelta(minutes=minutes)


def event(what: str, minutes: float, item: int = PROBE) -> Happened:
    return Happened(item, f"P-{item}", what, at(minutes), f"{at(minutes):%H:%M}")


def check(number: int, occasion: str, outcome: str, minutes: float, start: int | None = 1) -> TimedCheck:
    return TimedCheck(number, f"C-{number}", occasion, outcome, at(minutes), start, items=KIT)


START = check(1, "start", GOOD, 0, None)


def test_every_event_on_record_has_its_rule_and_only_the_last_three_break_a_record() -> None:
    assert tuple(events.RULES) == EVENTS
    assert tuple(e for e in EVENTS if events.breaks(e)) == ("repaired", "part exchanged", "firmware changed")


OF_INSTRUMENTS = {"power off", "program recalled", "firmware changed"}


@pytest.mark.parametrize(
    ("kind", "form", "fitting"),
    [
        ("block", "plate", {"knocked", "repaired"}),
        ("probe", "pencil", set(EVENTS) - {"play in the bearing"} - OF_INSTRUMENTS),
        ("probe", "rotating bolt-hole", set(EVENTS) - OF_INSTRUMENTS),
        (
            "instrument",
            "",
            {"knocked", "power off", "program recalled", "repaired", "part exchanged", "firmware changed"},
        ),
        ("accessory", "cable", {"reading moves with the cable", "knocked", "repaired", "part exchanged"}),
        ("accessory", "adapter", {"reading moves with the cable", "knocked", "repaired", "part exchanged"}),
        ("accessory", "rotating drive", {"play in the bearing", "knocked", "repaired", "part exchanged"}),
        ("accessory", "shim", {"knocked", "repaired", "part exchanged"}),
    ],
)
def test_an_event_happens_only_to_items_it_can_happen_to(kind: str, form: str, fitting: set[str]) -> None:
    """Common practice, no source."""
    assert set(events.suitable(kind, form)) == fitting
    for what in EVENTS:
        says, remedy = events.objection(what, kind, form)
        assert bool(says) is bool(remedy) is (what not in fitting)


# Every order of six things after a start check: a day's whole language, read by rule and by plain counting.
_WORDS = {"i": ("interim", GOOD), "x": ("interim", BAD), "e": ("end", GOOD), "s": ("start", GOOD)}


def _days() -> Iterator[str]:
    for length in range(6):
        yield from ("".join(day) for day in product("ixesmbl", repeat=length))


def _told(day: str) -> tuple[tuple[TimedCheck, ...], tuple[Happened, ...], tuple[TimedLot, ...]]:
    """Return a day: i, x interim check good and bad, e end, s new start, m event, b event that breaks, l a lot."""
    checks, happened, lots, start = [START], [], [], 1
    open_one: int | None = 1
    for minute, word in enumerate(day, start=1):
        if word in "mb":
            happened.append(event("knocked" if word == "m" else "repaired", minute))
        elif word == "l":
            lots.append(TimedLot(minute, f"L-{minute}", at(minute), start))
        elif word == "s":
            start = open_one = minute + 1
            checks.append(check(start, "start", GOOD, minute, None))
        else:
            checks.append(check(minute + 1, *_WORDS[word], minute, open_one))
            open_one = open_one if word == "i" else None
    return tuple(checks), tuple(happened), tuple(lots)


def test_what_stands_of_a_day_is_what_plain_counting_says_in_every_order_of_checks_lots_and_events() -> None:
    """A lot may be logged when nothing but good checks lies between its start and it; it is covered by a good check under
    its start after it, when no event lies before the lot and none that breaks before the check.

    Planted bugs it caught, one at a time: an event left out of `lot_objection`; an event left out of `lots_uncovered`; a
    check after a break taken as good; an event from before the start counted.
    """
    days = 0
    for day in _days():
        checks, happened, lots = _told(day)
        for lot in lots:
            began = lot.start_id - 1  # the minute of its start
            between = day[began : lot.id - 1]
            allowed = not set(between) & set("xemb")
            assert (lot_objection(checks, happened, lot.start_id, lot.examined_at) == ("", "")) is allowed, day
            later = day[lot.id :].partition("s")[0]
            ended = min((later.find(w) for w in "xe" if w in later), default=len(later))
            reach = later[: ended + 1]  # as long as checks are compared with this start
            dead = bool(set(between) & set("xe"))  # checks after it are compared with no start
            until_break = reach.partition("b")[0]
            covered = not dead and not set(between) & set("mb") and bool(set(until_break) & set("ie"))
            uncovered = {x.id for x in lots_uncovered(checks, happened, lots, lot.start_id)}
            assert (lot.id not in uncovered) is covered, day
            stranded = {x.id for x in lots_stranded(checks, happened, lots, lot.start_id)}
            assert stranded <= uncovered, day
            assert lot.id in stranded or not set(between) & set("mb"), day
        days += bool(lots)
    assert days > 10_000


def test_a_lot_at_the_very_instant_of_an_event_counts_as_after_it() -> None:
    happened = (event("knocked", 30),)
    assert lot_objection((START,), happened, 1, at(29)) == ("", "")
    says, remedy = lot_objection((START,), happened, 1, at(30))
    assert says == "P-2: knocked 08:30; make a new start check first"
    assert remedy
    checks, lots = (
        (START, check(2, "interim", GOOD, 60)),
        (TimedLot(1, "L-1", at(29), 1), TimedLot(2, "L-2", at(30), 1)),
    )
    assert [x.id for x in lots_uncovered(checks, happened, lots, 1)] == [2]


def test_a_cable_belongs_to_the_kit_from_the_check_on_that_brought_it() -> None:
    """Planted bug it caught: an event on a cable counted although the cable joined the kit after it."""
    brought = replace(check(2, "exchange", GOOD, 60), items=KIT | {CABLE})
    moves = "reading moves with the cable"
    assert events_under((START, brought), (event(moves, 30, CABLE),), 1) == []
    assert len(events_under((START, brought), (event(moves, 70, CABLE),), 1)) == 1
    assert events_under((START,), (event(moves, 70, CABLE),), 1) == []


def test_after_an_event_that_breaks_the_record_a_check_is_none_and_after_another_it_asks_for_a_new_start() -> None:
    [broken] = events.reasons_after_start([event("repaired", 5)], "C-1", "end")
    [tape] = events.reasons_after_start([event("tape renewed", 5)], "C-1", "end")
    [knock] = events.reasons_after_start([event("knocked", 5)], "C-1", "interim")
    assert broken.weight is Weight.UNDECIDED
    assert tape.weight is knock.weight is Weight.ADVISES
    assert "through the new tape" in tape.says
    assert {r.cure for r in (broken, tape, knock)} == {"make a new start check before more parts are examined"}


@pytest.mark.parametrize(
    ("told", "ails"),
    [
        (["tip worn"], ["tip worn"]),
        (["tip worn", "tape renewed"], []),
        (["tape renewed", "tip worn"], ["tip worn"]),
        (["tip worn", "tip cleaned"], ["tip worn"]),
        (["knocked", "tape renewed"], ["knocked"]),
        (["reading moves with the cable", "part exchanged"], []),
        (["reading moves with the cable", "tip worn", "tape renewed"], ["reading moves with the cable"]),
        (["reading moves with the cable", "tip worn", "knocked"], ["knocked", "tip worn", "reading moves with the cable"]),
        (["play in the bearing", "repaired", "knocked"], ["knocked"]),
        (["repaired", "firmware changed", "tape renewed"], []),
    ],
)  # fmt: skip
def test_an_item_ails_by_every_event_that_nothing_cured(told: list[str], ails: list[str]) -> None:
    """Planted bug: the newest alone, and a knock hid a worn tip."""
    assert [e.event for e in events.ailments([event(what, minute) for minute, what in enumerate(told)])] == ails


def test_an_acceptable_check_after_it_ends_the_advice() -> None:
    worn = event("tip worn", 10)
    [advice] = events.ailment_reasons([worn], at(5))
    assert advice.weight is Weight.ADVISES
    assert advice.cure.startswith("renew the tape")
    assert events.ailment_reasons([worn], at(11)) == []
    assert len(events.ailment_reasons([worn], None)) == 1
    assert len(events.ailment_reasons([event("knocked", 12), worn], at(11))) == 1


def test_an_event_asks_for_a_new_start_until_an_acceptable_check_and_once_where_a_start_stands() -> None:
    """ISO 15549:2019, clause 10. Planted bug: an event told for a start told once more without it."""
    tape, knock = event("tape renewed", 10), event("knocked", 11)
    ended = events.Ended("S-1", "J-1", "C-1", (tape,))
    [named] = events.asked_anew([tape], [ended], at(5))
    assert "after start check C-1 of setup S-1 on job J-1" in named.says
    [alone] = events.asked_anew([tape, knock], [], at(5))  # the knock asks for its check by its own advice
    assert "no acceptable check after it" in alone.says
    assert {named.cure, alone.cure} == {events.NEW_START}
    assert events.asked_anew([tape], [], at(11)) == []
    assert events.asked_anew([tape], [], None) == []  # never checked: nothing was covered


def test_a_baseline_from_before_a_repair_advises_a_new_one() -> None:
    told = [event("repaired", 10), event("tape renewed", 11), event("part exchanged", 20)]
    assert [r.says.split("before ")[1] for r in events.baseline_reasons("S-1", at(15), told)] == [
        "P-2: part exchanged 08:20"
    ]
    assert all(r.weight is Weight.ADVISES for r in events.baseline_reasons("S-1", at(0), told))
    assert events.baseline_reasons("S-1", at(30), told) == ()


FRIDAY, SATURDAY = date(2031, 3, 14), date(2031, 3, 15)


@pytest.mark.parametrize(
    ("told", "done", "stops"),
    [
        (["firmware changed"], [], True),
        (["firmware changed"], [("verification", FRIDAY)], False),  # on its day counts
        (["firmware changed"], [("calibration", SATURDAY)], False),
        (["firmware changed"], [("verification", date(2031, 3, 13))], True),
        (["firmware changed"], [("inspection", SATURDAY)], True),
        (["firmware changed", "knocked"], [], True),
        (["repaired", "knocked"], [], False),
    ],
)
def test_changed_firmware_stops_until_a_verification_since(
    told: list[str], done: list[tuple[str, date]], stops: bool
) -> None:
    """ISO/IEC 17025:2017, 6.4.4. Planted bug it caught: the newest event alone was asked, and a knock hid the change."""
    found = events.unverified_reasons([(event(what, minute), FRIDAY) for minute, what in enumerate(told)], done)
    assert [r.weight for r in found] == ([Weight.STOPS] if stops else [])
    if stops:
        assert "no verification or calibration since then is on record" in found[0].says
        assert found[0].cure
        assert found[0].source == "ISO/IEC 17025:2017, 6.4.4"
