"""Reading a CSV file strictly: every cell with its row and column, and every problem named where it is."""

import csv
import difflib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from refstd.base.errors import Problem, WrongUsage
from refstd.base.text import LONGEST_TEXT, safe
from refstd.printing.csv import as_written

MOST_ROWS = 50_000
LARGEST_FILE = 20 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a file: its number as a spreadsheet shows it (the heading is row 1) and its cells by column."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """A file's rows, under the name that its problems are told with."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]

    def where(self, row: Row, column: str = "") -> str:
        """Return a place in this file: 'blocks.csv, row 3, depth_mm'."""
        return ", ".join(p for p in (self.name, f"row {row.number}", column) if p)


def content_of(path: Path) -> bytes:
    """Return a file's bytes, or refuse: not there, a folder, unreadable, too large."""
    try:
        if path.is_dir():
            raise WrongUsage("that is a folder, not a file", safe(path), "Name a file.")
        if path.stat().st_size > LARGEST_FILE:
            raise WrongUsage(
                f"the file is larger than {LARGEST_FILE // 2**20} MB", safe(path), "Split it into several files."
            )
        return path.read_bytes()
    except FileNotFoundError as error:
        raise WrongUsage("there is no such file", safe(path), "Check its name and folder.") from error
    except OSError as error:
        raise WrongUsage(
            f"the file cannot be read: {safe(error.strerror)}", safe(path), "Check its permission."
        ) from error


def table_from(
    name: str, content: bytes, columns: Sequence[str], *, may_be_empty: bool = False
) -> tuple[Table, list[Problem]]:
    """Return the rows of a CSV file and what is wrong with it as a file.

    UTF-8 (a byte-order mark is allowed), comma, RFC 4180 quotes; a heading whose names are among `columns`, each once;
    as many cells in each row as the heading has; no control, bidirectional or invisible characters; cells of at most
    10,000 characters; at most 50,000 rows. Rows without any content are passed over. The apostrophe that an export put
    in front of what a spreadsheet could run as a formula is taken off again.
    """
    shown = safe(name)
    if len(content) > LARGEST_FILE:
        return _empty(shown, shown, f"is larger than {LARGEST_FILE // 2**20} MB", "Split it into several files.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        return _empty(shown, f"{shown}, line {line}", "is not UTF-8 text", "Save it as 'CSV UTF-8' and import again.")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    records: list[list[str]] = []
    try:
        for record in reader:
            records.append(record)
            if len(records) > MOST_ROWS + 1:
                return _empty(shown, shown, f"has more than {MOST_ROWS} rows", "Split it into several files.")
    except csv.Error as error:
        what = "ends inside a quoted cell" if "end of data" in str(error) else f"is not proper CSV: {safe(error)}"
        return _empty(shown, f"{shown}, line {reader.line_num}", what, "Check the quotation marks from there on.")
    if not records:
        return _empty(shown, shown, "is empty", "Begin with a row of column names.")
    table, problems = _table(shown, records, columns)
    if not table.rows and not problems and not may_be_empty:
        problems.append(Problem(shown, "has no rows below its column names", "Give at least one."))
    return table, problems


def _empty(name: str, where: str, wrong: str, remedy: str) -> tuple[Table, list[Problem]]:
    return Table(name, (), ()), [Problem(where, wrong, remedy)]


def _table(name: str, records: list[list[str]], columns: Sequence[str]) -> tuple[Table, list[Problem]]:
    heading = [cell.strip() for cell in records[0]]
    problems = _heading_problems(name, heading, columns)
    if problems:
        return Table(name, tuple(heading), ()), problems
    rows = []
    for number, record in enumerate(records[1:], start=2):
        if not any(cell.strip() for cell in record):
            continue
        if len(record) != len(heading):
            problems.append(
                Problem(
                    f"{name}, row {number}", f"has {len(record)} cells under {len(heading)} column names",
                    "Put a cell with a comma in it between quotation marks.",
                )
            )  # fmt: skip
            continue
        for column, cell in zip(heading, record, strict=True):
            problem = _cell_problem(cell)
            if problem:
                problems.append(Problem(f"{name}, row {number}, {column}", *problem))
        rows.append(Row(number, {c: as_written(cell).strip() for c, cell in zip(heading, record, strict=True)}))
    return Table(name, tuple(heading), tuple(rows)), problems


def _heading_problems(name: str, heading: list[str], columns: Sequence[str]) -> list[Problem]:
    problems = []
    if len(heading) == 1 and any(sign in heading[0] for sign in ";\t|"):
        return [
            Problem(f"{name}, row 1", "has no commas between its column names", "Save it with commas as separators.")
        ]
    for place, column in enumerate(heading, start=1):
        where = f"{name}, row 1, column {place}"
        if not column:
            problems.append(Problem(where, "has no name", "Name it, or remove the column."))
        elif column in heading[: place - 1]:
            problems.append(Problem(where, f"'{safe(column)[:40]}' stands twice", "Keep one of the two."))
        elif column not in columns:
            close = difflib.get_close_matches(column.lower(), columns, 1)
            remedy = f"Did you mean '{close[0]}'?" if close else f"The columns are {', '.join(columns)}."
            problems.append(Problem(where, f"'{safe(column)[:40]}' is not a column of this kind", remedy))
    return problems


def _cell_problem(cell: str) -> tuple[str, str] | None:
    if len(cell) > LONGEST_TEXT:
        return f"is {len(cell)} characters long, at most {LONGEST_TEXT} are kept", "Shorten it."
    if safe(cell) != cell:
        return "contains a control or invisible character", "Type the cell anew without pasting."
    return None
