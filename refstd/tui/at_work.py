"""What the screens work with: the open lab, the clock, the person, and the moment that questions are asked for."""

from collections.abc import Callable
from datetime import datetime
from typing import ClassVar
from zoneinfo import ZoneInfo

from textual.app import App
from textual.binding import BindingType

from refstd.base.errors import Exit
from refstd.desk.people import PersonShown
from refstd.desk.store import Lab, When, about


class LabApp(App[int]):
    """An app on one open store. `as_at` moves every question to a past instant; acts are refused meanwhile."""

    TITLE = "refstd"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, lab: Lab, now: Callable[[], datetime], person: PersonShown | None = None) -> None:
        super().__init__()
        self.lab = lab
        self.now = now
        self.person = person
        self.as_at: datetime | None = None
        self.fault: Exception | None = None  # what ended the screens, for the command to report
        store = about(lab, When(now()))
        self.lab_name, self.zone = store.lab_name, ZoneInfo(store.time_zone)

    def when(self) -> When:
        """Return the moment that questions are asked for."""
        return When(self.now(), as_at=self.as_at)

    @property
    def by(self) -> str:
        """Return the code of the acting person."""
        assert self.person is not None
        return self.person.code

    def act_as(self, person: PersonShown) -> None:
        """Choose the acting person and open their home."""
        self.person = person
        self.go_home()

    def go_home(self) -> None:
        """Open the home of the acting person's role."""
        raise RuntimeError("an app on a lab has a home for each role")

    def action_leave(self) -> None:
        """Leave refstd."""
        self.exit(0)

    def action_help(self) -> None:
        """Show what the keys of the open screen do."""
        raise RuntimeError("an app on a lab has a help screen")

    def action_find(self) -> None:
        """Find something by its number."""
        raise RuntimeError("an app on a lab finds things")

    def _handle_exception(self, error: Exception) -> None:
        """Close in order on an unexpected fault: a traceback helps nobody at a bench. Tests still see it as it is."""
        if self.is_headless:
            super()._handle_exception(error)
            return
        self.fault = self.fault or error
        self.exit(int(Exit.FAULT))
