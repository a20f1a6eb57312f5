"""Figures pasted from a spreadsheet: a row a line, columns parted by tabs; read whole or refused whole."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from refstd.base.errors import BadInput, Problem
from refstd.base.quantity import decimal_as_written
from refstd.base.text import key, safe

_WITH_COMMA = re.compile(r"[+-]?([0-9]+),([0-9]+)")
WHAT = "what was pasted"


@dataclass(frozen=True, slots=True)
class Filling:
    """Which figure goes where: (row, columns to the right of where it was pasted, figure as written with a point)."""

    cells: tuple[tuple[int, int, str], ...]
    says: str


def is_table(text: str) -> bool:
    """Return whether text is more than what belongs into one field."""
    return any(sign in text for sign in "\t\r\n")


def filling(text: str, labels: Sequence[str], at: int, room: int) -> Filling:
    """Return where pasted figures go in a grid whose rows have these labels, or refuse them all.

    They go downwards from row `at` and to the right, `room` columns at most. Where the first pasted column holds labels
    of the rows, each line goes to its own row, in whatever order. An empty cell leaves what stands there. A decimal
    comma is taken for a point where no figure can be meant otherwise.
    """
    lines = [[_plain(cell) for cell in line.split("\t")] for line in text.strip("\r\n").splitlines()]
    while lines and not any(lines[-1]):
        lines.pop()
    if not lines:
        raise BadInput(WHAT, [Problem("the clipboard", "holds no figure", "Copy the column of figures alone.")])
    places = _places(lines, labels)
    rows = [line[1:] if places else line for line in lines]
    _refuse_size(rows, None if places else labels[at:], room)
    figures, comma = _without_commas(rows)
    problems = [
        problem
        for n, row in enumerate(figures, start=1)
        for figure in row
        if figure and isinstance(problem := decimal_as_written(figure, f"line {n}"), Problem)
    ]
    if problems:
        raise BadInput(WHAT, problems)
    put = places or range(at, at + len(figures))
    cells = tuple(
        (place, n, figure) for place, row in zip(put, figures, strict=True) for n, figure in enumerate(row) if figure
    )
    return Filling(cells, _says(len(lines), len(labels) if places else len(labels) - at, bool(places), comma))


def _plain(cell: str) -> str:
    return unicodedata.normalize("NFKC", cell).replace("\u2212", "-").strip()


def _places(lines: Sequence[Sequence[str]], labels: Sequence[str]) -> list[int]:
    """Return the row of each line where the first column names the rows, else none."""
    known = {key(label): n for n, label in enumerate(labels) if label}
    if not all(len(line) > 1 and key(line[0]) in known for line in lines):
        return []
    places = [known[key(line[0])] for line in lines]
    if len(set(places)) < len(places):
        twice = next(line[0] for n, line in enumerate(lines) if places[n] in places[:n])
        raise BadInput(WHAT, [Problem(safe(twice), "is there twice", "Copy each row once.")])
    return places


def _refuse_size(rows: Sequence[Sequence[str]], below: Sequence[str] | None, room: int) -> None:
    widest = max(len(row) for row in rows)
    problems = []
    if below is not None and len(rows) > len(below):
        says = f"{len(rows)} lines, but {len(below)} row{'s' if len(below) != 1 else ''} from here on"
        problems.append(Problem("the count", says, "Copy the figures alone, or begin at the first row."))
    if widest > room:
        says = f"{widest} columns, but {room} from here on"
        problems.append(Problem("the count", says, "Copy the measured values, and U beside them where it differs."))
    if problems:
        raise BadInput(WHAT, problems)


def _without_commas(rows: Sequence[Sequence[str]]) -> tuple[list[list[str]], str]:
    """Return the figures with points, and an example of a comma that was taken for one; refuse what could be read twice."""
    every = [figure for row in rows for figure in row if figure]
    commas = [figure for figure in every if "," in figure]
    if not commas:
        return [list(row) for row in rows], ""
    first = safe(commas[0])[:40]
    if any("." in figure for figure in every):
        wrong = f"has commas and points ('{first}'), so that it can be read in two ways"
        raise BadInput(WHAT, [Problem("the decimal sign", wrong, "Write points, without signs between thousands.")])
    read = [_WITH_COMMA.fullmatch(figure) for figure in commas]
    if all(m is None or (len(m[2]) == 3 and len(m[1]) <= 3 and m[1][0] != "0") for m in read):
        wrong = f"'{first}' may mean thousands or decimals, and no other figure says which"
        raise BadInput(WHAT, [Problem("the decimal sign", wrong, "Write the decimal sign as a point.")])
    return [[f.replace(",", ".") if _WITH_COMMA.fullmatch(f) else f for f in row] for row in rows], first


def _says(lines: int, rows: int, by_label: bool, comma: str) -> str:
    says = [f"{lines} of {rows} rows filled" + (", each by its label" if by_label else "")]
    if comma:
        says.append(f"decimal commas read as points, {comma} as {comma.replace(',', '.')}")
    if lines < rows:
        says.append(f"{rows - lines} stay as they were")
    return "; ".join(says)
