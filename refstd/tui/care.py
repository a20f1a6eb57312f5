"""Care of the store: what it says about itself, whether it is whole, how program and disk are, and a verified backup."""

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from refstd.desk.store import Condition, StoreShown, about, backup, doctor, verify
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import Page
from refstd.tui.sections import fact_lines


@dataclass(frozen=True, slots=True)
class _Found:
    store: StoreShown
    conditions: tuple[Condition, ...]


class CarePage(Page):
    """The store: about, how it is, verify and back up."""

    HEADING = "Care of the store"
    AUTO_FOCUS = "VerticalScroll"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command(
            "v", "verify", "Verify", "Look through file, keys, form, log chain; replay the log against every record."
        ),
        Command("b", "backup", "Back up", "Make a backup beside the store, verify it, and record it."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self) -> None:
        super().__init__()
        self.verified = ""

    def body(self) -> ComposeResult:
        with VerticalScroll():
            yield Static(id="store", classes="lines", markup=False)
            yield Static(id="verified", classes="lines", markup=False)
            yield Static(id="conditions", classes="lines", markup=False)

    def load(self) -> None:
        app = self.refstd
        self.ask(lambda: _Found(about(app.lab, app.when()), doctor(app.lab.path)), self.show_store)

    def show_store(self, found: _Found) -> None:
        """Show the store that was read."""
        s = found.store
        facts = fact_lines(
            ("lab", s.lab_name), ("time zone", s.time_zone), ("day", s.today), ("file", s.path),
            ("log head", f"{s.head.sequence} {s.head.hash}"),
        )  # fmt: skip
        self.say("#store", f"THE STORE\n{facts}\nKeep the log head outside this file: it shows a cut tail.\n")
        self.say("#verified", f"VERIFIED\n{self.verified or 'not yet: press v'}\n")
        lines = [
            f"{'✓' if c.good else '✗'} {c.what}: {c.found}" + (f" → {c.remedy}" if c.remedy else "") for c in found.conditions
        ]  # fmt: skip
        self.say("#conditions", "HOW IT IS\n" + "\n".join(lines))

    def action_verify(self) -> None:
        path = self.refstd.lab.path
        self.say("#verified", "VERIFIED\nlooking through every record …\n")
        self.ask(lambda: verify(path, deep=True), lambda v: self._show_verified(v.steps, v.problems, v.head))

    def _show_verified(self, steps: tuple[str, ...], problems: tuple[str, ...], head: object) -> None:
        sequence, digest = getattr(head, "sequence", "none"), getattr(head, "hash", "")
        verdict = "✗ NOT WHOLE" if problems else "✓ whole, as far as these steps can tell"
        lines = [f"{verdict}: {', '.join(steps)}", *(f"✗ {p}" for p in problems), f"head {sequence} {digest}"]
        self.verified = "\n".join(lines)
        self.say("#verified", f"VERIFIED\n{self.verified}\n")

    def action_backup(self) -> None:
        if not self.may_record():
            return
        app = self.refstd
        self.act(lambda _: backup(app.lab, None, by=app.by, now=app.now()), lambda made: self._backed_up(made[0]))

    def _backed_up(self, path: Path) -> None:
        self.tell(f"backup made and verified: {path}")
        self.load()
