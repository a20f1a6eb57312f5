"""A list to choose from with one key: a digit chooses at once, arrows and Enter as well."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.console import RenderableType
from rich.text import Text
from textual.binding import Binding, BindingType
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from refstd.tui.widgets.hanging import hanging
from refstd.tui.widgets.rows import CURSOR, READING


@dataclass(frozen=True, slots=True)
class Entry:
    """One line, or several, of a menu. A heading (`key` empty) cannot be chosen."""

    key: str
    text: RenderableType


class Menu(OptionList):
    """Entries of which the first nine answer to their digit."""

    # Without it the height of an entry is measured for a list without scrollbar, and its last line is cut with one.
    DEFAULT_CSS = "Menu { scrollbar-gutter: stable; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(str(n), f"digit({n})", f"choose {n}", show=False) for n in range(1, 10)
    ]

    def __init__(self, *, id: str | None = None, numbered: bool = True) -> None:
        super().__init__(id=id, markup=False, compact=True)
        self.numbered = numbered
        self.keys: list[str] = []
        self._entries: list[Entry] = []
        self._pointed: int | None = None

    def on_mount(self) -> None:
        if not self._entries:
            self.add_option(Option(Text(READING, style="not bold"), disabled=True))

    def show(self, entries: Sequence[Entry], chosen: str = "") -> None:
        """Show these entries, with the one of that key highlighted, else the first that can be chosen."""
        self._entries, self._pointed = [], None
        self.clear_options()
        self._entries = list(entries)
        self.keys = [e.key for e in entries if e.key]
        for entry in entries:
            self.add_option(Option(self._drawn(entry, pointed=False), id=entry.key or None, disabled=not entry.key))
        if chosen in self.keys:
            self.highlighted = self.get_option_index(chosen)
        elif self.keys:
            self.highlighted = self.get_option_index(self.keys[0])

    def _drawn(self, entry: Entry, *, pointed: bool) -> RenderableType:
        """Return an entry with the sign of the cursor and its digit in front; a heading as it is."""
        if not entry.key:
            return entry.text
        n = self.keys.index(entry.key) + 1
        digit = f"{n if n < 10 else ' '} " if self.numbered else ""
        return hanging([(Text(f"{CURSOR if pointed else '  '}{digit}", style="bold"), entry.text)], 2 + len(digit))

    def watch_highlighted(self, highlighted: int | None) -> None:
        """Move the sign of the cursor with the highlight, which colour alone would not show."""
        super().watch_highlighted(highlighted)
        for place, pointed in ((self._pointed, False), (highlighted, True)):
            if place is not None and place < len(self._entries):
                self.replace_option_prompt_at_index(place, self._drawn(self._entries[place], pointed=pointed))
        self._pointed = highlighted if self._entries else None

    @property
    def chosen(self) -> str:
        """Return the key of the highlighted entry, or ''."""
        if self.highlighted is None:
            return ""
        return self.get_option_at_index(self.highlighted).id or ""

    def action_digit(self, n: int) -> None:
        if not self.numbered or n > len(self.keys):
            return
        self.highlighted = self.get_option_index(self.keys[n - 1])
        self.action_select()
