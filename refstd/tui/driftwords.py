"""Drift as rows and as a control chart: the newest deviation, its limits and where they come from, the flags in words."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from refstd.base.quantity import Unit, derived
from refstd.desk.drift import Course, NotchDrift, at_day, date_in_words
from refstd.tui.widgets.control import ControlLine, ControlPicture, ControlPoint
from refstd.tui.widgets.rows import Col, Row

DRIFT_COLUMNS = (
    Col("setup", 7), Col("kit", 18), Col("notch", 11), Col("newest", 9, right=True), Col("limits", 9, right=True),
    Col("what stands out"),
)  # fmt: skip
LIMITS_FROM = (
    "limits: ±3 × mean moving range / 1.128 or ±3 standard deviations of the baseline's n set-ups, whichever is wider, "
    "× √(1 + 1/n), about the baseline (NIST/SEMATECH e-Handbook 6.3.2.2)"
)


def limits_in_words(course: Course) -> str:
    """Return the limits of a deviation in its unit."""
    return "none yet" if course.half_width is None else f"±{derived(course.half_width, course.unit)}"


def newest_in_words(d: NotchDrift) -> str:
    """Return the newest deviation that can be judged."""
    last = d.drift.amplitude.last
    return "none" if last is None else derived(last, Unit.DB, sign=True)


def drift_words(d: NotchDrift, zone: ZoneInfo) -> str:
    """Return the drift of one notch in full."""
    lines = [f"{d.setup.in_words()}, notch {d.notch}: {newest_in_words(d)} against the baseline; {d.in_words()}"]
    slope, u_slope = d.drift.amplitude.slope_per_year, d.drift.amplitude.u_slope_per_year
    if slope is not None and u_slope is not None:
        lines.append(
            f"trend {derived(slope, Unit.DB, sign=True)} per year, standard uncertainty {derived(u_slope, Unit.DB)} per year; "
            f"{date_in_words(d, zone)}"
        )
    if d.drift.wide_because:
        lines.append(d.drift.wide_because)
    lines.append(LIMITS_FROM)
    return "\n".join(lines)


def drift_rows(found: Sequence[NotchDrift], zone: ZoneInfo) -> tuple[Row, ...]:
    """Return the drift of notches, one a row."""
    return tuple(
        Row(
            (d.setup.number, f"{d.setup.instrument} {d.setup.probe} {d.setup.block}", d.notch, newest_in_words(d),
             limits_in_words(d.drift.amplitude), d.in_words()),
            ("drift", f"{d.setup.number} {d.notch}"), drift_words(d, zone), "bad" if d.flags else "",
        )
        for d in found
    )  # fmt: skip


def chart_of(d: NotchDrift, zone: ZoneInfo, chosen: int | None = None) -> ControlPicture:
    """Return the control chart of one notch: deviation in dB over time; the chosen check has a ▲ below."""
    a, half = d.drift.answers, d.drift.amplitude.half_width
    lines = [ControlLine("baseline", 0.0, "centre")]
    if half is not None:
        upper, lower = (derived(x, Unit.DB, sign=True) for x in (half, -half))
        lines = [ControlLine(upper, half), *lines, ControlLine(lower, -half)]
    pairs = list(zip(a.days.tolist(), a.deviation_db.tolist(), strict=True))
    points = tuple(ControlPoint(x, y, half is not None and abs(y) > half) for x, y in pairs)
    days = [x for x, _ in pairs] or [0.0]
    wanted = dict.fromkeys((days[0], (days[0] + days[-1]) / 2, days[-1]))
    ticks = [(x, f"{at_day(x).astimezone(zone):%Y-%m-%d}") for x in wanted]
    if chosen is not None and pairs:
        ticks.insert(0, (days[chosen], f"▲{at_day(days[chosen]).astimezone(zone):%Y-%m-%d}"))
    return ControlPicture(points, tuple(lines), f"deviation, dB: {d.setup.number} {d.notch}", ticks=tuple(ticks))
