"""A Sheet as a workbook (XLSX, ISO/IEC 29500): cells with types, no formula, nothing fetched.

Two worksheets: 'Report' holds the rows under one frozen line of headings; 'About' says where they come from: lab, as-at
instant, head of the log, versions of rules and form, what was asked, the notes. Charts are in PDF and HTML only.

A number is a number and shows its digits as written (0.500 stays 0.500), a date is a date; an instant is a date-time in
the lab's zone whose format bears the offset. A cell that would not come back digit for digit is kept as text. Text
stays text: what begins with = + - @ bears the mark with which spreadsheets keep it text when somebody edits the cell.
Control, bidirectional and invisible characters but for line ends become U+FFFD.
"""

import io
import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from refstd.base.errors import Refusal
from refstd.base.text import safe, safe_lines
from refstd.printing.csv import guarded
from refstd.printing.json import as_number
from refstd.printing.local import in_zone, stand_of
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.printing.text import heading_of

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

MOST_ROWS = 1_048_575  # of 1,048,576 in a worksheet one holds the headings
MOST_CHARACTERS = 32_767  # in a cell; spreadsheets cut off what is longer
_FIRST_DAY = date(1900, 3, 1)  # before it the programs count days differently, by a leap day that never was
_MOST_DIGITS = 15  # more are not kept by a spreadsheet's numbers
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z")

Formats = Callable[..., "Format"]


def to_xlsx(sheet: Sheet) -> bytes:
    """Return the sheet as the bytes of a workbook; the same sheet gives the same bytes with the same writer's release.

    Raises Refusal for more rows than a worksheet has and for a text longer than a cell holds.
    """
    import xlsxwriter

    if len(sheet.rows) > MOST_ROWS:
        raise Refusal(
            f"{len(sheet.rows)} rows are too many for a worksheet, at most {MOST_ROWS} fit",
            sheet.schema,
            "Take csv or json, or narrow the question.",
        )
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    book.set_properties(
        {
            "title": safe(sheet.title),
            "author": safe(sheet.lab),
            "comments": safe(" · ".join(f"{name}: {value}" for name, value in _identity(sheet))),
            "created": datetime.fromisoformat(sheet.as_at).astimezone(UTC).replace(tzinfo=None),
        }
    )
    formats = _kept(book)
    _report(book.add_worksheet("Report"), sheet, formats)
    _about(book.add_worksheet("About"), sheet, formats)
    book.close()
    return out.getvalue()


def _kept(book: "Workbook") -> Formats:
    """Return a function that gives each format once, by its properties."""
    made: dict[tuple[tuple[str, Any], ...], Format] = {}

    def of(**properties: Any) -> "Format":
        wanted = tuple(sorted({"valign": "top", **properties}.items()))
        if wanted not in made:
            made[wanted] = book.add_format(dict(wanted))
        return made[wanted]

    return of


def _report(page: "Worksheet", sheet: Sheet, formats: Formats) -> None:
    for i, column in enumerate(sheet.columns):
        side = "right" if column.kind is Kind.NUMBER else "left"
        page.write_string(0, i, heading_of(column), formats(bold=True, bottom=1, text_wrap=True, align=side))
        page.set_column(i, i, _width(sheet, i))
    for number, row in enumerate(sheet.rows, 1):
        for i, (column, cell) in enumerate(zip(sheet.columns, row, strict=True)):
            _write(page, (number, i), column, cell, sheet, formats)
    page.freeze_panes(1, 0)
    if sheet.rows:
        page.autofilter(0, 0, len(sheet.rows), len(sheet.columns) - 1)
    page.repeat_rows(0)
    page.set_landscape()
    page.set_paper(9)  # A4
    page.fit_to_pages(1, 0)
    said = safe(f"{sheet.lab} · {sheet.title} · {stand_of(sheet)}").replace("&", "&&")
    page.set_footer(f"&L&8{' ' if said[:1].isdigit() else ''}{said[:200]}&R&8page &P of &N")


def _about(page: "Worksheet", sheet: Sheet, formats: Formats) -> None:
    lines = [("report", sheet.title), *_identity(sheet), *sheet.scope, ("rows", str(len(sheet.rows)))]
    lines += [("note", note) for note in sheet.notes]
    if sheet.charts:
        lines.append(("charts", "in the PDF and the HTML of this report"))
    page.set_column(0, 0, 22)
    page.set_column(1, 1, 110)
    for i, (name, value) in enumerate(lines):
        _string(page, (i, 0), name, sheet, formats, bold=True)
        _string(page, (i, 1), in_zone(value, sheet.zone), sheet, formats)
    page.set_landscape()
    page.set_paper(9)
    page.fit_to_pages(1, 0)


def _identity(sheet: Sheet) -> list[tuple[str, str]]:
    log = f"{sheet.log_sequence}:{sheet.log_hash}" if sheet.log_hash else "no log"
    return [
        *(("lab", sheet.lab), ("answered", stand_of(sheet)), ("head of the log", log)),
        *(("rules version", sheet.rules_version), ("form", sheet.schema)),
    ]


def _write(page: "Worksheet", at: tuple[int, int], column: Column, cell: str, sheet: Sheet, formats: Formats) -> None:
    if not cell.strip() and column.kind is not Kind.TEXT:
        return
    if column.kind is Kind.NUMBER and (number := as_number(cell)) and (form := _number_format(number)):
        page.write_number(*at, float(number), formats(num_format=form))
    elif column.kind is Kind.DATE and (day := _day(cell)):
        page.write_datetime(*at, datetime(day.year, day.month, day.day), formats(num_format="yyyy-mm-dd", align="left"))  # noqa: DTZ001 (a civil day)
    elif column.kind is Kind.INSTANT and (moment := _moment(cell, sheet.zone)):
        form = f'yyyy-mm-dd hh:mm "{moment.isoformat()[-6:]}"'
        page.write_datetime(*at, moment.replace(tzinfo=None), formats(num_format=form, align="left"))
    else:
        side = {"align": "right"} if column.kind is Kind.NUMBER else {}
        _string(page, at, in_zone(cell, sheet.zone), sheet, formats, **side)


def _string(
    page: "Worksheet", at: tuple[int, int], text: str, sheet: Sheet, formats: Formats, **properties: Any
) -> None:
    shown = safe_lines(text.replace("\r\n", "\n"))
    if not shown:
        return
    if len(shown) > MOST_CHARACTERS:
        raise Refusal(
            f"a text of {len(shown)} characters does not fit into a cell, at most {MOST_CHARACTERS} do",
            f"{sheet.schema}, row {at[0]}, column {at[1] + 1}",
            "Take csv or json.",
        )
    quoted = {"quote_prefix": True} if guarded(text) != text else {}
    page.write_string(*at, shown, formats(text_wrap=True, **quoted, **properties))


def _number_format(number: str) -> str:
    """Return the format that shows a number as it is written, or '' where a spreadsheet's number would not give it back."""
    sign, digits = ("+", number[1:]) if number.startswith("+") else ("", number)
    value = Decimal(digits)
    places = max(0, -int(value.as_tuple().exponent))
    if format(value, f".{places}f") != digits or len(value.as_tuple().digits) > _MOST_DIGITS or places > _MOST_DIGITS:
        return ""  # an exponent, leading zeros, more digits than are kept
    if not value and (sign or digits.startswith("-")):
        return ""
    form = f"0.{'0' * places}" if places else "0"
    return f"+{form};-{form}" if sign else form


def _day(cell: str) -> date | None:
    if not _DAY.fullmatch(cell.strip()):
        return None
    try:
        day = date.fromisoformat(cell.strip())
    except ValueError:
        return None
    return day if day >= _FIRST_DAY else None


def _moment(cell: str, zone: str) -> datetime | None:
    if not _INSTANT.fullmatch(cell.strip()):
        return None
    moment = datetime.fromisoformat(cell.strip()).astimezone(ZoneInfo(zone))
    return moment if moment.date() >= _FIRST_DAY else None


def _width(sheet: Sheet, i: int) -> float:
    """Return a column's width in characters: that of its longest line, within what a screen has room for."""
    column = sheet.columns[i]
    least = max(map(len, heading_of(column).split()), default=1)
    cells = [in_zone(row[i], sheet.zone) for row in sheet.rows]
    longest = max((len(line) for cell in cells for line in cell.split("\n")), default=0)
    return min(max(longest, least, 6), 50) + 2
