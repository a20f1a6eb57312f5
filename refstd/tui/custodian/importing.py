"""Reading files in: the register from CSV, first only checked, with every problem listed; a certificate from its XML."""

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
from refstd.exchange.dcc import Understood
from refstd.exchange.kinds import KINDS
from refstd.exchange.spreadsheet import Imported, Source, import_files, kind_named, sources_in
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.custodian.certificatefile import CertificateFilePage, certificate_files, in_short, open_file
from refstd.tui.pages import Page


class ImportPage(Page):
    """Import CSV files: Enter checks and writes nothing, F2 puts all on record, or nothing. A certificate: Enter looks.

    The newest certificate file that lies here or among the downloads is offered; ↑ and ↓ go through them.
    """

    HEADING = "Import"
    AUTO_FOCUS = "#path"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command(
            "f2", "import", "Put on record", "Put everything on record in one act, or nothing if there is a problem."
        ),
        Command("down", "offer(1)", "Older file", "Offer the certificate file before this one.", in_footer=False),
        Command("up", "offer(-1)", "Newer file", "Offer the certificate file after this one.", in_footer=False),
        BACK,
        HELP,
    )  # fmt: skip

    def __init__(self, item: str = "") -> None:
        super().__init__()
        self.item = item
        self.HEADING = f"Import a certificate of {item}" if item else self.HEADING
        self.files = certificate_files()
        self.offered = 0

    def on_mount(self) -> None:
        super().on_mount()
        self.action_offer(0)

    def action_offer(self, by: int) -> None:
        """Offer another certificate file."""
        if not self.files:
            return
        self.offered = min(max(self.offered + by, 0), len(self.files) - 1)
        path = self.query_one("#path", Input)
        path.value = in_short(self.files[self.offered])
        path.cursor_position = len(path.value)

    def body(self) -> ComposeResult:
        yield Static(
            "A CSV file, or a folder of them, each named for what it holds. Enter checks, F2 puts on record.\n"
            "A certificate in XML (Digital Calibration Certificate 3.2 or 3.3): Enter shows it before it is stored.",
            classes="lines",
            markup=False,
        )
        yield Input(placeholder="path", id="path", compact=True)
        with VerticalScroll():
            yield Static(Text(_files_in_words()), id="found", classes="lines", markup=False)

    @property
    def path(self) -> Path:
        """Return the path that was typed or offered."""
        return Path(self.query_one("#path", Input).value.strip()).expanduser()

    def sources(self) -> Sequence[Source]:
        """Return the files that the path names, read; or refuse."""
        path = self.path
        if path.is_dir():
            return sources_in(path)
        return (Source(kind_named(path.name), path.name, content_of(path)),)

    @on(Input.Submitted, "#path")
    def check(self) -> None:
        app = self.refstd
        path = self.path
        if path.suffix.lower() == ".xml":
            self.ask(lambda: open_file(path), self.look_at)
            return
        try:
            sources = self.sources()
        except Refusal as refusal:
            self.refused(refusal)
            return
        self.ask(
            lambda: import_files(app.lab, sources, by=app.by, now=app.now(), only_check=True),
            lambda found: self._say(f"CHECKED, nothing was written. F2 puts it on record.\n{_in_words(found)}"),
        )

    def look_at(self, understood: Understood) -> None:
        """Show a certificate file before it is stored."""
        self.app.push_screen(CertificateFilePage(understood, self.item))

    def action_import(self) -> None:
        if self.path.suffix.lower() == ".xml":
            self.check()
            return
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
