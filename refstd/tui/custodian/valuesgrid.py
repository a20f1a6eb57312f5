"""The values of a certificate as the paper prints them: Enter walks down the measured column, U and k stand once for all."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.events import DescendantBlur, Key
from textual.widget import Widget
from textual.widgets import Input, Static

from refstd.base.errors import BadInput, Problem, Refusal
from refstd.base.text import safe, safe_lines
from refstd.desk.certificate_entry import ValuesForAll, ValuesRow, doubts_about
from refstd.desk.certificates import Paper, ValueDraft
from refstd.desk.entry import fields_of, read_draft
from refstd.desk.items import ItemShown
from refstd.desk.pasted import filling, is_table
from refstd.tui.asking import AskLine, Choose
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.forms import ChoiceField, KeepButton, Part, PartForm
from refstd.tui.grid import F2, F3, F6, Cell, CellChoice, GridColumn, GridRow, GridScreen

FOUND, LEFT = "found", "left"
NOTE = (
    "Enter goes down the measured column; a spreadsheet's column can be pasted\n"
    "there. A row's empty U and k are those for all. F7: all that a row can say."
)
AGAIN, AS_TYPED = "look again", "file as typed"
_WIDTHS = {"expanded_uncertainty": 9, "coverage_factor": 5, "coverage_probability_percent": 7, "unit": 6, "point": 18, "limit_source": 40}  # fmt: skip
_BY_ALL = ("expanded_uncertainty", "coverage_factor")  # a row's field that shows what stands for all rows
_MOST_SHOWN = 2  # doubts beside the rows; all of them are asked about at the end


def columns_for(item: ItemShown, adjusted: bool) -> tuple[GridColumn, ...]:
    """Return the grid's columns: as found beside as left where something was adjusted."""
    measured = (
        (GridColumn(FOUND, "as found", 9), GridColumn(LEFT, "as left", 9))
        if adjusted
        else (GridColumn(LEFT, "measured", 9),)
    )
    rest = (
        GridColumn("expanded_uncertainty", "U", 8), GridColumn("coverage_factor", "k", 5), GridColumn("lower_limit", "lower", 7),
        GridColumn("upper_limit", "upper", 7),
    )  # fmt: skip
    if item.notches:
        return (
            GridColumn("notch", "notch", 10, fixed=True), GridColumn("nominal", "nominal", 9, fixed=True), *measured,
            GridColumn("unit", "unit", 5, fixed=True), *rest,
        )  # fmt: skip
    return GridColumn("quantity", "quantity", 14), *measured, GridColumn("unit", "unit", 6), *rest


class ValuesGrid(GridScreen[ValuesRow]):
    """The values of a certificate, a row a notch: nominal beside measured, U and k for all rows and where a row differs."""

    DEFAULT_CSS = """
    ValuesGrid .forall { height: 1; padding: 0 1; }
    ValuesGrid .forall > Static { width: auto; margin-right: 1; }
    ValuesGrid .forall > Input, ValuesGrid .forall > ChoiceField { height: 1; margin-right: 2; padding: 0; }
    ValuesGrid .gridrow > .-doubt { background: $warning 40%; }
    """
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        F2,
        F3,
        Command("f7", "row_in_full", "Row in full", "Open everything that a row can say: point, method, p, unit, quantity, source."),
        Command("f4", "attach", "Attach", "Attach the paper itself: PDF, PNG, JPEG or XML, at most 10 MB."),
        replace(F6, in_footer=False),
        BACK,
        HELP,
    )  # fmt: skip

    def __init__(
        self,
        title: str,
        item: ItemShown,
        rows: Sequence[Mapping[str, str]],
        for_all: Mapping[str, str],
        file: Callable[[tuple[ValueDraft, ...], str], Any],
        then: Callable[[Any], None],
        *,
        adjusted: bool,
        in_force: Mapping[str, str],
        papers: list[Paper],
    ) -> None:
        follows = ("unit", "limit_source")
        super().__init__(
            title, ValuesRow, columns_for(item, adjusted), rows, lambda *_: None, then, decides=LEFT, row_name="row",
            follows=follows, note=NOTE,
        )  # fmt: skip
        self.item, self.for_all, self.file, self.in_force = item, dict(for_all), file, in_force
        self.papers = papers  # the last one is attached; the list outlives a step back to the form
        self.measured = tuple(c.key for c in self.columns if c.key in (FOUND, LEFT))
        self.walks = self.measured[0]
        self._for_all_opened: dict[str, str] = {}

    # What holds for all rows

    def above(self) -> ComposeResult:
        head = self._head()
        given = self.for_all if head is None or head.above_left is None else head.above_left
        fields = [f for f in fields_of(ValuesForAll) if self.item.notches or f.key not in ("unit", "point")]
        lines = (fields[:-1], fields[-1:])
        for n, line in enumerate(lines):
            with Horizontal(classes="forall"):
                if n == 0:
                    yield Static("for all:", markup=False)
                for f in line:
                    yield Static(f.title, markup=False)
                    value = safe(given.get(f.key, f.default))
                    entry: Widget = CellChoice(f.choices, value, id=f"all-{f.key}") if f.choices else Input(value, compact=True, id=f"all-{f.key}")  # fmt: skip
                    entry.styles.width = _WIDTHS[f.key]
                    yield entry

    def _for_all_fields(self) -> list[Input | ChoiceField]:
        return [w for w in self.query(".forall > *") if isinstance(w, Input | ChoiceField)]

    def typed_for_all(self) -> dict[str, str]:
        """Return what stands for all rows."""
        return {(w.id or "").removeprefix("all-"): w.value.strip() for w in self._for_all_fields()}

    def on_mount(self) -> None:
        self._for_all_opened = self.typed_for_all()
        self._show_for_all()

    def begins_at(self) -> Widget:
        first = self._for_all_fields()[0]
        begun = first.value or any(r.typed(k) for r in self.query(GridRow) for k in self.measured)
        return self._measured_of(self.query(GridRow).first()) if begun else first

    @on(Input.Changed)
    @on(ChoiceField.Changed)
    def _for_all_changed(self) -> None:
        self._show_for_all()

    def _show_for_all(self) -> None:
        """Show in each row, faintly, what it takes from the line for all rows."""
        for_all = self.typed_for_all()
        for row in self.query(GridRow):
            for key in _BY_ALL:
                for cell in row.query(f".cell-{key}").results(Input):
                    cell.placeholder = for_all.get(key, "")
            for unit in row.query(".cell-unit").results(Static):
                unit.update(Text(safe(row.given.get("unit") or for_all.get("unit", ""))))

    def says_elsewhere(self, entry: Widget) -> str:
        field = next((f for f in fields_of(ValuesForAll) if entry.id == f"all-{f.key}"), None)
        if field is None:
            return "Enter or F2: put on record."
        says = f"for all rows, {field.title}: as the paper prints it. Enter: next field. ↓: to the values."
        if field.choices:
            return f"{says}\nchoose with a digit, first letter or ← →: {', '.join(field.choices)}"
        return f"{says}\n{field.help}" if field.help else says

    # Down the measured column

    def _measured_of(self, row: GridRow) -> Widget:
        return row.query_one(f".cell-{self.walks if self.item.notches or row.typed('quantity') else 'quantity'}")

    async def on_key(self, event: Key) -> None:
        """Move about in the line for all rows; the rows' own keys are the grid's."""
        fields = self._for_all_fields()
        if self.focused not in fields or event.key not in ("enter", "down", "up"):
            return
        event.stop()
        event.prevent_default()
        at = fields.index(self.focused) + (-1 if event.key == "up" else 1)
        if event.key == "down" or at == len(fields):
            self._measured_of(self.query(GridRow).first()).focus()
        elif at >= 0:
            fields[at].focus()

    def upwards(self) -> None:
        self._for_all_fields()[0].focus()

    async def entered(self, row: GridRow) -> None:
        rows = list(self.query(GridRow))
        at = rows.index(row) + 1
        if at < len(rows):
            self._measured_of(rows[at]).focus()
        elif self.walks != self.measured[-1]:
            self.walks = self.measured[-1]
            self._measured_of(rows[0]).focus()
        else:
            self.query_one(KeepButton).focus()

    def says_of(self, row: GridRow, entry: Widget) -> str:
        key = row.columns[list(row.children).index(entry)].key
        if key in self.measured:
            self.walks = key
        column = next(c for c in row.columns if c.key == key)
        what = " ".join(x for x in (row.typed("notch"), row.typed("quantity")) if x)
        says = f"{what}, {column.title}: as the paper prints it. Enter: down. Tab: next field."
        choices = next(f.choices for f in fields_of(ValuesRow) if f.key == key)
        if choices:
            return f"{says}\nchoose with a digit, first letter or ← →: {', '.join(c for c in choices if c)}"
        return "\n".join(x for x in (says, self.in_force.get(row.typed("notch"), "")) if x)

    # A pasted column

    def takes_table(self, cell: Cell, text: str) -> bool:
        row = self._row_of(cell)
        if row is None or not is_table(text):
            return False
        rows = list(self.query(GridRow))
        keys = [c.key for c in row.columns if not c.fixed]
        first = next(n for n, k in enumerate(keys) if cell.has_class(f"cell-{k}"))
        if keys[first] in ("notch", "quantity", "unit"):
            return False
        room = [k for k in keys[first:] if k != "unit"]
        try:
            table = filling(text, [r.typed("notch") for r in rows], rows.index(row), len(room))
        except BadInput as refusal:
            self._refuse("Nothing was taken from what was pasted.\n" + "\n".join(map(str, refusal.problems)))
            return True
        replaced = 0
        for at, column, figure in table.cells:
            field = rows[at].query_one(f".cell-{room[column]}", Input)
            replaced += bool(field.value.strip()) and field.value.strip() != figure
            field.value = figure
        titles = {c.key: c.title for c in row.columns}
        names = ", ".join(titles[room[n]] for n in sorted({c for _, c, _ in table.cells}))
        self._refuse("")
        self.notify(
            f"{names}: {table.says}" + (f"; {replaced} typed before replaced" if replaced else ""),
            markup=False,
            timeout=10,
        )
        self._look()
        return True

    # What is worth a second look

    @on(DescendantBlur)
    def _look(self) -> None:
        """Say what may be a slip as soon as it is typed, beside the rows and at its field."""
        for_all, _ = read_draft(ValuesForAll, {k: v for k, v in self.typed_for_all().items() if v})
        doubts: list[str] = []
        for row in self.query(GridRow):
            draft, _ = read_draft(ValuesRow, row.values())
            values = draft.values(for_all) if draft and for_all else ()
            found = doubts_about(self.item.notches, values, complete=False)
            for cell in row.query(".cell-found, .cell-left"):
                cell.set_class(bool(found), "-doubt")
            doubts += found
        more = f" (and {len(doubts) - _MOST_SHOWN} more)" if len(doubts) > _MOST_SHOWN else ""
        note = self.query_one(".note", Static)
        says = "\n".join(f"? {d}" for d in doubts[:_MOST_SHOWN]) + more
        note.update(Text(safe_lines(says or NOTE)))
        note.set_class(bool(doubts), "-doubt")

    # Filing

    def used_rows(self) -> list[GridRow]:
        return [r for r in self.query(GridRow) if any(r.typed(k) for k in self.measured) or self._changed(r)]

    def _changed(self, row: GridRow) -> bool:
        return any(
            self._own(row, c) for c in row.columns if not c.fixed and c.key not in ("quantity", "unit", *_BY_ALL)
        )

    def problems_of(self, drafts: Sequence[ValuesRow]) -> list[Problem]:
        empty = [
            Problem(d.what, "has no measured value", "Type it, or empty the row.")
            for d in drafts
            if d.found is None and d.left is None
        ]
        empty += [Problem(d.what, "has no unit", "Choose it.") for d in drafts if not (d.unit or self.item.notches)]
        typed = {k: v for k, v in self.typed_for_all().items() if v}
        return [*read_draft(ValuesForAll, typed, "for all")[1], *empty]

    def action_keep(self) -> None:
        rows = self.drafts()
        if rows is None or self.acting:
            return
        for_all, _ = read_draft(ValuesForAll, {k: v for k, v in self.typed_for_all().items() if v})
        assert for_all is not None  # its problems are among those of the rows
        values = tuple(v for row in rows for v in row.values(for_all))
        doubts = doubts_about(self.item.notches, values)
        if not doubts:
            self._file(values)
            return

        def answered(answer: str | None) -> None:
            if answer == AS_TYPED:
                self._file(values)

        question = "Worth a second look before it is filed:\n" + "\n".join(f"? {d}" for d in doubts)
        self.app.push_screen(Choose(question, (AGAIN, AS_TYPED)), answered)

    def _file(self, values: tuple[ValueDraft, ...]) -> None:
        self.act(lambda operation: self.file(values, operation), self._done)

    def action_back(self) -> None:
        head = self._head()
        if head is not None:
            typed = self.typed_for_all()
            if typed != self._for_all_opened or head.above_left is not None:
                head.above_left = typed
        super().action_back()

    # A row in full, and the paper

    def action_row_in_full(self) -> None:
        row = self._row_of(self.focused)
        if row is None:
            self.notify("Go to a row first.", markup=False)
            return
        values = row.values()
        part = Part(f"Row in full: {row.typed('notch') or row.typed('quantity')}", ValuesRow, lambda _: "")

        def given_back(given: tuple[dict[str, str], Any]) -> None:
            fields = given[0]
            for name in ValuesRow.model_fields:
                value = fields.get(name, "")
                row.given[name] = row.shown[name] = value
                for cell in row.query(f".cell-{name}"):
                    if isinstance(cell, Input | ChoiceField):
                        cell.value = value
            self._show_for_all()
            self._look()

        self.app.push_screen(PartForm(part, values, given_back))

    def action_attach(self) -> None:
        def given(path: str | None) -> None:
            if not path:
                return
            try:
                self.papers.append(read_paper(path))
            except Refusal as refusal:
                self.refused(refusal)
                return
            self.notify(f"{self.papers[-1].name} will be attached", markup=False)

        self.app.push_screen(AskLine("Path of the paper to attach (PDF, PNG, JPEG or XML):"), given)


def read_paper(path: str) -> Paper:
    """Return a paper from a file, or refuse with the reason."""
    file = Path(path.strip()).expanduser()
    try:
        return Paper(file.name, file.read_bytes())
    except OSError as error:
        raise Refusal(f"the file cannot be read: {error.strerror}", str(file), "Check the path.") from error
