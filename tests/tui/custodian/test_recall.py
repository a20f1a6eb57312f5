"""Calibration recall by keys: laboratory by laboratory, more months ahead, what that leaves without, written to a file."""

from pathlib import Path

from tests.tui.driving import driven


async def test_what_to_send_is_seen_by_laboratory_and_month_and_written_to_a_file(busy: Path, tmp_path: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("c")
        assert "Calibration recall to 2026-06-30 (2)" in d.text
        assert "to send: at once 2 2026-03 0 2026-04 0 2026-05 0 2026-06 0" in d.flat
        assert "left out: B-5 (away at laboratory)" in d.flat
        assert "Cal lab (1)" in d.text
        assert "laboratory not on record (1)" in d.text
        await d.keys("m")
        await d.type("x")
        await d.keys("enter")
        assert "'3x' is not a number of months" in d.notices
        await d.keys("m", "backspace")
        await d.type("8")
        await d.keys("enter")
        assert "Calibration recall to 2026-11-30 (5)" in d.text
        assert "2026-08 3" in d.flat
        await d.keys("tab")
        await d.type("I-1")
        await d.keys("down")
        assert "I-1 is the only instrument for job J-1 (AL7075 plate, 2026-02-25 to 2026-02-28, still open)" in d.flat
        assert "have another instrument ready before it goes" in d.flat
        await d.keys("o", "ctrl+u")
        await d.type(str(tmp_path / "recall.csv"))
        await d.keys("enter")
        assert (tmp_path / "recall.csv").read_text().count("2026-08-20") == 3
        await d.keys("enter")
        assert "I-1" in d.text.split("\n")[0]
