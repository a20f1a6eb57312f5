"""A swap test by keys, from the check that showed it to what is left, on a real store."""

from pathlib import Path

import pytest

from refstd.desk import checks, equipment, store, swaps
from refstd.tui.technician.swap import SwapCheck, SwapPage
from tests import given, swap_lab, thin_thread
from tests.tui.driving import Driver, driven
from tests.tui.screen_text import refuse_change
from tests.tui.technician.floor import NOW, ONE_O_CLOCK, read


@pytest.fixture(scope="session")
def deviating(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A store with a check off its baseline, by what has moved. Copied, never written to."""
    folder = tmp_path_factory.mktemp("swap")
    made = {}
    for culprit in ("probe", "cable"):
        made[culprit] = folder / f"{culprit}.refstd"
        lab = given.new_lab(made[culprit])
        swap_lab.build(lab)
        swap_lab.deviating(lab, culprit)
        lab.close()
    return made


@pytest.fixture
def worn(deviating: dict[str, Path], tmp_path: Path) -> Path:
    path = tmp_path / "lab.refstd"
    path.write_bytes(deviating["probe"].read_bytes())
    return path


SOUND = swap_lab.LEVELS[swap_lab.OTHER_PROBE]
FIGURES = {SOUND: ("-21 99.8", "-18.9 84", "-12.6 42"), swap_lab.OFF: ("-16 76", "-14.4 64", "-9.6 32")}


async def to_the_check(d: Driver) -> None:
    """Open the check that lies off its baseline, as anybody finds it by its number."""
    await d.keys("slash")
    await d.type("C-0021")
    await d.keys("enter")


async def begin(d: Driver, why: str = "low since Monday") -> None:
    await to_the_check(d)
    await d.keys("w", "enter")
    await d.type(why)
    await d.keys("enter")


async def make_check(d: Driver, scale: float) -> None:
    """Kit in hand, settings as before, noise, the notches, and keep."""
    await d.keys("enter", "enter", "enter", "enter", "space", "space")
    await d.type("4")
    await d.keys("enter")
    await read(d, *FIGURES[scale])
    await d.keys("y")


async def test_from_the_check_to_the_probe_that_moved(worn: Path) -> None:
    async with driven(worn, "TESS", now=ONE_O_CLOCK) as d:
        await begin(d)
        assert isinstance(d.app.screen, SwapPage)
        assert "W-0001: check C-0021, notch 1.0 mm" in d.flat
        assert "low since Monday; off its baseline by −1.94 dB, limit at least ±0.65 dB" in d.flat
        assert "cable: another one in place of cable A-1 (setup S-0001)" in d.flat
        assert "if it goes: the deviation went with the cable: cable A-1 is left" in d.flat
        await d.keys("enter")
        assert "Number of the cable in place of A-1" in d.flat
        await d.type("A-2")
        await d.keys("enter")
        assert isinstance(d.app.screen, SwapCheck)
        await make_check(d, swap_lab.OFF)
        assert "· cable, A-2 in its place (C-0022): the deviation stayed: −1.94 dB now, −1.94 dB before" in d.flat
        assert "the deviation stayed without cable A-1: left are P-1" in d.flat
        await d.keys("enter")  # the probe is highlighted by now
        await make_check(d, SOUND)
        assert "✓ probe, P-2 in its place (C-0023): the deviation went: " in d.flat
        assert "the deviation went with the probe: P-1 is left" in d.flat
        assert "put the first probe back: the deviation must come back; then confirm it" in d.flat
        assert "You may stop here, or exchange more to make sure" in d.flat
        kept = swaps.swap_shown(d.app.lab, "W-0001", NOW)
        assert [(s.exchanged, s.result, s.person) for s in kept.steps] == [
            ("cable", "stayed", "TESS"), ("probe", "went", "TESS"),
        ]  # fmt: skip
        assert checks.checks(d.app.lab, NOW, setup="S-0002")[0].occasion == "swap test"


async def test_it_is_taken_up_again_where_it_was_left_by_another_person(worn: Path) -> None:
    async with driven(worn, "TESS", now=ONE_O_CLOCK) as d:
        await begin(d)
        await d.keys("enter")
        await d.type("A-2")
        await d.keys("enter")
        await make_check(d, swap_lab.OFF)
    async with driven(worn, "TOM", now=thin_thread.at(90)) as d:
        await d.keys("e")
        assert "the deviation stayed without cable A-1" in d.flat
        await d.keys("enter")
        assert "probe: P-2 in place of P-1" in d.flat
    async with driven(worn, "KEEPER", now=thin_thread.at(90)) as d:
        await d.keys("e", "enter")
        assert "W-0001: check C-0021" in d.flat
    async with driven(worn, "TOM", now=thin_thread.at(90)) as d:
        await to_the_check(d)
        await d.keys("w", "enter")  # the same check and notch: no second test
        assert isinstance(d.app.screen, SwapPage)
        assert [s.number for s in swaps.swaps(d.app.lab, store.When(thin_thread.at(90)))] == ["W-0001"]


async def test_a_step_offers_no_repeat_after_a_remedy(worn: Path) -> None:
    """A remedy would be a second exchange. Planted bug it caught: r on a failing step."""
    async with driven(worn, "TESS", now=ONE_O_CLOCK) as d:
        await begin(d)
        await d.keys("down", "down", "enter", "enter", "enter", "enter", "enter", "space", "space")
        await d.type("4")
        await d.keys("enter")
        await read(d, *FIGURES[swap_lab.OFF])
        assert "repeats once" not in d.flat
        await d.keys("r", "y")
        [kept] = swaps.swap_shown(d.app.lab, "W-0001", NOW).steps
        assert (kept.exchanged, kept.result) == ("block", "stayed")


async def test_what_would_be_refused_is_said_before_the_first_reading(worn: Path) -> None:
    """Planted bug it caught: 'it is cable A-1 again' came when all notches had been read."""
    async with driven(worn, "TESS", now=ONE_O_CLOCK) as d:
        await begin(d)
        await d.keys("enter")
        assert "on record: A-2" in d.flat
        await d.type("A-1")  # the very cable
        await d.keys("enter")
        assert "! the cable is not exchanged: it is cable A-1 again" in d.flat
        await d.keys("backspace")  # what was typed is marked: a scanner writes over it
        await d.type("A-2")
        await d.keys("enter")
        assert isinstance(d.app.screen, SwapCheck)
        assert "Exchanged: the cable: A-2 in place of A-1. All else as in check C-0021." in d.flat
        for item in ("I-1 instrument:", "P-1 pencil:", "B-1 block:", "A-2 cable:"):
            assert item in d.flat


async def test_what_cannot_come_in_stands_grey_with_its_reason(worn: Path) -> None:
    lab = store.open_store(worn)
    equipment.set_state(lab, "P-2", "quarantined", "dropped", by=given.KEEPER, now=thin_thread.at(35))
    lab.close()
    async with driven(worn, "TESS", now=ONE_O_CLOCK, size=(120, 40)) as d:
        await begin(d)
        assert "probe: no other probe can come in: P-2: do not use: P-2 is quarantined: dropped" in d.flat
        await d.keys("2")  # the second that can be chosen: the block
        assert "Exchanged: the block: B-2 in place of B-1" in d.flat


async def test_an_auditor_reads_and_begins_none(worn: Path) -> None:
    async with driven(worn, "AUDE", now=ONE_O_CLOCK) as d:
        await to_the_check(d)
        await d.keys("w", "enter")  # nobody asks an auditor why
        assert "AUDE (auditor) may not make a response check" in d.notices
        assert swaps.swaps(d.app.lab, NOW) == ()


async def test_a_notch_within_chance_says_so_before_it_is_chosen(deviating: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "lab.refstd"
    lab = given.new_lab(path)
    swap_lab.build(lab)
    swap_lab.deviating(lab, "block")
    lab.close()
    async with driven(path, "TESS", now=ONE_O_CLOCK) as d:
        await to_the_check(d)
        await d.keys("w")
        assert "0.5 mm: −1.94 dB (from ±0.65 dB on)" in d.flat
        assert "1.0 mm: +0.00 dB, too small: from ±0.65 dB on" in d.flat


PAGES = {"swap-begun": 0, "swap-cable-stayed": 1, "swap-probe-went": 2}


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
@pytest.mark.parametrize("name", PAGES)
async def test_the_page_reads_as_it_did(worn: Path, name: str, size: tuple[int, int]) -> None:
    lab = store.open_store(worn)
    fields = {"check": "C-0021", "notch": swap_lab.NOTCH, "why": "low since Monday"}
    swaps.start_swap(lab, swaps.SwapDraft(**fields), by="TESS", now=thin_thread.at(40))
    for n, thing in enumerate(swaps.THINGS[: PAGES[name]]):
        read_now = swap_lab.seen("probe", thing)
        swaps.record_step(
            lab, "W-0001", thing, swap_lab.step_draft(thing), read_now, by="TESS", now=thin_thread.at(45 + n)
        )
    lab.close()
    async with driven(worn, "TESS", now=ONE_O_CLOCK, size=size) as d:
        await d.keys("e", "enter")
        refuse_change(d.text, f"{name}-{size[0]}x{size[1]}")
