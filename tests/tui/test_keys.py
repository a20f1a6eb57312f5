"""Every key of every screen means one thing."""

import importlib
import pkgutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from textual.screen import Screen

import refstd.tui
from refstd.tui.commands import Command
from refstd.tui.record import RecordPage
from tests.tui.driving import driven


def screens(kind: type[Screen[Any]] = Screen) -> Iterator[type[Screen[Any]]]:
    for one in kind.__subclasses__():
        yield one
        yield from screens(one)


def test_no_key_of_a_screen_is_given_twice() -> None:
    """Planted bug it caught: w for the swap tests and for who works here; who works here was out of reach."""
    for module in pkgutil.walk_packages(refstd.tui.__path__, "refstd.tui."):
        importlib.import_module(module.name)
    seen = 0
    for screen in set(screens()):
        commands: tuple[Command, ...] = getattr(screen, "COMMANDS_HERE", ())
        keys = Counter(key for c in dict.fromkeys(commands) for key in c.keys.split(","))
        assert [k for k, times in keys.items() if times > 1] == [], screen
        seen += bool(commands)
    assert seen > 30


async def test_a_footer_that_does_not_fit_shows_whole_keys_and_says_that_help_has_the_others(busy: Path) -> None:
    """Planted bug that it caught: the library's own footer, which cuts a title at the edge and says nothing of the rest."""
    async with driven(busy, "CUS", size=(80, 24)) as d:
        await d.keys("b", "down", "enter")
        titles = {c.title for c in RecordPage.COMMANDS_HERE}
        narrow = d.text.splitlines()[-1]
        assert "? Help: more keys" in narrow
        assert any(narrow.endswith(f" {title}") for title in titles)
        assert "Event" not in narrow
        await d.keys("question_mark")
        assert "Record what may have changed how it answers" in d.flat
        await d.keys("escape")
        await d.pilot.resize_terminal(160, 40)
        await d.settle()
        wide = d.text.splitlines()[-1]
        assert "h Event" in wide
        assert "Help: more" not in wide
