"""An item comes in, by keys: entered as awaiting receipt, inspected point by point, in service or held."""

from pathlib import Path

from refstd.desk.history import item_record
from refstd.desk.store import When
from tests.tui.busy_lab import TODAY
from tests.tui.driving import Driver, driven

NOW = When(TODAY)


async def enter_instrument(d: Driver, asset_no: str) -> None:
    """Enter an instrument from the home screen; the form begins with 'awaiting receipt'."""
    await d.keys("n", "3")
    await d.type(asset_no)
    await d.keys("tab")
    await d.type("instrument, two frequencies")
    await d.keys(*["tab"] * 4)
    await d.type("5.1")
    await d.keys(*["tab"] * 9)
    await d.type("10")
    await d.keys("tab")
    await d.type("3000")
    await d.keys("tab")
    await d.type("four-pin")
    await d.keys("f2")


async def test_an_item_entered_at_the_screen_awaits_receipt_and_is_in_service_by_its_inspection(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await enter_instrument(d, "I-90")
        assert "its receipt inspection (v)" in d.notices
        assert "DO NOT USE" in d.text
        await d.keys("v")
        assert "Receipt of I-90" in d.text
        await d.type("order 4711")
        await d.keys("f2")
        assert "firmware: version as described and as ordered (looked at; it may not be left out)" in d.flat
        await d.keys("4", "f2")  # not looked at
        assert "firmware: may not be left out. Look at it" in d.flat
        assert item_record(d.app.lab, "I-90", NOW).receipts == ()
        await d.keys("escape", "f2")
        assert "not looke" in d.text  # what was chosen comes again
        await d.keys("2", "enter", "2", "f2")
        assert "I-90 is as ordered (order 4711)" in d.notices
        record = item_record(d.app.lab, "I-90", NOW)
        assert (record.item.state, record.receipts[0].outcome) == ("in service", "as ordered")
        await d.keys("4", "enter")
        assert "Receipt RI-0001 of I-90" in d.text
        assert "serial number" in d.text


async def test_a_point_out_of_order_holds_the_item(busy: Path) -> None:
    async with driven(busy, "CUS", size=(120, 40)) as d:
        await enter_instrument(d, "I-91")
        await d.keys("v")
        await d.type("order 4711")
        await d.keys("f2", "3", *["tab"] * 6)
        await d.type("5.0 seen")
        await d.keys("enter", "2", "f2")
        assert "I-91 is not as ordered (order 4711); finding" in d.notices
        assert item_record(d.app.lab, "I-91", NOW).item.state == "awaiting receipt"
