"""A comparison of a field block with its primary, as it was told on its day: notches, scans, what it rests on."""

from typing import ClassVar

from refstd.base.quantity import plain
from refstd.desk.comparison_record import ComparisonShown, comparison
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row

_NOTCHES = (
    Col("notch", 12), Col("amplitude", 10, right=True), Col("phase", 8, right=True), Col("primary moved", 13, right=True),
    Col("outcome"),
)  # fmt: skip
_SCANS = (
    Col("notch", 12), Col("block", 12), Col("round", 5, right=True), Col("horizontal", 10, right=True), Col("vertical", 10, right=True),
    Col("unit, as seen"),
)  # fmt: skip
_TONES = {"does not agree": "bad", "not conclusive": "warn"}


class ComparisonPage(SectionsPage):
    """A comparison as kept."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f", "finding", "Finding", "Open the finding that holds the block."),
        Command(
            "y", "correct", "Correct", "Correct it by new scans or settings, with the reason.", act="compare blocks"
        ),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number
        self.found: ComparisonShown | None = None

    def load(self) -> None:
        lab, when, number = self.refstd.lab, self.refstd.when(), self.number
        self.ask(lambda: comparison(lab, number, when), self.show_comparison)

    def show_comparison(self, c: ComparisonShown) -> None:
        """Show the comparison that was read."""
        self.found = c
        notches = tuple(
            Row((n.notch, *(f or "—" for f in n.figures()), n.outcome), None, n.says, _TONES.get(n.outcome, "")) for n in c.notches
        )  # fmt: skip
        scans = tuple(
            Row(
                (s.notch, c.primary if s.side == "primary" else c.secondary, str(s.round),
                 "—" if s.horizontal is None else plain(s.horizontal), plain(s.vertical), c.unit)
            )
            for s in c.scans
        )  # fmt: skip
        facts = fact_lines(
            ("system and settings", c.system_in_words()), ("band", c.band_in_words()), ("evidence filed", c.certificate or "none"),
            ("next", c.next_in_words()), ("finding", c.finding), ("corrects", c.corrects), ("reason", c.why),
            ("corrected by", c.corrected_by), ("note", c.note), ("scanned", f"{self.local(c.happened_at)} by {c.person}"),
            ("log entry", c.entry), ("rules version", c.rules_version),
        )  # fmt: skip
        held = f"; finding {c.finding} holds it" if c.finding else ""
        self.show(
            f"Comparison {c.number}",
            f"{self.local(c.happened_at)} by {c.person}, band {c.band_in_words()}; {c.next_in_words()}",
            (
                Section("notches", _NOTCHES, notches, "no notch"),
                Section("scans", _SCANS, scans, "no scan"),
                Section("rests on", text=facts),
            ),
            c.headline() + held,
        )

    def action_finding(self) -> None:
        if self.found and self.found.finding:
            self.open_record("finding", self.found.finding)

    def action_correct(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.technician.compare import compare_with_primary

            compare_with_primary(self, self.found.secondary, corrects=self.found.number)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "finding" and not (self.found and self.found.finding):
            return False
        if action == "correct" and not (self.found and not self.found.corrected_by):
            return False
        return super().check_action(action, parameters)
