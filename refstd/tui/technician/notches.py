"""The readings of a response check: one line a notch, the largest first, kept as typed until they are on record."""

from collections.abc import Collection

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.events import Key
from textual.widget import Widget
from textual.widgets import Input, Static

from refstd.base.errors import Problem
from refstd.base.text import safe
from refstd.desk.checks import CheckSheet, ReadingDraft
from refstd.tui.technician.steps import Step, up_and_down
from refstd.tui.technician.underway import BOTH, FULL_SCREEN, reading_of

STRUCK = "struck out: do not use; Enter goes past it"


class NotchRow(Horizontal):
    """One notch: its label, the field, and beside it the target or what is wrong."""

    def __init__(self, label: str, beside: str) -> None:
        super().__init__(classes="field notch")
        self.label, self.beside = label, beside

    def compose(self) -> ComposeResult:
        yield Static(Text(safe(self.label), no_wrap=True, overflow="ellipsis"), classes="label", markup=False)
        yield Input(compact=True, select_on_focus=False)
        yield Static(Text(safe(self.beside)), classes="beside", markup=False)

    @property
    def typed(self) -> str:
        return self.query_one(Input).value

    @on(Input.Changed)
    def show_beside(self) -> None:
        full = self.typed.strip().casefold() in FULL_SCREEN
        self.query_one(".beside", Static).update(Text(("≥ full screen   " if full else "") + safe(self.beside)))


class ReadingsStep(Step):
    """One reading a notch, deepest first; Enter goes to the next."""

    head = "notches"
    sheet: CheckSheet
    remedy = ""

    def body(self) -> ComposeResult:
        yield Static("", classes="how", markup=False)
        yield VerticalScroll(classes="notches", can_focus=False)

    async def show(self, sheet: CheckSheet, struck: Collection[str] = ()) -> None:
        """Show a field for each notch of the block; what was typed stays while the block is the same.

        struck: what limited use leaves out of the block, in words such as 'notch 0.5 mm'.
        """
        self.sheet = sheet
        both = sheet.measure == BOTH
        figures = "horizontal and vertical, such as -20 95" if both else f"{sheet.measure}, such as 95"
        how = f"In {sheet.unit}: {figures}; f or > for at least full screen. Enter goes to the next, ↑ back."
        self.query_one(".how", Static).update(Text(safe(how)))
        room = self.query_one(".notches", VerticalScroll)
        if [r.label for r in self.rows] == [label for label, _ in sheet.notches]:
            return
        await room.remove_children()
        beside = {t.notch.casefold(): f"target {t.value} {t.unit} ({t.paragraph})" for t in sheet.procedure.targets}
        beside |= {words.casefold().removeprefix("notch "): STRUCK for words in struck}
        await room.mount_all(NotchRow(label, beside.get(label.casefold(), "")) for label, _ in sheet.notches)

    @property
    def rows(self) -> list[NotchRow]:
        return list(self.query(NotchRow))

    def readings(self) -> tuple[list[ReadingDraft], list[Problem]]:
        """Return what was read and what cannot be understood of it."""
        read = [reading_of(r.label, r.typed, self.sheet.measure) for r in self.rows]
        return [r for r in read if isinstance(r, ReadingDraft)], [r for r in read if isinstance(r, Problem)]

    def summary(self) -> str:
        typed = ", ".join(f"{r.label}: {r.typed.strip() or 'not read'}" for r in self.rows)
        return f"after {self.remedy}: {typed}" if self.remedy else typed

    def begin(self) -> None:
        empty = next((r for r in self.rows if not r.typed.strip()), None)
        row = empty or (self.rows[-1] if self.rows else None)
        if row is not None:
            self.screen.set_focus(row.query_one(Input))

    def enter(self, at: Widget) -> bool:
        row, rows = at.parent, self.rows
        assert isinstance(row, NotchRow)
        if row is rows[-1]:
            problems = self.readings()[1]
        else:
            read = reading_of(row.label, row.typed, self.sheet.measure)
            problems = [read] if isinstance(read, Problem) else []
        self.say(*map(str, problems))
        if problems:
            row = next(r for r in rows if r.label == problems[0].where)
            self.screen.set_focus(row.query_one(Input))
            return False
        if row is not rows[-1]:
            self.screen.set_focus(rows[rows.index(row) + 1].query_one(Input))
        return row is rows[-1]

    def on_key(self, event: Key) -> None:
        up_and_down(self, event)
