"""What the custodian's and the auditor's home share: the keys in view, the list, another person, the past."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.widgets import Static

from refstd.tui.commands import Command
from refstd.tui.keymenu import KeyMenu
from refstd.tui.pages import ListPage
from refstd.tui.widgets.rows import Rows

REGISTER_KEYS = (
    Command("b", "register('block')", "Blocks", "The reference blocks with state and verdict.", in_footer=False),
    Command("p", "register('probe')", "Probes", "The probes with state and verdict.", in_footer=False),
    Command("i", "register('instrument')", "Instruments", "The instruments with state and verdict.", in_footer=False),
    Command("a", "register('accessory')", "Accessories", "Cables, adapters, rotating drives, shims.", in_footer=False),
)
AS_AT = Command("t", "as_at", "As at", "Show the records as at a past instant, or go back to now.", in_footer=False)
WHO = Command("w", "who", "Who", "Change who works here; the records are shown as they are now.", in_footer=False)


class HomePage(ListPage):
    """A home: its keys as a menu, and what matters first as a list."""

    MENU: ClassVar[tuple[Command, ...]] = ()

    def body(self) -> ComposeResult:
        yield KeyMenu(self.MENU)
        yield Rows(*self.COLUMNS, empty=self.EMPTY)
        yield Static(classes="about", id="about", markup=False)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return action != "back"  # nothing lies before home

    def action_register(self, kind: str) -> None:
        from refstd.tui.registerpage import RegisterPage

        self.app.push_screen(RegisterPage(kind))

    def action_as_at(self) -> None:
        from refstd.tui.past import ask_instant

        ask_instant(self)

    def action_who(self) -> None:
        from refstd.tui.people import WhoScreen

        self.refstd.as_at = None
        self.app.push_screen(WhoScreen())
