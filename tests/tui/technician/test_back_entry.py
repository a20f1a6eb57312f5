"""A paper sheet entered by keys: when it was read, by whom, its scan, then the check as at the bench."""

from pathlib import Path

from refstd.desk.check_record import check_record
from refstd.tui.checkpage import CheckPage
from tests import thin_thread
from tests.tui.driving import driven
from tests.tui.technician.floor import last_check, read

THURSDAY = thin_thread.at(6 * 24 * 60)


async def test_a_sheet_is_entered_from_the_job_and_its_check_tells_how_late_it_is(
    started: Path, tmp_path: Path
) -> None:
    scan = tmp_path / "monday.pdf"
    scan.write_bytes(b"%PDF-1.7 sheet")
    async with driven(started, "TOM", now=THURSDAY) as d:
        await d.keys("slash")
        await d.type("J-1")
        await d.keys("enter", "a")
        assert "Paper sheet of job J-1" in d.flat
        await d.type("2031-03-14T14:30")
        await d.keys("tab")
        await d.type("TESS")
        await d.keys("tab")
        await d.type(str(scan))
        await d.keys("f2")
        assert "Read 2031-03-14T14:30 by TESS, with what was out then." in d.flat
        await d.keys("enter", "enter", "enter", "space", "space")
        await d.type("4")
        await d.keys("enter")
        await read(d, "-20 76", "-18 64", "-12 32")
        await d.keys("y")
        kept = last_check(d.app.lab)
        assert (kept.outcome, kept.person, kept.late) == ("not acceptable", "TESS", "recorded 6 days late by TOM")
        await d.keys("escape", "slash")
        await d.type(kept.number)
        await d.keys("enter")
        assert "by TESS, recorded 6 days late by TOM" in d.flat
        assert kept.held == ("setup S-0001", "lot L-0001 (panel 4: holes 1-20)")
        assert check_record(d.app.lab, kept.number, thin_thread.when(9000)).sheet == "monday.pdf"
        d.app.push_screen(CheckPage(kept.number))
        await d.settle()
        await d.keys("o", *["backspace"] * len("monday.pdf"))
        await d.type(str(tmp_path / "out.pdf"))
        await d.keys("enter")
        assert (tmp_path / "out.pdf").read_bytes() == scan.read_bytes()


async def test_a_time_at_which_no_kit_was_out_is_told_at_once(started: Path) -> None:
    async with driven(started, "TOM", now=THURSDAY) as d:
        await d.keys("slash")
        await d.type("J-1")
        await d.keys("enter", "a")
        await d.type("2031-03-14T09:30")
        await d.keys("f2")
        assert "No kit was out for this job then" in d.notices
