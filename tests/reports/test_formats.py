"""Every report in every form holds the same cells: read by readers that are not ours."""

import pytest

from refstd.desk.store import Lab
from refstd.printing import ENDINGS, render
from refstd.printing.sheet import Sheet
from refstd.reports import LISTS, REPORTS
from tests.printing import readers
from tests.reports.small_lab import ASKED

ARGUMENTS: dict[str, list[dict[str, object]]] = {
    "item": [{"asset_no": number} for number in ("B-1", "P-1", "I-1", "A-1")],
    "job": [{"job": "J-3"}],
    "traceability": [{"job": "J-3"}],
    "match": [{"job": "J-2"}],
    "kit": [{"about": ("J-1", "B-1", "P-1", "I-1")}],
    "lookback": [{"about": ("B-1",)}],
    "status": [{"asset_nos": ["B-1", "P-1", "I-1"]}],
    "check": [{"number": "C-0005"}],
}
EMPTY = (
    "reservations",
    "shortages",
    "suspects",
    "swaps",
    "comparisons",
    "reviews",
    "issued",
    "tolerances",
    "qualifications",
    "vision_tests",
)
ALL = {**LISTS, **REPORTS}


def disagreeing(sheet: Sheet) -> list[str]:
    """Return the forms whose cells are not those of the sheet."""
    wanted = readers.as_read(sheet)
    machine = readers.for_machines(sheet)
    found = {
        "csv": readers.of_csv(render(sheet, "csv")) == machine,
        "json": readers.of_json(render(sheet, "json")) == machine,
        "xlsx": readers.of_xlsx(render(sheet, "xlsx"), sheet) == machine,
        "html": readers.of_html(render(sheet, "html")) == wanted,
        "txt": readers.of_text(render(sheet, "txt"), sheet) == wanted,
        "pdf": not readers.missing_on_paper(render(sheet, "pdf"), sheet),
    }
    assert set(found) == set(ENDINGS), "a form has no reader here"
    return [form for form, agrees in found.items() if not agrees]


@pytest.mark.parametrize("name", ALL)
def test_every_form_of_a_report_holds_the_same_cells(small: Lab, name: str) -> None:
    """Planted bug that it caught: a workbook that kept 0.500 as 0.5."""
    shown = 0
    for about in ARGUMENTS.get(name, [{}]):
        sheet = ALL[name][1](small, ASKED, **about)
        assert disagreeing(sheet) == []
        shown += len(sheet.rows)
    assert shown or name in EMPTY, "the small lab has nothing to show here"


def test_a_check_draws_its_readings_on_the_impedance_plane_as_they_were_read(small: Lab) -> None:
    sheet = REPORTS["check"][1](small, ASKED, number="C-0016")
    (plane,) = sheet.charts
    assert plane.plane
    drawn = {s.name: f"horizontal {s.x[1]:g}, vertical {s.y[1]:g} % FSH (as seen)" for s in plane.series}
    assert drawn == {row[2]: row[3] for row in sheet.rows if row[0] == "reading"}
