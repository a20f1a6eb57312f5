"""A field block compared with its primary by keys, at six in the morning: nothing typed is lost, nothing wrong is kept."""

import shutil
from pathlib import Path

import pytest

from refstd.desk.comparison_record import comparisons
from refstd.desk.store import When
from tests import given, thin_thread
from tests.tui.driving import Driver, driven

SIX = thin_thread.at(18 * 60)
NOW = When(SIX)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a primary beside the block of a setup that was checked."""
    path = tmp_path_factory.mktemp("compare") / "blocks.refstd"
    lab = given.new_lab(path)
    thin_thread.whole(lab)
    thin_thread.block(lab, "B-10", grade="primary")
    thin_thread.certified(lab, "B-10")
    thin_thread.baseline(lab)
    lab.close()
    return path


@pytest.fixture
def blocks(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(made, tmp_path / "lab.refstd"))


async def to_the_scans(d: Driver) -> None:
    """Open the block's record, its form, which begins from the last check, and go on with a band."""
    await d.keys("slash")
    await d.type("B-1")
    await d.keys("enter", "p")
    assert "Compare B-1 with B-10" in d.text
    assert "I-1" in d.text  # the system and the settings of the last check on it
    await d.type("1.0")
    await d.keys("tab", "tab")
    await d.type("practice 6.1")
    await d.keys("f2")


async def read(d: Driver, *figures: str) -> None:
    for figure in figures:
        await d.type(figure)
        await d.keys("enter")


async def test_the_scans_go_in_turn_and_what_is_typed_comes_again_after_esc(blocks: Path) -> None:
    async with driven(blocks, "TESS", now=SIX) as d:
        await to_the_scans(d)
        assert "scans of B-1 against B-10" in d.text
        labels = [line.split("  ")[0].strip() for line in d.text.splitlines() if " mm " in line]
        assert labels[:4] == ["A B-10", "B B-1", "A B-10", "A B-10"]
        await read(d, "-20.0 95.0", "-20 x")
        assert "! B 1.5 mm: vertical 'x' is not a plain number" in d.flat
        await d.keys("ctrl+u")
        await read(d, "f")
        assert "is off the screen, which cannot be compared" in d.flat
        await d.keys("ctrl+u")
        await read(d, "-20.2 95.9")
        await d.keys("escape", "escape")
        assert "The rows that were typed are not on record" in d.flat
        await d.keys("escape", "f2")
        assert "-20.2 95.9" in d.text
        await d.keys("f2")
        assert "A 1.5 mm: is not read" in d.flat
        assert comparisons(d.app.lab, NOW) == ()
        await read(d, "-20.0 95.0", "-18.0 80.0", "-18.1 80.5", "-18.0 80.0", "-12.0 40.0", "-12.1 40.3", "-12.0 40.0")
        assert "B-1 against B-10: agrees" in d.flat
        assert "the primary moved at most 0.00 dB between its scans" in d.flat
        assert "1.5 mm: +0.08 dB (U 0.01 dB), +0.0° (U 0.1°): agrees" in d.flat
        assert "band ±1.0 dB (practice 6.1)" in d.flat
        await d.keys("2")
        await d.keys("up", "up", "f3")  # one more round of the notch under the cursor
        await read(d, "-12.1 40.3", "-12.0 40.1")
        await d.keys("f2", "1")
        assert "Comparison CB-0001" in d.text
        [kept] = comparisons(d.app.lab, NOW)
        assert [s.round for s in kept.scans if s.notch == "0.5 mm"] == [1, 1, 2, 2, 3]
        assert kept.outcome == "agrees"
        await d.keys("escape", "4", "enter")
        assert "Comparison CB-0001" in d.text  # the evidence that it filed opens it


async def test_a_block_that_does_not_agree_is_held_and_a_slip_is_corrected_from_its_page(blocks: Path) -> None:
    async with driven(blocks, "TESS", now=SIX, size=(120, 40)) as d:
        await to_the_scans(d)
        await read(d, *["-20.0 95.0"] * 3, *["-18.0 80.0"] * 3, "-12.0 40.0", "-12.0 28.0", "-12.0 40.0")
        assert "B-1 against B-10: does not agree" in d.flat
        await d.keys("1")
        assert "B-1 does not agree with its primary B-10: do not use it; finding F-0001 holds it" in d.flat
        assert "limit ±1.0 dB (practice 6.1)" in d.flat
        await d.keys("y")
        await d.type("28 read for 40")
        await d.keys("enter", "f2")
        assert "-12.0 28.0" in d.text  # the scans come again as they were
        await d.keys(*["down"] * 7, "ctrl+u")
        await d.type("-12.0 40.0")
        await d.keys("f2", "1")
        assert "Comparison CB-0002" in d.text
        newest, first = comparisons(d.app.lab, NOW)
        assert (newest.outcome, newest.corrects, newest.why) == ("agrees", "CB-0001", "28 read for 40")
        assert first.corrected_by == "CB-0002"
