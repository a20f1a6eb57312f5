"""The workbook, read by an independent reader (openpyxl): types, formats, no formula, same bytes."""

import io
import zipfile
from dataclasses import replace
from datetime import datetime
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import Refusal
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.printing.xlsx import MOST_CHARACTERS, to_xlsx
from tests.printing.readers import for_machines, of_xlsx
from tests.printing.sheets import due_sheet, hard_sheet


def book(sheet: Sheet) -> Any:
    return openpyxl.load_workbook(io.BytesIO(to_xlsx(sheet)))


def of_one(cell: str, kind: Kind, zone: str = "UTC") -> Any:
    sheet = replace(due_sheet(1), columns=(Column("a", "A", kind),), rows=((cell,),), zone=zone)
    return book(sheet)["Report"]["A2"]


def test_the_hard_sheet_comes_back_cell_for_cell() -> None:
    sheet = hard_sheet()
    assert of_xlsx(to_xlsx(sheet), sheet) == for_machines(sheet)


@pytest.mark.parametrize(
    ("cell", "value", "form"),
    [("0.500", 0.5, "0.000"), ("−1.25", -1.25, "0.00"), ("12", 12, "0"), ("+0.42", 0.42, "+0.00;-0.00")],
)
def test_a_number_is_a_number_and_shows_its_digits_as_written(cell: str, value: float, form: str) -> None:
    found = of_one(cell, Kind.NUMBER)
    assert (found.value, found.data_type, found.number_format) == (value, "n", form)


@pytest.mark.parametrize(
    "cell", ["1e-7", "007", "0.1234567890123456789", "-0.00", "+0", "≥ 10", "12345678901234567890"]
)
def test_a_number_that_would_not_come_back_digit_for_digit_stays_text(cell: str) -> None:
    assert (of_one(cell, Kind.NUMBER).value, of_one(cell, Kind.NUMBER).data_type) == (cell, "s")


def test_a_date_is_a_date_and_an_instant_a_time_in_the_labs_zone_with_its_offset() -> None:
    day, instant = of_one("2026-03-29", Kind.DATE), of_one("2026-10-25T01:30:15Z", Kind.INSTANT, "Europe/Vienna")
    assert (day.value, day.number_format, day.is_date) == (datetime(2026, 3, 29), "yyyy-mm-dd", True)  # noqa: DTZ001
    assert instant.value == datetime(2026, 10, 25, 2, 30, 15)  # noqa: DTZ001
    assert instant.number_format == 'yyyy-mm-dd hh:mm "+01:00"'  # the other 02:30 of that night is +02:00
    assert [of_one(odd, Kind.DATE).value for odd in ("2026-02-30", "1899-12-31", "never")] == [
        *("2026-02-30", "1899-12-31", "never"),
    ]


@given(st.text(alphabet="=+-@'\t＝{}ax1 ", max_size=8))
def test_text_never_becomes_a_formula_a_number_or_a_link(text: str) -> None:
    found = of_one(text, Kind.TEXT)
    assert found.data_type in "sn"
    assert found.data_type == "s" or found.value is None
    assert found.value in (None, text.replace("\t", "\ufffd"))
    assert found.quotePrefix or not text.startswith(tuple("=+-@"))


@pytest.mark.parametrize(
    "text", ["https://example.org", "{=1+1}", "mailto:x", "internal:About!A1", "1", "TRUE", "_x0041_"]
)
def test_text_that_looks_like_something_else_stays_text(text: str) -> None:
    found = of_one(text, Kind.TEXT)
    assert (found.data_type, found.hyperlink) == ("s", None)
    if not text.startswith("_x"):  # escaped in the file as ISO/IEC 29500 asks; openpyxl shows the escaped form
        assert found.value == text


def test_nothing_inside_can_run_or_fetch() -> None:
    parts = zipfile.ZipFile(io.BytesIO(to_xlsx(hard_sheet())))
    assert not [n for n in parts.namelist() if "vba" in n or "external" in n or n.endswith(".bin")]
    inside = b"".join(parts.read(n) for n in parts.namelist())
    assert b"<f>" not in inside
    assert b"TargetMode" not in inside


def test_where_the_rows_come_from_stands_on_the_second_worksheet_and_in_the_properties() -> None:
    found = book(hard_sheet())
    assert found.sheetnames == ["Report", "About"]
    about = {row[0].value: row[1].value for row in found["About"].iter_rows()}
    assert about["head of the log"].startswith("812:3f9a2c7b41de0011")
    assert about["answered"] == "as at 2026-11-25T09:30:00+00:00 (UTC), day 2026-11-25"
    assert (about["rules version"], about["form"], about["within"], about["rows"]) == (
        "3",
        "refstd.hard/1",
        "90 days",
        "18",
    )
    assert found.properties.created == datetime(2026, 11, 25, 9, 30)  # noqa: DTZ001 (openpyxl gives it without a zone)
    assert found["Report"].print_title_rows == "$1:$1"


def test_a_text_that_no_cell_can_hold_is_refused_and_not_cut() -> None:
    with pytest.raises(Refusal, match="row 1, column 1"):
        of_one("x" * (MOST_CHARACTERS + 1), Kind.TEXT)
    assert len(of_one("x" * MOST_CHARACTERS, Kind.TEXT).value) == MOST_CHARACTERS
