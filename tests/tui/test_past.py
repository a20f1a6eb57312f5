"""The records as at a past day, walked through: marked on every screen, nothing can be recorded, judged on that day."""

import hashlib
import re
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from refstd.desk.entry import instant_from_words
from refstd.desk.store import When, open_store, verify
from refstd.reports import REPORTS
from refstd.tui.asking import Window
from refstd.tui.commands import EVERYWHERE, QUIT, Command
from refstd.tui.forms import FormScreen
from refstd.tui.grid import GridScreen
from refstd.tui.help import HelpScreen
from refstd.tui.opening import page_of
from refstd.tui.technician.check import CheckScreen
from tests.tui.busy_lab import TODAY
from tests.tui.driving import Driver, driven

THEN = "2026-02-26"
MARK = "RECORDS AS AT 2026-02-26 23:59"
LEAVES = {"back", "as_at", "who", *(c.action for c in (QUIT, *EVERYWHERE))}
RECORDS = [
    ("item", "B-1"), ("item", "P-1"), ("item", "I-1"), ("check", "C-0026"), ("setup", "S-0001"), ("job", "J-1"),
    ("procedure", "PR-1"), ("person", "TEC"), ("intervals", "B-1"), ("drift", "S-0001 1.0 mm"), ("used", "P-1"),
]  # fmt: skip
WRITING = (FormScreen, GridScreen, CheckScreen)


async def into_the_past(d: Driver) -> None:
    await d.keys("t")
    await d.type(THEN)
    await d.keys("enter")
    assert MARK in d.text


def commands(d: Driver) -> list[Command]:
    declared: tuple[Command, ...] = getattr(d.app.screen, "COMMANDS_HERE", ())
    screen: Any = d.app.screen
    return [c for c in dict.fromkeys(declared) if c.action not in LEAVES and screen.permits(c)]


def refuse_unmarked(d: Driver, where: str) -> None:
    """Fail unless the screen is marked; a small window leaves the mark of the screen below in view."""
    if not isinstance(d.app.screen, HelpScreen):
        assert d.text.count("RECORDS AS AT") == 1, (where, d.text)
    assert not isinstance(d.app.screen, WRITING), (where, d.app.screen)


async def press_everything(d: Driver, seen: dict[str, set[str]], depth: int, most: int) -> None:
    """Press each key that the open screen declares, and go on from what opens, each kind of screen once."""
    here = type(d.app.screen).__name__
    if here in seen or depth > most:
        return
    seen[here] = set()
    stack = list(d.app.screen_stack)
    for command in commands(d):
        key = command.keys.split(",")[0]
        await d.keys(key)
        seen[here].add(key)
        refuse_unmarked(d, f"{here} {key}")
        if d.app.screen is not stack[-1] and not isinstance(d.app.screen, Window):
            await press_everything(d, seen, depth + 1, most)
        while len(d.app.screen_stack) > len(stack):
            await d.keys("escape")
        assert d.app.screen is stack[-1], f"{here} {key}"


@pytest.mark.parametrize("person", ["CUS", "TEC", "AUD", "LV3"])
async def test_from_every_home_each_key_leaves_the_mark_and_records_nothing(busy: Path, person: str) -> None:
    """Found so, not planted: a technician could fill in a whole form in the past before anything refused it."""
    before = hashlib.sha256(busy.read_bytes()).hexdigest()
    seen: dict[str, set[str]] = {}
    async with driven(busy, person) as d:
        await into_the_past(d)
        await press_everything(d, seen, 0, 2)
    assert len(seen) >= 3
    assert hashlib.sha256(busy.read_bytes()).hexdigest() == before
    assert verify(busy, deep=False).whole


@pytest.mark.long
@pytest.mark.parametrize(("kind", "number"), RECORDS)
async def test_on_every_record_each_key_leaves_the_mark_and_records_nothing(busy: Path, kind: str, number: str) -> None:
    before = hashlib.sha256(busy.read_bytes()).hexdigest()
    async with driven(busy, "CUS") as d:
        await into_the_past(d)
        page = page_of(kind, number)
        assert page is not None
        d.app.push_screen(page)
        await d.settle()
        refuse_unmarked(d, kind)
        for section in "1234567890":
            await d.keys(section)
            refuse_unmarked(d, f"{kind} {section}")
        await d.keys("4", "down")
        await press_everything(d, {}, 0, 1)
    assert hashlib.sha256(busy.read_bytes()).hexdigest() == before


async def test_an_act_is_refused_in_words_with_the_way_back(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await into_the_past(d)
        await d.keys("b", "enter", "e")
        assert "nothing is recorded in the past" in d.notices
        assert "Go back to now first: at home, press t." in d.notices
        await d.keys("escape", "escape", "t", *["backspace"] * 16, "enter")
        assert "RECORDS AS AT" not in d.text
        await d.keys("b", "enter", "e")
        assert isinstance(d.app.screen, FormScreen)


async def test_the_figures_on_screen_are_those_of_the_report_as_at_that_day(busy: Path) -> None:
    lab = open_store(busy)
    when = When(TODAY, as_at=instant_from_words(THEN, ZoneInfo("Europe/Dublin")))
    wanted = {
        key: len(REPORTS[name][1](lab, when).rows)
        for key, name in (("d", "due"), ("f", "findings"), ("k", "decisions"))
    }
    today = {key: len(REPORTS[name][1](lab, When(TODAY)).rows) for key, name in (("f", "findings"), ("k", "decisions"))}
    lab.close()
    assert any(today[key] != wanted[key] for key in today)  # the day makes a difference
    async with driven(busy, "AUD") as d:
        await into_the_past(d)
        for key, rows in wanted.items():
            await d.keys(key)
            heading = d.text.split("\n")[1 if "RECORDS AS AT" in d.text.split("\n")[0] else 0]
            assert re.search(rf"\((\d+ open of )?{rows}\)", heading), (key, rows, heading)
            await d.keys("escape")
