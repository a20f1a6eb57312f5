"""Find an item, job, setup, check, finding or procedure by its number or by words, and open it."""

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import Input, Static

from refstd.desk.search import Hit, find
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.pages import FilterInput, ListPage
from refstd.tui.screens import LabScreen
from refstd.tui.widgets.rows import Col, Row, Rows

_LISTS = {
    "suspects": "which item moved: the evidence over the whole lab",
    "drift": "every setup and notch against its baseline, with control charts",
}


def page_named(name: str) -> LabScreen:
    """Return a list that has no number of its own."""
    from refstd.tui.custodian import pages

    return pages.named(name)


def _lists(text: str) -> list[Row]:
    """Return the lists in whose name every word begins."""
    wanted = text.casefold().split()
    return [
        Row(("list", name, says), ("page", name), says)
        for name, says in _LISTS.items()
        if wanted and all(name.startswith(w) for w in wanted)
    ]


class FindScreen(ListPage):
    """Find what is on record by number or words."""

    HEADING = "Find"
    COLUMNS: ClassVar[tuple[Col, ...]] = (Col("kind", 9), Col("number", 14), Col("what it is"))
    EMPTY = "nothing on record has that number or these words"
    AUTO_FOCUS = "#find"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("enter", "open_hit", "Open", "Open the record under the cursor."),
        BACK,
        HELP,
    )

    def body(self) -> ComposeResult:
        yield Static("Number, or words in any order. ↓ goes to the list, Enter opens.", classes="lines", markup=False)
        yield FindInput(placeholder="B-1, or: bore titanium", id="find", compact=True)
        yield Rows(*self.COLUMNS, empty="nothing looked for yet")
        yield Static(classes="about", id="about", markup=False)

    def on_mount(self) -> None:
        self.query_one(Rows).fill(())
        self.shown_for = ""
        self.enter_waits = False  # a scanner sends number and Enter at once: Enter before the records have answered

    @on(Input.Changed, "#find")
    def _wanted(self, event: Input.Changed) -> None:
        lab, when, text = self.refstd.lab, self.refstd.when(), event.value
        self.enter_waits = False
        self.ask(lambda: (text, find(lab, text, when)), self.show_hits)

    def show_hits(self, answer: tuple[str, tuple[Hit, ...]]) -> None:
        """Show what was found, unless more was typed since."""
        text, hits = answer
        if text != self.query_one("#find", Input).value:
            return
        rows = self.query_one(Rows)
        rows.empty = self.EMPTY if text.strip() else "nothing looked for yet"
        rows.fill([*_lists(text), *(Row((h.kind, h.number, h.says), (h.kind, h.number), h.says) for h in hits)])
        self.shown_for = text
        if self.enter_waits:
            self.action_open_hit()

    @on(Input.Submitted, "#find")
    def action_open_hit(self) -> None:
        """Open the row under the cursor, or once the records have answered what was typed last."""
        self.enter_waits = self.query_one("#find", Input).value != self.shown_for
        if self.row is not None and not self.enter_waits:
            self.open_row(self.row)


class FindInput(FilterInput):
    """What is looked for: Down goes to the list, Enter opens its first row, Escape goes back."""

    def action_leave_filter(self) -> None:
        self.app.pop_screen()
