"""The pictures as text: equal scale, labels and figures there, what fails marked by a sign and not by colour alone."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.tui.widgets import bars, control, plane
from refstd.tui.widgets.canvas import Cell
from refstd.tui.widgets.control import ControlLine, ControlPicture, ControlPoint
from refstd.tui.widgets.plane import Circle, PlanePicture, PlaneSeries, Point
from tests.tui.widgets.pictures import BARS, CONTROL, PLANE, SECTOR
from tests.tui.widgets.test_canvas import dots, plain

SIZES = [(40, 14), (80, 24), (100, 30), (120, 40)]


def of_role(lines: list[list[Cell]], *roles: str) -> list[list[Cell]]:
    return [[cell if cell[1] in roles else (" ", "") for cell in line] for line in lines]


def cells_with(lines: list[list[Cell]], sign: str, role: str) -> list[tuple[int, int]]:
    return [(c, r) for r, line in enumerate(lines) for c, cell in enumerate(line) if cell == (sign, role)]


# ---- impedance plane


@pytest.mark.parametrize("size", SIZES)
def test_a_tolerance_circle_is_round_at_every_size(size: tuple[int, int]) -> None:
    picture = PlanePicture(
        (PlaneSeries("baseline", "baseline", (Point("N1", 30.0, 30.0),)),), "div", (Circle(30, 30, 25),)
    )
    seen = dots(of_role(plane.draw(picture, *size), "limit"))
    # A cell that text or another stroke took may hide one dot at an edge.
    wide, high = (max(v) - min(v) for v in zip(*seen, strict=True))
    assert abs(wide - high) <= 2
    assert high > 15


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("ascii", [False, True])
def test_the_plane_has_marks_labels_axes_and_a_legend_in_words(size: tuple[int, int], ascii: bool) -> None:
    lines = plane.draw(PLANE, *size, ascii=ascii)
    text = plain(lines)
    assert [len(line) for line in lines] == [size[0]] * size[1]
    for words in ("vertical, % FSH", "horizontal, % FSH", "baseline", "start check", "new reading", "N1", "N2", "N3!"):
        assert words in text
    assert "! outside the limit" in text
    assert ("x" if ascii else "✕") + "N3!" in text
    assert text.isascii() is ascii


def test_the_legend_names_the_limit_with_its_source() -> None:
    assert "± 2 dB about the baseline (PR-200 para 5.2)" in plain(plane.draw(PLANE, 80, 24))
    assert "+ balance" in plain(plane.draw(PLANE, 80, 24))


def test_marks_that_lie_under_others_are_counted() -> None:
    assert "4 marks covered" in plain(plane.draw(PLANE, 80, 24))
    apart = PlanePicture((PlaneSeries("new", "new", (Point("A", 0, 9), Point("B", 9, 0))),), "div")
    assert "covered" not in plain(plane.draw(apart, 80, 24))


def test_without_failing_points_there_is_no_exclamation_mark() -> None:
    good = tuple(replace(s, points=tuple(replace(p, failing=False) for p in s.points)) for s in PLANE.series)
    assert "!" not in plain(plane.draw(replace(PLANE, series=good), 80, 24))


def test_the_window_in_amplitude_and_phase_lies_where_its_angles_say() -> None:
    seen = dots(of_role(plane.draw(SECTOR, 100, 30), "limit"))
    balance = cells_with(plane.draw(SECTOR, 100, 30), "+", "axis")[0]
    x0, y0 = 2 * balance[0] + 1, 4 * balance[1] + 2
    seen = {(x, y) for x, y in seen if y < 4 * 28}  # without the legend
    radii = [math.hypot(x - x0, y - y0) for x, y in seen]
    angles = [math.degrees(math.atan2(y0 - y, x - x0)) for x, y in seen]
    assert min(angles) == pytest.approx(60, abs=6)
    assert max(angles) == pytest.approx(120, abs=6)
    assert max(radii) / min(radii) == pytest.approx(2, rel=0.15)


coordinates = st.floats(-1e4, 1e4)
points = st.builds(Point, st.text(max_size=12), coordinates, coordinates, st.booleans())


@given(
    st.lists(
        st.builds(PlaneSeries, st.text(max_size=9), st.sampled_from(list(plane.MARKS)), st.tuples(points, points))
    ),
    st.integers(30, 100),
    st.integers(10, 30),
)
def test_any_points_are_drawn_inside_and_every_failing_one_shows_its_sign(
    series: list[PlaneSeries], width: int, height: int
) -> None:
    lines = plane.draw(PlanePicture(tuple(series), "div"), width, height)
    assert [len(line) for line in lines] == [width] * height
    axis = next(r for r, line in enumerate(lines) if ("└", "axis") in line)  # the legend below has its own '!'
    in_plot = "".join(c for line in lines[1:axis] for c, role in line if role == "failing")
    assert ("!" in in_plot) == any(p.failing for s in series for p in s.points)


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_a_mark_stands_at_its_figures_on_both_axes_at_one_scale(x: float, y: float) -> None:
    """The four corners of a square about the point keep equal distances in dots across and up."""
    side = max(abs(x), abs(y), 1.0)
    corners = tuple(Point("", x + dx * side, y + dy * side) for dx in (0, 1) for dy in (0, 1))
    lines = plane.draw(PlanePicture((PlaneSeries("n", "new", corners),), "div"), 80, 30)
    marks = [cell for cell in cells_with(lines, "✕", "new") if cell[1] < 28]
    assert len(marks) == 4
    wide = max(c for c, _ in marks) - min(c for c, _ in marks)
    high = max(r for _, r in marks) - min(r for _, r in marks)
    assert abs(2 * wide - 4 * high) <= 4


# ---- bars


def test_bars_show_every_figure_and_mark_the_failing_ones() -> None:
    lines = plain(bars.draw(BARS, 80, bars.rows_needed(BARS))).split("\n")
    assert len(lines) == 16
    assert lines[1].rstrip() == "N1 0.20 mm  limit 16.0 to 24.0 % FSH (PR-200 para 5.2)"
    assert lines[6].startswith("N2 0.50 mm !")
    rows = [line for line in lines if line.startswith(" ") and "% FSH" in line[60:] and not line.startswith("    ")]
    assert [line.rstrip().endswith("!") for line in rows] == [False] * 5 + [True] + [False] * 2
    off = next(line for line in lines if "≥ full screen" in line)
    assert "»" in off
    assert off.endswith("!")


def test_a_bar_is_as_long_as_its_reading_against_the_axis_and_the_window() -> None:
    lines = plain(bars.draw(BARS, 120, 16)).split("\n")
    baseline, new = lines[7], lines[9]
    full = {figure: lines[0].index(figure) + len(figure) // 2 for figure in ("0 ", "40", "80")}
    zero = full["0 "] - 1
    per_unit = (full["80"] - zero) / 80
    assert baseline.rindex("░") - zero == pytest.approx(40 * per_unit, abs=1)
    assert new.rindex("█") - zero == pytest.approx(30 * per_unit, abs=1.5)
    for sign, limit in (("[", 32), ("]", 48)):
        assert new.index(sign) - zero == pytest.approx(limit * per_unit, abs=1)
    assert new.rindex("█") < new.index("[")


def test_bars_that_do_not_fit_are_named() -> None:
    assert "… and 2 more notches: make the picture higher" in plain(bars.draw(BARS, 80, 8))
    assert "more" not in plain(bars.draw(BARS, 80, bars.rows_needed(BARS) - 1))


@given(
    st.lists(st.tuples(st.text(max_size=9), st.floats(-200, 200), st.booleans()), min_size=1, max_size=5),
    st.integers(36, 120),
    st.integers(4, 40),
    st.booleans(),
)
def test_any_bars_fill_exactly_the_size_given(
    values: list[tuple[str, float, bool]], width: int, height: int, ascii: bool
) -> None:
    group = bars.Group(
        values[0][0], tuple(bars.Bar(n, "new", v, f"{v:.1f} div", f) for n, v, f in values), -10.0, 10.0, "limit"
    )
    lines = bars.draw(bars.BarsPicture((group, group), "div"), width, height, ascii=ascii)
    assert [len(line) for line in lines] == [width] * height


# ---- control chart


@pytest.mark.parametrize("size", [(60, 14), (80, 24), (120, 40)])
@pytest.mark.parametrize("ascii", [False, True])
def test_the_control_chart_labels_its_limits_and_counts_and_marks_those_out(size: tuple[int, int], ascii: bool) -> None:
    lines = control.draw(CONTROL, *size, ascii=ascii)
    text = plain(lines)
    assert [len(line) for line in lines] == [size[0]] * size[1]
    for words in ("X out of limits: 3 of 60", "deviation from", "2026-01-01", "centre 0.00 dB", "new baseline"):
        assert words in text
    labels = ("upper limit +0.90", "lower limit -0.90" if ascii else "lower limit −0.90")
    assert all(label in text for label in labels)
    assert 2 <= len(cells_with(lines[1:], "X", "failing")) <= 3  # neighbours may share a cell
    assert text.isascii() is ascii


def test_limits_are_dashed_and_the_two_kinds_differ_without_colour() -> None:
    bare = replace(CONTROL, points=(ControlPoint(0, 0.3), ControlPoint(59, 0.3)), breaks=())
    lines = of_role(control.draw(bare, 120, 40), "limit")
    rows: dict[int, list[int]] = {}
    for x, y in dots(lines):
        rows.setdefault(y, []).append(x)
    shares = {y: len(xs) / (max(xs) - min(xs) + 1) for y, xs in rows.items()}
    assert len(shares) == 4
    assert len({round(share, 1) for share in shares.values()}) == 3  # limit twice, centre, warning
    assert max(shares.values()) < 0.95


def test_a_chart_without_points_out_says_how_many_readings_it_shows() -> None:
    good = replace(CONTROL, points=tuple(replace(p, out=False) for p in CONTROL.points))
    text = plain(control.draw(good, 80, 24))
    assert "60 readings" in text
    assert "X" not in text


def test_no_line_runs_across_a_break_or_a_missing_value() -> None:
    points = (ControlPoint(0, 0), ControlPoint(10, 1), ControlPoint(20, 0), ControlPoint(30, 1))
    whole = ControlPicture(points, (), "y")
    broken = replace(whole, breaks=((15.0, ""),))
    missing = replace(whole, points=(*points[:2], ControlPoint(15, math.nan), *points[2:]))
    drawn = [len(dots(of_role(control.draw(p, 80, 24), "new"))) for p in (whole, broken, missing)]
    assert drawn[1] < drawn[0] * 0.75
    assert drawn[2] == drawn[1]


def test_many_points_are_drawn_as_ranges_and_an_outlier_is_still_marked() -> None:
    many = tuple(ControlPoint(float(k), math.sin(k), out=k == 5000) for k in range(10_000))
    lines = control.draw(ControlPicture(many, (ControlLine("upper", 2.0),), "y"), 80, 24)
    assert len(cells_with(lines[1:], "X", "failing")) == 1
    assert "X out of limits: 1 of 10000" in plain(lines)


@given(
    st.lists(st.builds(ControlPoint, coordinates, coordinates, st.booleans()), max_size=30),
    st.lists(
        st.builds(ControlLine, st.text(max_size=30), coordinates, st.sampled_from(["limit", "centre"])), max_size=5
    ),
    st.integers(36, 120),
    st.integers(8, 40),
)
def test_any_control_chart_fills_exactly_the_size_given(
    readings: list[ControlPoint], limits: list[ControlLine], width: int, height: int
) -> None:
    readings.sort(key=lambda p: p.x)
    lines = control.draw(ControlPicture(tuple(readings), tuple(limits), "y"), width, height)
    assert [len(line) for line in lines] == [width] * height
    assert bool(cells_with(lines[1:], "X", "failing")) == any(p.out for p in readings)
