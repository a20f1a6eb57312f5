"""A Sheet as CSV (RFC 4180), safe to open in a spreadsheet.

UTF-8, comma, lines end in CR LF, the first line holds the column keys. The heading and the notes are not in it: take
JSON or PDF where they matter.

A cell that a spreadsheet could run as a formula gets an apostrophe in front: one that begins with = + - @, their
full-width forms, a tab or a line end, after any apostrophes. A number in a number column stays a number. `as_written`
takes off exactly what was put on. Control, bidirectional and invisible characters but for line ends become U+FFFD.
"""

import csv
import io

from refstd.base.text import safe_lines
from refstd.printing.json import as_number
from refstd.printing.local import sheet_in_zone
from refstd.printing.sheet import Column, Kind, Sheet

_STARTS = tuple("=+-@\t\r\n＝＋－＠")  # the full-width forms because some spreadsheets read them as the plain ones


def to_csv(sheet: Sheet) -> str:
    """Return the sheet's rows as CSV text."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([column.key for column in sheet.columns])
    for row in sheet_in_zone(sheet).rows:
        writer.writerow([_cell(c, cell) for c, cell in zip(sheet.columns, row, strict=True)])
    return out.getvalue()


def guarded(text: str) -> str:
    """Return text with an apostrophe in front if a spreadsheet could run it as a formula."""
    return f"'{text}" if text.lstrip("'").startswith(_STARTS) else text


def as_written(cell: str) -> str:
    """Return the text of a cell that `guarded` wrote."""
    return cell[1:] if cell.startswith("'") and cell.lstrip("'").startswith(_STARTS) else cell


def _cell(column: Column, cell: str) -> str:
    number = as_number(cell) if column.kind is Kind.NUMBER else None
    if number is not None:
        return number
    shown = safe_lines(cell.replace("\r\n", "\n"))
    # Judged before the signs were made safe: a tab in front is still a sign that somebody tried.
    return f"'{shown}" if guarded(cell) != cell else shown
