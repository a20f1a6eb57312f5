"""Every key of every screen means one thing."""

import importlib
import pkgutil
from collections import Counter
from collections.abc import Iterator
from typing import Any

from textual.screen import Screen

import refstd.tui
from refstd.tui.commands import Command


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
