"""A list of any length: only the lines on screen are drawn, and stored text is text and nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.binding import Binding, BindingType
from textual.events import Click
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from refstd.base.text import safe

GAP = 1
CURSOR = "▸ "
READING = "reading the records …"  # until they are there: an empty list would look like 'nothing is due'
# Words carry the meaning; a tone only helps the eye. Vermilion and orange stay apart for red-green blindness.
TONES = {
    "dark": {"": "", "bad": "bold #ff9e6b", "warn": "#e69f00", "quiet": "#9a9a9a", "head": "bold"},
    "light": {"": "", "bad": "bold #a63c00", "warn": "#8f5f00", "quiet": "#5f5f5f", "head": "bold"},
    "terminal": {"": "", "bad": "bold red", "warn": "yellow", "quiet": "dim", "head": "bold"},
}


@dataclass(frozen=True, slots=True)
class Col:
    """One column: its title and width in terminal cells; width 0 shares what is left."""

    title: str
    width: int = 0
    right: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One line. `opens` is the record that Enter opens (kind, number); `about` is shown in full beside the list.

    A heading spans all columns and the cursor skips it.
    """

    cells: tuple[str, ...]
    opens: tuple[str, str] | None = None
    about: str = ""
    tone: str = ""
    heading: bool = False

    def holds(self, words: Sequence[str]) -> bool:
        """Return whether every word occurs in the line, in any case."""
        text = " ".join((*self.cells, self.about)).casefold()
        return all(w in text for w in words)


def heading(text: str) -> Row:
    """Return a heading between rows."""
    return Row((text,), tone="head", heading=True)


def fitted(text: str, width: int, *, right: bool = False) -> str:
    """Return text in exactly `width` terminal cells, with '…' where it was cut. Line ends become '¶'."""
    form = safe(text.replace("\n", " ¶ "))
    size = cell_len(form)
    if size > width:
        return set_cell_size(form, width - 1) + "…" if width > 1 else set_cell_size(form, width)
    return " " * (width - size) + form if right else form + " " * (width - size)


class Rows(ScrollView, can_focus=True, inherit_bindings=False):
    """The list. Arrow keys move, Enter opens."""

    DEFAULT_CSS = """
    Rows { height: 1fr; scrollbar-size-horizontal: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "Up", show=False),
        Binding("down", "move(1)", "Down", show=False),
        Binding("pageup", "page(-1)", "Page up", show=False),
        Binding("pagedown", "page(1)", "Page down", show=False),
        Binding("home", "edge(-1)", "First", show=False),
        Binding("end", "edge(1)", "Last", show=False),
        Binding("enter", "open", "Open", show=False),
    ]

    class Moved(Message):
        """The cursor stands on another row."""

        def __init__(self, rows: "Rows", row: Row | None) -> None:
            super().__init__()
            self.rows, self.row = rows, row

        @property
        def control(self) -> "Rows":
            return self.rows

    class Opened(Message):
        """Enter was pressed on a row."""

        def __init__(self, rows: "Rows", row: Row) -> None:
            super().__init__()
            self.rows, self.row = rows, row

        @property
        def control(self) -> "Rows":
            return self.rows

    class AtEnd(Message):
        """The cursor came to the last row: a page more may be wanted."""

    def __init__(self, *columns: Col, empty: str = "nothing on record", id: str | None = None) -> None:
        super().__init__(id=id)
        self.columns = columns
        self.empty = empty
        self.unread = READING
        self.filled = False
        self.shown: tuple[Row, ...] = ()
        self.cursor = 0
        self.marked: set[tuple[str, str]] = set()
        self._all: tuple[Row, ...] = ()
        self._words: tuple[str, ...] = ()

    @property
    def row(self) -> Row | None:
        """Return the row under the cursor."""
        return self.shown[self.cursor] if self.cursor < len(self.shown) and self._stops(self.cursor) else None

    def fill(self, rows: Sequence[Row], columns: Sequence[Col] | None = None) -> None:
        """Show these rows; the cursor stays on the record it was on."""
        if columns is not None:
            self.columns = tuple(columns)
        self.filled = True
        self._all = tuple(rows)
        self._show()

    def filter(self, text: str) -> None:
        """Keep the rows in which every word of the text occurs."""
        self._words = tuple(text.casefold().split())
        self._show()

    def toggle_mark(self) -> None:
        """Mark the row under the cursor, or take the mark away."""
        if self.row is not None and self.row.opens is not None:
            self.marked ^= {self.row.opens}
            self.refresh()

    def _show(self) -> None:
        before = self.row
        kept = [r for r in self._all if r.heading or r.holds(self._words)] if self._words else list(self._all)
        self.shown = tuple(r for r in kept if not (r.heading and self._words))
        at = next((n for n, r in enumerate(self.shown) if before is not None and _same(r, before)), None)
        if at is None:
            at = min(self.cursor, max(len(self.shown) - 1, 0)) if before is not None else 0
        self.cursor = at if self._stops(at) else self._next(at, 1, self._next(at, -1, at))
        self.virtual_size = Size(self.room, len(self.shown) + 1)
        self.refresh()
        self._tell()

    def _stops(self, at: int) -> bool:
        return 0 <= at < len(self.shown) and not self.shown[at].heading

    def _next(self, at: int, step: int, otherwise: int) -> int:
        at += step
        while 0 <= at < len(self.shown):
            if self._stops(at):
                return at
            at += step
        return otherwise

    def _go(self, at: int) -> None:
        self.cursor = at
        top = at if at == self._next(-1, 1, at) else at + 1  # the first row brings its heading into view
        line = 0 if top == at else top
        self.scroll_to_region(Region(0, line, 1, 1 if line else 2), animate=False, force=True)
        self.refresh()
        self._tell()
        if at >= self._next(len(self.shown), -1, at):
            self.post_message(self.AtEnd())

    def _tell(self) -> None:
        self.post_message(self.Moved(self, self.row))

    def go_to(self, opens: tuple[str, str]) -> None:
        """Put the cursor on the row that opens this record, if there is one."""
        at = next((n for n, row in enumerate(self.shown) if row.opens == opens), None)
        if at is not None:
            self._go(at)

    def action_move(self, step: int) -> None:
        self._go(self._next(self.cursor, step, self.cursor))

    def action_page(self, way: int) -> None:
        at = self.cursor + way * max(self.size.height - 2, 1)
        at = min(max(at, 0), max(len(self.shown) - 1, 0))
        self._go(at if self._stops(at) else self._next(at, way, self._next(at, -way, self.cursor)))

    def action_edge(self, way: int) -> None:
        self._go(self._next(-1, 1, 0) if way < 0 else self._next(len(self.shown), -1, 0))

    def action_open(self) -> None:
        if self.row is not None:
            self.post_message(self.Opened(self, self.row))

    def on_click(self, event: Click) -> None:
        at = self.scroll_offset.y + event.y - 1
        if event.y >= 1 and self._stops(at):
            again = at == self.cursor
            self._go(at)
            if again:
                self.action_open()

    def on_resize(self) -> None:
        self.virtual_size = Size(self.room, len(self.shown) + 1)

    @property
    def room(self) -> int:
        """Return the width in cells that lines may take: the scrollbar stands beside them."""
        return self.scrollable_content_region.width

    def widths(self) -> list[int]:
        """Return the width of each column at the size the list has."""
        room = self.room - len(CURSOR) - GAP * max(len(self.columns) - 1, 0)
        left = room - sum(c.width for c in self.columns)
        flexible = sum(1 for c in self.columns if not c.width) or 1
        return [c.width or max(left // flexible, 4) for c in self.columns]

    def render_line(self, y: int) -> Strip:
        """Return one line of the screen; the titles stay on top."""
        base, tones = self.rich_style, TONES[self._ground()]
        if y == 0:
            titles = (" " * GAP).join(
                fitted(c.title, w, right=c.right) for c, w in zip(self.columns, self.widths(), strict=True)
            )
            return self._strip("  " + titles, base + Style.parse("bold underline"))
        at = self.scroll_offset.y + y - 1
        if not self.shown and y == 1:
            says = self.unread if not self.filled else self.empty if not self._words else "nothing matches the filter"
            return self._strip("  " + says, base)
        if not 0 <= at < len(self.shown):
            return Strip.blank(self.room, base)
        row = self.shown[at]
        style = base + Style.parse(tones[row.tone])
        if row.heading:
            return self._strip(fitted(row.cells[0], self.room), style)
        here = at == self.cursor
        sign = CURSOR if here else ("✓ " if row.opens in self.marked else "  ")
        if here and row.opens in self.marked:
            sign = "▸✓"
        cells = (" " * GAP).join(
            fitted(t, w, right=c.right) for t, c, w in zip(row.cells, self.columns, self.widths(), strict=True)
        )
        return self._strip(sign + cells, style + Style(reverse=True) if here and self.has_focus else style)

    def _strip(self, text: str, style: Style) -> Strip:
        return Strip([Segment(text, style)]).adjust_cell_length(self.room, style)

    def _ground(self) -> str:
        if self.app.native_ansi_color:
            return "terminal"
        return "dark" if self.app.current_theme.dark else "light"


def _same(one: Row, other: Row) -> bool:
    return one.opens == other.opens if one.opens is not None else one.cells == other.cells
