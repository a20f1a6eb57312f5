"""Reading the register from CSV files: first only checked, with every problem listed; then put on record in one act."""

from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from refstd.base.errors import Refusal
from refstd.base.text import safe_lines
from refstd.exchange.cells import content_of
from refstd.exchange.kinds import KINDS
from refstd.exchange.spreadsheet import Imported, Source, import_files, kind_named, sources_in
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.pages import Page


class ImportPage(Page):
    """Import CSV files. Enter checks and writes nothing; F2 puts all on record, or nothing."""

    HEADING = "Import"
    AUTO_FOCUS = "#path"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command(
            "f2", "import", "Put on record", "Put everything on record in one act, or nothing if there is a problem."
        ),
        BACK,
        HELP,
    )

    def body(self) -> ComposeResult:
        yield Static(
            "A CSV file, or a folder of them, each named for what it holds. Enter checks, F2 puts on record.",
            classes="lines",
            markup=False,
        )
        yield Input(placeholder="path", id="path", compact=True)
        with VerticalScroll():
            yield Static(Text(_files_in_words()), id="found", classes="lines", markup=False)

    def sources(self) -> Sequence[Source]:
        """Return the files that the path names, read; or refuse."""
        path = Path(self.query_one("#path", Input).value.strip()).expanduser()
        if path.is_dir():
            return sources_in(path)
        return (Source(kind_named(path.name), path.name, content_of(path)),)

    @on(Input.Submitted, "#path")
    def check(self) -> None:
        app = self.refstd
        try:
            sources = self.sources()
        except Refusal as refusal:
            self.refused(refusal)
            return
        self.ask(
            lambda: import_files(app.lab, sources, by=app.by, now=app.now(), only_check=True),
            lambda found: self._say(f"CHECKED, nothing was written. F2 puts it on record.\n{_in_words(found)}"),
        )

    def action_import(self) -> None:
        if not self.may_record():
            return
        app = self.refstd
        try:
            sources = self.sources()
        except Refusal as refusal:
            self.refused(refusal)
            return
        self.act(
            lambda op: import_files(app.lab, sources, by=app.by, now=app.now(), operation=op),
            lambda found: self._say(f"PUT ON RECORD\n{_in_words(found)}"),
        )

    def refused(self, refusal: Refusal) -> None:
        """Show every problem, in a text that scrolls: there may be many."""
        self.acting = False
        self._say(f"NOTHING WAS WRITTEN\n{refusal}")

    def _say(self, text: str) -> None:
        self.query_one("#found", Static).update(Text(safe_lines(text)))


def _in_words(found: Imported) -> str:
    lines = [f"{count} {name}" for name, count in found.counts]
    if found.unchanged:
        lines.append(f"{found.unchanged} on record already, word for word")
    return "\n".join(lines + [f"! {w}" for w in found.warnings]) or "nothing"


def _files_in_words() -> str:
    lines = ["The files and their columns (UTF-8; a point in decimals; days as YYYY-MM-DD):", ""]
    lines += [f"{kind.file}: {', '.join(kind.columns)}" for kind in KINDS.values()]
    return "\n".join(lines)
