"""Instants as people read them: in the lab's zone, with the offset. Kept, and in JSON, they stay UTC."""

import re
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from refstd.printing.sheet import Sheet

_KEPT = re.compile(r"\b[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]{1,6})?Z\b")


def in_zone(text: str, zone: str) -> str:
    """Return a text with each instant that is written as kept, to the minute in a zone: 2026-03-09 08:12 +01:00.

    The offset tells the two 01:30 of the night apart in which the clocks go back.
    """
    return _KEPT.sub(lambda kept: _to_the_minute(_moment(kept[0], zone)), text)


def sheet_in_zone(sheet: Sheet) -> Sheet:
    """Return a sheet with every instant of its rows, scope and notes in the lab's zone."""
    return replace(
        sheet,
        rows=tuple(tuple(in_zone(cell, sheet.zone) for cell in row) for row in sheet.rows),
        scope=tuple((name, in_zone(value, sheet.zone)) for name, value in sheet.scope),
        notes=tuple(in_zone(note, sheet.zone) for note in sheet.notes),
    )


def stand_of(sheet: Sheet) -> str:
    """Return for which instant and day a sheet answers. The instant is whole, in a form that --as-at reads."""
    return f"as at {_moment(sheet.as_at, sheet.zone).isoformat()} ({sheet.zone}), day {sheet.day}"


def _to_the_minute(moment: datetime) -> str:
    form = moment.isoformat(" ", "minutes")
    return f"{form[:16]} {form[16:]}"


def _moment(kept: str, zone: str) -> datetime:
    return datetime.fromisoformat(kept).astimezone(ZoneInfo(zone))
