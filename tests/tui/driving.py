"""The screens driven by keys, as a person does, on a real store; nothing waits for a clock."""

import asyncio
import unicodedata
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from textual.events import Key
from textual.keys import REPLACED_KEYS, _character_to_key, _get_unicode_name_from_key
from textual.message_pump import MessagePump
from textual.pilot import Pilot
from textual.widgets import Input
from textual.worker import WorkerCancelled

from refstd.desk import people, store
from refstd.tui.app import RefstdApp
from tests.tui.screen_text import screen_text

QUIET_TURNS = 10  # a task of its own may be on its way from one widget to the next while a turn looks
MOST_TURNS = 100_000


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
        for _ in range(MOST_TURNS):
            await asyncio.sleep(0)
            if any(not w.is_finished for w in self.app.workers):
                with suppress(WorkerCancelled):  # a later question took its place
                    await self.app.workers.wait_for_complete()
            await self.app.animator.wait_until_complete()
            quiet = quiet + 1 if self._quiet() else 0
            if quiet == QUIET_TURNS or self.app._exception_event.is_set():
                return
        raise AssertionError(f"the screen is still at work after {MOST_TURNS} turns")

    def _quiet(self) -> bool:
        """Return whether nothing is under way: no question, each widget waits for a message, and nothing is to be drawn."""
        screen = self.app.screen
        if any(not w.is_finished for w in self.app.workers):
            return False
        if not all(_waits(pump) for pump in (self.app, *screen.walk_children(with_self=True))):
            return False
        if screen._layout_required or screen._repaint_required or screen._dirty_widgets or screen._callbacks:
            screen._on_timer_update()  # what its own timer would do at the next frame
            return False
        return True

    async def keys(self, *keys: str) -> None:
        """Press keys by name."""
        for key in keys:
            self.app.post_message(_pressed(key))
            await self.settle()

    async def burst(self, *keys: str) -> None:
        """Press keys as a scanner or a double press sends them: the next one before anything has answered the one before."""
        for key in keys:
            self.app.post_message(_pressed(key))
        await self.settle()

    async def type(self, text: str) -> None:
        """Type a text into what has the focus; into a field all at once, which is quicker than key by key."""
        field = self.app.focused
        if isinstance(field, Input):
            field.insert_text_at_cursor(text)
            await self.settle()
            return
        await self.keys(*text)

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


def _waits(pump: MessagePump) -> bool:
    """Return whether a widget has handled what was sent to it and waits for more."""
    ready: Any = pump._message_queue.ready_event
    return not ready.is_set() and not pump._next_callbacks and any(not w.done() for w in ready._waiters)


def _pressed(key: str) -> Key:
    """Return what the terminal sends for a key. The pilot's own press sleeps a twentieth of a second with each."""
    name = _character_to_key(key) if len(key) == 1 and not key.isalnum() else key
    character: str | None
    try:
        character = unicodedata.lookup(_get_unicode_name_from_key(REPLACED_KEYS.get(name, name)))
    except KeyError:
        character = name if len(name) == 1 else None
    return Key(name, character)


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
