"""What authority decided against advice, a hold, a date or an interval, with the reason; Enter opens the record."""

from typing import ClassVar

from refstd.desk.decisions import Decision, decisions
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.lists import WRITE
from refstd.tui.pages import ListPage
from refstd.tui.widgets.rows import Col, Row


class DecisionsPage(ListPage):
    """Decisions by authority, newest first. None of them changes a verdict."""

    HEADING = "Decisions by authority"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("when", 16), Col("decision", 18), Col("record", 9), Col("by", 7), Col("reason"),
    )  # fmt: skip
    EMPTY = "nothing was let out against advice, released, deferred or set anew by authority"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (WRITE, BACK, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: decisions(lab, when), self.show_decisions)

    def show_decisions(self, found: tuple[Decision, ...]) -> None:
        """Show the decisions that were read."""
        self.head(f"{self.HEADING} ({len(found)})")
        self.fill(
            [
                Row(
                    (self.local(d.happened_at), d.kind, d.record[1], d.person, d.why), d.record,
                    f"{d.kind} by {d.person}" + (f" ({d.authority})" if d.authority else "") + f": {d.why}\n{d.record[1]}: {d.says}"
                    + (f"\nstands: {d.stands}" if d.stands else ""),
                )
                for d in found
            ]
        )  # fmt: skip

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "decisions")
