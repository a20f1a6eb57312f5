"""Drift: every setup and notch against its baseline, those of a suspect first; Enter opens the control chart."""

from typing import ClassVar

from refstd.desk.charts import DriftBoard, drift_board
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.driftwords import DRIFT_COLUMNS, drift_rows
from refstd.tui.lists import WRITE
from refstd.tui.pages import ListPage
from refstd.tui.suspectwords import moved_words
from refstd.tui.widgets.rows import Col, Row, heading


class DriftPage(ListPage):
    """The drift of every notch: those of named items first, then what stands out. Enter opens the control chart."""

    HEADING = "Drift"
    COLUMNS: ClassVar[tuple[Col, ...]] = DRIFT_COLUMNS
    EMPTY = "no setup has a baseline, so drift cannot be told"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        WRITE,
        Command("s", "suspects", "Suspects", "Which item moved: the evidence over the whole lab."),
        BACK,
        *EVERYWHERE,
    )

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: drift_board(lab, when), self.show_drift)

    def show_drift(self, board: DriftBoard) -> None:
        """Show the drift that was read."""
        flagged = sum(1 for d in board.drift if d.flags)
        self.head(f"Drift ({flagged} of {len(board.drift)} notches stand out)")
        self.fill(self._rows(board))

    def _rows(self, board: DriftBoard) -> list[Row]:
        groups = board.groups
        if all(suspect is None for suspect, _ in groups):
            return list(drift_rows([d for _, own in groups for d in own], self.refstd.zone))
        rows = []
        for suspect, own in groups:
            title = f"moved: {moved_words(suspect)}" if suspect else "no item of these is named"
            rows += [heading(f"{title} ({len(own)})"), *drift_rows(own, self.refstd.zone)]
        return rows

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "drift")

    def action_suspects(self) -> None:
        self.open_record("page", "suspects")
