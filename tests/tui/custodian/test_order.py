"""The order test by keys: two readings, what they tell, and the order in the instrument's description."""

from pathlib import Path

from refstd.desk.history import item_record
from refstd.desk.store import When
from tests.published import display_transforms
from tests.published.display_transforms import RS, SR
from tests.tui.busy_lab import TODAY
from tests.tui.driving import Driver, driven
from tests.tui.screen_text import refuse_change

NOW = When(TODAY)


async def fill(d: Driver, *values: str) -> None:
    """Type values into one field after another, and go on."""
    for value in values:
        await d.type(value)
        await d.keys("tab")
    await d.keys("f2")


async def read(d: Driver, order: str, *, vertical_gain: str = "52", moved: str = "") -> None:
    """Fill in both forms with the reference readings of an order."""
    first, second = ([f"{r}", f"{h:.2f}", f"{v:.2f}"] for o, r, h, v in display_transforms.STATIC if o == order)
    await fill(d, "40", vertical_gain, *first)
    await fill(d, *second[:2], moved or second[2])


async def to_the_instrument(d: Driver) -> None:
    await d.keys("slash")
    await d.type("I-1")
    await d.keys("enter")


async def test_two_readings_find_the_order_and_stand_on_the_record(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await to_the_instrument(d)
        await d.keys("r")
        refuse_change(d.text, "order-test-first-80x24")
        await fill(d, "40", "52", "0", "2.00", "3.98")
        assert "Turn the rotation from 0° by 40° to 60°" in d.flat
        await fill(d, "40", "0.89", "8.17")
        refuse_change(d.text, "order-test-told-80x24")
        await d.keys("1")
        assert "I-1: rotate-then-scale" in d.notices
        await d.keys("2")
        assert "two readings, 2026-03-02, CUS" in d.flat
        await d.keys("end")
        assert "at 40° horizontal 0.89, vertical 8.17 div; gains 40 and 52 dB" in d.flat
        assert [t.found for t in item_record(d.app.lab, "I-1", NOW).order_tests] == [RS]


async def test_readings_that_tell_nothing_are_refused_where_they_were_typed(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await to_the_instrument(d)
        await d.keys("r")
        await read(d, RS, moved="6.00")
        assert "neither order agrees with the readings" in d.flat
        assert "Hold the probe still" in d.flat
        assert "reading 2 of 2" in d.text  # nothing typed is lost
        assert "0.89" in d.text
        assert item_record(d.app.lab, "I-1", NOW).order_tests == ()


async def test_a_double_enter_keeps_one_test_and_ends_on_the_instruments_page(busy: Path) -> None:
    """Planted bug it caught: the second Enter closed the form that the first one was being kept for."""
    async with driven(busy, "CUS") as d:
        await to_the_instrument(d)
        await d.keys("r")
        await read(d, RS)
        await d.burst("enter", "enter")
        assert "reading" not in d.text.splitlines()[0]
        assert d.text.splitlines()[0].startswith(" I-1 instrument")
        assert d.notices.count("I-1: rotate-then-scale") == 1
        assert len(item_record(d.app.lab, "I-1", NOW).order_tests) == 1


async def test_gains_alike_are_refused_as_the_second_one_is_typed(busy: Path) -> None:
    """Planted bug it caught: refused after both readings only."""
    async with driven(busy, "CUS") as d:
        await to_the_instrument(d)
        await d.keys("r")
        await d.type("40")
        await d.keys("enter")
        await d.type("41")
        await d.keys("enter")
        assert (
            "the gains differ by 1 dB; with equal gains both orders show the same. Set them at least 3 dB apart"
            in d.flat
        )
        await d.keys("backspace", "backspace")
        await d.type("52")
        await d.keys("enter")
        assert "the gains differ" not in d.flat
        await d.keys("up", "up", "backspace", "backspace")
        await d.type("51")
        await d.keys("enter")
        assert "the gains differ by 1 dB" not in d.flat  # said at the other field, once that is left again
        await d.keys("f2")
        assert "the gains differ by 1 dB" in d.flat
        assert "reading 1 of 2" in d.text


async def test_going_back_keeps_the_second_reading_and_asks_before_the_first_is_lost(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await to_the_instrument(d)
        await d.keys("r")
        await read(d, RS, moved="6.00")
        await d.keys("escape")
        assert "reading 1 of 2" in d.text
        await d.keys("f2")
        assert "reading 2 of 2" in d.text
        assert "6.00" in d.text
        await d.keys("escape", "escape")
        assert "What was typed is not on record and would be lost." in d.flat
        await d.keys("1")
        assert "3.98" in d.text
        await d.keys("escape", "2")
        assert d.text.splitlines()[0].startswith(" I-1 instrument")


async def test_another_order_on_record_asks_for_a_reason(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await to_the_instrument(d)
        await d.keys("r")
        await read(d, SR)
        assert "On record is rotate-then-scale." in d.flat
        await d.keys("1", "enter")
        assert "Say why that was wrong" in d.flat
        await d.keys("f2", "1")
        await d.type("taken from another type")
        await d.keys("enter")
        assert "I-1: scale-then-rotate" in d.notices
        assert item_record(d.app.lab, "I-1", NOW).item.special["display_order"] == SR


async def test_only_an_instrument_has_an_order_test(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("slash")
        await d.type("P-1")
        await d.keys("enter", "r")
        assert "P-1" in d.text
        assert "reading 1 of 2" not in d.text
        assert "Order test" not in d.text
