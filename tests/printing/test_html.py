"""The HTML page, read by two parsers that are not ours (html.parser, lxml)."""

import io
from dataclasses import replace

import lxml.html
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.printing.html import to_html
from refstd.printing.pdf import to_pdf
from refstd.printing.sheet import Chart, Series
from tests.printing.readers import Cells, as_read, of_html
from tests.printing.sheets import due_sheet, hard_sheet

HARMLESS = {
    "html",
    "head",
    "meta",
    "title",
    "style",
    "body",
    "h1",
    "h2",
    "p",
    "br",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "ul",
    "li",
    "figure",
    "figcaption",
    "span",
    "svg",
    "text",
    "line",
    "rect",
    "polyline",
    "polygon",
    "path",
    "circle",
    "g",
}
ATTACKS = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</td></table><iframe src=//example.org>",
    "</style><style>@import '//example.org'</style>",
    "&lt;script&gt; &amp; &#60;b&#62;",
    "]]><!-- --><svg onload=alert(1)>",
    "javascript:alert(1)",
)


def test_both_parsers_find_the_cells_of_the_sheet() -> None:
    for sheet in (hard_sheet(), due_sheet()):
        page = to_html(sheet)
        assert of_html(page.encode()) == as_read(sheet)
        rows = lxml.html.document_fromstring(page).findall(".//tbody/tr")
        assert [[str(td.text_content()) for td in row] for row in rows] == as_read(sheet)


@pytest.mark.parametrize("attack", ATTACKS)
def test_nothing_that_somebody_typed_becomes_markup(attack: str) -> None:
    """Planted bug that it caught: a chart's title written without escaping."""
    point = Series(attack, (1.0,), (9.0,), (True,))
    chart = Chart(
        attack,
        attack,
        (point,),
        ((attack, 1.0),),
        ((1.0, attack),),
        attack,
        marks=((1.0, attack),),
        breaks=((1.0, attack),),
    )
    sheet = replace(
        due_sheet(1),
        title=attack,
        lab=attack,
        rows=((attack,) * 9,),
        scope=((attack, attack),),
        notes=(attack,),
        charts=(chart,),
    )
    found = Cells(to_html(sheet).encode())
    assert {tag for tag, _ in found.tags} <= HARMLESS
    assert not [name for _, names in found.tags for name in names if name.startswith("on") or name in ("src", "href")]
    assert found.text.count(attack) == 1 + 1 + 1 + 9 + 2 + 1 + 7  # title, h1, lab, cells, scope, note, chart
    assert [names for tag, names in found.tags if tag == "svg" and names.get("aria-label") == attack]


@given(st.text(max_size=20))
def test_any_text_comes_back_as_it_is_read(text: str) -> None:
    sheet = replace(due_sheet(1), rows=((text,) * 9,))
    assert of_html(to_html(sheet).encode()) == as_read(sheet)


def test_it_is_one_file_that_fetches_nothing_and_prints_with_its_headings() -> None:
    page = to_html(due_sheet())
    found = Cells(page.encode())
    assert not {"script", "link", "img", "iframe", "object"} & {tag for tag, _ in found.tags}
    assert "url(" not in page
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "").replace("http-equiv", "")
    assert "default-src 'none'" in page
    assert "display:table-header-group" in page
    assert found.heads[:2] == ["Asset", "Kind"]


def test_a_chart_is_drawn_with_its_limits_named_and_a_flagged_point_has_a_shape_of_its_own() -> None:
    page = to_html(due_sheet(1))
    root = lxml.html.document_fromstring(page)
    drawing = root.findall(".//figure/svg")[0]
    words = " ".join(str(t.text_content()) for t in drawing.iter("text"))
    for label in ("upper limit +0.80 dB", "lower limit −0.80 dB", "centre 0.00 dB", "warning", "Deviation, dB"):
        assert label in words
    flagged = sum(v > 0.8 for v in due_sheet(1).charts[0].series[0].y)
    assert flagged
    assert len(list(drawing.iter("circle"))) == 40 - flagged
    assert len([p for p in drawing.iter("path") if "M-1.5" in p.get("d", "")]) == flagged
    assert "beyond a limit" in root.text_content()


def test_a_plane_has_one_scale_on_both_axes_so_that_angles_are_true() -> None:
    """Drawn at 45° where the reading is at 45°. Planted bug that it caught: the frame of a control chart, flat as it is."""
    readings = (Series("notch 0.5 mm", (0.0, 3.0), (0.0, 3.0)), Series("notch 1.0 mm", (0.0, -2.0), (0.0, 6.0)))
    chart = Chart("Impedance plane", "Vertical against horizontal, div", readings, plane=True)
    page = to_html(replace(due_sheet(1), charts=(chart,)))
    drawing = lxml.html.document_fromstring(page).findall(".//figure/svg")[0]
    runs = [
        [tuple(map(float, p.split(","))) for p in line.get("points", "").split()] for line in drawing.iter("polyline")
    ]
    (start, end), (_, other) = runs
    assert end[0] - start[0] == pytest.approx(start[1] - end[1], abs=0.02)
    assert start[0] - other[0] == pytest.approx((start[1] - other[1]) / 3, abs=0.02)
    words = [str(t.text_content()) for t in drawing.iter("text")]
    assert {"notch 0.5 mm", "notch 1.0 mm", "0", "5"} <= set(words)
    printed = pypdf.PdfReader(io.BytesIO(to_pdf(replace(due_sheet(1), charts=(chart,))))).pages[-1].extract_text()
    assert printed.count("notch 0.5 mm") == 2  # in the legend and at its point
