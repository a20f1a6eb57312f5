"""The PDF, read by an independent reader (pypdf): text, pages, attachment, archive claims, same bytes."""

import ast
import io
import json
import math
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

import refstd
from refstd.base.errors import Refusal
from refstd.base.text import safe_lines
from refstd.printing import files_of, pdf
from refstd.printing.json import to_json
from refstd.printing.pdf import MOST_ROWS, NO_SIGN_NOTE, to_pdf
from refstd.printing.plot import drawn, nice_steps
from refstd.printing.sheet import Chart, Column, Kind, Series, Sheet
from refstd.printing.typeset import compiled, lacking_of
from tests.printing.sheets import LONG_WORD, SIGNS, due_sheet, hard_sheet


def read(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf), strict=True)


def text_of(reader: pypdf.PdfReader) -> str:
    return "\n".join(page.extract_text() for page in reader.pages)


def of_one_cell(cell: str, **changes: Any) -> Sheet:
    return replace(due_sheet(1), columns=(Column("a", "A"),), rows=((cell,),), charts=(), **changes)


def test_the_hard_sheet_is_printed_as_text_and_never_as_markup() -> None:
    text = text_of(read(to_pdf(hard_sheet())))
    for printed in (
        "Hard list [b]#x[/b]",
        "[red]x[/] *b* #panic() _u_ `c` $x$ @ref <label> \\ // https://example.org /* */ ~ -- ---",
        "=1+1",
        "≥ full screen",
        'quote " comma , semicolon ;',
        "within: 90 days · site: *all*",
        "bell\ufffd escape\ufffd[31m red",
        "log 812 3f9a2c7b41de · rules version 3",
        "as at 2026-11-25T09:30:00+00:00 (UTC), day 2026-11-25",
        "Limits as the procedure states them (para 5.2).",
    ):
        assert printed in text
    assert "".join(text.split()).count(LONG_WORD) == 1


def test_every_cell_of_a_long_list_is_on_paper_with_the_header_on_each_page() -> None:
    sheet = due_sheet(60)
    reader = read(to_pdf(sheet))
    words = " ".join(text_of(reader).split())
    for row in sheet.rows:
        assert " ".join(row).replace(" -", " −", 1) in words if row[6].startswith("-") else " ".join(row) in words
    pages = [page.extract_text() for page in reader.pages]
    assert len(pages) == 4
    for number, page in enumerate(pages, 1):
        assert f"page {number} of 4" in page
        assert "as at 2026-11-25T09:30:00+00:00 (UTC), day 2026-11-25 · log 812 3f9a2c7b41de · rules version 3" in page
        assert ("Interval from" in page) == (number < 4)


def test_the_data_is_attached_and_equals_the_json() -> None:
    for sheet in (hard_sheet(), due_sheet(2)):
        attached = read(to_pdf(sheet)).attachments
        assert {name: list(parts) for name, parts in attached.items()} == {
            sheet.schema.replace(".", "-").replace("/", "-") + ".json": [to_json(sheet).encode()]
        }


def test_the_file_claims_pdf_a_3a_and_carries_what_that_needs() -> None:
    # ISO 19005-3 (MEMORY): part and conformance in the XMP, an output intent, tags and a language, fonts embedded,
    # the attachment as an associated file with its relationship. No validator could be had; this looks at structure.
    reader = read(to_pdf(due_sheet(2)))
    root: Any = reader.trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp
    assert root["/OutputIntents"][0]["/S"] == "/GTS_PDFA1"
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"] == pypdf.generic.BooleanObject(True)
    assert root["/Lang"].startswith("en")
    assert root["/AF"][0].get_object()["/AFRelationship"] == "/Data"
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert {"/FontFile2", "/FontFile3"} & set(descriptor)


def test_the_chart_is_described_and_its_limits_are_labelled() -> None:
    pdf = to_pdf(due_sheet(2))
    page = read(pdf).pages[-1].extract_text()
    for label in (
        "upper limit +0.80 dB",
        "lower limit −0.80 dB",
        "centre 0.00 dB",
        "warning",
        "Deviation, dB",
        "beyond a limit",
    ):
        assert label in page
    assert not read(pdf).pages[-1].images  # drawn as lines, not as a picture


def test_the_date_in_the_file_is_the_instant_asked_for() -> None:
    assert read(to_pdf(of_one_cell("x"))).metadata["/CreationDate"] == "D:20261125093000Z"  # type: ignore[index]


def test_another_process_writes_the_same_bytes() -> None:
    code = (
        "import sys; from tests.printing.sheets import due_sheet; from refstd.printing import render; "
        "sys.stdout.buffer.write(render(due_sheet(30), 'pdf'))"
    )
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert other.stdout == to_pdf(due_sheet(30))


@pytest.mark.parametrize("weight", ["cell", "heading"])
def test_every_sign_that_refstd_prints_has_a_glyph(weight: str) -> None:
    """typst refuses a PDF/A with a missing glyph; a sign replaced by its number would show here."""
    sheet = of_one_cell(SIGNS) if weight == "cell" else of_one_cell("x", title=SIGNS, lab=SIGNS)
    text = " ".join(text_of(read(to_pdf(sheet))).split())
    assert SIGNS in text
    assert "<U+" not in text


def test_every_sign_in_the_programs_own_texts_has_a_glyph() -> None:
    """Planted bug that it caught: a sign of the private use area in a note of a report."""
    found = set()
    for path in Path(refstd.__file__).parent.rglob("*.py"):
        if "tui" not in path.parts:
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    found |= {c for c in safe_lines(node.value) if not c.isascii()}
    assert {"≥", "−", "µ"} <= found
    assert (
        lacking_of(tuple(sorted(found - {"\ufffd", *"＝＋－＠"}))) == frozenset()
    )  # looked for in what comes in, never printed


def test_a_character_without_glyph_is_printed_as_its_number_and_a_note_says_so() -> None:
    text = " ".join(text_of(read(to_pdf(of_one_cell("日本 😀 \ue000 ok")))).split())
    assert "<U+65E5><U+672C> <U+1F600> <U+E000> ok" in text
    assert NO_SIGN_NOTE in text
    assert NO_SIGN_NOTE not in " ".join(text_of(read(to_pdf(of_one_cell("ok")))).split())


@given(st.text(max_size=12))
def test_any_text_can_be_printed(text: str) -> None:
    assert len(read(to_pdf(of_one_cell(text, title=text or "x"))).pages) == 1


def test_a_mark_that_has_a_glyph_alone_but_not_after_its_neighbour_is_printed_as_its_number() -> None:
    text = text_of(read(to_pdf(of_one_cell(":\u0816 °", title=":\u0816"))))
    assert "<U+003A><U+0816> °" in text


def test_too_many_rows_are_refused_with_the_way_out() -> None:
    with pytest.raises(Refusal, match=f"{MOST_ROWS + 1} rows are too many") as refusal:
        to_pdf(due_sheet(MOST_ROWS + 1))
    assert refusal.value.remedy.startswith("Write it as a report, in volumes")


def test_a_warning_of_the_renderer_is_an_error() -> None:
    template = b'#set document(title: "x", date: datetime(year: 2026, month: 1, day: 1))\n#text(font: "no such", "x")'
    with pytest.raises(Refusal, match="no such"):
        compiled(template, {}, "2026-01-01T00:00:00Z")


def test_a_sheet_without_rows_or_with_a_bare_chart_is_printed() -> None:
    bare = Chart("Bare", "y", (Series("one", (1.0,), (2.0,)), Series("two", (), ()), Series("three", (1.0,), (3.0,))))
    text = text_of(read(to_pdf(replace(due_sheet(1), rows=(), charts=(bare,)))))
    assert "No rows." in text
    assert "Bare" in text


@given(
    st.lists(st.tuples(st.floats(-1e6, 1e6), st.one_of(st.floats(-1e6, 1e6), st.just(math.nan))), max_size=20),
    st.lists(st.floats(-1e6, 1e6), max_size=4),
)
def test_every_point_line_and_label_of_a_chart_lies_inside_its_frame(
    points: list[tuple[float, float]], lines: list[float]
) -> None:
    xs, ys = tuple(x for x, _ in points), tuple(y for _, y in points)
    chart: Any = drawn(Chart("t", "y", (Series("s", xs, ys),), tuple((str(v), v) for v in lines)))
    shown = [point for run in chart["series"][0]["runs"] for point in run]
    assert len(shown) == sum(math.isfinite(y) for y in ys)
    assert all(0 <= p["x"] <= 1 and 0 <= p["y"] <= 1 for p in shown)
    assert all(0 <= line["y"] <= 1 for line in chart["lines"])
    labels = [line["label_y"] for line in chart["lines"]]
    assert all(b - a >= 0.0549 for a, b in pairwise(labels))


def test_a_gap_in_the_readings_is_not_bridged_by_a_line() -> None:
    chart: Any = drawn(Chart("t", "y", (Series("s", (1.0, 2.0, 3.0), (1.0, math.nan, 1.0)),)))
    assert [len(run) for run in chart["series"][0]["runs"]] == [1, 1]


def test_a_break_ends_the_line_and_events_and_breaks_are_named_on_paper() -> None:
    """Planted bug that it caught: the line of points ran through the repair."""
    series = Series("s", (1.0, 2.0, 3.0, 4.0), (1.0, 1.1, 2.0, 2.1))
    chart = Chart("t", "y", (series,), marks=((1.5, "tape renewed"),), breaks=((3.0, "repaired"),))
    shown: Any = drawn(chart)
    assert [len(run) for run in shown["series"][0]["runs"]] == [2, 2]
    text = text_of(read(to_pdf(replace(due_sheet(1), charts=(chart,)))))
    assert "1: tape renewed" in text
    assert "repaired" in text


def test_a_table_of_many_columns_is_set_smaller_before_a_number_is_broken() -> None:
    """Planted bug that it caught: +1.61 stood on two lines."""
    many = tuple(Column(f"c{i}", "Deviation", Kind.NUMBER, "dB/year", 10) for i in range(20))
    sheet = replace(due_sheet(1), columns=many, rows=(("-1000.25",) * 20,), charts=())
    text = text_of(read(to_pdf(sheet)))
    assert text.count("−1000.25") == 20


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e5))
def test_axis_steps_are_round_and_neither_few_nor_many(low: float, span: float) -> None:
    values, places = nice_steps(low, low + span)
    assert 3 <= len(values) <= 15
    assert all(abs(float(f"{v:.{places}f}") - v) <= 1e-6 * max(1.0, abs(v)) for v in values)


def test_kinds_do_not_change_what_a_text_column_shows() -> None:
    sheet = replace(
        due_sheet(1),
        columns=(Column("a", "A"), Column("b", "B", Kind.NUMBER, "dB")),
        rows=(("-0.50", "-0.50"),),
        charts=(),
    )
    text = text_of(read(to_pdf(sheet)))
    assert "B (dB)" in text
    assert "-0.50 −0.50" in text


def test_more_rows_than_a_volume_holds_come_in_volumes_with_pages_and_volumes_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Planted bug that it caught: the rows of the second volume began one too late."""
    monkeypatch.setattr(pdf, "MOST_ROWS", 20)
    sheet = due_sheet(45)
    found = files_of(sheet, "due.PDF")
    assert list(found) == ["due-1of3.PDF", "due-2of3.PDF", "due-3of3.PDF"]
    readers = [read(content) for content in found.values()]
    attached: list[str] = []
    for number, reader in enumerate(readers, 1):
        pages = [page.extract_text() for page in reader.pages]
        for i, page in enumerate(pages, 1):
            assert f"page {i} of {len(pages)} · volume {number} of 3" in page
        assert "Due dates: last date of calibration plus the interval" in " ".join(pages[-1].split())
        (content,) = next(iter(reader.attachments.values()))
        attached += [row["asset_no"] for row in json.loads(content)["rows"]]
    assert attached == [row[0] for row in sheet.rows]
    assert "rows of this volume: 41 to 45 of 45" in text_of(readers[2])
    assert ["upper limit" in text_of(reader) for reader in readers] == [False, False, True]
    assert list(files_of(due_sheet(20), "due.pdf")) == ["due.pdf"]
    assert list(files_of(sheet, "due.csv")) == ["due.csv"]
