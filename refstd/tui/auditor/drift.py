"""Drift: every setup and notch against its baseline; the control chart of one, with the check behind each point."""

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.widgets import ContentSwitcher, Static

from refstd.base.quantity import Unit, derived
from refstd.base.text import safe, safe_lines
from refstd.desk.checks import CheckVerdict, checks
from refstd.desk.drift import NotchDrift, drift_list
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.driftwords import DRIFT_COLUMNS, chart_of, drift_rows, drift_words
from refstd.tui.lists import WRITE
from refstd.tui.pages import ListPage, Page
from refstd.tui.widgets.control import ControlDrawing
from refstd.tui.widgets.rows import Col, Row, Rows

_POINTS = (Col("check", 8), Col("done", 16), Col("deviation", 10, right=True), Col("against limits", 20), Col("outcome of the check"))  # fmt: skip


class DriftPage(ListPage):
    """The drift of every notch; what stands out comes first. Enter opens the control chart."""

    HEADING = "Drift"
    COLUMNS: ClassVar[tuple[Col, ...]] = DRIFT_COLUMNS
    EMPTY = "no setup has a baseline, so drift cannot be told"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (WRITE, BACK, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: drift_list(lab, when), self.show_drift)

    def show_drift(self, found: tuple[NotchDrift, ...]) -> None:
        """Show the drift that was read."""
        flagged = sum(1 for d in found if d.flags)
        self.head(f"Drift ({flagged} of {len(found)} notches stand out)")
        self.fill(drift_rows(sorted(found, key=lambda d: not d.flags), self.refstd.zone))

    def open_row(self, row: Row) -> None:
        if row.opens is not None:
            setup, notch = row.opens[1].split(" ", 1)
            self.app.push_screen(ChartPage(setup, notch))

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "drift")


class ChartPage(Page):
    """The control chart of one notch. ← → choose a point, Enter opens its check, v shows the table."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("left", "point(-1)", "Point before", "Choose the point before.", in_footer=False),
        Command("right", "point(1)", "Next point", "Choose the next point.", in_footer=False),
        Command("enter", "open_check", "Open check", "Open the check behind the chosen point."),
        Command("v", "view", "Chart or table", "Change between chart and table."),
        BACK,
        *EVERYWHERE,
    )
    DEFAULT_CSS = """
    ChartPage ContentSwitcher { height: 1fr; }
    ChartPage ControlDrawing { height: 1fr; }
    ChartPage #point { height: auto; padding: 0 1; text-style: bold; }
    """
    AUTO_FOCUS = ""

    def __init__(self, setup: str, notch: str) -> None:
        super().__init__()
        self.setup, self.notch = setup, notch
        self.found: NotchDrift | None = None
        self.outcomes: dict[str, CheckVerdict] = {}
        self.at = -1

    def body(self) -> ComposeResult:
        with ContentSwitcher(initial="chart"):
            yield ControlDrawing(id="chart")
            yield Rows(*_POINTS, id="table", empty="no check since the baseline")
        yield Static(id="point", markup=False)
        yield Static(classes="about", id="about", markup=False)

    def load(self) -> None:
        lab, when, setup = self.refstd.lab, self.refstd.when(), self.setup
        self.ask(lambda: (drift_list(lab, when, setup=setup), checks(lab, when, setup=setup)), self.show_drift)

    def show_drift(self, answer: tuple[tuple[NotchDrift, ...], tuple[CheckVerdict, ...]]) -> None:
        """Show the drift that was read; the newest point is chosen."""
        found, kept = answer
        self.found = next((d for d in found if d.notch == self.notch), None)
        if self.found is None:
            self.head(f"{self.setup}, notch {self.notch}: no baseline reading as at then")
            return
        self.outcomes = {c.number: c for c in kept}
        d = self.found
        self.head(f"Drift of {d.setup.number}, notch {d.notch}")
        self.query_one("#about", Static).update(Text(safe_lines(drift_words(d, self.refstd.zone))))
        self.query_one("#table", Rows).fill([self._point_row(n) for n in reversed(range(len(d.drift.answers.checks)))])
        points = len(d.drift.answers.checks)
        self.at = points - 1 if not 0 <= self.at < points else self.at
        self._tell_point()

    def _point_row(self, n: int) -> Row:
        assert self.found is not None
        a = self.found.drift.answers
        number = a.checks[n]
        check = self.outcomes.get(number)
        done = self.local(check.happened_at) if check else ""
        outcome = check.outcome if check else ""
        if n in a.why_not:
            why = a.why_not[n]
            return Row((number, done, "—", why, outcome), ("check", number), why, "quiet")
        deviation = float(a.deviation_db[n])
        against = self._against(n, deviation)
        return Row(
            (number, done, derived(deviation, Unit.DB, sign=True), against, outcome), ("check", number), "",
            "bad" if "beyond" in against else "",
        )  # fmt: skip

    def _against(self, n: int, deviation_db: float) -> str:
        assert self.found is not None
        course = self.found.drift.amplitude
        if not self.found.drift.answers.independent[n]:
            return "follows a start: shown, not judged"
        if course.half_width is None:
            return "no limits yet"
        return "X beyond the limits" if course.beyond(deviation_db) else "within"

    def _tell_point(self) -> None:
        point = self.query_one("#point", Static)
        if self.found is None or not self.found.drift.answers.checks:
            self.query_one(ControlDrawing).picture = None
            point.update("no check since the baseline")
            return
        self.query_one(ControlDrawing).picture = chart_of(self.found, self.refstd.zone, self.at)
        row = self._point_row(self.at)
        check, done, shown, against, outcome = row.cells
        n = len(self.found.drift.answers.checks)
        point.update(
            Text(safe(f"◂ point {self.at + 1} of {n} ▸  check {check}, {done}: {shown} ({against}); {outcome}"))
        )

    def action_point(self, by: int) -> None:
        if self.found is not None and self.found.drift.answers.checks:
            self.at = (self.at + by) % len(self.found.drift.answers.checks)
            self._tell_point()

    def action_open_check(self) -> None:
        if self.found is not None and self.found.drift.answers.checks:
            self.open_record("check", self.found.drift.answers.checks[self.at])

    def action_view(self) -> None:
        switch = self.query_one(ContentSwitcher)
        table = switch.current == "chart"
        switch.current = "table" if table else "chart"
        self.query_one("#point").display = not table
        self.set_focus(self.query_one("#table", Rows) if table else None)

    @on(Rows.Moved)
    def _moved(self, event: Rows.Moved) -> None:
        event.stop()
