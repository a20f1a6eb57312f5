"""The face of pencil probe P-202 wears: responses rise slowly, shallow notches most, on both setups that use it.

Its tape is renewed twice meanwhile, which does not stop the wear under it.
"""

from collections.abc import Iterator
from datetime import date
from functools import partial

from refstd.desk.events import EventDraft, record_event

from ..responses import Happening
from ..telling import Event, Telling, at, draft

_FINAL_DB = {"0.2 mm": 1.9, "0.5 mm": 1.6, "1.0 mm": 1.35, "1.5 mm": 1.2, "2.0 mm": 1.1}
HAPPENINGS = (Happening("P-202", _FINAL_DB, date(2025, 3, 1), until=date(2026, 3, 9)),)
_TAPES = ((date(2024, 11, 18), "0.10"), (date(2025, 9, 1), "0.10"))


def events() -> Iterator[Event]:
    """Yield the renewed tapes, before the day's work."""
    for day, thickness_mm in _TAPES:
        yield Event(at(day, "06:40"), partial(_tape_renewed, thickness_mm))


def _tape_renewed(thickness_mm: str, telling: Telling) -> None:
    fields = {"asset_no": "P-202", "event": "tape renewed", "tape": "PTFE", "tape_thickness_mm": thickness_mm}
    telling.do(record_event, draft(EventDraft, **fields), by="TAM")
