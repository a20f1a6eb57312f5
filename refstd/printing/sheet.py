"""Sheet: what every report is. A question returns one; every printer prints any."""

from dataclasses import dataclass, field
from enum import StrEnum


class Kind(StrEnum):
    """How a column's cells are aligned and typed by the printers."""

    TEXT = "text"
    NUMBER = "number"  # a decimal as written, as text
    DATE = "date"  # ISO civil date
    INSTANT = "instant"  # UTC instant, as kept; in the lab's zone where people read it


@dataclass(frozen=True, slots=True)
class Column:
    """One column. `key` is the JSON and CSV name (with its unit, as deviation_db); `title` is what people read."""

    key: str
    title: str
    kind: Kind = Kind.TEXT
    unit: str = ""
    width: int = 12  # relative width on paper


@dataclass(frozen=True, slots=True)
class Series:
    """A line of points for a chart: x as shown on the axis, y in the chart's unit; `flagged` points are marked."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    flagged: tuple[bool, ...] = ()


@dataclass(frozen=True, slots=True)
class Chart:
    """A control chart: one series with horizontal lines (label, value) and ticks (position, label).

    marks are events (position, label); at a break (position, label) the line of points is not drawn through.
    A plane shows horizontal against vertical in one unit: both axes have one scale, so that angles are true, the ticks
    are figures, and each series bears its name at its last point.
    """

    title: str
    y_title: str
    series: tuple[Series, ...]
    lines: tuple[tuple[str, float], ...] = ()
    ticks: tuple[tuple[float, str], ...] = ()
    alt: str = ""
    marks: tuple[tuple[float, str], ...] = ()
    breaks: tuple[tuple[float, str], ...] = ()
    plane: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """A report as data: identity, scope, the columns, the rows, and the notes that say where numbers come from."""

    schema: str  # "refstd.due/1"
    title: str
    lab: str
    as_at: str  # the instant asked for, UTC as kept
    day: str  # the civil day it was judged on, ISO
    log_sequence: int
    log_hash: str
    rules_version: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]  # every cell is text, in the columns' order
    scope: tuple[tuple[str, str], ...] = ()  # what was asked: (name, value)
    notes: tuple[str, ...] = ()  # sources, methods, cautions
    charts: tuple[Chart, ...] = ()
    extra: dict[str, object] = field(default_factory=dict)  # further JSON members
    zone: str = "UTC"  # the lab's, in which people read instants
