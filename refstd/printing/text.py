"""A Sheet as plain text, for a terminal or a pipe: no colour, no boxes, nothing cut off."""

import unicodedata
from collections.abc import Sequence

from refstd.base.text import safe, safe_lines
from refstd.printing.local import sheet_in_zone, stand_of
from refstd.printing.sheet import Column, Kind, Sheet

_GAP = 2
_NARROWEST = 6  # below this a wrapped cell of words is no longer readable
_LONGEST_WORD = 20  # a longer word may be broken to keep a table a table
HASH_SHOWN = 12


def to_text(sheet: Sheet, width: int | None = None) -> str:
    """Return the sheet as text: heading, scope, table, notes; a line end at the end.

    `width` is the number of terminal cells (at least 20). None means a pipe: one row, one line, whatever its length,
    and a line end inside a cell is shown as ' ¶ '. With a width a column that is empty in every row is left out, and
    cells wrap; where the columns do not fit even so, each row is written as a block of 'name  value' lines, without what
    is empty. Charts are named only: 'chart in the PDF and HTML'.
    """
    room = None if width is None else max(width, 20)
    sheet = sheet_in_zone(sheet)
    parts = [_heading(sheet, room), _body(sheet, room)]
    if sheet.charts:
        parts.append([line for c in sheet.charts for line in _wrapped(f"chart in the PDF and HTML: {c.title}", room)])
    if sheet.notes:
        parts.append([line for note in sheet.notes for line in _hung(note, room)])
    return "\n\n".join("\n".join(line.rstrip() for line in part) for part in parts if part) + "\n"


def log_head(sheet: Sheet) -> str:
    """Return the head of the log at the asked instant, as every report shows it; 'no log' where it rests on no store."""
    return f"log {sheet.log_sequence} {safe(sheet.log_hash)[:HASH_SHOWN]}" if sheet.log_hash else "no log"


def heading_of(column: Column) -> str:
    """Return the column's title with its unit."""
    return safe(f"{column.title} ({column.unit})" if column.unit else column.title)


def display_width(text: str) -> int:
    """Return how many terminal cells the text takes: wide characters two, combining ones none."""
    wide = sum(unicodedata.east_asian_width(c) in "WF" for c in text)
    return len(text) + wide - sum(unicodedata.category(c) in ("Mn", "Me") for c in text)


def _heading(sheet: Sheet, room: int | None) -> list[str]:
    lines = [
        safe(sheet.title),
        safe(sheet.lab),
        safe(stand_of(sheet)),
        f"{log_head(sheet)}, rules version {safe(sheet.rules_version)}",
        *(safe(f"{name}: {value}") for name, value in sheet.scope),
    ]
    return [part for line in lines for part in _wrapped(line, room)]


def _body(sheet: Sheet, room: int | None) -> list[str]:
    count = "1 row" if len(sheet.rows) == 1 else f"{len(sheet.rows)} rows"
    if not sheet.rows:
        return ["no rows"]
    used = [room is None or any(cells) for cells in zip(*sheet.rows, strict=True)]
    columns = [c for c, filled in zip(sheet.columns, used, strict=True) if filled] or sheet.columns[:1]
    cells = [
        [_shown(cell, room) for cell, filled in zip(row, used, strict=True) if filled] or [""] for row in sheet.rows
    ]
    heads = [heading_of(c) for c in columns]
    widths = _widths(columns, heads, cells, room)
    table = _blocks(heads, cells, room) if widths is None else _table(columns, heads, cells, widths)
    return [*table, "", count]


def _shown(cell: str, room: int | None) -> str:
    form = safe_lines(cell.replace("\r\n", "\n"))
    return " ¶ ".join(form.split("\n")) if room is None else form


def _table(columns: Sequence[Column], heads: list[str], cells: list[list[str]], widths: Sequence[int]) -> list[str]:
    lines = _row(columns, heads, widths)
    lines.append((" " * _GAP).join("-" * w for w in widths))
    for row in cells:
        lines += _row(columns, row, widths)
    return lines


def _row(columns: Sequence[Column], row: Sequence[str], widths: Sequence[int]) -> list[str]:
    wrapped = [_wrapped(cell, w) for cell, w in zip(row, widths, strict=True)]
    lines = []
    for i in range(max(map(len, wrapped))):
        parts = [
            _aligned(w[i] if i < len(w) else "", width, c) for c, w, width in zip(columns, wrapped, widths, strict=True)
        ]
        lines.append((" " * _GAP).join(parts).rstrip())
    return lines


def _aligned(text: str, width: int, column: Column) -> str:
    blank = " " * (width - display_width(text))
    return blank + text if column.kind is Kind.NUMBER else text + blank


def _widths(columns: Sequence[Column], heads: list[str], cells: list[list[str]], room: int | None) -> list[int] | None:
    """Return a width for each column, or None where a table of that width would not be readable."""
    by_column = [[head, *column] for head, column in zip(heads, zip(*cells, strict=True), strict=True)]
    natural = [max(display_width(line) for cell in column for line in cell.split("\n")) for column in by_column]
    if room is None:
        return natural
    least = [
        n if c.kind is not Kind.TEXT and not _wraps(column[1:]) else min(n, max(_NARROWEST, _longest_word(column)))
        for c, n, column in zip(columns, map(_cells_width, by_column), by_column, strict=True)
    ]
    least = [max(wide, min(_longest_word([head]), _LONGEST_WORD)) for wide, head in zip(least, heads, strict=True)]
    spare = room - _GAP * (len(columns) - 1) - sum(least)
    if spare < 0:
        return None
    return _shared(least, natural, spare)


def _shared(least: list[int], natural: list[int], spare: int) -> list[int]:
    """Return the least widths with the spare cells given, one by one, to the column that lacks the most."""
    widths = list(least)
    for _ in range(spare):
        lack = [n - w for n, w in zip(natural, widths, strict=True)]
        if max(lack) <= 0:
            break
        widths[lack.index(max(lack))] += 1
    return widths


def _wraps(cells: Sequence[str]) -> bool:
    return any(" " in cell.strip() or len(cell) > _LONGEST_WORD + 10 for cell in cells)


def _cells_width(column: Sequence[str]) -> int:
    return max((display_width(line) for cell in column[1:] for line in cell.split("\n")), default=0)


def _longest_word(cells: Sequence[str]) -> int:
    words = (display_width(word) for cell in cells for word in cell.split())
    return min(max(words, default=1), _LONGEST_WORD)


def _blocks(heads: list[str], cells: list[list[str]], room: int | None) -> list[str]:
    """Return each row as lines of name and value: what is left when a table would be too narrow to read."""
    name_width = min(max(map(display_width, heads)), (room or 80) // 3)
    value_width = (room or 80) - name_width - _GAP
    lines: list[str] = []
    for row in cells:
        for head, cell in zip(heads, row, strict=True):
            if not cell:
                continue
            names, values = _wrapped(head, name_width), _wrapped(cell, value_width)
            for i in range(max(len(names), len(values))):
                name = names[i] if i < len(names) else ""
                value = values[i] if i < len(values) else ""
                lines.append(name + " " * (name_width - display_width(name) + _GAP) + value)
        lines.append("")
    return lines[:-1]


def folded(line: str, room: int | None) -> str:
    """Return a line as lines at most `room` cells wide, hung under its own indent; None means a pipe and leaves it whole."""
    if room is None or display_width(line) <= room:
        return line
    indent = min(len(line) - len(line.lstrip(" ")), room // 2)
    first, *more = _wrapped(line.strip(" "), max(room - indent - 2, 8))
    return "\n".join([" " * indent + first, *(" " * (indent + 2) + part for part in more)])


def _hung(note: str, room: int | None) -> list[str]:
    lines = _wrapped(safe_lines(note), None if room is None else room - 2)
    return [("- " if i == 0 else "  ") + line for i, line in enumerate(lines)]


def _wrapped(text: str, width: int | None) -> list[str]:
    """Return the text's lines, each at most `width` cells wide; words are broken only where they do not fit."""
    if width is None:
        return text.split("\n")
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            joined = f"{line} {word}" if line else word
            if display_width(joined) <= width:
                line = joined
                continue
            if line:
                lines.append(line)
            *full, line = _pieces(word, width)
            lines += full
        lines.append(line)
    return lines


def _pieces(word: str, width: int) -> list[str]:
    pieces = [""]
    for character in word:
        if pieces[-1] and display_width(pieces[-1] + character) > width:
            pieces.append("")
        pieces[-1] += character
    return pieces
