"""Where an item was used and what a job rested on, by keys."""

from pathlib import Path

from tests.tui.driving import driven


async def test_from_an_item_to_its_work_over_any_days_and_on_to_a_check(busy: Path) -> None:
    async with driven(busy, "AUD") as d:
        await d.keys("p", "enter", "b")
        assert "Where P-1 was used" in d.text
        assert "from the first record" in d.flat
        await d.keys("3")
        first = d.text
        await d.keys("d")
        await d.type("2026-02-26 2026-02-20")
        await d.keys("enter")
        assert "The period ends before it begins" in d.flat or "the period ends before it begins" in d.notices
        await d.keys("d", *["backspace"] * 30)
        await d.type("2026-02-27")
        await d.keys("enter")
        assert "from 2026-02-27 00:00" in d.flat
        assert d.text != first


async def test_a_job_shows_what_it_rested_on_day_by_day(busy: Path) -> None:
    async with driven(busy, "AUD") as d:
        await d.keys("slash")
        await d.type("J-1")
        await d.keys("enter", "8")
        assert "certificate of that day" in d.text
        assert "start: acceptable" in d.flat
