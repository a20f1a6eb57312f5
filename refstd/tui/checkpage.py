"""A kept check: outcome with all reasons, the readings, the picture, and what it rests on."""

from typing import ClassVar

from refstd.base.quantity import plain
from refstd.desk.check_record import (
    CheckRecord,
    check_record,
    conditions_in_words,
    recorded_in_words,
    settings_in_words,
    sheet_in_words,
)
from refstd.desk.checks import Picture
from refstd.desk.kept_checks import check_shown
from refstd.tui.certificatepage import save_paper
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.opening import swap_test_from
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row


def _reading_columns(one_figure: str) -> tuple[Col, ...]:
    """Return the columns of the readings as seen; the last figure is the vertical part or the amplitude."""
    return (Col("notch", 16), Col("nominal depth", 14, right=True), Col("horizontal", 12, right=True),
            Col(one_figure, 12, right=True), Col("unit, as seen"))  # fmt: skip


class CheckPage(SectionsPage):
    """A response check as it was kept, by the rules of its day."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f", "finding", "Finding", "Open the finding that this check led to."),
        Command("y", "setup", "Setup", "Open the setup that was checked."),
        Command("w", "swap", "Swap test", "Find out what moved: exchange one thing at a time, from this check."),
        Command("u", "suspects", "Suspects", "Which item moved: the evidence over the whole lab."),
        Command(
            "o",
            "save_sheet",
            "Save sheet",
            "Write the scan of the paper sheet to a file; what exists is not overwritten.",
            in_footer=False,
        ),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number
        self.record: CheckRecord | None = None

    def load(self) -> None:
        lab, when, number = self.refstd.lab, self.refstd.when(), self.number
        self.ask(lambda: (check_record(lab, number, when), check_shown(lab, number, when)[1]), self.show_check)

    def show_check(self, found: tuple[CheckRecord, Picture]) -> None:
        """Show the check that was read."""
        self.record, picture = found
        record, verdict = self.record, self.record.verdict
        done = f"{verdict.occasion} check on setup {verdict.setup}" + (f", job {verdict.job}" if verdict.job else "")
        corrected = f"CORRECTED by {record.corrected_by}: this record counts no longer. " if record.corrected_by else ""
        self.show(
            f"Check {verdict.number}",
            f"{corrected}{done}, {self.local(verdict.happened_at)} by {verdict.person}{', ' + verdict.late if verdict.late else ''}",
            (
                Section("outcome", check=verdict),
                Section("readings", _reading_columns(record.readings.one_figure), _reading_rows(record), "no reading"),
                Section("picture", picture=picture),
                Section("rests on", text=self._rests_on(record)),
            ),
        )

    def _rests_on(self, record: CheckRecord) -> str:
        verdict = record.verdict
        return fact_lines(
            ("setup", record.setup.in_words()),
            ("conditions", conditions_in_words(record.setup)),
            ("settings", settings_in_words(record)),
            ("procedure", record.procedure),
            ("start check", record.start_check),
            ("certificate of the block", record.certificate),
            *((f"certified depth, notch {d.notch}", f"{d.figure()} ({d.certificate})") for d in record.depths),
            *(("against it", reason.in_words()) for d in record.depths for reason in d.against),
            ("cable", record.cable),
            ("adapter", record.adapter),
            ("remedy before the repeat", record.remedy),
            ("repeats", verdict.repeats),
            ("corrects", record.corrects),
            ("corrected by", record.corrected_by),
            ("second person", record.second_person),
            ("reason", record.why),
            ("note", record.note),
            ("finding", verdict.finding),
            ("read", f"{self.local(verdict.happened_at)} by {verdict.person}"),
            ("recorded", recorded_in_words(record, self.local(record.recorded_at))),
            ("paper sheet", sheet_in_words(record)),
            ("rules version", verdict.rules_version),
        )

    def action_finding(self) -> None:
        if self.record and self.record.verdict.finding:
            self.open_record("finding", self.record.verdict.finding)

    def action_setup(self) -> None:
        if self.record:
            self.open_record("setup", self.record.verdict.setup)

    def action_suspects(self) -> None:
        self.open_record("page", "suspects")

    def action_swap(self) -> None:
        if self.record:
            swap_test_from(self, self.record.verdict.number)

    def action_save_sheet(self) -> None:
        if self.record and self.record.sheet:
            save_paper(self, self.record.sheet, self.record.sheet_sha256)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "finding":
            return bool(self.record and self.record.verdict.finding)
        return bool(self.record and self.record.sheet) if action == "save_sheet" else True


def _reading_rows(record: CheckRecord) -> tuple[Row, ...]:
    rows = []
    for r in record.readings.readings:
        across = plain(r.horizontal) if r.horizontal is not None else "—"
        up = plain(r.vertical) if r.vertical is not None else "—"
        full = f"≥ full screen ({plain(record.readings.full_screen)} {record.readings.unit})" if r.full_screen else ""
        rows.append(Row((r.notch, f"{r.depth_mm:g} mm", across, up, full or record.readings.unit)))
    return tuple(rows)
