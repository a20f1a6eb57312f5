"""The face of pencil probe P-202 wears: responses rise slowly, shallow notches most, on both setups that use it."""

from datetime import date

from ..responses import Happening

_FINAL_DB = {"0.2 mm": 1.9, "0.5 mm": 1.6, "1.0 mm": 1.35, "1.5 mm": 1.2, "2.0 mm": 1.1}
HAPPENINGS = (Happening("P-202", _FINAL_DB, date(2025, 3, 1), until=date(2026, 3, 9)),)
