"""The shapes that pages share: a heading with the lab and the person, lists with a filter, and opening what a row shows."""

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widget import Widget
from textual.widgets import Input, Static

from refstd.base.errors import Refusal
from refstd.base.text import safe, safe_lines
from refstd.tui.screens import LabScreen, line
from refstd.tui.widgets.footer import KeyFooter
from refstd.tui.widgets.rows import Col, Row, Rows


class Heading(Horizontal):
    """One line: what is shown, in which lab, who works."""

    DEFAULT_CSS = """
    Heading { height: 1; background: $primary; color: $text; }
    Heading > #what { width: 1fr; height: 1; text-style: bold; padding: 0 1; }
    Heading > #where { width: auto; max-width: 50%; height: 1; padding: 0 1; }
    """

    def compose(self) -> ComposeResult:
        yield Static(id="what", markup=False)
        yield Static(id="where", markup=False)


class Page(LabScreen):
    """A screen with the heading on top and its keys at the foot."""

    DEFAULT_CSS = """
    Page .about { height: auto; max-height: 8; overflow-y: auto; padding: 0 2; border-top: solid $primary-darken-1; }
    Page .lines { height: auto; padding: 0 1; }
    Page #filter { height: 1; border: none; padding: 0 1; background: $surface; }
    """
    HEADING = ""

    def compose(self) -> ComposeResult:
        yield Heading()
        yield from self.body()
        yield KeyFooter()

    def body(self) -> ComposeResult:
        """Yield what stands between heading and foot."""
        yield from ()

    def on_mount(self) -> None:
        self.head(self.HEADING)

    def head(self, text: str) -> None:
        """Say in the heading what is shown."""
        app = self.refstd
        day = app.when().as_at or app.now()
        person = f"{safe(app.person.code)} · " if app.person else ""
        self.query_one("#what", Static).update(line(text))
        self.query_one("#where", Static).update(line(f"{person}{day.astimezone(app.zone):%Y-%m-%d} · {app.lab_name}"))

    def say(self, widget: str, text: object) -> None:
        """Put stored text, in several lines, into a Static."""
        self.query_one(widget, Static).update(Text(safe_lines(text)))

    def tell(self, text: str) -> None:
        """Say what was done."""
        self.notify(safe_lines(text), title="Recorded", timeout=6, markup=False)

    def may_record(self) -> bool:
        """Return whether something may be recorded now, and say why not: in the past nothing is."""
        as_at = self.refstd.as_at
        if as_at is None:
            return True
        self.refused(
            Refusal(
                f"the records are shown as at {self.local(as_at)}",
                "nothing is recorded in the past",
                "Go back to now first: at home, press t.",
            )
        )
        return False

    def open_row(self, row: Row) -> None:
        """Open the record that a row shows."""
        if row.opens is not None:
            self.open_record(*row.opens)

    def open_record(self, kind: str, number: str) -> None:
        """Open a record by its kind and number."""
        from refstd.tui.opening import page_of

        page = page_of(kind, number)
        if page is not None:
            self.app.push_screen(page)

    @on(Rows.Opened)
    def _opened(self, event: Rows.Opened) -> None:
        event.stop()
        self.open_row(event.row)


class FilterInput(Input):
    """The filter of a list: Down goes to the list, Enter opens its row, Escape empties the filter."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "to_list", "List", show=False),
        Binding("escape", "leave_filter", "List", show=False),
    ]

    def action_to_list(self) -> None:
        self.screen.query_one(Rows).focus()

    def action_leave_filter(self) -> None:
        self.value = ""
        self.action_to_list()


class ListPage(Page):
    """A list with a filter as you type (Tab), and below it the whole of what the row under the cursor says."""

    COLUMNS: ClassVar[tuple[Col, ...]] = ()
    EMPTY = "nothing on record"
    AUTO_FOCUS = "Rows"

    def body(self) -> ComposeResult:
        yield from self.above()
        yield FilterInput(placeholder="filter: press Tab and type", id="filter", compact=True)
        yield Rows(*self.COLUMNS, empty=self.EMPTY)
        yield Static(classes="about", id="about", markup=False)

    def refused(self, refusal: Refusal) -> None:
        """Say a refusal; a list that could not be read says so in its place."""
        rows = self.query_one(Rows) if self.query(Rows) else None
        if rows is not None and not rows.filled:
            rows.unread = "the records could not be read; F5 reads them anew"
            rows.refresh()
        super().refused(refusal)

    def above(self) -> Sequence[Widget]:
        """Return what stands above the list."""
        return ()

    def fill(self, rows: Sequence[Row]) -> None:
        """Show these rows."""
        self.query_one(Rows).fill(rows)

    @property
    def row(self) -> Row | None:
        """Return the row under the cursor."""
        return self.query_one(Rows).row

    @on(Input.Changed, "#filter")
    def _filtered(self, event: Input.Changed) -> None:
        self.query_one(Rows).filter(event.value)

    @on(Input.Submitted, "#filter")
    def _filter_given(self) -> None:
        """Open the row that the filter led to, as Enter does in the list."""
        if self.row is not None:
            self.query_one(Rows).focus()
            self.open_row(self.row)

    @on(Rows.Moved)
    def _moved(self, event: Rows.Moved) -> None:
        about = self.query_one("#about", Static)
        about.display = bool(event.row and event.row.about)
        if event.row is not None:
            about.update(Text(safe_lines(event.row.about)))
