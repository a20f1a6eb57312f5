"""What a page says before the records have answered: that it reads them, never that nothing is due."""

import threading
from pathlib import Path

import pytest

from refstd.tui.screens import LabScreen
from tests.tui.driving import Driver, driven

HOMES = {"CUS": "nothing is due, held, awaited or late", "AUD": "nothing on record", "TEC": "none; n opens one"}
LISTS = {"d": "no schedule is set", "s": "no item is named", "f": "no finding on record"}


class Held:
    """Holds every answer of the records back until it is let go."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.go = threading.Event()
        asked = LabScreen.ask

        def ask(screen: LabScreen, question, then, otherwise=None) -> None:  # type: ignore[no-untyped-def]
            asked(screen, lambda: (self.go.wait(30), question())[1], then, otherwise)

        monkeypatch.setattr(LabScreen, "ask", ask)


async def seen_while_reading(d: Driver, held: Held, *keys: str) -> tuple[str, str]:
    """Return the screen before the records have answered, and after."""
    held.go.clear()
    for key in keys:
        await d.pilot.press(key)
    for _ in range(5):
        await d.pilot.pause()
    before = d.flat
    held.go.set()
    await d.settle()
    return before, d.flat


@pytest.mark.parametrize("person", HOMES)
async def test_a_home_gives_no_all_clear_before_the_records_have_answered(
    busy: Path, monkeypatch: pytest.MonkeyPatch, person: str
) -> None:
    """Planted bug it caught: the list's words for 'nothing' shown while it was not read yet."""
    held = Held(monkeypatch)
    held.go.set()
    async with driven(busy, person) as d:
        held.go.clear()
        d.app.go_home()
        before, after = await seen_while_reading(d, held)
        assert "reading the records …" in before
        assert HOMES[person] not in before
        assert "reading the records …" not in after


@pytest.mark.parametrize("key", LISTS)
async def test_a_list_says_that_it_reads(busy: Path, monkeypatch: pytest.MonkeyPatch, key: str) -> None:
    held = Held(monkeypatch)
    held.go.set()
    async with driven(busy, "AUD") as d:
        before, after = await seen_while_reading(d, held, key)
        assert "reading the records …" in before
        assert LISTS[key] not in before
        assert "reading the records …" not in after


async def test_a_record_says_that_it_reads(busy: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    held = Held(monkeypatch)
    held.go.set()
    async with driven(busy, "CUS") as d:
        await d.keys("b")
        before, after = await seen_while_reading(d, held, "enter")
        assert "reading the records …" in before
        assert "reading the records …" not in after


async def test_a_number_and_enter_at_once_open_the_record(busy: Path) -> None:
    """Planted bug it caught: an Enter that came before the answer was lost, as from a scanner."""
    async with driven(busy, "CUS") as d:
        await d.keys("slash")
        await d.burst(*"B-2", "enter")
        assert d.text.splitlines()[0].startswith(" B-2 plate block 2")
