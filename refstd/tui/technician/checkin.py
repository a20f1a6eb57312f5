"""Items come back with their condition; what is not sound is held at once."""

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.events import Key
from textual.widgets import Input, Static

from refstd.base.errors import Refusal
from refstd.base.text import safe
from refstd.desk.custody import check_in
from refstd.desk.homes import KitInHand, kit_in_hand
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.counting import Counts, count_in
from refstd.tui.forms import ChoiceField, KeepButton
from refstd.tui.pages import Page
from refstd.tui.screens import told
from refstd.tui.widgets.menu import Entry, Menu

SOUND, NOT_SOUND = "sound", "not sound"


class CheckInScreen(Page):
    """Give items back with their condition. Items not sound are checked in apart from the sound ones."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f2", "keep", "Check in", "Check in every item that is marked, with the condition as stated."),
        Command("space", "mark", "Mark", "Mark the highlighted item as coming back, or not."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, job: str) -> None:
        super().__init__()
        self.job = job
        self.HEADING = f"check in from job {job}"
        self.marked: set[str] = set()
        self.names: dict[str, str] = {}

    def body(self) -> ComposeResult:
        yield Static("", id="refusal", markup=False)
        yield Static("What comes back? Space marks; Enter goes on.", classes="note", markup=False)
        yield Menu(id="items", numbered=False)
        with Horizontal(classes="field"):
            yield Static("what is marked is", classes="name", markup=False)
            yield ChoiceField((SOUND, NOT_SOUND), SOUND, id="sound")
        with Horizontal(classes="field"):
            yield Static("condition", classes="name", markup=False)
            yield Input(SOUND, id="condition", compact=True)
        yield KeepButton("Check in: Enter, or F2 from anywhere", markup=False)
        yield Static("", id="held", classes="note", markup=False)

    def load(self) -> None:
        if not self.names:
            app = self.refstd
            self.ask(lambda: kit_in_hand(app.lab, app.by, self.job, app.when()), self.show_kit)

    def show_kit(self, kit: KitInHand) -> None:
        self.names = {s.item.asset_no: s.item.name for s in kit.items}
        if not self.names:
            self.app.pop_screen()
            self.app.screen.notify(
                "Nothing of this job is in your hands.", title="Nothing to check in", severity="warning", markup=False
            )
            return
        self.marked = set(self.names)
        self._redraw()
        self.query_one(Menu).focus()

    def _redraw(self) -> None:
        menu = self.query_one(Menu)
        entries = [
            Entry(n, Text(f"{'[x]' if n in self.marked else '[ ]'} {safe(n):<14} {safe(name)}"))
            for n, name in self.names.items()
        ]
        menu.show(entries, menu.chosen)
        self._say_held()

    def _say_held(self) -> None:
        marked = ", ".join(safe(n) for n in self.names if n in self.marked) or "nothing"
        says = (
            f"Each of {marked} is held by a finding until it is released. Unmark what is sound; check that in apart."
            if self._not_sound
            else "What is not sound is held by a finding until it is released; check it in apart from what is sound."
        )
        self.query_one("#held", Static).update(Text(says))

    @property
    def _not_sound(self) -> bool:
        return self.query_one("#sound", ChoiceField).value == NOT_SOUND

    @on(ChoiceField.Changed)
    def sound_changed(self) -> None:
        """What is not sound wants words of its own; 'sound' was only offered."""
        condition = self.query_one("#condition", Input)
        if condition.value.strip() in ("", SOUND):
            condition.value = "" if self._not_sound else SOUND
        self._say_held()

    def action_mark(self) -> None:
        self.marked ^= {self.query_one(Menu).chosen}
        self._redraw()

    @on(Menu.OptionSelected)
    def to_condition(self) -> None:
        self.query_one("#sound").focus()

    @on(Input.Submitted)
    def to_button(self) -> None:
        self.query_one(KeepButton).focus()

    def on_key(self, event: Key) -> None:
        if event.key == "enter" and isinstance(self.focused, ChoiceField):
            event.stop()
            self.query_one("#condition").focus()

    def action_keep(self) -> None:
        app, numbers = self.refstd, [n for n in self.names if n in self.marked]
        sound = not self._not_sound
        condition = self.query_one("#condition", Input).value

        def given(counts: Counts, part: str, area: str) -> None:
            self.act(
                lambda operation: check_in(
                    app.lab, numbers, sound=sound, condition=condition, counted=counts, part=part, area=area, by=app.by,
                    now=app.now(), operation=operation,
                ),
                lambda found: self._in(numbers, found),
            )  # fmt: skip

        count_in(self, numbers, given)

    def _in(self, numbers: list[str], found: tuple[str, ...]) -> None:
        held = f" Held by {', '.join(found)}." if found else ""
        self.app.pop_screen()
        self.app.screen.notify(safe(f"{', '.join(numbers)}.{held}"), title="Checked in", markup=False)

    def refused(self, refusal: Refusal) -> None:
        self.acting = False
        shown = self.query_one("#refusal", Static)
        shown.update(Text("\n".join(f"✗ {line}" for line in told(refusal).split("\n"))))
        shown.add_class("-shown")
