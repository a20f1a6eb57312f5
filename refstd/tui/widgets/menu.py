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

    def show(self, entries: Sequence[Entry], chosen: str = "") -> None:
        """Show these entries, with the one of that key highlighted, else the first that can be chosen."""
        self.clear_options()
        self.keys = [e.key for e in entries if e.key]
        numbers = {k: n for n, k in enumerate(self.keys, start=1)}
        for entry in entries:
            text = entry.text
            if entry.key and self.numbered:
                n = numbers[entry.key]
                text = hanging([(Text(f"{n}" if n < 10 else "", style="bold"), text)], 2)
            self.add_option(Option(text, id=entry.key or None, disabled=not entry.key))
        if chosen in self.keys:
            self.highlighted = self.get_option_index(chosen)
        elif self.keys:
            self.highlighted = self.get_option_index(self.keys[0])

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
