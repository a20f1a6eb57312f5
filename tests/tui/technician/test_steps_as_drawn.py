"""The technician's screens as drawn, at both sizes, against what a person looked at once."""

from pathlib import Path

import pytest

from refstd.desk import equipment, store
from tests import thin_thread
from tests.tui.driving import driven
from tests.tui.screen_text import refuse_change
from tests.tui.technician.floor import ONE_O_CLOCK, read, to_notches
from tests.tui.technician.test_verdict_words import READINGS

SIZES = pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
STEPS = {
    "home": (), "in-hand": ("c",), "occasion": ("c", "enter"), "settings": ("c", "enter", "enter"),
    "settings-changed": ("c", "enter", "enter", "2"), "prepared": ("c", "enter", "enter", "enter"),
    "notches": ("c", "enter", "enter", "enter", "space", "space", "4", "enter"), "help": ("c", "enter", "enter", "f1"), "lots": ("l",),
    "setups": ("s",), "check-in": ("i",), "new-setup": ("s", "n"), "new-job": ("n", "f2"),
    "event-form": ("h", "3", "1"), "event-will-cause": ("h", "3", "4", "f2"),
}  # fmt: skip


def name_of(name: str, size: tuple[int, int]) -> str:
    return f"technician-{name}-{size[0]}x{size[1]}"


@SIZES
@pytest.mark.parametrize("name", STEPS)
async def test_the_step_reads_as_it_did(started: Path, name: str, size: tuple[int, int]) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK, size=size) as d:
        await d.keys(*STEPS[name])
        refuse_change(d.text, name_of(name, size))


@SIZES
@pytest.mark.parametrize("outcome", READINGS)
async def test_the_look_before_keeping_and_the_verdict_read_as_they_did(
    started: Path, outcome: str, size: tuple[int, int]
) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK, size=size) as d:
        await to_notches(d)
        await read(d, *READINGS[outcome])
        refuse_change(d.text, name_of(f"look-{outcome.replace(' ', '-')}", size))
        await d.keys("y")
        refuse_change(d.text, name_of(f"verdict-{outcome.replace(' ', '-')}", size))
        await d.keys("p")
        refuse_change(d.text, name_of(f"picture-{outcome.replace(' ', '-')}", size))


@SIZES
async def test_vertical_readings_are_drawn_as_bars(vertical: Path, size: tuple[int, int]) -> None:
    async with driven(vertical, "TESS", now=ONE_O_CLOCK, size=size) as d:
        await to_notches(d)
        await read(d, "60", "79", "40")
        refuse_change(d.text, name_of("look-vertical", size))


@SIZES
async def test_kits_and_what_does_not_suit_read_as_they_did(kit_only: Path, size: tuple[int, int]) -> None:
    lab = store.open_store(kit_only)
    thin_thread.block(lab, "B-2")
    thin_thread.certified(lab, "B-2")
    thin_thread.probe(lab, "P-2")
    thin_thread.instrument(lab, "I-2")
    thin_thread.certified(lab, "I-2", performed_on="2030-01-10")
    thin_thread.instrument(lab, "I-3")
    thin_thread.certified(lab, "I-3")
    equipment.set_state(lab, "P-2", "quarantined", "tip worn", by="KEEPER", now=thin_thread.at(20))
    thin_thread.probe(lab, "P-3")
    lab.close()
    async with driven(kit_only, "TOM", now=ONE_O_CLOCK, size=size) as d:
        await d.keys("m")
        refuse_change(d.text, name_of("match", size))


async def test_a_window_too_small_says_what_it_needs(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK, size=(60, 15)) as d:
        refuse_change(d.text, "technician-too-small-60x15")
