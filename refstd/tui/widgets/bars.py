"""Vertical-only readings: for each notch a bar for the baseline, the start check and the new reading, with figures."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from textual.geometry import Size
from textual.reactive import reactive

from refstd.printing.plot import axis_figure, nice_steps
from refstd.tui.widgets.canvas import Canvas, Cell, shortened, text_width, too_small
from refstd.tui.widgets.drawing import Drawing

LEAST = (36, 4)
FILLS = {"baseline": "░", "start": "▒", "new": "█"}


@dataclass(frozen=True, slots=True)
class Bar:
    """One reading. `figure` is shown as given, with its unit; `off_screen` draws the bar to the end with a '»'."""

    name: str
    role: str
    value: float
    figure: str
    failing: bool = False
    off_screen: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """The readings of one notch with the window they have to keep; `limit` says it in words with its source."""

    label: str
    bars: tuple[Bar, ...]
    low: float | None = None
    high: float | None = None
    limit: str = ""


@dataclass(frozen=True, slots=True)
class BarsPicture:
    """What is drawn: one group a notch, on one axis in `unit`."""

    groups: tuple[Group, ...]
    unit: str


def rows_needed(picture: BarsPicture) -> int:
    """Return how many rows the picture takes with everything shown."""
    return 1 + sum(2 + len(group.bars) for group in picture.groups)


def draw(picture: BarsPicture, width: int, height: int, *, ascii: bool = False) -> list[list[Cell]]:
    """Return the picture in `width` x `height` cells, at least 36 x 4.

    What does not fit below is named in the last row: 'and n more notches'.
    """
    refused = too_small(width, height, LEAST)
    if refused:
        return refused
    sheet = Canvas(width, height, ascii=ascii)
    bars = [bar for group in picture.groups for bar in group.bars]
    name_width = min(max((text_width(sheet.words(b.name)) for b in bars), default=4), width * 2 // 7)
    figure_width = min(max((text_width(sheet.words(b.figure)) for b in bars), default=4), width // 3)
    first, last = name_width + 2, width - figure_width - 4  # cells of the axis; ' ', figure, ' !' follow
    low, high = _range(picture)
    step = (last - first) / (high - low)

    def at(value: float) -> int:
        return min(max(math.floor(first + (value - low) * step + 0.5), first), last)

    _draw_axis(sheet, picture.unit, (low, high), [at(low), at(high)], at_zero=at(0.0))
    row = 1
    for n, group in enumerate(picture.groups):
        left = len(picture.groups) - n
        needed = 2 + len(group.bars)
        if row + needed > height and not (left == 1 and row + needed - 1 <= height):
            more = "1 more notch" if left == 1 else f"{left} more notches"
            sheet.text(0, min(row, height - 1), f"… and {more}: make the picture higher")
            break
        _draw_group(sheet, group, row, at, (first, last), name_width)
        row += needed
    return sheet.lines()


def _range(picture: BarsPicture) -> tuple[float, float]:
    values = [bar.value for group in picture.groups for bar in group.bars if math.isfinite(bar.value)]
    values += [v for group in picture.groups for v in (group.low, group.high) if v is not None]
    low, high = min(0.0, *values, 0.0), max(0.0, *values, 0.0)
    return low, (high if high > low else low + 1.0)


def _draw_axis(sheet: Canvas, unit: str, ends: tuple[float, float], cells: list[int], *, at_zero: int) -> None:
    values, places = nice_steps(*ends, max(2, (cells[1] - cells[0]) // 10))
    for value in values:
        share = (value - ends[0]) / (ends[1] - ends[0])
        column = at_zero if value == 0 else math.floor(cells[0] + share * (cells[1] - cells[0]) + 0.5)
        figure = axis_figure(value, places)
        start = column - len(figure) // 2
        if sheet.is_free(start - 1, 0, len(figure) + 1):
            sheet.text(start, 0, figure, "axis")
    shown = shortened(sheet.words(unit), max(sheet.width - cells[1] - 3, 3))
    sheet.text(sheet.width - text_width(shown), 0, shown, "axis")


def _draw_group(
    sheet: Canvas, group: Group, row: int, at: Callable[[float], int], cells: tuple[int, int], name_width: int
) -> None:
    failing = any(bar.failing for bar in group.bars)
    head = sheet.words(group.label) + (" !" if failing else "")
    sheet.text(0, row, head, "failing" if failing else "words")
    room = sheet.width - text_width(head) - 2
    if group.limit:
        sheet.text(text_width(head) + 2, row, shortened(sheet.words(group.limit), room), "limit")
    for n, bar in enumerate(group.bars, 1):
        sheet.text(1, row + n, shortened(sheet.words(bar.name), name_width), bar.role)
        _draw_bar(sheet, bar, row + n, at, cells)
        for value, sign in ((group.low, "["), (group.high, "]")):
            if value is not None:
                sheet.text(at(value), row + n, sign, "limit", 150)
        figure = shortened(sheet.words(bar.figure), sheet.width - cells[1] - 4)
        place = sheet.width - 2 - text_width(figure)
        sheet.text(place, row + n, figure, "failing" if bar.failing else "words")
        if bar.failing:
            sheet.text(sheet.width - 1, row + n, "!", "failing")


def _draw_bar(sheet: Canvas, bar: Bar, row: int, at: Callable[[float], int], cells: tuple[int, int]) -> None:
    if bar.off_screen:
        sheet.text(at(0.0), row, FILLS[bar.role] * (cells[1] - at(0.0)) + "»", bar.role)
    elif math.isfinite(bar.value):
        start, end = sorted((at(0.0), at(bar.value)))
        sheet.text(start, row, FILLS[bar.role] * max(end - start, 1), bar.role)


class BarsDrawing(Drawing):
    """The bars on a screen, as high as they need to be, so that a scrolling parent shows all."""

    picture: reactive[BarsPicture | None] = reactive(None, layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return the rows that everything takes."""
        return rows_needed(self.picture) if self.picture else 1

    def drawn(self, width: int, height: int) -> list[list[Cell]]:
        """Return the picture at that size, or nothing before there is one."""
        return draw(self.picture, width, height, ascii=self.plain_ascii) if self.picture else []
