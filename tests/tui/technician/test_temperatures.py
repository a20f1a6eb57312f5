"""Temperatures of block and part are typed where the procedure has a band, and are not in the way where it has none."""

from pathlib import Path

import pytest

from refstd.desk import custody
from refstd.tui.technician.steps import PreparedStep
from tests import given, thin_thread
from tests.tui.driving import driven
from tests.tui.technician.floor import KIT, NOW, ONE_O_CLOCK, beside_the_picture, last_check, read


@pytest.fixture
def banded(tmp_path: Path) -> Path:
    """A store with a kit in hand for a job whose procedure has a band of 5 °C, and settings on record."""
    lab = given.new_lab(tmp_path / "lab.refstd")
    thin_thread.people_and_material(lab)
    thin_thread.block(lab)
    thin_thread.probe(lab)
    thin_thread.instrument(lab)
    for number in ("B-1", "I-1"):
        thin_thread.certified(lab, number)
    thin_thread.procedure(lab, temperature_band_c="5", temperature_paragraph="4.4")
    thin_thread.job(lab)
    thin_thread.setup(lab)
    thin_thread.baseline(lab)
    custody.check_out(lab, "J-1", KIT, by="TESS", now=given.NOON)
    lab.close()
    return tmp_path / "lab.refstd"


async def test_enter_leads_through_noise_and_both_temperatures_to_the_verdict(banded: Path) -> None:
    """Planted bug that this caught: Enter after the noise left the step, so that nobody was asked."""
    async with driven(banded, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c", "enter", "enter", "enter", "enter", "enter", "space", "space")
        await d.type("4")
        await d.keys("enter")
        assert "temperature of block, °C" in d.text
        await d.type("warm")
        await d.keys("enter")
        assert "'warm' is not a plain number" in d.flat
        await d.keys(*["backspace"] * 4)
        await d.type("21")
        await d.keys("enter")
        await d.type("14.5")
        await d.keys("enter")
        assert "block 21 °C, part 14.5 °C" in d.app.screen.query_one(PreparedStep).summary()
        await read(d, "-20 95", "-18 80", "-12 40")
        assert "block and part differ too much" in beside_the_picture(d)
        await d.keys("y")
        kept = last_check(d.app.lab)
        assert (kept.occasion, kept.outcome) == ("start", "not acceptable")
        assert NOW.now >= kept.happened_at


async def test_without_a_band_nobody_is_asked(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c", "enter", "enter", "enter", "enter", "enter")
        assert not d.app.screen.query_one(PreparedStep).asks_temperatures
        assert "temperature" not in d.text
