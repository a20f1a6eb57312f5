"""Labels from the record of an item and from the register."""

import io
from pathlib import Path

import pypdf

from tests.tui.driving import driven


def numbers_in(path: Path) -> str:
    return " ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages)


async def test_a_key_on_the_record_writes_the_items_label_in_the_chosen_size(busy: Path, tmp_path: Path) -> None:
    target = tmp_path / "one.pdf"
    async with driven(busy, "CUS") as d:
        await d.keys("b", "down", "enter", "m")
        assert "50 x 25 mm, one a page" in d.text
        await d.keys("4", *["backspace"] * 60)
        await d.type(str(target))
        await d.keys("enter")
        assert "written" in d.notices
        assert "Print at 100 %" in " ".join(d.notices.split())
        assert numbers_in(target).count("printed 2026-") == 1
        await d.keys("m", "4", *["backspace"] * 60)
        await d.type(str(target))
        await d.keys("enter")
        assert "exists and is not overwritten" in " ".join(d.notices.split())


async def test_a_key_on_the_register_writes_labels_of_the_items_that_the_filter_leaves(
    busy: Path, tmp_path: Path
) -> None:
    """Planted bug that it caught: labels for every item, whatever the filter showed."""
    target = tmp_path / "some.pdf"
    async with driven(busy, "CUS") as d:
        await d.keys("b", "tab")
        await d.type("B-1")
        await d.keys("down", "m", "1", *["backspace"] * 60)
        await d.type(str(target))
        await d.keys("enter")
        assert "written" in d.notices
    said = numbers_in(target)
    assert "B-1" in said
    assert "B-2" not in said


async def test_labels_are_not_printed_from_a_past_day(busy: Path, tmp_path: Path) -> None:
    target = tmp_path / "past.pdf"
    async with driven(busy, "AUD") as d:
        await d.keys("t")
        await d.type("2026-02-26")
        await d.keys("enter", "b", "down", "enter", "m", "1", *["backspace"] * 60)
        await d.type(str(target))
        await d.keys("enter")
        assert "go back to now" in " ".join(d.notices.split())
    assert not target.exists()
