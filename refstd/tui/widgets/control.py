"""The control chart: readings in order against centre and limits, each limit labelled, those out of limits marked."""

import math
from dataclasses import dataclass
from itertools import pairwise

from textual.reactive import reactive

from refstd.printing.plot import axis_figure, nice_steps
from refstd.tui.widgets.canvas import (
    DASHED,
    LONG_DASHED,
    SPARSE,
    Canvas,
    Cell,
    shortened,
    text_width,
    too_small,
)
from refstd.tui.widgets.drawing import Drawing

LEAST = (36, 8)
OUT = "X"
HOLLOW = "○"


@dataclass(frozen=True, slots=True)
class ControlPoint:
    """One reading: x as on the axis (a day number, say), y in the chart's unit; `out` is marked.

    `hollow`: shown, not judged; it has a sign of its own, is never out, and no line runs through it.
    """

    x: float
    y: float
    out: bool = False
    hollow: bool = False


@dataclass(frozen=True, slots=True)
class ControlLine:
    """A horizontal line over the whole width; `kind` is 'centre', 'limit' or 'warning' and gives its dashes."""

    label: str
    value: float
    kind: str = "limit"


@dataclass(frozen=True, slots=True)
class ControlPicture:
    """What is drawn. `breaks` are (x, label): what follows is another record, and no line runs across.

    `events` are (x, letter): what happened without breaking the record, marked at the foot.
    """

    points: tuple[ControlPoint, ...]
    lines: tuple[ControlLine, ...]
    y_title: str
    breaks: tuple[tuple[float, str], ...] = ()
    ticks: tuple[tuple[float, str], ...] = ()
    events: tuple[tuple[float, str], ...] = ()


_DASHES = {"centre": LONG_DASHED, "limit": DASHED, "warning": SPARSE}
_GUTTER = 8


@dataclass(frozen=True, slots=True)
class _Frame:
    left: float
    right: float
    low: float
    high: float
    width: int  # dots
    height: int

    def at(self, x: float, y: float) -> tuple[float, float]:
        across = (x - self.left) / (self.right - self.left) * (self.width - 1)
        return across, (self.high - y) / (self.high - self.low) * (self.height - 1)


def draw(picture: ControlPicture, width: int, height: int, *, ascii: bool = False) -> list[list[Cell]]:
    """Return the chart in `width` x `height` cells, at least 36 x 8; smaller gives a line that says so."""
    refused = too_small(width, height, LEAST)
    if refused:
        return refused
    sheet = Canvas(width, height, ascii=ascii)
    longest = max((text_width(sheet.words(line.label)) for line in picture.lines), default=0)
    labels = min(longest + 1, width // 3) if longest else 0
    plot = Canvas(width - _GUTTER - 1 - labels, height - 3, ascii=ascii)
    frame = _frame(picture, 2 * plot.width, 4 * plot.height)
    _draw_lines(plot, picture, frame)
    _draw_breaks(plot, picture, frame)
    _draw_points(plot, picture, frame)
    _name_breaks(plot, picture, frame)
    _draw_events(plot, picture, frame)
    sheet.paste(plot, _GUTTER + 1, 1)
    _draw_axes(sheet, plot, picture, frame)
    _draw_labels(sheet, picture, frame, labels)
    _draw_counts(sheet, picture)
    return sheet.lines()


def _draw_counts(sheet: Canvas, picture: ControlPicture) -> None:
    """Write the title to the left and to the right how many are out of limits and how many are not judged."""
    judged = [p for p in picture.points if not p.hollow]
    out, hollow = sum(p.out for p in judged), len(picture.points) - len(judged)
    says = f"{OUT} out of limits: {out} of {len(judged)}" if out else f"{len(judged)} readings"
    more = sheet.words(f", {HOLLOW} not judged: {hollow}") if hollow else ""
    start = sheet.width - len(says) - text_width(more)
    sheet.text(start, 0, says, "failing" if out else "words")
    sheet.text(start + len(says), 0, more)
    sheet.text(0, 0, shortened(sheet.words(picture.y_title), max(start - 2, 0)))


def _frame(picture: ControlPicture, width: int, height: int) -> _Frame:
    points = [p for p in picture.points if math.isfinite(p.x) and math.isfinite(p.y)]
    xs = [p.x for p in points] + [x for x, _ in (*picture.breaks, *picture.events)]
    ys = [p.y for p in points] + [line.value for line in picture.lines]
    left, right = min(xs, default=0.0), max(xs, default=1.0)
    low, high = min(ys, default=0.0), max(ys, default=1.0)
    side, air = (right - left) * 0.02 or 1.0, (high - low) * 0.06 or max(abs(high), 1.0) * 0.1
    return _Frame(left - side, right + side, low - air, high + air, width, height)


def _draw_lines(plot: Canvas, picture: ControlPicture, frame: _Frame) -> None:
    for line in picture.lines:
        y = frame.at(frame.left, line.value)[1]
        plot.line((0, y), (frame.width - 1, y), "limit", 0, _DASHES[line.kind], "=" if line.kind == "centre" else "-")


def _draw_breaks(plot: Canvas, picture: ControlPicture, frame: _Frame) -> None:
    for x, _ in picture.breaks:
        column = int(frame.at(x, frame.low)[0] + 0.5) // 2
        for row in range(plot.height):
            plot.text(column, row, "┊", "axis", 50)


def _name_breaks(plot: Canvas, picture: ControlPicture, frame: _Frame) -> None:
    """Write what each break is beside it, in the uppermost row where it hides no reading."""
    for x, label in picture.breaks:
        column = int(frame.at(x, frame.low)[0] + 0.5) // 2
        words = plot.words(label)
        size = text_width(words)
        start = column + 1 if column + 1 + size <= plot.width else column - size
        for fits in (plot.is_blank, plot.is_free):
            row = next((r for r in range(plot.height) if fits(start, r, size)), None)
            if row is not None:
                plot.text(start, row, words, "axis")
                break


def _draw_events(plot: Canvas, picture: ControlPicture, frame: _Frame) -> None:
    """Put each event's letter into the last row over its day, beside one that stands there already."""
    for x, letter in picture.events:
        column = int(frame.at(x, frame.low)[0] + 0.5) // 2
        near = sorted(range(plot.width), key=lambda c: abs(c - column))
        free = next((c for c in near if plot.is_free(c, plot.height - 1, 1)), None)
        if free is not None:
            plot.text(free, plot.height - 1, letter, "words", 150)


def _draw_points(plot: Canvas, picture: ControlPicture, frame: _Frame) -> None:
    for p in picture.points:
        if p.hollow and math.isfinite(p.x) and math.isfinite(p.y):
            x, y = frame.at(p.x, p.y)
            plot.text(int(x + 0.5) // 2, int(y + 0.5) // 4, HOLLOW, "axis", 60)
    for run in _runs(picture):
        places = [frame.at(p.x, p.y) for p in run]
        if len(places) > frame.width:  # two points a dot column would be a smear: the range of each column says more
            for column, (top, foot) in _ranges(places).items():
                plot.line((column, top), (column, foot), "new", 10)
        else:
            for start, end in () if plot.ascii else pairwise(places):  # at one sign a cell a line would hide the points
                plot.line(start, end, "new", 10)
            for place in places:
                plot.blob(*place, "new", 20)
        for p, (x, y) in zip(run, places, strict=True):
            if p.out:
                plot.text(int(x + 0.5) // 2, int(y + 0.5) // 4, OUT, "failing", 200)


def _runs(picture: ControlPicture) -> list[list[ControlPoint]]:
    """Return the judged points in pieces: neither a break nor a missing value is bridged by a line."""
    runs: list[list[ControlPoint]] = [[]]
    edges = sorted(x for x, _ in picture.breaks)
    for p in picture.points:
        if p.hollow:
            continue
        if not (math.isfinite(p.x) and math.isfinite(p.y)):
            runs.append([])
            continue
        if runs[-1] and any(runs[-1][-1].x < edge <= p.x for edge in edges):
            runs.append([])
        runs[-1].append(p)
    return [run for run in runs if run]


def _ranges(places: list[tuple[float, float]]) -> dict[int, tuple[float, float]]:
    ranges: dict[int, tuple[float, float]] = {}
    for x, y in places:
        column = math.floor(x + 0.5)
        top, foot = ranges.get(column, (y, y))
        ranges[column] = (min(top, y), max(foot, y))
    return ranges


def _draw_axes(sheet: Canvas, plot: Canvas, picture: ControlPicture, frame: _Frame) -> None:
    foot = plot.height + 1
    for row in range(1, foot):
        sheet.text(_GUTTER, row, "│", "axis")
    sheet.text(_GUTTER, foot, "└" + "─" * plot.width, "axis")
    values, places = nice_steps(frame.low, frame.high, max(2, plot.height // 3))
    for value in values:
        row = 1 + int(frame.at(frame.left, value)[1] + 0.5) // 4
        figure = shortened(axis_figure(value, places), _GUTTER)
        sheet.text(_GUTTER - len(figure), row, figure, "axis")
        sheet.text(_GUTTER, row, "┤", "axis")
    for x, label in picture.ticks:
        if not frame.left <= x <= frame.right:
            continue
        words = sheet.words(label)
        column = _GUTTER + 1 + int(frame.at(x, frame.low)[0] + 0.5) // 2
        start = min(max(column - text_width(words) // 2, 0), sheet.width - text_width(words))
        if sheet.is_free(max(start - 2, 0), foot + 1, min(text_width(words) + 2, sheet.width - max(start - 2, 0))):
            sheet.text(column, foot, "┴", "axis")
            sheet.text(start, foot + 1, words, "axis")


def _draw_labels(sheet: Canvas, picture: ControlPicture, frame: _Frame, room: int) -> None:
    """Write each line's label at its right end, in the nearest row that is free; limits before the rest."""
    taken: set[int] = set()
    last = frame.height // 4 - 1
    for line in sorted(picture.lines, key=lambda one: ("limit", "centre", "warning").index(one.kind)):
        own = min(max(int(frame.at(frame.left, line.value)[1] + 0.5) // 4, 0), last)
        rows = sorted((r for r in range(last + 1) if r not in taken), key=lambda r: abs(r - own))
        if rows:
            taken.add(rows[0])
            words = shortened(sheet.words(line.label), room - 1)
            sheet.text(sheet.width - room + 1, 1 + rows[0], words, "limit")


class ControlDrawing(Drawing):
    """The control chart on a screen."""

    picture: reactive[ControlPicture | None] = reactive(None)

    def drawn(self, width: int, height: int) -> list[list[Cell]]:
        """Return the chart at that size, or nothing before there is one."""
        return draw(self.picture, width, height, ascii=self.plain_ascii) if self.picture else []
