"""Comparing a field block with its primary: which primary, the settings, the scans in turn, what they say, then on record."""

from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.events import Key
from textual.widgets import Input, Static

from refstd.base.errors import Problem, Refusal
from refstd.base.quantity import Unit, derived, plain
from refstd.base.text import safe, safe_lines
from refstd.desk.comparison_record import ComparisonSheet, ComparisonShown, comparison, comparison_sheet
from refstd.desk.comparisons import Compared, ComparisonDraft, ScanDraft, compare_blocks, preview_comparison
from refstd.tui.asking import AskLine, Choose
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.grid import HeadForm, RowLeft
from refstd.tui.pages import Page
from refstd.tui.screens import told
from refstd.tui.technician.check import all_typed
from refstd.tui.technician.notches import NotchRow
from refstd.tui.technician.underway import BOTH, reading_of

A, B = "A", "B"
KEEP, GO_BACK = "keep", "go back"
MOST_LINES = 8  # of notches in the question, so that the answers stay in sight at 24 rows
NOTE = "Balance once. The settings stay as they are for every scan of both blocks. Nothing is on record before the end."


def compare_with_primary(page: Page, asset_no: str, *, corrects: str = "") -> None:
    """Ask for the primary, the settings and the scans, show what they say, and put the comparison on record.

    `corrects` is the comparison that the new one corrects: the reason is asked for first.
    """
    app = page.refstd
    typed: dict[tuple[str, int], str] = {}

    def asked() -> ComparisonSheet:
        if corrects:
            typed.update(_typed_before(comparison(app.lab, corrects, app.when())))
        return comparison_sheet(app.lab, asset_no, app.when())

    def found(sheet: ComparisonSheet) -> None:
        usable = [p for p in sheet.primaries if not p.why_not]
        if not usable:
            why = "; ".join(f"{p.asset_no}: {p.why_not}" for p in sheet.primaries) or "no primary block is on record"
            page.refused(
                Refusal(f"no primary can be compared with {asset_no}", why, "Mend that, or have it calibrated.")
            )
        elif len(usable) == 1:
            reason(sheet, usable[0].asset_no)
        else:
            shown = [f"{p.asset_no} {p.name}" for p in usable]
            asking = Choose(f"Compare {asset_no} with which primary?", [p.asset_no for p in usable], shown)
            app.push_screen(asking, lambda primary: reason(sheet, primary) if primary else None)

    def reason(sheet: ComparisonSheet, primary: str) -> None:
        if not corrects:
            form(sheet, primary, "")
            return
        asking = AskLine(f"Why is comparison {corrects} corrected?")
        app.push_screen(asking, lambda why: form(sheet, primary, why) if why and why.strip() else None)

    def form(sheet: ComparisonSheet, primary: str, why: str) -> None:
        given = {**sheet.begin_from, "primary": primary, "secondary": sheet.secondary}

        def onward(draft: ComparisonDraft) -> None:
            def keep(scans: Sequence[ScanDraft], operation: str) -> str:
                return compare_blocks(
                    app.lab, draft, scans, supersedes=corrects, why=why, by=app.by, now=app.now(), operation=operation
                )

            app.push_screen(ScansScreen(draft, sheet, typed, keep, kept))

        app.push_screen(
            HeadForm(
                f"Compare {sheet.secondary} with {primary}", ComparisonDraft, onward, given=given,
                leave_out=("primary", "secondary"), note=NOTE,
            )
        )  # fmt: skip

    def kept(number: str) -> None:
        while app.screen is not page:
            app.pop_screen()
        page.load()
        page.open_record("comparison", number)

    page.ask(asked, found)


def _typed_before(c: ComparisonShown) -> dict[tuple[str, int], str]:
    """Return the scans of a comparison as they would be typed, so that a correction changes only what was wrong."""
    return {
        (s.notch, 2 * (s.round - 1) + (s.side == "secondary")): " ".join(
            plain(v) for v in (s.horizontal, s.vertical) if v is not None
        )
        for s in c.scans
    }


class ScanRow(NotchRow):
    """One scan: which block and notch, the field, and what to do there."""

    def __init__(self, notch: str, turn: str, asset_no: str, place: int, typed: str) -> None:
        super().__init__(f"{turn} {asset_no}  {notch}", "primary" if turn == A else "SECONDARY")
        self.notch, self.turn, self.place, self.first_typed = notch, turn, place, typed

    def on_mount(self) -> None:
        self.query_one(Input).value = self.first_typed


class ScansScreen(Page):
    """The scans in the order in which they are made: of each notch the primary, the secondary, the primary."""

    DEFAULT_CSS = """
    ScansScreen #how { height: auto; padding: 0 1; }
    ScansScreen #scans { height: 1fr; padding: 0 1; }
    ScansScreen #says { height: auto; max-height: 6; padding: 0 1; text-style: bold; }
    """
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("enter", "go_on", "Next", "Take the reading and go to the next; after the last one, see what they say.", first=True),
        Command("f2", "look", "See", "See what the scans say; then they are kept, or corrected."),
        Command("f3", "round", "One more round", "Scan secondary and primary of this notch once more (A-B-A-B-A)."),
        BACK,
        HELP,
    )  # fmt: skip

    def __init__(
        self, draft: ComparisonDraft, sheet: ComparisonSheet, typed: dict[tuple[str, int], str],
        keep: Callable[[Sequence[ScanDraft], str], str], then: Callable[[str], None],
    ) -> None:  # fmt: skip
        super().__init__()
        self.draft, self.sheet, self.typed, self.keep, self.then = draft, sheet, typed, keep, then
        self.HEADING = f"scans of {draft.secondary} against {draft.primary}"

    def body(self) -> ComposeResult:
        both = self.draft.measure == BOTH
        figures = "horizontal and vertical, such as -20 95" if both else f"{self.draft.measure}, such as 95"
        how = f"In {self.draft.unit}: {figures}. Change no setting. Enter goes to the next, ↑ back."
        yield Static(Text(safe(how)), id="how", markup=False)
        with VerticalScroll(id="scans", can_focus=False):
            for label, _ in self.sheet.notches:
                count = max([3, *(place + 1 for notch, place in self.typed if notch == label)])
                yield from (self._row(label, place) for place in range(count))
        yield Static("", id="says", markup=False)

    def _row(self, notch: str, place: int) -> ScanRow:
        turn = A if place % 2 == 0 else B
        asset_no = self.draft.primary if turn == A else self.draft.secondary
        return ScanRow(notch, turn, asset_no, place, self.typed.get((notch, place), ""))

    def on_mount(self) -> None:
        empty = next((r for r in self.rows if not r.first_typed), self.rows[0])
        self.set_focus(empty.query_one(Input))

    @property
    def rows(self) -> list[ScanRow]:
        return list(self.query(ScanRow))

    def scans(self) -> tuple[list[ScanDraft], list[tuple[ScanRow, Problem]]]:
        """Return the scans as typed, and what cannot be understood of them with its row."""
        taken, problems = [], []
        for row in self.rows:
            scan = _scan_of(row, self.draft.measure)
            if isinstance(scan, Problem):
                problems.append((row, scan))
            else:
                taken.append(scan)
        return taken, problems

    async def action_go_on(self) -> None:
        """Take Enter in its turn: after every key typed before it."""
        at = self.focused
        if at is None or not isinstance(at.parent, ScanRow):
            return
        await all_typed(at)
        row, rows = at.parent, self.rows
        problem = _scan_of(row, self.draft.measure)
        self.say_problems([(row, problem)] if isinstance(problem, Problem) else [])
        if isinstance(problem, Problem):
            return
        if row is rows[-1]:
            self.action_look()
        else:
            self.set_focus(rows[rows.index(row) + 1].query_one(Input))

    def on_key(self, event: Key) -> None:
        if event.key in ("up", "down") and isinstance(self.focused, Input):
            event.stop()
            if event.key == "down":
                self.focus_next("ScanRow *")
            else:
                self.focus_previous("ScanRow *")

    async def action_round(self) -> None:
        at = self.focused.parent if self.focused else None
        if not isinstance(at, ScanRow):
            return
        last = [r for r in self.rows if r.notch == at.notch][-1]
        more = [self._row(at.notch, last.place + n) for n in (1, 2)]
        await self.query_one("#scans").mount_all(more, after=last)
        self.set_focus(more[0].query_one(Input))

    def action_look(self) -> None:
        scans, problems = self.scans()
        self.say_problems(problems)
        if problems:
            return
        app, draft = self.refstd, self.draft
        self.ask(lambda: preview_comparison(app.lab, draft, scans, app.when()), lambda said: self._shown(said, scans))

    def _shown(self, said: Compared, scans: Sequence[ScanDraft]) -> None:
        def answered(answer: str | None) -> None:
            if answer == KEEP:
                self.act(lambda operation: self.keep(scans, operation), self.then)

        shown = ("Put it on record", "Go back to the scans")
        self.app.push_screen(Choose(_said(said, self.draft), (KEEP, GO_BACK), shown), answered)

    def say_problems(self, problems: Sequence[tuple[ScanRow, Problem]]) -> None:
        """Say what cannot be understood below the scans, and go to the first of it."""
        says = "\n".join(f"! {p}" for _, p in problems)
        self.query_one("#says", Static).update(Text(safe_lines(says)))
        if problems:
            self.set_focus(problems[0][0].query_one(Input))

    def refused(self, refusal: Refusal) -> None:
        """Say a refusal below the scans; everything typed stays."""
        self.acting = False
        self.query_one("#says", Static).update(Text(f"! {told(refusal)}"))

    def action_back(self) -> None:
        """Go back to the form; what was typed comes again with the scans."""
        self.typed.clear()
        self.typed.update({(r.notch, r.place): r.typed for r in self.rows if r.typed.strip()})
        stack = self.app.screen_stack
        below = stack[stack.index(self) - 1]
        if isinstance(below, HeadForm):
            below.rows_left = (RowLeft({}, {}),) if self.typed else ()
        super().action_back()


def _scan_of(row: ScanRow, measure: str) -> ScanDraft | Problem:
    read = reading_of(row.notch, row.typed, measure)
    where = f"{row.turn} {row.notch}"
    if read is None:
        return Problem(where, "is not read", "Type what the screen shows.")
    if isinstance(read, Problem):
        return Problem(where, read.wrong, read.remedy.replace("; f for at least full screen", ""))
    if read.vertical is None:
        return Problem(where, "is off the screen, which cannot be compared", "Lower the gain and scan all anew.")
    return ScanDraft(block=row.turn, notch=row.notch, horizontal=read.horizontal, vertical=read.vertical)


def _said(said: Compared, draft: ComparisonDraft) -> str:
    """Return what the scans say, worst notches first where not all have room."""
    phase = f", ±{plain(draft.band_deg)}°" if draft.band_deg is not None else ""
    lines = [f"{draft.secondary} against {draft.primary}: {said.outcome}"]
    lines.append(f"band ±{plain(draft.band_db)} dB{phase} ({draft.band_source})")
    moved = [n.moved_db for n in said.notches if n.moved_db is not None]
    lines += [f"the primary moved at most {derived(max(moved), Unit.DB)} between its scans"] if moved else []
    notches = (
        sorted(said.notches, key=lambda n: n.outcome == "agrees") if len(said.notches) > MOST_LINES else said.notches
    )
    lines += [f"{n.notch}: {n.shown()}" for n in notches[:MOST_LINES]]
    left = notches[MOST_LINES:]
    lines += [f"and {len(left)} more, {', '.join(sorted({str(n.outcome) for n in left}))}"] if left else []
    return "\n".join(lines)
