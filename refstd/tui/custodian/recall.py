"""Calibration recall: what to send to which laboratory by which day, and what that leaves without."""

from itertools import groupby
from typing import ClassVar

from textual.widgets import Static

from refstd.base.errors import WrongUsage
from refstd.desk.recall import MONTHS, MOST_MONTHS, Recall, Recalled, recall
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import ListPage
from refstd.tui.record_sections import due_tone, due_words, when_due
from refstd.tui.widgets.rows import Col, Row, heading

WRITE = Command(
    "o", "write", "Write to file", "Write this list as a report: text, CSV, JSON or PDF by the file's ending."
)


class RecallPage(ListPage):
    """What to send, laboratory by laboratory, the soonest first; above it the load by month. Enter opens the item."""

    HEADING = "Calibration recall"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("item", 9), Col("activity", 12), Col("valid until", 11), Col("days", 13), Col("before it goes"),
    )  # fmt: skip
    EMPTY = "nothing is to be sent in these months"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("m", "months", "Months", "Look fewer or more months ahead."),
        WRITE,
        BACK,
        *EVERYWHERE,
    )

    def __init__(self) -> None:
        super().__init__()
        self.months = MONTHS

    def above(self) -> tuple[Static, ...]:
        return (Static(classes="lines", id="load", markup=False),)

    def load(self) -> None:
        lab, when, months = self.refstd.lab, self.refstd.when(), self.months
        self.ask(lambda: recall(lab, when, months), self.show_found)

    def show_found(self, found: Recall) -> None:
        """Show the recall that was read."""
        self.head(f"Calibration recall to {found.through} ({len(found.sent)})")
        self.say("#load", _load_words(found))
        rows: list[Row] = []
        for laboratory, group in groupby(found.sent, key=lambda r: r.laboratory):
            sent = list(group)
            rows += [heading(f"{laboratory} ({len(sent)})"), *(_row(r) for r in sent)]
        self.fill(rows)

    def action_months(self) -> None:
        def given(text: str | None) -> None:
            if text is None:
                return
            if not (text.strip().isascii() and text.strip().isdigit() and int(text) <= MOST_MONTHS):
                self.refused(
                    WrongUsage(f"'{text}' is not a number of months", "", f"Give one from 0 to {MOST_MONTHS}.")
                )
                return
            self.months = int(text)
            self.load()

        self.app.push_screen(AskLine("Look how many months ahead, after this one?", str(self.months)), given)

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "recall", months=self.months)


def _load_words(found: Recall) -> str:
    """Return the load in one line, and what is left out."""
    here = sum(m.here for m in found.load)
    lines = ["to send: " + "  ".join(f"{m.month} {m.items}" for m in found.load if m.items or m.month != "at once")]
    if here:
        lines[0] += f"; done here: {here}, in the due list"
    out = [f"{number} ({state})" for number, state in found.left_out]
    return "\n".join(lines + ([f"left out: {', '.join(out)}"] if out else []))


def _row(r: Recalled) -> Row:
    d = r.due
    warned = "; ".join(w.says for w in r.warnings)
    about = [f"{d.name}" + (f", serial {r.serial_no}" if r.serial_no else "") + (f", {r.where}" if r.where else "")]
    about += [due_words(d), f"{d.asset_no}: {d.verdict.headline()}", *(f"{w.says}: {w.cure}" for w in r.warnings)]
    return Row(
        (d.asset_no, d.activity, str(r.valid_until or "—"), when_due(d), warned), ("item", d.asset_no), "\n".join(about),
        "warn" if r.warnings else due_tone(d),
    )  # fmt: skip
