"""Which item moved: the list, and the evidence about one of them down to the readings."""

from typing import ClassVar

from textual.widgets import Static

from refstd.base.errors import Refusal
from refstd.desk.charts import DriftBoard, drift_board
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.driftwords import DRIFT_COLUMNS, drift_rows
from refstd.tui.lists import WRITE
from refstd.tui.opening import swap_test_from
from refstd.tui.pages import ListPage
from refstd.tui.sections import Section, SectionsPage
from refstd.tui.suspectwords import (
    CANDIDATE_COLUMNS,
    READING_COLUMNS,
    STEP_COLUMNS,
    SUSPECT_COLUMNS,
    called,
    candidate_rows,
    charts_words,
    evidence_text,
    key_of,
    moved_words,
    next_words,
    reading_rows,
    stands_words,
    step_rows,
    suspect_rows,
)
from refstd.tui.widgets.rows import Col, Rows


class SuspectsPage(ListPage):
    """What the evidence over the whole lab names. Enter shows the evidence behind a row."""

    HEADING = "Suspects"
    COLUMNS: ClassVar[tuple[Col, ...]] = SUSPECT_COLUMNS
    EMPTY = "no item is named: nothing that was read lately says that an item moved"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        WRITE,
        Command("g", "drift", "Drift", "Every setup and notch against its baseline, with control charts."),
        BACK,
        *EVERYWHERE,
    )

    def above(self) -> tuple[Static, ...]:
        return (Static(id="stands", classes="lines", markup=False),)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: drift_board(lab, when), self.show_suspects)

    def show_suspects(self, board: DriftBoard) -> None:
        """Show what was read."""
        found = board.suspects
        charts = {s.candidate: charts_words(board.series_of(s), self.refstd.zone) for s in found.found}
        now = [s for s in found.found if not s.before]
        named, before = sum(1 for s in now if not s.tied_with), len(found.found) - len(now)
        tied = len(now) - named
        says = "not judged" if found.judgement.refused else f"{named} named" + (f", {tied} tied" if tied else "")
        says += f", {before} named before" if before else ""
        self.head(f"Suspects ({says})")
        self.say("#stands", stands_words(found))
        self.query_one(Rows).empty = (
            "nothing is judged; what would help stands above" if found.judgement.refused else self.EMPTY
        )
        self.fill(suspect_rows(found, charts))

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "suspects")

    def action_drift(self) -> None:
        self.open_record("page", "drift")


class EvidencePage(SectionsPage):
    """The evidence that an item moved: method, candidates, readings, next steps, charts."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("i", "item", "Item", "Open the record of the item."),
        Command("w", "swap", "Swap test", "Find out what moved, or make sure of it: exchange one thing at a time."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, candidate: str) -> None:
        super().__init__()
        self.candidate = candidate
        self.asset_no = ""
        self.newest = ""

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        kind, code, _ = self.candidate.split("/", 2)
        item = "" if kind == "common" else code
        self.ask(lambda: drift_board(lab, when, item=item), self.show_evidence)

    def show_evidence(self, board: DriftBoard) -> None:
        """Show the evidence that was read, or that the item is named no longer."""
        found = board.suspects
        s = next((s for s in found.found if key_of(s.candidate) == self.candidate), None)
        if s is None:
            name = self.candidate.split("/", 2)
            self.show(f"{' '.join(name[1:])}: not named", "not named", (Section("evidence", text=stands_words(found)),))
            return
        self.asset_no, self.newest = s.candidate.code, s.readings[-1].check
        own = board.series_of(s)
        self.show(
            f"Moved: {called(s.candidate)}",
            moved_words(s),
            (
                Section("evidence", text=evidence_text(s, found, charts_words(own, self.refstd.zone))),
                Section("candidates", CANDIDATE_COLUMNS, candidate_rows(s)),
                Section("readings", READING_COLUMNS, reading_rows(s, self.refstd.zone), "no reading"),
                Section("next", STEP_COLUMNS, step_rows(s, found, self.refstd.zone), "nothing on record confirms it independently"),
                Section("charts", DRIFT_COLUMNS, drift_rows(own, self.refstd.zone), "no series of its own"),
            ),
            f"next: {next_words(s)}",
        )  # fmt: skip

    def action_item(self) -> None:
        if self.asset_no:
            self.open_record("item", self.asset_no)

    def action_swap(self) -> None:
        if self.candidate.split("/", 1)[0] == "common":
            self.refused(
                Refusal(
                    "what all checks share cannot be exchanged one at a time",
                    "",
                    "Look at person, procedure, temperature and shim first.",
                )
            )
        elif self.newest:
            swap_test_from(self, self.newest)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "item":
            return bool(self.asset_no)
        return super().check_action(action, parameters)
