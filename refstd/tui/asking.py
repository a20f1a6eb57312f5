"""Small questions in a window: one of several, or a line of text. They know nothing of the lab."""

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from refstd.base.text import safe, safe_lines
from refstd.tui.widgets.menu import Entry, Menu


class Window(ModalScreen[str | None]):
    """A question above a screen. It is answered once: a second Enter that was on its way closes nothing else."""

    def answer(self, given: str | None) -> None:
        """Give the answer and close; nothing if that has been done."""
        if self.app.screen is self:  # `dismiss` takes away whatever is on top by now
            self.dismiss(given)

    def action_none(self) -> None:
        self.answer(None)


class Choose(Window):
    """Choose one by a digit, or by arrows and Enter; Esc chooses none."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "none", "Back", id="choose_none")]

    def __init__(
        self,
        question: str,
        answers: Sequence[str],
        shown: Sequence[str] = (),
        chosen: str = "",
        against: Sequence[str] = (),
    ) -> None:
        """Take the answers, what each is shown as, and below them, grey, what cannot be chosen with the reason."""
        super().__init__()
        self.question, self.answers, self.chosen, self.against = question, tuple(answers), chosen, tuple(against)
        self.shown = tuple(shown) or self.answers

    def compose(self) -> ComposeResult:
        with Vertical(classes="window"):
            yield Static(Text(safe_lines(self.question), style="bold"), markup=False)
            yield Menu()

    def on_mount(self) -> None:
        entries = [Entry(a, Text(safe(s))) for a, s in zip(self.answers, self.shown, strict=True)]
        entries += [Entry("", Text(f"  ✗ {safe(why)}", style="not bold")) for why in self.against]
        menu = self.query_one(Menu)
        menu.show(entries, self.chosen)
        menu.focus()

    @on(Menu.OptionSelected)
    def choose(self, chosen: Menu.OptionSelected) -> None:
        self.answer(chosen.option.id)


class AskLine(Window):
    """Ask for one line of text; Enter gives it, Esc gives none."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "none", "Back", id="line_none")]

    def __init__(self, question: str, value: str = "", beside: str = "") -> None:
        """Take the question, what stands in the field, and what is said below it."""
        super().__init__()
        self.question, self.value, self.beside = question, value, beside

    def compose(self) -> ComposeResult:
        with Vertical(classes="window"):
            yield Static(Text(safe_lines(self.question), style="bold"), markup=False)
            yield Input(safe(self.value), compact=True)
            yield Static(
                Text(safe_lines("\n".join(filter(None, (self.beside, "Enter gives it, Esc goes back."))))), markup=False
            )

    @on(Input.Submitted)
    def give(self, given: Input.Submitted) -> None:
        self.answer(given.value)
