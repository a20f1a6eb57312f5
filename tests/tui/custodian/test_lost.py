"""Lost, told and found by keys from the item's record."""

from pathlib import Path

from tests.tui.driving import driven


async def test_an_item_is_lost_its_owner_told_and_it_is_found(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("/")
        await d.type("P-1")
        await d.keys("enter")
        if "verdict" not in d.text:
            await d.keys("enter")
        await d.keys("g")
        await d.type("TEC, hangar 2")
        await d.keys("f2")
        assert "P-1 is lost; finding" in d.notices
        assert "last acceptable check" in d.flat
        await d.keys("w")
        await d.type("CUS, at the desk")
        await d.keys("enter")
        assert "P-1: told CUS, at the desk" in d.notices
        await d.keys("n")
        await d.type("tool box 3")
        await d.keys("f2")
        assert "condition" in d.flat  # refused: the condition is missing, and what was typed stays
        assert "tool box 3" in d.text
        await d.type("tip sound")
        await d.keys("f2")
        assert "P-1 is found and quarantined" in d.notices
        assert "quarantined" in d.text
