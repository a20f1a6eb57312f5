"""Fast entry of many rows of one kind, such as notches or certified values: Tab to the next field, Enter to the next row."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Generic, TypeVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.events import DescendantFocus, Key, Paste
from textual.widget import Widget
from textual.widgets import Input, Static

from refstd.base.errors import BadInput, Problem, Refusal
from refstd.base.text import safe, safe_lines
from refstd.desk.entry import Draft, fields_of, read_draft
from refstd.tui.asking import Choose
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.forms import LEAVE, ChoiceField, FormScreen, KeepButton
from refstd.tui.screens import LabScreen
from refstd.tui.widgets.footer import KeyFooter

D = TypeVar("D", bound=Draft)
F2 = Command("f2", "keep", "Put on record", "Put form and rows on record; rows left empty are not kept.")
F3 = Command("f3", "add_row", "Add a row", "Add an empty row.")
F6 = Command("f6", "copy_above", "Copy above", "Take what stands in the row above, and go to the next field.")
NEXT = "Tab: next field. Enter: next row. Rows left empty are not kept."


@dataclass(frozen=True, slots=True)
class RowLeft:
    """A row that is not on record: what was given for it, and what stood in its fields."""

    given: dict[str, str]
    typed: dict[str, str]


@dataclass(frozen=True, slots=True)
class GridColumn:
    """One column: the field's key, a short title, its width in cells. A fixed one shows what belongs to the row."""

    key: str
    title: str
    width: int
    fixed: bool = False


class HeadForm(FormScreen[D]):
    """A form that leads on to its rows, or to the reason; nothing is on record before the last step."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f2", "keep", "Go on", "Go on to the rows or the reason; nothing is on record yet."),
        BACK,
        HELP,
    )

    def __init__(self, title: str, kind: type[D], onward: Callable[[D], None], **options: Any) -> None:
        super().__init__(title, kind, lambda *_: None, **options)
        self.onward = onward
        self.rows_left: tuple[RowLeft, ...] = ()  # the rows that somebody went back from: they come again with the grid
        self.above_left: dict[str, str] | None = None  # and what stood above them
        self.typed_left: dict[str, str] | None = None  # where what was typed is kept for when this form opens again

    def on_mount(self) -> None:
        self.query_one(KeepButton).update("Go on: Enter, or F2 from anywhere")

    def action_keep(self) -> None:
        if self.acting:
            return  # a second Enter while what came of the first is being kept
        draft, problems = self._read()
        self.show_problems(problems)
        if draft is not None:
            self.onward(draft)

    def action_back(self) -> None:
        if self.typed_left is not None:
            self.typed_left |= self.values()
            self.close()
            return
        if not self.rows_left:
            super().action_back()
            return

        def answered(answer: str | None) -> None:
            if answer == "leave":
                self.close()

        question = "Leave? The rows that were typed are not on record and would be lost."
        self.app.push_screen(Choose(question, LEAVE), answered)


class CellChoice(ChoiceField):
    """A choice in a narrow cell: no arrows around it."""

    def render(self) -> Text:
        return Text(safe(self.value) or "—", no_wrap=True, overflow="ellipsis")


class Cell(Input):
    """A field of a row. More than one field's worth that is pasted here is offered to the screen first."""

    def _on_paste(self, event: Paste) -> None:
        if isinstance(self.screen, GridScreen) and self.screen.takes_table(self, event.text):
            event.stop()
            event.prevent_default()


class GridRow(Horizontal):
    """One row of fields."""

    def __init__(
        self,
        number: int,
        columns: Sequence[GridColumn],
        values: Mapping[str, str],
        kind: type[Draft],
        typed: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(classes="gridrow")
        self.number, self.columns, self.given, self.kind = number, columns, dict(values), kind
        self.shown = (
            self.given if typed is None else self.given | dict(typed)
        )  # with what stood in columns that are not shown

    def compose(self) -> ComposeResult:
        fields = {f.key: f for f in fields_of(self.kind)}
        for column in self.columns:
            value = safe(self.shown.get(column.key, ""))
            entry: Widget
            if column.fixed:
                entry = Static(Text(safe(value), no_wrap=True, overflow="ellipsis"), markup=False)
            else:
                field = fields[column.key]
                choices = field.choices or (("yes", "no") if field.default in ("yes", "no") else ())
                value = value or field.default
                entry = CellChoice(choices, value or choices[0]) if choices else Cell(value, compact=True)
            entry.styles.width, entry.styles.padding = column.width, 0
            entry.add_class(f"cell-{column.key}")
            yield entry

    def values(self) -> dict[str, str]:
        """Return what stands in the row, with what was given for it."""
        typed = {c.key: self.typed(c.key) for c in self.columns if not c.fixed}
        known = {f.key for f in fields_of(self.kind)}
        return {k: v for k, v in (self.given | typed).items() if k in known and v}

    def every(self) -> dict[str, str]:
        """Return what stands in the fields, empty or not, and what stood in fields that are not shown now."""
        return self.shown | {c.key: self.typed(c.key) for c in self.columns if not c.fixed}

    def typed(self, key: str) -> str:
        entry = next(iter(self.query(f".cell-{key}")), None)
        return entry.value.strip() if isinstance(entry, Input | ChoiceField) else self.given.get(key, "")


class GridScreen(LabScreen, Generic[D]):
    """Rows of one kind. Tab: next field; Enter: next row; rows left empty are not kept."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (F2, F3, F6, BACK, HELP)
    DEFAULT_CSS = """
    GridScreen .gridrow { height: 1; width: auto; }
    GridScreen .gridrow > * { height: 1; margin-right: 1; padding: 0; }
    GridScreen .gridrow > .-wrong { background: $error; }
    GridScreen .titles { height: 1; width: auto; padding: 0 1; text-style: bold underline; }
    GridScreen .titles > * { margin-right: 1; height: 1; }
    GridScreen #grid { height: auto; max-height: 1fr; padding: 0 1; }
    GridScreen #gridspace { height: 1fr; }
    """

    def __init__(
        self,
        title: str,
        kind: type[D],
        columns: Sequence[GridColumn],
        rows: Sequence[Mapping[str, str]],
        keep: Callable[[tuple[D, ...], str], Any],
        then: Callable[[Any], None],
        *,
        decides: str,
        row_name: str,
        follows: Sequence[str] = (),
        note: str = "",
    ) -> None:
        super().__init__()
        self.grid_title, self.kind, self.columns, self.rows = title, kind, tuple(columns), tuple(rows)
        self.keep, self.then, self.decides, self.row_name, self.note = keep, then, decides, row_name, note
        self.follows = tuple(follows)  # fields that a new row takes from the row before
        self._opened: tuple[dict[str, str], ...] = ()

    def compose(self) -> ComposeResult:
        yield Static(Text(safe(self.grid_title)), classes="title", markup=False)
        if self.note:
            yield Static(Text(safe_lines(self.note)), classes="note", markup=False)
        yield Static("", id="refusal", markup=False)
        yield from self.above()
        with Horizontal(classes="titles"):
            for column in self.columns:
                title = Static(column.title, markup=False)
                title.styles.width = column.width
                yield title
        with VerticalScroll(id="grid", can_focus=False):
            head = self._head()
            left = head.rows_left if head else ()
            for n, row in enumerate(left or [RowLeft(dict(r), {}) for r in self.rows], start=1):
                yield GridRow(n, self._columns(n), row.given, self.kind, row.typed)
        yield KeepButton("Put on record: Enter here, or F2 from anywhere", markup=False)
        yield Static("", id="hint", markup=False)
        yield KeyFooter()

    def above(self) -> ComposeResult:
        """Compose what stands above the rows."""
        yield from ()

    def takes_table(self, cell: "Cell", text: str) -> bool:
        """Take what was pasted into a cell as several fields' worth, or leave it to the cell."""
        return False

    def on_mount(self) -> None:
        self._opened = tuple(r.every() for r in self.query(GridRow))
        self.begins_at().focus()

    def begins_at(self) -> Widget:
        """Return the field that has the focus first."""
        return self._first(self.query(GridRow).first())

    def _first(self, row: GridRow) -> Widget:
        return next(w for w in row.children if w.can_focus)

    async def action_add_row(self) -> None:
        await self._add_row()

    async def _add_row(self) -> None:
        rows = list(self.query(GridRow))
        given = {k: rows[-1].typed(k) for k in self.follows} if rows else {}
        row = GridRow(len(rows) + 1, self._columns(len(rows) + 1), given, self.kind)
        await self.query_one("#grid").mount(row)
        self._first(row).focus()

    def _columns(self, number: int) -> list[GridColumn]:
        """Return a row's columns: in an added one nothing belongs to the row, so that every field can be typed."""
        if number <= len(self.rows):
            return list(self.columns)
        return [GridColumn(c.key, c.title, c.width) if c.key in self._fields() else c for c in self.columns]

    def _head(self) -> HeadForm[Any] | None:
        """Return the form that led here."""
        stack = self.app.screen_stack
        below = stack[stack.index(self) - 1]
        return below if isinstance(below, HeadForm) else None

    def action_back(self) -> None:
        """Go back to the form; what was typed comes again with the rows."""
        if head := self._head():
            rows = tuple(RowLeft(r.given, r.every()) for r in self.query(GridRow))
            if head.rows_left or tuple(r.typed for r in rows) != self._opened:
                head.rows_left = rows
        super().action_back()

    def action_copy_above(self) -> None:
        row = self._row_of(self.focused)
        rows = list(self.query(GridRow))
        if row is None or row is rows[0]:
            self.notify("There is no row above to copy from.", markup=False)
            return
        entry = self.focused
        column = row.columns[list(row.children).index(entry)] if entry else row.columns[0]
        above = rows[rows.index(row) - 1].typed(column.key)
        if isinstance(entry, Input | ChoiceField):
            entry.value = above
        self.focus_next()

    def _fields(self) -> set[str]:
        return {f.key for f in fields_of(self.kind)}

    async def on_key(self, event: Key) -> None:
        row = self._row_of(self.focused)
        if row is None or event.key not in ("enter", "down", "up"):
            return
        event.stop()
        event.prevent_default()
        if event.key == "enter":
            await self.entered(row)
            return
        rows = list(self.query(GridRow))
        at = rows.index(row) + (-1 if event.key == "up" else 1)
        place = list(row.children).index(self.focused) if self.focused else 0
        if 0 <= at < len(rows):
            other = list(rows[at].children)[place]
            (other if other.can_focus else self._first(rows[at])).focus()
        elif at == len(rows):
            self.query_one(KeepButton).focus()
        else:
            self.upwards()

    async def entered(self, row: GridRow) -> None:
        """Go on from a row, by Enter: to the next one, to a new one after the last, to the end after an empty one."""
        rows = list(self.query(GridRow))
        at = rows.index(row) + 1
        if at < len(rows):
            self._first(rows[at]).focus()
        elif row.typed(self.decides):
            await self._add_row()
        else:
            self.query_one(KeepButton).focus()

    def upwards(self) -> None:
        """Go up from the first row, where something stands above it."""

    def _row_of(self, widget: Widget | None) -> GridRow | None:
        return widget.parent if widget is not None and isinstance(widget.parent, GridRow) else None

    @on(DescendantFocus)
    def hint(self, event: DescendantFocus) -> None:
        row = self._row_of(event.widget)
        says = self.says_of(row, event.widget) if row is not None else self.says_elsewhere(event.widget)
        self.query_one("#hint", Static).update(Text(safe_lines(says)))

    def says_elsewhere(self, entry: Widget) -> str:
        """Return what belongs into a field that is in no row."""
        return NEXT

    def says_of(self, row: GridRow, entry: Widget) -> str:
        """Return what belongs into a field of a row."""
        column = row.columns[list(row.children).index(entry)]
        field = next(f for f in fields_of(self.kind) if f.key == column.key)
        says = f"{self.row_name} {row.number}, {field.title}: {'needed' if field.needed else 'may stay empty'}. {NEXT}"
        if field.choices:
            says += "\nchoose with a digit, first letter or ← →: " + ", ".join(
                f"{n} {c or 'empty'}" for n, c in enumerate(field.choices, start=1)
            )
        elif field.help:
            says += f"\n{field.help}"
        return says

    def used_rows(self) -> list[GridRow]:
        """Return the rows in which something that matters was typed."""
        return [r for r in self.query(GridRow) if any(self._own(r, c) for c in r.columns if not c.fixed)]

    def _own(self, row: GridRow, column: GridColumn) -> bool:
        """Return whether a field holds something that nobody put there for the typist."""
        entry = row.query_one(f".cell-{column.key}")
        if column.key == self.decides:
            return bool(row.typed(column.key))
        return isinstance(entry, Input) and bool(entry.value.strip()) and entry.value != row.given.get(column.key, "")

    def action_keep(self) -> None:
        rows = self.drafts()
        if rows is not None:
            self.act(lambda operation: self.keep(rows, operation), self._done)

    def drafts(self) -> tuple[D, ...] | None:
        """Return the rows that are used; or say what is wrong with them, go there, and return None."""
        drafts: list[D] = []
        problems: list[Problem] = []
        self.query(".-wrong").remove_class("-wrong")
        for row in self.used_rows():
            draft, found = read_draft(self.kind, row.values(), f"{self.row_name} {row.number}")
            problems += found
            for p in found:
                self._mark(row, p)
            if draft is not None:
                drafts.append(draft)
        problems += self.problems_of(drafts)
        if problems:
            self._refuse("\n".join(map(str, problems)))
            wrong = self.query(".-wrong")
            if wrong:
                wrong.first().focus()
            return None
        self._refuse("")
        return tuple(drafts)

    def problems_of(self, drafts: Sequence[D]) -> list[Problem]:
        """Return what else is wrong, beside the rows or with all of them."""
        return []

    def _mark(self, row: GridRow, problem: Problem) -> None:
        for cell in row.query(f".cell-{problem.where.split(', ')[-1]}"):
            cell.add_class("-wrong")

    def _done(self, answer: Any) -> None:
        self.close()
        if isinstance(self.app.screen, HeadForm):
            self.app.pop_screen()
        self.then(answer)

    def refused(self, refusal: Refusal) -> None:
        self.acting = False
        self._refuse("\n".join(map(str, refusal.problems)) if isinstance(refusal, BadInput) else str(refusal))

    def _refuse(self, says: str) -> None:
        refusal = self.query_one("#refusal", Static)
        refusal.update(Text("\n".join(f"! {line}" for line in safe_lines(says).split("\n") if line)))
        refusal.set_class(bool(says), "-shown")
