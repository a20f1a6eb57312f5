"""The screens driven by keys, as a person does, on a real store; nothing waits for a clock."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from textual.pilot import Pilot
from textual.widgets import Input

from refstd.desk import people, store
from refstd.tui.app import RefstdApp
from tests.tui.screen_text import screen_text

NAMES = {
    " ": "space", ".": "full_stop", "-": "minus", ":": "colon", ",": "comma", "/": "slash", "_": "underscore",
    "[": "left_square_bracket", "]": "right_square_bracket", "@": "at", "=": "equals_sign", "(": "left_parenthesis",
    ")": "right_parenthesis", "'": "apostrophe", "%": "percent_sign", "±": "plus_minus",
}  # fmt: skip

QUIET_ROUNDS = 3  # a message may be on its way from one widget to the next while a round looks
MOST_ROUNDS = 10_000


class Driver:
    """Presses keys and reads the screen. Each key waits until everything that it started has been shown."""

    def __init__(self, app: RefstdApp, pilot: Pilot[Any]) -> None:
        self.app, self.pilot = app, pilot

    async def settle(self) -> None:
        """Wait until no question is under way, no message waits and the screen is drawn.

        The pilot's own pause takes a process that gets no processor for one that has nothing to do, and so reads a
        screen that is not drawn yet where the machine is busy. Nothing here looks at a clock.
        """
        quiet = 0
        for _ in range(MOST_ROUNDS):
            await self.pilot._wait_for_screen()  # every widget has taken what had been sent to it
            if any(not w.is_finished for w in self.app.workers):
                await self.app.workers.wait_for_complete()
            await self.app.animator.wait_until_complete()
            self.app.screen._on_timer_update()
            quiet = quiet + 1 if self._quiet() else 0
            if quiet == QUIET_ROUNDS or self.app._exception_event.is_set():
                return
        raise AssertionError(f"the screen is still at work after {MOST_ROUNDS} rounds")

    def _quiet(self) -> bool:
        """Return whether nothing is under way: no question, no message, nothing to be drawn."""
        screen = self.app.screen
        pumps = (self.app, *screen.walk_children(with_self=True))
        waiting = any(not p._message_queue.empty() or p._next_callbacks for p in pumps)
        drawn = not (screen._layout_required or screen._repaint_required or screen._dirty_widgets or screen._callbacks)
        return drawn and not waiting and all(w.is_finished for w in self.app.workers)

    async def keys(self, *keys: str) -> None:
        """Press keys by name."""
        for key in keys:
            await self.pilot.press(key)
            await self.settle()

    async def type(self, text: str) -> None:
        """Type a text into what has the focus; into a field all at once, since each key costs a twentieth of a second."""
        field = self.app.focused
        if isinstance(field, Input):
            field.insert_text_at_cursor(text)
            await self.settle()
            return
        await self.pilot.press(*(NAMES.get(c, c) for c in text))
        await self.settle()

    @property
    def text(self) -> str:
        """Return the screen as drawn."""
        return screen_text(self.app)

    @property
    def flat(self) -> str:
        """Return the screen as one line, so that a sentence is found wherever it wraps."""
        return " ".join(self.text.split())

    @property
    def notices(self) -> str:
        """Return every notice of this session."""
        return "\n".join(f"{n.title}: {n.message}" for n in self.app._notifications)


@asynccontextmanager
async def driven(
    path: Path, person: str, *, now: datetime = datetime(2026, 3, 2, 9, 0, tzinfo=UTC), size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Driver]:
    """Open the store at `path` on the screens, acting as `person`, at `now`."""
    lab = store.open_store(path)
    try:
        app = RefstdApp(lab, lambda: now, people.actor(lab, person, store.When(now)))
        async with app.run_test(size=size) as pilot:
            driver = Driver(app, pilot)
            await driver.settle()
            yield driver
    finally:
        lab.close()
