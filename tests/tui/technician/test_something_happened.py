"""Something happened to an item, by keys: from home, from a check under way, on the item's record."""

from pathlib import Path

from refstd.desk import events
from refstd.desk.entry import draft_or_refuse
from refstd.desk.store import Lab
from tests.tui.driving import driven
from tests.tui.technician.floor import NOW, ONE_O_CLOCK, last_check, read, to_notches


def told(lab: Lab) -> list[str]:
    """Return what happened to the kit."""
    return [e.in_words() for e in events.events_on(lab, ("B-1", "P-1", "I-1"), NOW)]


async def test_from_home_what_an_event_will_cause_is_read_before_it_is_kept(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("h")
        assert "Something happened to which item?" in d.flat
        await d.keys("3", "4", "f2")  # digits choose
        assert "Start check C-0005 of setup S-0001 on job J-1 covers no more work" in d.flat
        assert "In doubt until an end check: lot L-0001 (panel 4: holes 1-20)." in d.flat
        await d.keys("enter", "enter")  # pressed too easily: keeps nothing
        assert told(d.app.lab) == []
        await d.keys("y")
        assert told(d.app.lab) == ["P-1: reading moves with the cable"]
        assert "P-1: reading moves with the cable; a new start check is asked for." in d.notices
        assert (
            "next check P-1: reading moves with the cable 2031-03-14 13:00: a new start check before anything" in d.flat
        )


async def test_after_an_event_the_closing_check_comes_first_and_its_meaning_is_read_before_it_is_kept(
    started: Path,
) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c", "f4", "3", "1")
        await d.type("PTFE")
        await d.keys("enter")
        await d.type("0.10")
        await d.keys("f2", "y")
        assert told(d.app.lab) == ["P-1: tape renewed, PTFE 0.10 mm"]
        assert "P-1: tape renewed 2031-03-14 13:00: a new start check is asked for" in d.flat
        await d.keys("enter", "enter", "enter", "space", "space")
        await d.type("4")
        await d.keys("enter")
        await read(d, "-20 95", "-18 80", "-12 40")
        await d.keys("y")
        kept = last_check(d.app.lab)
        assert (kept.occasion, kept.outcome) == ("end", "acceptable")
        assert "Make a new start check before more parts are examined." in d.flat


async def test_what_was_typed_is_not_lost_by_going_back_or_by_a_refusal(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("h", "3", "1", "f2")
        assert "is missing with 'tape renewed'" in d.flat
        await d.type("PTFE")
        await d.keys("enter")
        await d.type("0.10")
        await d.keys("f2")
        assert "P-1: tape renewed, PTFE 0.10 mm, now" in d.flat
        await d.keys("escape")
        assert "PTFE" in d.flat
        await d.keys("f2", "f2")
        assert told(d.app.lab) == ["P-1: tape renewed, PTFE 0.10 mm"]


async def test_after_an_event_a_check_under_way_begins_anew(started: Path) -> None:
    """Planted bug it caught: a start check read before the event and kept after it covered the work after it."""
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 95", "-18 80", "-12 40")
        assert "y keeps" in d.flat
        await d.keys("f4", "1", "1", "f2", "y")
        assert told(d.app.lab) == ["B-1: knocked"]
        await d.keys("y", "f2")
        assert last_check(d.app.lab).number == "C-0005"  # four set-ups, then the start: nothing was kept since
        assert "Are these in hand?" in d.flat


async def test_home_and_lots_tell_the_event_that_ended_the_cover_and_open_it(started: Path) -> None:
    """Planted bug it caught: the old 'covers until' still stood on the home after a tape was renewed."""
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        assert "covers until 2031-03-14 16:00" in d.flat
        await d.keys("h", "3", "4", "f2", "y")
        assert "acceptable; ended 13:00 by event: P-1: reading moves with the cable" in d.flat
        assert "covers until" not in d.flat
        await d.keys("l")
        assert "in doubt until an end check, since P-1: reading moves with the cable 2031-03-14 13:00" in d.flat
        await d.keys("enter")
        assert "COUNTS: reading moves with the cable" in d.flat


async def test_an_event_has_its_page_and_is_withdrawn_there_by_a_second_person(started: Path) -> None:
    async with driven(started, "KEEPER", now=ONE_O_CLOCK, size=(120, 40)) as d:
        events.record_event(
            d.app.lab, draft_or_refuse(events.EventDraft, {"asset_no": "I-1", "event": "repaired"}, "e"), by="TESS", now=ONE_O_CLOCK
        )  # fmt: skip
        await d.keys("slash")
        await d.type("I-1")
        await d.keys("enter", "9", "enter")
        assert "Event" in d.flat
        assert "COUNTS: repaired; the record breaks there" in d.flat
        await d.keys("2")
        assert "Held by a finding, since no check can cover them any more: lot L-0001" in d.flat
        await d.keys("3", "enter")
        assert "rests on event: of I-1" in d.flat
        await d.keys("e", "z")
        await d.type("it was I-2")
        await d.keys("enter")
        assert "covers work again" in d.flat
        await d.keys("y")
        assert told(d.app.lab) == []
        assert (
            "WITHDRAWN: repaired did not happen: it was I-2; what it had held stays held until it is released" in d.flat
        )


async def test_an_event_is_corrected_on_its_page_with_what_was_typed_before(started: Path) -> None:
    async with driven(started, "KEEPER", now=ONE_O_CLOCK, size=(120, 40)) as d:
        await d.keys("slash")
        await d.type("P-1")
        await d.keys("enter", "h", "5", "f2", "y", "9", "enter", "y")
        assert "Recorded: knocked" in d.flat
        await d.keys("3", "f2")
        await d.type("wrong key")
        await d.keys("enter")
        assert "P-1: knocked becomes P-1: tip cleaned" in d.flat
        await d.keys("y")
        assert told(d.app.lab) == ["P-1: tip cleaned"]
        assert "COUNTS, corrected: tip cleaned" in d.flat


async def test_the_record_of_an_item_takes_an_event_and_shows_it(started: Path) -> None:
    async with driven(started, "KEEPER", now=ONE_O_CLOCK, size=(120, 40)) as d:
        await d.keys("slash")
        await d.type("I-1")
        await d.keys("enter", "h", "4", "f2", "y")
        assert told(d.app.lab) == ["I-1: repaired"]
        await d.keys("2")
        assert "repaired, KEEPER, log entry" in d.flat
        assert "the record breaks here" in d.flat
