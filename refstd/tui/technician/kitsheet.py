"""The sheet of a kit on screen: items, setting up, checks, scan plan; written to a file for paper."""

from collections.abc import Sequence
from typing import ClassVar

from refstd.base.errors import Refusal
from refstd.desk.kit_sheet import KitForJob, kit_for
from refstd.reports.kit import sections, verdict_words
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.screens import told
from refstd.tui.sections import Section, SectionsPage
from refstd.tui.widgets.rows import Col, Row

_COLUMNS = (Col("about", 18), Col("what it is"), Col("from", 18))


class KitPage(SectionsPage):
    """A kit for a job: these items, or those that are out for it."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("o", "write", "Write to file", "Write the sheet with boxes to fill in by pen: PDF, text, CSV or JSON by the file's ending."),
        BACK,
        *EVERYWHERE,
    )  # fmt: skip

    def __init__(self, job: str, asset_nos: Sequence[str] = ()) -> None:
        super().__init__()
        self.about = (job, *asset_nos)

    def load(self) -> None:
        (job, *asset_nos), lab, when = self.about, self.refstd.lab, self.refstd.when()
        self.ask(lambda: kit_for(lab, job, when, asset_nos), self.show_kit)

    def refused(self, refusal: Refusal) -> None:
        """Say what is missing where the sheet would stand."""
        self.say("#sum", told(refusal))

    def show_kit(self, kit: KitForJob) -> None:
        """Show the kit that was read."""
        self.show(
            f"Kit for job {kit.job.number}",
            ", ".join(k.item.asset_no for k in kit.items),
            [
                Section(part, _COLUMNS, tuple(_row(*line[:3]) for line in lines), "nothing on record")
                for part, lines in sections(kit)
            ],
            stands=verdict_words(kit),
        )

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "kit", *self.about)


def _row(about: str, says: str, source: str) -> Row:
    return Row((about, says, source), None, f"{about}: {says}" + (f" ({source})" if source else ""))
