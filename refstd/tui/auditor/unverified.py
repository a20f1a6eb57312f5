"""Items in service whose evidence is missing: never done, or nothing says when they are due."""

from typing import ClassVar

from refstd.desk.homes import AuditorHome, auditor_home
from refstd.desk.serviceability import Status, status
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import ListPage
from refstd.tui.widgets.rows import Col, Row


class UnverifiedPage(ListPage):
    """Items in service without evidence. Enter opens the item."""

    HEADING = "In service without evidence"
    COLUMNS: ClassVar[tuple[Col, ...]] = (Col("item", 12), Col("kind", 11), Col("name", 18), Col("verdict"))
    EMPTY = "every item in service has its evidence"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()

        def read() -> tuple[Status, ...]:
            found: AuditorHome = auditor_home(lab, when)
            return status(lab, [i.asset_no for i in found.unverified], when)

        self.ask(read, self.show_items)

    def show_items(self, found: tuple[Status, ...]) -> None:
        """Show the items that were read."""
        self.head(f"{self.HEADING} ({len(found)})")
        rows = []
        for s in found:
            headline = s.verdict.headline()
            owes = ", ".join(d.activity for d in s.duties) or "no schedule is set"
            rows.append(
                Row(
                    (s.item.asset_no, s.item.kind, s.item.name, headline), ("item", s.item.asset_no),
                    f"{s.item.asset_no} {s.item.name}: {headline}\nowes: {owes}",
                )
            )  # fmt: skip
        self.fill(rows)
