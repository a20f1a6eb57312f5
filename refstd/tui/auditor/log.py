"""The log: who recorded what and when, newest first; the rows each entry wrote, and its place in the chain."""

from typing import ClassVar

from textual import on

from refstd.desk.log import EntryShown, log_entries
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import ListPage
from refstd.tui.widgets.rows import Col, Row, Rows


class LogPage(ListPage):
    """The log, entry by entry. More is read as you come to the end; v looks whether the chain is whole."""

    HEADING = "Log"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("entry", 7, right=True),
        Col("recorded", 16),
        Col("person", 10),
        Col("what was done"),
    )
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("v", "verify", "Verify", "Look whether chain and records are whole."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self) -> None:
        super().__init__()
        self.entries: list[EntryShown] = []
        self.reading = False

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: log_entries(lab, when), self.show_first)

    def show_first(self, found: tuple[EntryShown, ...]) -> None:
        """Show the newest entries."""
        self.entries = list(found)
        self._show()

    def show_more(self, found: tuple[EntryShown, ...]) -> None:
        """Show older entries below."""
        self.reading = False
        if found and found[0].sequence < self.entries[-1].sequence:
            self.entries += found
            self._show()

    def _show(self) -> None:
        self.head(f"Log ({self.entries[0].sequence} entries)" if self.entries else "Log")
        self.fill([self._row(e) for e in self.entries])

    def _row(self, e: EntryShown) -> Row:
        wrote = ", ".join(f"{count} {table.replace('_', ' ')}" for table, count in e.tables) or "no rows"
        about = (
            f"entry {e.sequence}, recorded {self.local(e.recorded_at)} by {e.person} {e.person_name} (known: {e.known_by})\n"
            f"{e.in_words()}\nwrote {wrote}\nhash {e.hash}"
        )
        return Row(
            (str(e.sequence), self.local(e.recorded_at), e.person, e.in_words()), ("entry", str(e.sequence)), about
        )

    @on(Rows.AtEnd)
    def _older(self) -> None:
        if self.reading or not self.entries or self.entries[-1].sequence <= 1:
            return
        self.reading = True
        lab, when, before = self.refstd.lab, self.refstd.when(), self.entries[-1].sequence
        self.ask(lambda: log_entries(lab, when, before=before), self.show_more)

    def action_verify(self) -> None:
        from refstd.tui.care import CarePage

        page = CarePage()
        self.app.push_screen(page)
        self.call_after_refresh(page.action_verify)
