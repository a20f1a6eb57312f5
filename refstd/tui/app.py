"""Opens the lab and picks the home of the person who works. Nothing else."""

from importlib import import_module
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.events import Resize
from textual.geometry import Size
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from refstd.tui.at_work import LabApp

HOMES = {
    "custodian": ("refstd.tui.custodian.home", "CustodianHome"),
    "technician": ("refstd.tui.technician.home", "TechnicianHome"),
    "auditor": ("refstd.tui.auditor.home", "AuditorHome"),
}
LEAST_WIDTH, LEAST_HEIGHT = 80, 24


class TooSmallScreen(ModalScreen[None]):
    """What stands in place of a screen that would not be legible; no key reaches what lies below."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("q", "app.leave", "Quit", id="leave_too_small")]

    def compose(self) -> ComposeResult:
        yield Static("", markup=False)

    def on_resize(self) -> None:
        size = self.app.size
        self.query_one(Static).update(
            f"refstd needs {LEAST_WIDTH}x{LEAST_HEIGHT}, is {size.width}x{size.height}. Make the window larger, or q quits."
        )


class RefstdApp(LabApp):
    """The screens of refstd on one open store."""

    CSS_PATH = "app.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012 (the base declares it for instances)

    def on_mount(self) -> None:
        if self.person is None:
            from refstd.tui.people import WhoScreen

            self.push_screen(WhoScreen())
        else:
            self.go_home()

    def on_resize(self, event: Resize) -> None:
        """Cover the screens while the window is too small, and uncover them as they were when it grows."""
        self._fit(event.size)

    def _fit(self, size: Size) -> None:
        small = size.width < LEAST_WIDTH or size.height < LEAST_HEIGHT
        covered = isinstance(self.screen, TooSmallScreen)
        if small and not covered:
            self.push_screen(TooSmallScreen())
        elif covered and not small:
            self.pop_screen()

    def go_home(self) -> None:
        """Open the home of the acting person's role."""
        assert self.person is not None
        module, name = HOMES[self.person.role]
        home: Screen[None] = getattr(import_module(module), name)()
        while len(self.screen_stack) > 1:
            self.pop_screen()
        self.push_screen(home)
        self._fit(self.size)

    def action_help(self) -> None:
        from refstd.tui.help import HelpScreen

        self.push_screen(HelpScreen(self.screen))

    def action_find(self) -> None:
        from refstd.tui.find import FindScreen

        self.push_screen(FindScreen())
