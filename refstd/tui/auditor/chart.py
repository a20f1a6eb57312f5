"""The control chart of one notch, with the check behind each point, the table, and the method."""

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import ContentSwitcher, Static

from refstd.base.quantity import derived
from refstd.base.text import safe
from refstd.desk.charts import NotchChart, Quantity, notch_chart, quantities
from refstd.tui.chartwords import (
    POINT_COLUMNS,
    against_words,
    chart_about,
    chart_of,
    day_words,
    method_words,
    plane_of,
    point_rows,
)
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import Page
from refstd.tui.widgets.control import ControlDrawing
from refstd.tui.widgets.plane import PlaneDrawing
from refstd.tui.widgets.rows import Rows


def chart_named(number: str) -> "ChartPage":
    """Return the chart of 'setup notch'."""
    setup, notch = number.split(" ", 1)
    return ChartPage(setup, notch)


class ChartPage(Page):
    """The control chart of one notch. ← → choose a point, Enter opens its check, d changes the quantity."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("left", "point(-1)", "Point before", "Choose the point before.", in_footer=False),
        Command("right", "point(1)", "Next point", "Choose the next point.", in_footer=False),
        Command("enter", "open_check", "Check", "Open the check behind the chosen point."),
        Command("d", "quantity", "dB/°/gain", "Change between amplitude, phase and the gain needed for the target."),
        Command("v", "view('table')", "Table", "Show every check as a table, or the chart again."),
        Command("m", "view('method')", "Method", "Show where limits, trend and date come from, or the chart again."),
        BACK,
        *EVERYWHERE,
    )
    DEFAULT_CSS = """
    ChartPage ContentSwitcher { height: 1fr; }
    ChartPage #chart { height: 1fr; }
    ChartPage ControlDrawing { width: 1fr; height: 1fr; }
    ChartPage PlaneDrawing { display: none; width: 46; height: 1fr; margin: 0 0 0 2; }
    ChartPage.-wide PlaneDrawing.-shown { display: block; }
    ChartPage #method { height: 1fr; padding: 0 1; }
    ChartPage #point { height: auto; padding: 0 1; text-style: bold; }
    """
    AUTO_FOCUS = ""

    def __init__(self, setup: str, notch: str) -> None:
        super().__init__()
        self.setup, self.notch = setup, notch
        self.found: NotchChart | None = None
        self.drawn: tuple[Quantity, ...] = ()
        self.which = 0
        self.at = -1

    def body(self) -> ComposeResult:
        with ContentSwitcher(initial="chart"):
            with Horizontal(id="chart"):
                yield ControlDrawing()
                yield PlaneDrawing()
            yield Rows(*POINT_COLUMNS, id="table", empty="no check since the baseline")
            with VerticalScroll(id="method"):
                yield Static(id="says", markup=False)
        yield Static(id="point", markup=False)
        yield Static(classes="about", id="about", markup=False)

    def load(self) -> None:
        lab, when, setup, notch = self.refstd.lab, self.refstd.when(), self.setup, self.notch
        self.ask(lambda: notch_chart(lab, when, setup, notch), self.show_chart)

    def show_chart(self, found: NotchChart | None) -> None:
        """Show the series that was read; the newest point is chosen."""
        self.found = found
        if found is None:
            self.head(f"{self.setup}, notch {self.notch}: no baseline reading as at then")
            return
        self.drawn = quantities(found.drift)
        self.which = min(self.which, len(self.drawn) - 1)
        points = len(found.drift.drift.answers.checks)
        self.at = points - 1 if not 0 <= self.at < points else self.at
        self._redraw()
        self.refresh_bindings()

    def _redraw(self) -> None:
        assert self.found is not None
        d, zone, quantity = self.found.drift, self.refstd.zone, self.drawn[self.which]
        self.head(f"{d.setup.number}, notch {d.notch}: {quantity.name}")
        self.say("#about", chart_about(self.found, quantity, zone))
        self.say("#says", method_words(self.found, quantity, zone))
        self.query_one("#table", Rows).fill(point_rows(self.found, quantity, zone))
        self._tell_point()

    def _tell_point(self) -> None:
        point = self.query_one("#point", Static)
        if self.found is None or not self.found.drift.drift.answers.checks:
            point.update("no check since the baseline")
            return
        found, quantity, zone = self.found, self.drawn[self.which], self.refstd.zone
        self.query_one(ControlDrawing).picture = chart_of(found, quantity, zone, self.at)
        plane = self.query_one(PlaneDrawing)
        plane.picture = plane_of(found, self.at)
        plane.set_class(plane.picture is not None, "-shown")
        a = found.drift.drift.answers
        number, value = a.checks[self.at], float(quantity.values[self.at])
        shown = derived(value, quantity.course.unit, sign=True) if value == value else "—"
        check = found.checks.get(number)
        outcome = f"; {check.outcome}" if check else ""
        when = day_words(float(a.days[self.at]), zone)
        says = f"◂ {self.at + 1} of {len(a.checks)} ▸ {number}, {when}: {shown}, {against_words(found, quantity, self.at)}{outcome}"
        point.update(Text(safe(says)))

    def action_point(self, by: int) -> None:
        if self.found is not None and self.found.drift.drift.answers.checks:
            self.at = (self.at + by) % len(self.found.drift.drift.answers.checks)
            self._tell_point()

    def action_open_check(self) -> None:
        if self.found is not None and self.found.drift.drift.answers.checks:
            self.open_record("check", self.found.drift.drift.answers.checks[self.at])

    def action_quantity(self) -> None:
        if self.found is not None:
            self.which = (self.which + 1) % len(self.drawn)
            self._redraw()

    def action_view(self, name: str) -> None:
        switch = self.query_one(ContentSwitcher)
        switch.current = "chart" if switch.current == name else name
        self.query_one("#point").display = switch.current == "chart"
        self.query_one("#about").display = switch.current != "method"
        if self.found is not None:
            self.say("#about", chart_about(self.found, self.drawn[self.which], self.refstd.zone))
        self.set_focus(None if switch.current == "chart" else self.query_one(f"#{switch.current}"))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return len(self.drawn) != 1 if action == "quantity" else True

    @on(Rows.Moved)
    def _moved(self, event: Rows.Moved) -> None:
        event.stop()
        if event.row is not None and self.query_one(ContentSwitcher).current == "table":
            self.say("#about", event.row.about)
