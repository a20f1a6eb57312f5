"""What the keys of a screen do, from the commands that the screen declares."""

from collections.abc import Iterable
from typing import Any, ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from refstd.base.text import safe
from refstd.desk.serviceability import CAUTION
from refstd.tui.commands import EVERYWHERE, Command
from refstd.tui.screens import LabScreen

KEY_WORDS = {
    "question_mark": "?", "escape": "Esc", "slash": "/", "enter": "Enter", "space": "Space", "plus": "+", "minus": "-",
    "delete": "Del", "left": "←", "right": "→", "up": "↑", "down": "↓", "pageup": "PgUp", "pagedown": "PgDn",
}  # fmt: skip
ALWAYS = (
    ("↑ ↓ PgUp PgDn", "Move in a list or a text."),
    ("Tab, Shift+Tab", "Go to the next or the previous field."),
    ("Shift+drag", "Mark text with the mouse to copy it; the mouse is never needed."),
)


class HelpScreen(ModalScreen[None]):
    """The keys of one screen, in words."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,question_mark,f1", "dismiss_help", "Back", id="dismiss_help")
    ]

    def __init__(self, screen: Screen[Any]) -> None:
        super().__init__()
        self.of = screen

    def compose(self) -> ComposeResult:
        declared: tuple[Command, ...] = getattr(self.of, "COMMANDS_HERE", ())
        if isinstance(self.of, LabScreen):
            declared = tuple(c for c in declared if self.of.permits(c))
        with VerticalScroll(id="help"):
            yield Static(Text.assemble(("Keys of this screen", "bold"), f": {_about(self.of)}"), markup=False)
            yield Static(_table((*declared, *EVERYWHERE)), markup=False)
            yield Static(Text(f"\n{CAUTION} Esc closes this."), markup=False)

    def on_mount(self) -> None:
        self.query_one("#help").focus()

    def action_dismiss_help(self) -> None:
        if self.app.screen is self:
            self.dismiss()


def keys_in_words(keys: str) -> str:
    """Return the keys of a command as they are named on the keyboard."""
    return " ".join(
        KEY_WORDS.get(k, k.upper() if k.startswith("f") and k[1:].isdigit() else k) for k in keys.split(",")
    )


def _about(screen: Screen[Any]) -> str:
    return safe((type(screen).__doc__ or "").split("\n")[0])


def _table(commands: Iterable[Command]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    for keys, says in (*((keys_in_words(c.keys), c.help) for c in dict.fromkeys(commands)), *ALWAYS):
        table.add_row(Text(keys, style="bold"), Text(says))
    return table
