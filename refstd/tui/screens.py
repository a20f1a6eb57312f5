"""What all screens share: desk calls in worker threads, refusals in words, an act never done twice."""

import uuid
from collections.abc import Callable
from datetime import datetime
from typing import Any, ClassVar, TypeVar

from rich.text import Text
from textual.binding import BindingType
from textual.screen import Screen
from textual.widgets import Static

from refstd.base.errors import BadInput, Refusal
from refstd.base.text import safe, safe_lines
from refstd.desk.people import allowed
from refstd.tui.at_work import LabApp
from refstd.tui.commands import BACK, EVERYWHERE, Command, bindings

T = TypeVar("T")


class LabScreen(Screen[None]):
    """A screen on the lab. It composes, turns keys into one desk call, and shows what came back."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK,)
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(BACK, *EVERYWHERE)]

    def __init_subclass__(cls, **kwargs: Any) -> None:
        if "BINDINGS" not in cls.__dict__:  # a screen declares its commands once; its keys are made of them
            cls.BINDINGS = [*bindings(*cls.__dict__.get("COMMANDS_HERE", ()))]
        super().__init_subclass__(**kwargs)

    def __init__(self) -> None:
        super().__init__()
        self.acting = False
        self._asked: dict[str, int] = {}

    @property
    def refstd(self) -> LabApp:
        assert isinstance(self.app, LabApp)
        return self.app

    def ask(
        self,
        question: Callable[[], T],
        then: Callable[[T], object],
        otherwise: Callable[[Refusal], object] | None = None,
    ) -> None:
        """Run a question in a worker thread and hand its answer to `then` on the screen's own thread.

        When the same is asked again before the answer is there, only the newest answer is shown: threads overtake each
        other, and an older answer would hide what was recorded since.
        """
        place = getattr(then, "__qualname__", "")
        number = self._asked[place] = self._asked.get(place, 0) + 1

        def shown(answer: T) -> object:
            stands = self in self.app.screen_stack  # one that is being taken away still counts as attached
            return then(answer) if stands and self._asked[place] == number else None

        def run() -> None:
            try:
                answer = question()
            except Refusal as refusal:
                self.app.call_from_thread(otherwise or self.refused, refusal)
                return
            self.app.call_from_thread(shown, answer)

        self.run_worker(run, thread=True, exit_on_error=True)

    def act(self, change: Callable[[str], T], then: Callable[[T], object]) -> None:
        """Run an act once: a second Enter while it runs does nothing, and its operation id makes a retry the same act."""
        if self.acting:
            return
        if self.refstd.as_at is not None:
            self.refused(
                Refusal(
                    f"the records are shown as at {self.local(self.refstd.as_at)}",
                    "nothing is recorded in the past",
                    "Go back to now first: at home, press t.",
                )
            )
            return
        self.acting = True
        operation = str(uuid.uuid4())

        def done(answer: T) -> object:
            self.acting = False
            return then(answer)

        def undone(refusal: Refusal) -> None:
            self.acting = False
            self.refused(refusal)

        self.ask(lambda: change(operation), done, undone)

    def refused(self, refusal: Refusal) -> None:
        """Show a refusal: what is wrong, where, what to do."""
        self.notify(told(refusal), title="Not done", severity="error", timeout=12, markup=False)

    def permits(self, command: Command) -> bool:
        """Return whether the acting person may do what a command does."""
        person = self.refstd.person
        return not command.act or (person is not None and allowed(person, command.act))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return all(self.permits(c) for c in self.COMMANDS_HERE if c.action == action)

    def action_back(self) -> None:
        self.app.pop_screen()

    def close(self) -> None:
        """Take this screen away, with what was opened above it meanwhile."""
        while self.app.screen is not self:
            self.app.pop_screen()
        self.app.pop_screen()

    def action_help(self) -> None:
        self.refstd.action_help()

    def action_find(self) -> None:
        self.refstd.action_find()

    def action_leave(self) -> None:
        self.refstd.action_leave()

    def action_refresh(self) -> None:
        self.load()

    def load(self) -> None:
        """Read what the screen shows; called when it opens, comes back, or F5 is pressed."""

    def local(self, instant: datetime) -> str:
        """Return an instant in the lab's time zone, to the minute."""
        return f"{instant.astimezone(self.refstd.zone):%Y-%m-%d %H:%M}"

    async def on_screen_resume(self) -> None:
        await self._mark_past()
        self.load()

    async def _mark_past(self) -> None:
        """Say on every screen, in a line of its own, when the records are shown as at a past instant."""
        await self.query("#past").remove()
        as_at = self.refstd.as_at
        if as_at is not None:
            says = f" RECORDS AS AT {self.local(as_at)} ({self.refstd.zone}). Nothing can be recorded here. "
            await self.mount(Static(Text(says, style="bold reverse"), id="past", markup=False), before=0)


def told(refusal: Refusal) -> str:
    """Return a refusal for the place where it arose: what is wrong, where, what to do; of bad input each problem a line."""
    return safe_lines("\n".join(map(str, refusal.problems)) if isinstance(refusal, BadInput) else refusal)


def line(text: object, style: str = "") -> Text:
    """Return stored text as one line that no markup and no control character can disturb."""
    return Text(safe(text), style=style, no_wrap=False)


def words(text: object, *, id: str | None = None, classes: str | None = None) -> Static:
    """Return a widget that shows stored text and nothing but text."""
    return Static(Text(safe_lines(text)), id=id, classes=classes, markup=False)
