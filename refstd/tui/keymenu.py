"""The keys of a home as a menu in view, made of the commands that the screen declares."""

from collections.abc import Sequence

from rich.cells import cell_len
from rich.text import Text
from textual.widgets import Static

from refstd.tui.commands import Command
from refstd.tui.help import keys_in_words


class KeyMenu(Static):
    """Each key with its title; wraps between entries, never inside one."""

    DEFAULT_CSS = "KeyMenu { height: auto; padding: 0 1; }"

    def __init__(self, commands: Sequence[Command]) -> None:
        super().__init__(markup=False)
        self.commands = tuple(commands)

    def render(self) -> Text:
        text, used = Text(), 0
        for c in self.commands:
            key = keys_in_words(c.keys)
            size = cell_len(key) + 1 + cell_len(c.title)
            if used and used + 2 + size > self.size.width:
                text.append("\n")
                used = 0
            elif used:
                text.append("  ")
                used += 2
            text.append(key, "bold reverse")
            text.append(f" {c.title}")
            used += size
        return text
