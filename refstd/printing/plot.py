"""A control chart as fractions of its frame, ready to be drawn on paper: pure arithmetic, no drawing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from refstd.printing.sheet import Chart, Series

WIDE_MM, HIGH_MM = 205.0, 50.0  # the frame on paper and on a page for the browser; templates/sheet.typ has the same
_TICKS_X = 14  # more labels than this run into each other on A4


@dataclass(frozen=True, slots=True)
class Frame:
    """The range of the data shown, x from left to right, y from bottom to top."""

    left: float
    right: float
    low: float
    high: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return a point as fractions of the frame, from its left edge and from its upper edge."""
        return (x - self.left) / (self.right - self.left), (self.high - y) / (self.high - self.low)


def frame_of(chart: Chart) -> Frame:
    """Return a frame that holds every finite point and every line, with a little air around them."""
    points = [p for s in chart.series for p in zip(s.x, s.y, strict=True) if all(map(math.isfinite, p))]
    xs = [x for x, _ in points] + [x for x, _ in (*chart.ticks, *chart.marks, *chart.breaks)]
    ys = [y for _, y in points] + [y for _, y in chart.lines if math.isfinite(y)]
    left, right = _widened(xs, 0.03)
    low, high = _widened(ys, 0.15 if chart.plane else 0.08)
    return _of_one_scale(left, right, low, high) if chart.plane else Frame(left, right, low, high)


def _of_one_scale(left: float, right: float, low: float, high: float) -> Frame:
    """Return the frame with the axis made longer whose unit would be drawn longer than that of the other."""
    unit = max((right - left) / WIDE_MM, (high - low) / HIGH_MM)
    wider, higher = (unit * WIDE_MM - (right - left)) / 2, (unit * HIGH_MM - (high - low)) / 2
    return Frame(left - wider, right + wider, low - higher, high + higher)


def nice_steps(low: float, high: float, about: int = 9) -> tuple[list[float], int]:
    """Return round values (1, 2 or 5 times a power of ten apart) within a range, and the decimals to show."""
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= raw * 0.7)  # at most 13 steps
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [n * step for n in range(first, last + 1)], max(0, -math.floor(math.log10(step) + 1e-9))


def axis_figure(value: float, places: int) -> str:
    """Return an axis value with that many decimals, a true minus sign, and no minus before zero."""
    text = f"{value:.{places}f}"
    return text.replace("-", "−") if float(text) else text.removeprefix("-")


def drawn(chart: Chart) -> dict[str, object]:
    """Return the chart for the template: fractions of the frame, labels as text, y downwards."""
    frame = frame_of(chart)
    values, places = nice_steps(frame.low, frame.high)
    ticks = chart.ticks
    if chart.plane:
        figures, across = nice_steps(frame.left, frame.right)
        ticks = tuple((x, axis_figure(x, across)) for x in figures)
    every = math.ceil(len(ticks) / _TICKS_X) or 1
    lines = sorted(((frame.at(frame.left, y)[1], label) for label, y in chart.lines if math.isfinite(y)))
    shown = _spread([y for y, _ in lines], 0.055)
    return {
        "title": chart.title,
        "y_title": chart.y_title,
        "alt": chart.alt or chart.title,
        "y_ticks": [{"y": frame.at(frame.left, v)[1], "label": axis_figure(v, places)} for v in values],
        "x_ticks": [{"x": frame.at(x, frame.low)[0], "label": label} for x, label in ticks[::every]],
        "lines": [{"y": y, "label_y": at, "label": text} for (y, text), at in zip(lines, shown, strict=True)],
        "series": [_series(s, frame, [x for x, _ in chart.breaks]) for s in chart.series],
        "marks": _upright(chart.marks, frame),
        "breaks": _upright(chart.breaks, frame),
        "named": chart.plane,
        "any_flagged": any(any(s.flagged) for s in chart.series),
    }


def _upright(marks: Sequence[tuple[float, str]], frame: Frame) -> list[dict[str, object]]:
    return [{"x": frame.at(x, frame.low)[0], "label": label} for x, label in marks]


def _series(series: Series, frame: Frame, breaks: Sequence[float]) -> dict[str, object]:
    flagged = series.flagged or (False,) * len(series.x)
    runs: list[list[dict[str, object]]] = [[]]
    last = -math.inf
    for x, y, flag in zip(series.x, series.y, flagged, strict=True):
        if not (math.isfinite(x) and math.isfinite(y)):
            runs.append([])  # a gap stays a gap
            continue
        if any(last < edge <= x for edge in breaks):
            runs.append([])
        last = x
        across, down = frame.at(x, y)
        runs[-1].append({"x": across, "y": down, "flagged": flag})
    return {"name": series.name, "runs": [run for run in runs if run]}


def _widened(values: Sequence[float], share: float) -> tuple[float, float]:
    low, high = min(values, default=0.0), max(values, default=1.0)
    air = (high - low) * share or max(abs(high), 1.0) * share
    return low - air, high + air


def _spread(places: Sequence[float], least: float) -> list[float]:
    """Return sorted places moved apart so that their labels do not overlap, as near to their own place as can be."""
    groups: list[list[float]] = []
    for place in places:
        groups.append([place])
        while len(groups) > 1 and _start(groups[-1], least) < _start(groups[-2], least) + len(groups[-2]) * least:
            last = groups.pop()
            groups[-1] += last
    return [_start(group, least) + i * least for group in groups for i in range(len(group))]


def _start(group: Sequence[float], least: float) -> float:
    return sum(group) / len(group) - (len(group) - 1) * least / 2
