"""What other people's readers find in each form of a sheet, as rows of cells as people read them. None of it is ours."""

import csv
import io
import json
import re
from datetime import UTC, datetime
from html.parser import HTMLParser

import openpyxl
import pypdf

from refstd.base.text import safe_lines
from refstd.printing.csv import as_written
from refstd.printing.local import in_zone
from refstd.printing.sheet import Kind, Sheet

Rows = list[list[str]]


def as_read(sheet: Sheet) -> Rows:
    """Return the sheet's cells as people read them: instants in the lab's zone, nothing that steers a terminal."""
    return [[safe_lines(in_zone(cell, sheet.zone).replace("\r\n", "\n")) for cell in row] for row in sheet.rows]


def for_machines(sheet: Sheet) -> Rows:
    """Return the same cells with a figure's minus as '-' and an empty figure or date as ''."""
    return [
        [
            cell if column.kind is Kind.TEXT else cell.replace("−", "-", 1) if cell.strip() else ""
            for column, cell in zip(sheet.columns, row, strict=True)
        ]
        for row in as_read(sheet)
    ]


def of_csv(content: bytes) -> Rows:
    rows = list(csv.reader(io.StringIO(content.decode(), newline=""), strict=True))[1:]
    return [[as_written(cell) for cell in row] for row in rows]


def of_json(content: bytes) -> Rows:
    """Return the rows of the JSON; its instants stand in UTC, so they are turned by hand here."""
    read = json.loads(content)
    return [
        [safe_lines(in_zone(cell or "", read["zone"]).replace("\r\n", "\n")) for cell in row.values()]
        for row in read["rows"]
    ]


class Cells(HTMLParser):
    """The tables of a page, and every element and attribute in it."""

    def __init__(self, content: bytes) -> None:
        super().__init__()
        self.rows: Rows = []
        self.heads: list[str] = []
        self.text = ""
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self._cell: list[str] | None = None
        self.feed(content.decode())
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self._cell = []

    def handle_endtag(self, tag: str) -> None:
        if self._cell is not None and tag in ("td", "th"):
            (self.rows[-1] if tag == "td" else self.heads).append("".join(self._cell))
            self._cell = None

    def handle_data(self, data: str) -> None:
        self.text += data
        if self._cell is not None:
            self._cell.append(data)


def of_html(content: bytes) -> Rows:
    return [row for row in Cells(content).rows if row]


def of_xlsx(content: bytes, sheet: Sheet) -> Rows:
    """Return what a spreadsheet shows: each value in its cell's own format. A formula or a wrong type fails here."""
    page = openpyxl.load_workbook(io.BytesIO(content))["Report"]
    assert page.freeze_panes == "A2"
    rows: Rows = []
    for line in page.iter_rows(min_row=2, max_row=1 + len(sheet.rows), max_col=len(sheet.columns)):
        rows.append([])
        for cell, column in zip(line, sheet.columns, strict=True):
            assert cell.data_type in "sndn", f"{cell.coordinate} is of type {cell.data_type}"
            value = cell.value
            if isinstance(value, int | float):
                assert column.kind is Kind.NUMBER
                rows[-1].append(_figure(float(value), cell.number_format))
            elif isinstance(value, datetime):
                assert column.kind in (Kind.DATE, Kind.INSTANT)
                rows[-1].append(_moment(value, cell.number_format))
            else:
                rows[-1].append(value or "")
    return rows if sheet.rows else []


def _figure(value: float, form: str) -> str:
    first = form.split(";")[0]
    places = len(first.partition(".")[2])
    return f"{value:{'+' if first.startswith('+') else ''}.{places}f}"


def _moment(value: datetime, form: str) -> str:
    if form == "yyyy-mm-dd":
        return value.date().isoformat()
    offset = re.fullmatch(r'yyyy\\?-mm\\?-dd\\? hh:mm\\? "([+-]\d\d:\d\d)"', form)
    assert offset, form
    assert datetime.fromisoformat(value.isoformat() + offset[1]).astimezone(UTC)
    return f"{value:%Y-%m-%d %H:%M} {offset[1]}"


def of_text(content: bytes, sheet: Sheet) -> Rows:
    """Return the sheet's own cells where the line of their row bears each of them in turn, else what the line has."""
    lines = content.decode().split("\n")
    start = next((i for i, line in enumerate(lines) if re.fullmatch(r"-+(  -+)*", line)), 0) + 1
    rows: Rows = []
    for line, row in zip(lines[start:], as_read(sheet), strict=False):
        at, whole = 0, True
        for cell in row:
            shown = " ¶ ".join(cell.split("\n")).strip()
            at = line.find(shown, at) + len(shown)
            whole = whole and at >= len(shown)
        rows.append(row if whole else [line])
    return rows


def missing_on_paper(content: bytes, sheet: Sheet) -> list[str]:
    """Return every cell that the text of the PDF does not hold, blanks and line ends aside."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    printed = _squeezed("".join(page.extract_text() for page in reader.pages))
    wanted = {cell for row in as_read(sheet) for cell in row if cell}
    return sorted(c for c in wanted if not all(_squeezed(word) in printed for word in c.split()))


def _squeezed(text: str) -> str:
    """Without blanks, break marks and the two forms of minus."""
    return "".join(text.replace("−", "-").replace("\u200b", "").replace("\u00ad", "").split())
