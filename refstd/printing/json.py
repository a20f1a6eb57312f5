"""A Sheet as JSON, for scripts: decimals as strings, empty figures as null, the same bytes each time."""

import json
import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from refstd.base.quantity import plain
from refstd.base.text import safe
from refstd.printing.sheet import Column, Kind, Sheet

_MEMBERS = (
    *("schema", "title", "lab", "as_at", "zone", "day", "log_sequence", "log_hash", "rules_version"),
    *("scope", "rows", "notes"),
)
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")


def as_number(cell: str) -> str | None:
    """Return the cell of a number column in the form machines read (U+2212 as '-'), or None if it is no number."""
    form = cell.strip().replace("−", "-", 1)
    return form if _NUMBER.fullmatch(form) else None


def to_json(sheet: Sheet) -> str:
    """Return the sheet as JSON text with a line end at its end.

    Members stand in one order: schema, title, lab, as_at, zone, day, log_sequence, log_hash, rules_version, scope, rows,
    notes, then the sheet's extra members. A row is an object by column key. Every cell is a string as kept, so that
    0.500 keeps its digits; an empty cell of a number, date or instant column is null. Letters stand as they are;
    control, bidirectional and invisible characters are written as \\uXXXX, so nothing is lost and nothing reaches a
    terminal raw.
    """
    rows = [{c.key: _cell(c, cell) for c, cell in zip(sheet.columns, row, strict=True)} for row in sheet.rows]
    members: dict[str, object] = {name: getattr(sheet, name) for name in _MEMBERS}
    members |= {"scope": dict(sheet.scope), "rows": rows, "notes": list(sheet.notes)}
    taken = members.keys() & sheet.extra.keys()
    assert not taken, f"extra members of {sheet.schema} would replace {sorted(taken)}"
    return json_text(members | sheet.extra)


def json_text(members: Mapping[str, object]) -> str:
    """Return an answer as JSON text in the form that sheets have, with a line end at its end."""
    text = json.dumps(members, ensure_ascii=False, allow_nan=False, indent=1, default=_as_text)
    return _escaped(text) + "\n"


def _cell(column: Column, cell: str) -> str | None:
    if column.kind is not Kind.TEXT and not cell.strip():
        return None
    if column.kind is Kind.NUMBER:
        return as_number(cell) or cell
    return cell


def _as_text(value: object) -> str:
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, date):  # a datetime is one too
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no form in our JSON; give text")


def _escaped(text: str) -> str:
    """Return JSON text with the characters that may not be shown as escapes; the line ends between members stay."""
    for character in sorted(set(text) - {"\n", "\ufffd"}):
        if safe(character) != character:
            text = text.replace(character, f"\\u{ord(character):04x}")
    return text
