"""CSV and JSON for other programs, read back with readers that are not ours."""

import csv
import io
import json
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import WrongUsage
from refstd.base.text import safe_lines
from refstd.printing import ENDINGS, render
from refstd.printing.csv import as_written, guarded, to_csv
from refstd.printing.json import to_json
from refstd.printing.local import in_zone
from refstd.printing.sheet import Column, Kind
from tests.printing.sheets import due_sheet, hard_sheet

PAYLOADS = ["=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1", "\r=1", "\n=1", "＝1", "＋1", "－1", "＠x", "'=1", "''=1"]


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def test_csv_is_rfc_4180_with_the_keys_as_header() -> None:
    # RFC 4180, section 2: lines end in CRLF; each has the same number of fields. (MEMORY)
    text = to_csv(due_sheet())
    assert text.startswith("asset_no,kind,description,activity,last_on,due_on,days_left,state,source\r\n")
    assert text.count("\r\n") == text.count("\n") == 61
    assert {len(row) for row in read(text)} == {9}


def test_csv_read_back_strictly_gives_the_cells_but_for_the_apostrophe() -> None:
    sheet = hard_sheet()
    _, *rows = read(to_csv(sheet))
    assert len(rows) == len(sheet.rows)
    for got, row in zip(rows, sheet.rows, strict=True):
        if not row[1].startswith("\t"):  # a tab becomes U+FFFD; the next test has it
            assert as_written(got[1]) == safe_lines(row[1])
        assert got[3:] == [row[3], in_zone(row[4], "UTC")]


@pytest.mark.parametrize("payload", PAYLOADS)
def test_csv_cells_that_a_spreadsheet_could_run_get_an_apostrophe(payload: str) -> None:
    sheet = replace(due_sheet(1), columns=(Column("a", "A"), Column("b", "B")), rows=((payload, "x"),))
    assert read(to_csv(sheet))[1][0].startswith("'")


@given(st.text(alphabet="'=+-@\t\r\n＝ax ", max_size=6))
def test_csv_the_apostrophe_comes_off_exactly_as_it_went_on(text: str) -> None:
    assert as_written(guarded(text)) == text
    assert not guarded(text).startswith(tuple("=+-@\t\r\n＝"))


def test_csv_numbers_stay_numbers_and_a_formula_in_a_number_column_does_not_run() -> None:
    figures = [row[2] for row in read(to_csv(hard_sheet()))[1:7]]
    assert figures == ["-0.42", "0.500", "", "-1.25", "≥ full screen", "'=1+1"]
    assert [Decimal(f) for f in (figures[0], figures[3])] == [Decimal("-0.42"), Decimal("-1.25")]


def test_json_has_its_members_in_order_with_decimals_as_written_and_empty_figures_null() -> None:
    text = to_json(hard_sheet())
    assert text.endswith("}\n")
    read_back = json.loads(text)
    assert list(read_back) == [
        *("schema", "title", "lab", "as_at", "zone", "day", "log_sequence", "log_hash", "rules_version"),
        *("scope", "rows", "notes", "spread_db", "counts"),
    ]
    assert read_back["log_sequence"] == 812
    assert read_back["spread_db"] == "0.500"
    assert read_back["scope"] == {"within": "90 days", "site": "*all*"}
    first, second, third = read_back["rows"][:3]
    assert list(first) == ["asset_no", "remark", "deviation_db", "due_on", "read_at"]
    assert (first["deviation_db"], second["deviation_db"], third["deviation_db"]) == ("-0.42", "0.500", None)
    assert (first["due_on"], second["due_on"]) == (None, "2026-11-25")
    assert read_back["rows"][-1]["remark"] == ""


def test_json_loses_no_character_and_shows_none_raw_that_steers_a_terminal() -> None:
    sheet = hard_sheet()
    text = to_json(sheet)
    assert [row["remark"] for row in json.loads(text)["rows"]] == [row[1] for row in sheet.rows]
    assert not set("\x07\x1b\x9b\x00\u202e\u200b") & set(text)
    assert "日本" in text


@given(st.text(alphabet=st.characters(), max_size=30))
def test_json_gives_back_any_text_and_can_always_be_encoded(text: str) -> None:
    sheet = replace(due_sheet(1), columns=(Column("a", "A"),), rows=((text,),))
    assert json.loads(to_json(sheet).encode("utf-8"))["rows"] == [{"a": text}]


def test_json_extra_members_may_be_decimals_and_dates_but_never_not_a_number() -> None:
    sheet = replace(due_sheet(1), extra={"limit_mm": Decimal("1E+2"), "on": date(2026, 11, 25)})
    read_back = json.loads(to_json(sheet))
    assert (read_back["limit_mm"], read_back["on"]) == ("100", "2026-11-25")
    with pytest.raises(ValueError, match="JSON compliant"):
        to_json(replace(sheet, extra={"x": float("nan")}))


def test_json_extra_members_cannot_replace_the_sheets_own() -> None:
    with pytest.raises(AssertionError, match="rows"):
        to_json(replace(due_sheet(1), extra={"rows": []}))


def test_the_same_cells_stand_in_every_format() -> None:
    sheet = due_sheet()
    csv_rows = read(render(sheet, "csv").decode())[1:]
    json_rows = [list(row.values()) for row in json.loads(render(sheet, ".JSON"))["rows"]]
    text = render(sheet, "txt").decode()
    assert csv_rows == json_rows == [list(row) for row in sheet.rows]
    for row in sheet.rows:
        line = next(line for line in text.split("\n") if line.startswith(row[0]))
        assert [cell in line for cell in row] == [True] * len(row)


@pytest.mark.parametrize("ending", ENDINGS)
def test_every_format_gives_the_same_bytes_twice(ending: str) -> None:
    assert render(hard_sheet(), ending) == render(hard_sheet(), ending)


@pytest.mark.parametrize("ending", ["doc", "", "[x]\x1b"])
def test_an_unknown_ending_is_refused_with_those_that_work(ending: str) -> None:
    with pytest.raises(WrongUsage) as refusal:
        render(due_sheet(1), ending)
    assert refusal.value.remedy == "End the file's name in one of .txt, .csv, .json, .xlsx, .html, .pdf."
    assert "\x1b" not in str(refusal.value)


def test_a_number_column_keeps_a_blank_cell_empty_in_csv() -> None:
    sheet = replace(due_sheet(1), columns=(Column("a", "A", Kind.NUMBER), Column("b", "B")), rows=(("", ""),))
    assert to_csv(sheet) == "a,b\r\n,\r\n"
