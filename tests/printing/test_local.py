"""Instants as people read them. The European Union's clocks change on the last Sundays of March and October at 01:00 UTC.

Source: Directive 2000/84/EC, articles 2 and 3 (MEMORY).
"""

import json
from dataclasses import replace
from datetime import datetime

import pytest

from refstd.printing import render
from refstd.printing.local import in_zone
from tests.printing.sheets import hard_sheet


@pytest.mark.parametrize(
    ("kept", "shown"),
    [
        ("2026-03-09T07:12:59Z", "2026-03-09 08:12 +01:00"),
        ("2026-03-29T00:59:59Z", "2026-03-29 01:59 +01:00"),
        ("2026-03-29T01:00:00Z", "2026-03-29 03:00 +02:00"),
        ("2026-10-25T00:30:00Z", "2026-10-25 02:30 +02:00"),
        ("2026-10-25T01:30:00.000000Z", "2026-10-25 02:30 +01:00"),  # the second 02:30 of that night
        ("2026-12-31T23:30:00Z", "2027-01-01 00:30 +01:00"),
    ],
)
def test_an_instant_is_shown_in_the_zone_with_its_offset(kept: str, shown: str) -> None:
    assert in_zone(kept, "Europe/Berlin") == shown
    assert in_zone(f"returned {kept}: tip worn", "Europe/Berlin") == f"returned {shown}: tip worn"


def test_only_what_is_written_as_an_instant_is_kept_is_taken_for_one() -> None:
    for text in ("2026-03-09", "2026-03-09T07:12", "2026-03-09T07:12:59", "X2026-03-09T07:12:59Z", "C-0009Z"):
        assert in_zone(text, "Europe/Berlin") == text


def test_people_read_the_labs_time_in_every_form_and_machines_utc_with_the_zone_named() -> None:
    """Planted bug it caught: CSV written from the cells as kept, beside text in the lab's time."""
    sheet = replace(hard_sheet(), zone="Europe/Berlin", notes=("read at 2026-07-01T06:00:00Z",))
    for ending in ("txt", "csv"):
        form = render(sheet, ending).decode()
        assert "2026-11-25 09:00 +01:00" in form
        assert "T08:00:00Z" not in form
    text = render(sheet, "txt").decode()
    assert "read at 2026-07-01 08:00 +02:00" in text
    kept = json.loads(render(sheet, "json"))
    assert (kept["zone"], kept["as_at"]) == ("Europe/Berlin", "2026-11-25T09:30:00Z")
    assert {row["read_at"] for row in kept["rows"]} == {"2026-11-25T08:00:00Z"}
    # what stands at the head can be given to --as-at as it is, and is the same instant
    head = text.split("as at ")[1].split(" ")[0]
    assert datetime.fromisoformat(head) == datetime.fromisoformat(kept["as_at"])
