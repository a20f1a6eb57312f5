"""Care of the store: what it says about itself, whether it is whole, how program and disk are, and a verified backup."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from refstd.base.errors import Refusal
from refstd.desk.checkpoints import KeptOutside, checkpoint_line, kept_outside, record_checkpoint
from refstd.desk.proof import ATTEMPTS, IN_WORDS, NOTHING, STOP
from refstd.desk.store import Condition, Lab, StoreShown, When, about, backup, doctor, verify
from refstd.tui.asking import AskLine
from refstd.tui.certificatepage import write_new
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import ListPage, Page
from refstd.tui.sections import fact_lines
from refstd.tui.widgets.rows import Col, Row


@dataclass(frozen=True, slots=True)
class _Found:
    store: StoreShown
    conditions: tuple[Condition, ...]
    outside: KeptOutside


class CarePage(Page):
    """The store: about, how it is, verify and back up."""

    HEADING = "Care of the store"
    AUTO_FOCUS = "VerticalScroll"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command(
            "v", "verify", "Verify", "Look through file, keys, form, log chain; replay the log against every record."
        ),
        Command("p", "proof", "What it proves", "What the log proves and what it does not, attempt by attempt."),
        Command(
            "c",
            "checkpoint",
            "Checkpoint",
            "Write the log's head to a file to keep elsewhere.",
            act="make a checkpoint",
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
        self.ask(
            lambda: _Found(about(app.lab, app.when()), doctor(app.lab.path), kept_outside(app.lab, app.when())),
            self.show_store,
        )

    def show_store(self, found: _Found) -> None:
        """Show the store that was read."""
        s = found.store
        facts = fact_lines(
            ("lab", s.lab_name), ("time zone", s.time_zone), ("day", s.today), ("file", s.path),
            ("log head", f"{s.head.sequence} {s.head.hash}"),
        )  # fmt: skip
        made = f" ({self.local(found.outside.made_at)})" if found.outside.made_at else ""
        self.say("#store", f"THE STORE\n{facts}\n{found.outside.in_words()}{made}.\n")
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

    def action_proof(self) -> None:
        self.app.push_screen(ProofPage())

    def action_checkpoint(self) -> None:
        if not self.may_record():
            return
        app = self.refstd

        def given(name: str | None) -> None:
            if not name or not name.strip():
                return
            target = Path(name.strip()).expanduser()
            self.act(lambda _: _kept(app.lab, target, app.by, app.now()), self._checkpoint_made)

        day = f"{app.now().astimezone(app.zone):%Y-%m-%d}"
        self.app.push_screen(
            AskLine("Write the log's head to which file? Keep it where those who can write the store cannot write.",
                    f"checkpoint-{day}.txt", "To sign it: refstd checkpoint -o FILE --sign KEY"), given,
        )  # fmt: skip

    def _checkpoint_made(self, path: Path) -> None:
        self.tell(f"checkpoint written: {path}")
        self.load()

    def action_backup(self) -> None:
        if not self.may_record():
            return
        app = self.refstd
        self.act(lambda _: backup(app.lab, None, by=app.by, now=app.now()), lambda made: self._backed_up(made[0]))

    def _backed_up(self, path: Path) -> None:
        self.tell(f"backup made and verified: {path}")
        self.load()


def _kept(lab: Lab, target: Path, by: str, now: datetime) -> Path:
    """Write a checkpoint and record it; one whose record is refused does not stay."""
    line = checkpoint_line(lab, When(now))
    written = write_new(target, line)
    try:
        record_checkpoint(lab, line, None, by=by, now=now)
    except Refusal:
        written.unlink()
        raise
    return written


class ProofPage(ListPage):
    """What the log proves and what it does not, attempt by attempt."""

    HEADING = "What the log proves, and what not"
    COLUMNS: ClassVar[tuple[Col, ...]] = (Col("guards", 7), Col("shown by", 13), Col("what somebody may try"))
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK, *EVERYWHERE)

    def above(self) -> list[Static]:
        return [Static("\n".join(IN_WORDS), classes="lines", markup=False)]

    def load(self) -> None:
        self.fill(
            [
                Row(
                    ("stop it" if a.guards == STOP else "let it", a.short(), a.attempt), None,
                    f"{a.attempt}: the guards {a.guards}; shown by {a.shown_by}.", "" if a.inside else "bad" if a.shown_by == NOTHING else "warn",
                )
                for a in ATTEMPTS
            ]
        )  # fmt: skip
