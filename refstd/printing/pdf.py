"""A Sheet as a PDF for the archive: PDF/A-3a, landscape A4, with the same data attached as JSON.

The renderer is typst; the page is drawn by templates/sheet.typ. Text reaches it only as JSON data, so nothing in a
remark can become markup. Only the fonts inside typst are used and the date is the as-at instant, so that the same
sheet gives the same bytes on every machine with the same release of typst.
"""

import json
import re
import unicodedata
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from refstd.base.errors import Refusal
from refstd.base.text import safe_lines
from refstd.printing.json import as_number, to_json
from refstd.printing.local import sheet_in_zone, stand_of
from refstd.printing.plot import drawn
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.printing.text import heading_of, log_head
from refstd.printing.typeset import compiled, lacking_of, let_go, shower, signs_of, template

MOST_ROWS = 2000  # typst keeps every row in memory: about 430 MB for 2,000 rows of 12 columns
_USABLE_MM = 273  # of A4's 297 mm


@dataclass(frozen=True, slots=True)
class _Type:
    """The size in which a table is set: points, the blank at each side of a cell, and a generous mean of a character."""

    points: float
    inset_mm: float
    character_mm: float

    @property
    def em_mm(self) -> float:
        return 3.0 * self.points / 8.5


_LARGE, _SMALL = _Type(8.5, 2.0, 1.75), _Type(7.0, 1.2, 1.44)  # the small one only where the large one has no room
NO_SIGN_NOTE = (
    "A character that the fonts of this document have no sign for is printed as <U+XXXX>, its number in Unicode; "
    "the attached data holds it as it was written."
)


def to_volumes(sheet: Sheet) -> list[bytes]:
    """Return the sheet as PDF/A-3a files of at most 2,000 rows each.

    Every volume has the heading, the notes and its own rows as attached data; the charts stand in the last one.
    """
    starts = range(0, max(len(sheet.rows), 1), MOST_ROWS)
    volumes = []
    for number, start in enumerate(starts, 1):
        if number > 1:
            let_go()
        part = replace(
            sheet,
            rows=sheet.rows[start : start + MOST_ROWS],
            charts=sheet.charts if number == len(starts) else (),
            extra=sheet.extra if number == 1 else {},
        )
        if len(starts) > 1:
            rows = f"{start + 1} to {start + len(part.rows)} of {len(sheet.rows)}"
            part = replace(part, scope=(*sheet.scope, ("rows of this volume", rows)))
        volumes.append(_of_volume(part, f"volume {number} of {len(starts)}" if len(starts) > 1 else ""))
    return volumes


def to_pdf(sheet: Sheet) -> bytes:
    """Return the sheet as the bytes of one PDF/A-3a file.

    A character without a glyph in the fonts is printed as <U+XXXX> and a note says so. Raises Refusal for more than
    2,000 rows, which are several volumes, and for what the renderer refuses or warns of.
    """
    if len(sheet.rows) > MOST_ROWS:
        raise Refusal(
            f"{len(sheet.rows)} rows are too many for one PDF, at most {MOST_ROWS} fit",
            sheet.schema,
            "Write it as a report, in volumes; or take csv or xlsx, or narrow the question.",
        )
    return to_volumes(sheet)[0]


def _of_volume(sheet: Sheet, volume: str) -> bytes:
    attached = to_json(sheet)
    sheet = sheet_in_zone(sheet)
    signs = _foreign_signs(sheet)
    lacking = lacking_of(tuple(sorted(signs)))
    # Seldom a mark has a glyph by itself but not after its neighbour. Then all marks go, at worst all foreign signs.
    marked = frozenset(sign for sign in signs if any(unicodedata.category(c).startswith("M") for c in sign))
    for replaced in (lacking, lacking | marked):
        with suppress(Refusal):
            return _printed(sheet, attached, volume, replaced)
    return _printed(sheet, attached, volume, signs)


def _printed(sheet: Sheet, attached: str, volume: str, replaced: frozenset[str]) -> bytes:
    page = json.dumps(_page(sheet, volume, replaced), allow_nan=False)
    return compiled(template("sheet"), {"page": page, "attached": attached}, sheet.as_at)


def _page(sheet: Sheet, volume: str, lacking: frozenset[str]) -> dict[str, object]:
    """Return everything the template prints; signs in `lacking` as their numbers."""
    stand = datetime.fromisoformat(sheet.as_at).astimezone(UTC)
    show = shower(lacking)
    charts = [_texts_shown(drawn(chart), show) for chart in sheet.charts]
    face = _face_for(sheet)
    widths = column_widths_mm(sheet)
    rooms = [width - 2 * face.inset_mm for width in widths]
    return {
        "usable-mm": _USABLE_MM,
        "inset-mm": face.inset_mm,
        "points": face.points,
        "date": [stand.year, stand.month, stand.day, stand.hour, stand.minute, stand.second],
        "file": f"{re.sub('[^A-Za-z0-9]+', '-', sheet.schema).strip('-') or 'sheet'}.json",
        "title": show(sheet.title),
        "volume": f" · {volume}" if volume else "",
        "lab": show(sheet.lab),
        "as_at": show(stand_of(sheet)),
        "log": show(f"{log_head(sheet)} · rules version {sheet.rules_version}"),
        "scope": [[show(name), show(value)] for name, value in sheet.scope],
        "columns": [
            {"title": _fitted(show(heading_of(c)), room, face), "width": width, "number": c.kind is Kind.NUMBER}
            for c, room, width in zip(sheet.columns, rooms, widths, strict=True)
        ],
        "rows": [
            [_fitted(show(_cell(c, cell)), room, face) for c, cell, room in zip(sheet.columns, row, rooms, strict=True)]
            for row in sheet.rows
        ],
        "charts": charts,
        "notes": [show(note) for note in (*sheet.notes, *((NO_SIGN_NOTE,) if lacking else ()))],
    }


_LONG_WORD = 15  # a longer one may be broken, so that one serial number does not rule the page


def column_widths_mm(sheet: Sheet) -> list[float]:
    """Return the columns' widths: their share of the page, but room for every date, number and heading word unbroken.

    What a narrow column needs more is taken from the others in proportion to what they have beyond their own need; where
    the page is too narrow for all, the shares stand and long words are broken.
    """
    share = _USABLE_MM / sum(c.width for c in sheet.columns)
    wanted = [c.width * share for c in sheet.columns]
    needed = _needed_mm(sheet, _face_for(sheet))
    if sum(needed) >= _USABLE_MM:
        return wanted
    lacking = sum(max(0.0, need - want) for need, want in zip(needed, wanted, strict=True))
    spare = sum(max(0.0, want - need) for need, want in zip(needed, wanted, strict=True))
    taken = lacking / spare if spare else 0.0
    return [need if need > want else want - (want - need) * taken for need, want in zip(needed, wanted, strict=True)]


def _face_for(sheet: Sheet) -> _Type:
    return _LARGE if sum(_needed_mm(sheet, _LARGE)) < _USABLE_MM else _SMALL


def _needed_mm(sheet: Sheet, face: _Type) -> list[float]:
    return [_least_mm(c, [row[i] for row in sheet.rows], face) for i, c in enumerate(sheet.columns)]


def _least_mm(column: Column, cells: list[str], face: _Type) -> float:
    """Return the width that keeps heading words whole, and dates, instants and numbers on one line."""
    words = heading_of(column).split()
    if column.kind is not Kind.TEXT:
        words += cells
    else:
        words += [word for cell in cells for word in cell.split() if len(word) <= _LONG_WORD]
    return max(map(len, words), default=0) * face.character_mm + 2 * face.inset_mm


def _cell(column: Column, cell: str) -> str:
    number = as_number(cell) if column.kind is Kind.NUMBER else None
    return cell if number is None else number.replace("-", "−")


def _fitted(text: str, room_mm: float, face: _Type) -> str | dict[str, str]:
    """Return the text, marked if a word in it may be wider than its column; the template measures the marked ones."""
    if len(text) * face.em_mm <= room_mm or all(_at_most_em(word) * face.em_mm <= room_mm for word in text.split()):
        return text
    return {"breakable": text}


def _at_most_em(word: str) -> float:
    """Return a width in em that the word does not exceed, from the widest letters of the two fonts."""
    return sum(1.35 if not c.isascii() else 1.05 if c in "mwMW@%" else 0.85 if c.isupper() else 0.75 for c in word)


def _texts_shown(value: object, show: Callable[[str], str]) -> object:
    if isinstance(value, str):
        return show(value)
    if isinstance(value, dict):
        return {name: _texts_shown(member, show) for name, member in value.items()}
    return [_texts_shown(member, show) for member in value] if isinstance(value, list) else value


def _foreign_signs(sheet: Sheet) -> frozenset[str]:
    """Return the signs of the sheet that are not ASCII."""
    texts = [sheet.title, sheet.lab, stand_of(sheet), sheet.log_hash, sheet.rules_version, *sheet.notes]
    texts += [text for pair in sheet.scope for text in pair]
    texts += [heading_of(c) for c in sheet.columns]
    texts += [cell for row in sheet.rows for cell in row]
    for chart in sheet.charts:
        texts += [chart.title, chart.y_title, chart.alt, *(s.name for s in chart.series)]
        texts += [label for label, _ in chart.lines]
        texts += [label for _, label in (*chart.ticks, *chart.marks, *chart.breaks)]
    foreign = {text for text in texts if not text.isascii()}
    return frozenset(sign for text in foreign for sign in signs_of(safe_lines(text)) if not sign.isascii())
