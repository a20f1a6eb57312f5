"""The impedance plane: baseline, start check and new reading as points, with the limits, both axes at one scale."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from textual.reactive import reactive

from refstd.printing.plot import axis_figure, nice_steps
from refstd.tui.widgets.canvas import DASHED, DOTTED, SPARSE, Canvas, Cell, shortened, text_width, too_small
from refstd.tui.widgets.drawing import Drawing

LEAST = (30, 10)
MARKS = {"baseline": "○", "start": "□", "new": "✕"}
_LAYER = {"baseline": 10, "start": 20, "new": 30}


@dataclass(frozen=True, slots=True)
class Point:
    """One signal, in the unit of the picture. `failing` puts a '!' to it."""

    label: str
    x: float
    y: float
    failing: bool = False


@dataclass(frozen=True, slots=True)
class PlaneSeries:
    """Signals of one occasion. `role` is 'baseline', 'start' or 'new'; `spokes` draws a line from the balance point."""

    name: str
    role: str
    points: tuple[Point, ...]
    spokes: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A tolerance circle about a signal, in the unit of the picture."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class Sector:
    """A window in amplitude and phase about the balance point: angles counter-clockwise in degrees."""

    inner: float
    outer: float
    from_deg: float
    to_deg: float


@dataclass(frozen=True, slots=True)
class PlanePicture:
    """What is drawn. `unit` is that of both axes; `limit` says in words what the dotted shapes are and whose.

    `origin` is what lies at 0, 0: the balance point, unless something else is looked at from near.
    """

    series: tuple[PlaneSeries, ...]
    unit: str
    circles: tuple[Circle, ...] = ()
    sectors: tuple[Sector, ...] = ()
    limit: str = ""
    x_title: str = "horizontal"
    y_title: str = "vertical"
    origin: str = "balance"


@dataclass(frozen=True, slots=True)
class _Scale:
    """One scale for both axes: dots per unit, and which value lies in the middle of the sheet."""

    dots_per_unit: float
    middle: tuple[float, float]
    centre: tuple[float, float] = field(default=(0.0, 0.0))  # in dots

    def at(self, x: float, y: float) -> tuple[float, float]:
        return (
            self.centre[0] + (x - self.middle[0]) * self.dots_per_unit,
            self.centre[1] - (y - self.middle[1]) * self.dots_per_unit,
        )


def draw(picture: PlanePicture, width: int, height: int, *, ascii: bool = False) -> list[list[Cell]]:
    """Return the picture in `width` x `height` cells, at least 30 x 10; smaller gives a line that says so."""
    refused = too_small(width, height, LEAST)
    if refused:
        return refused
    sheet = Canvas(width, height, ascii=ascii)
    legend = _legend_rows(sheet, picture)
    rows = height - 3 - len(legend)  # titles, axis and its figures take one row each
    gutter = 7
    plot = Canvas(width - gutter - 1, rows, ascii=ascii)
    scale = _scale(picture, 2 * plot.width, 4 * rows)
    _draw_axes(sheet, plot, scale, gutter)
    _draw_limits(plot, picture, scale)
    covered = _draw_points(plot, picture, scale)
    sheet.paste(plot, gutter + 1, 1)
    _draw_titles(sheet, picture, covered)
    for n, row in enumerate(legend):
        column = 0
        for words, role in row:
            sheet.text(column, height - len(legend) + n, words, role)
            column += text_width(sheet.words(words))
    return sheet.lines()


def _scale(picture: PlanePicture, width: int, height: int) -> _Scale:
    """Return the largest scale at which everything fits, both axes alike (width and height in dots)."""
    corners = [(0.0, 0.0), *_corners(picture)]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    spans = [(max(v) - min(v)) * 1.12 for v in (xs, ys)]
    fits = [(room - 1) / span for room, span in zip((width, height), spans, strict=True) if span > 0]
    middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    return _Scale(min(fits, default=(height - 1) / 2), middle, ((width - 1) / 2, (height - 1) / 2))


def _corners(picture: PlanePicture) -> Iterator[tuple[float, float]]:
    for point in _points(picture):
        yield point.x, point.y
    for c in picture.circles:
        yield c.x - c.radius, c.y - c.radius
        yield c.x + c.radius, c.y + c.radius
    for s in picture.sectors:
        for n in range(33):
            angle = math.radians(s.from_deg + (s.to_deg - s.from_deg) * n / 32)
            yield s.outer * math.cos(angle), s.outer * math.sin(angle)


def _points(picture: PlanePicture) -> Iterator[Point]:
    return (p for s in picture.series for p in s.points if math.isfinite(p.x) and math.isfinite(p.y))


def _draw_axes(sheet: Canvas, plot: Canvas, scale: _Scale, gutter: int) -> None:
    width, height = 2 * plot.width, 4 * plot.height
    origin = scale.at(0, 0)
    plot.line((0, origin[1]), (width - 1, origin[1]), "axis", 0, SPARSE, ".")
    plot.line((origin[0], 0), (origin[0], height - 1), "axis", 0, SPARSE, ".")
    for row in range(plot.height):
        sheet.text(gutter, row + 1, "│", "axis")
    foot = plot.height + 1
    sheet.text(gutter, foot, "└" + "─" * plot.width, "axis")
    left, low = scale.middle[0] - scale.centre[0] / scale.dots_per_unit, scale.middle[1]
    low -= scale.centre[1] / scale.dots_per_unit
    values, places = nice_steps(low, low + (height - 1) / scale.dots_per_unit, max(2, plot.height // 3))
    for value in values:
        row = int(scale.at(0, value)[1] + 0.5) // 4
        figure = shortened(axis_figure(value, places), gutter)
        sheet.text(gutter - len(figure), row + 1, figure, "axis")
        sheet.text(gutter, row + 1, "┤", "axis")
    values, places = nice_steps(left, left + (width - 1) / scale.dots_per_unit, max(2, plot.width // 12))
    for value in values:
        column = gutter + 1 + int(scale.at(value, 0)[0] + 0.5) // 2
        figure = axis_figure(value, places)
        start = min(column - len(figure) // 2, sheet.width - len(figure))
        if sheet.is_free(start - 1, foot + 1, len(figure) + 1):
            sheet.text(column, foot, "┴", "axis")
            sheet.text(start, foot + 1, figure, "axis")


def _draw_limits(plot: Canvas, picture: PlanePicture, scale: _Scale) -> None:
    for c in picture.circles:
        plot.arc(scale.at(c.x, c.y), c.radius * scale.dots_per_unit, role="limit", layer=5, dash=DOTTED)
    balance = scale.at(0, 0)
    for s in picture.sectors:
        for radius in {s.inner, s.outer}:
            plot.arc(balance, radius * scale.dots_per_unit, s.from_deg, s.to_deg, "limit", 5, DOTTED)
        for angle in map(math.radians, (s.from_deg, s.to_deg)):
            across, up = math.cos(angle), math.sin(angle)
            ends = scale.at(s.inner * across, s.inner * up), scale.at(s.outer * across, s.outer * up)
            plot.line(*ends, "limit", 5, DOTTED, ".")


def _draw_points(plot: Canvas, picture: PlanePicture, scale: _Scale) -> int:
    """Draw marks, then labels that keep off them; return how many marks lie under another.

    Where marks share a cell the later occasion is on top.
    """
    balance = scale.at(0, 0)
    plot.text(int(balance[0] + 0.5) // 2, int(balance[1] + 0.5) // 4, "+", "axis", 1)
    placed = []
    for series in sorted(picture.series, key=lambda s: _LAYER[s.role]):
        for p in series.points:
            if not (math.isfinite(p.x) and math.isfinite(p.y)):
                continue
            x, y = scale.at(p.x, p.y)
            if series.spokes and not plot.ascii:
                plot.line(balance, (x, y), series.role, _LAYER[series.role] - 5, DASHED, ".")
            cell = int(x + 0.5) // 2, int(y + 0.5) // 4
            plot.text(*cell, MARKS[series.role], series.role, 100 + _LAYER[series.role])
            placed.append((p, series.role, cell))
    labelled: dict[str, list[tuple[int, int]]] = {}
    # Failing ones first: their '!' gets the room. Then the latest occasion; older ones only where they stand apart.
    for p, role, cell in sorted(placed, key=lambda one: (not one[0].failing, -_LAYER[one[1]])):
        near = any(abs(cell[0] - c) <= 4 and abs(cell[1] - r) <= 1 for c, r in labelled.get(p.label, []))
        if p.failing or not near:
            _put_label(plot, p, role, cell)
            labelled.setdefault(p.label, []).append(cell)
    return len(placed) - len({cell for _, _, cell in placed})


def _put_label(plot: Canvas, point: Point, role: str, cell: tuple[int, int]) -> None:
    words = plot.words(shortened(point.label, 10)) + ("!" if point.failing else "")
    column, row = cell
    size = text_width(words)
    around = (
        *((column + 1, row), (column - size, row), (column, row - 1), (column, row + 1)),
        *((column - size + 1, row - 1), (column - size + 1, row + 1)),
    )
    for place in around:
        if plot.is_free(*place, size):
            plot.text(*place, words, "failing" if point.failing else role)
            return
    if point.failing:
        plot.text(column, row, "!", "failing", 200)  # no room for the label, but never without the sign


def _draw_titles(sheet: Canvas, picture: PlanePicture, covered: int) -> None:
    up = shortened(sheet.words(f"↑ {picture.y_title}, {picture.unit}"), sheet.width // 2 - 1)
    across = shortened(sheet.words(f"{picture.x_title}, {picture.unit} →"), sheet.width // 2 - 1)
    sheet.text(0, 0, up)
    sheet.text(sheet.width - text_width(across), 0, across)
    says = "1 mark covered" if covered == 1 else f"{covered} marks covered"
    start = (sheet.width - len(says)) // 2
    if covered and sheet.is_free(start - 2, 0, len(says) + 4):
        sheet.text(start, 0, says, "axis")


def _legend_rows(sheet: Canvas, picture: PlanePicture) -> list[list[tuple[str, str]]]:
    """Return the legend in words, wrapped: a mark in its role, then what it is."""
    entries = [(MARKS[s.role], s.name, s.role) for s in picture.series if s.points]
    if any(p.failing for p in _points(picture)):
        entries.append(("!", "outside the limit", "failing"))
    if picture.circles or picture.sectors:
        entries.append(("···", picture.limit or "limit", "limit"))
    entries.append(("+", picture.origin, "axis"))
    rows: list[list[tuple[str, str]]] = [[]]
    used = 0
    for mark, words, role in entries:
        words = shortened(sheet.words(words), sheet.width - text_width(mark) - 1)
        size = text_width(f"{mark} {words}")
        if used and used + 2 + size > sheet.width:
            rows.append([])
            used = 0
        if used:
            rows[-1].append(("  ", ""))
            used += 2
        rows[-1] += [(mark, role), (f" {words}", "words")]
        used += size
    return rows[: max(1, sheet.height // 4)]


class PlaneDrawing(Drawing):
    """The impedance plane on a screen."""

    picture: reactive[PlanePicture | None] = reactive(None)

    def drawn(self, width: int, height: int) -> list[list[Cell]]:
        """Return the picture at that size, or nothing before there is one."""
        return draw(self.picture, width, height, ascii=self.plain_ascii) if self.picture else []
