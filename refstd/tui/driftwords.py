"""Drift as rows: the newest deviation, its limits and where they come from, what stands out in words."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from refstd.base.quantity import Unit, derived
from refstd.desk.drift import Course, NotchDrift, date_in_words
from refstd.tui.widgets.rows import Col, Row

DRIFT_COLUMNS = (
    Col("setup", 6), Col("kit", 17), Col("notch", 11), Col("newest", 8, right=True), Col("limits", 8, right=True),
    Col("what stands out"),
)  # fmt: skip


def limits_in_words(course: Course) -> str:
    """Return the limits of a deviation in its unit."""
    return "none yet" if course.half_width is None else f"±{derived(course.half_width, course.unit)}"


def newest_in_words(d: NotchDrift) -> str:
    """Return the newest deviation that can be judged."""
    last = d.drift.amplitude.last
    return "none" if last is None else derived(last, Unit.DB, sign=True)


def trend_in_words(course: Course) -> str:
    """Return the slope with its standard uncertainty, or that there is none: a step is told as a step."""
    if course.stepped is not None:
        size = derived(course.step_size, course.unit, sign=True)
        return f"a step of {size}, which fits the values better than a straight line"
    slope, u_slope = course.slope_per_year, course.u_slope_per_year
    if slope is None or u_slope is None or course.line is None:
        return "not told from too few values, or from one day alone"
    return (
        f"{derived(slope, course.unit, sign=True)} per year, standard uncertainty {derived(u_slope, course.unit)} per year "
        f"({course.line.degrees_of_freedom} degrees of freedom)"
    )


def drift_words(d: NotchDrift, zone: ZoneInfo) -> str:
    """Return the drift of one notch in a few lines; its chart's method says where each figure comes from."""
    n = d.baseline_setups
    limits = limits_in_words(d.drift.amplitude)
    lines = [
        f"{d.setup.in_words()}, notch {d.notch}: {newest_in_words(d)} against the baseline, limits {limits}: {d.in_words()}",
        f"baseline of {n} set-up{'s' if n != 1 else ''}, {d.baseline_at.astimezone(zone):%Y-%m-%d}; trend: {trend_in_words(d.drift.amplitude)}; "
        f"{date_in_words(d, zone)}",
    ]
    if d.drift.about_limits:
        lines.append(d.drift.about_limits)
    return "\n".join(lines)


def short_words(d: NotchDrift) -> str:
    """Return what stands out in as few words as a narrow column takes; the shape before the fact that it is beyond."""
    if not d.flags:
        return d.in_words()
    shapes = [f.replace(" by ", " ") for f in d.flags if not f.endswith("beyond the limits")]
    if not shapes:
        return ", ".join(d.flags)
    return ", ".join([*shapes, *(["beyond"] if "beyond the limits" in d.flags else [])])


def drift_rows(found: Sequence[NotchDrift], zone: ZoneInfo) -> tuple[Row, ...]:
    """Return the drift of notches, one a row; '!' stands before what stands out."""
    return tuple(
        Row(
            (d.setup.number, f"{d.setup.instrument} {d.setup.probe} {d.setup.block}", d.notch, newest_in_words(d),
             limits_in_words(d.drift.amplitude), f"! {short_words(d)}" if d.flags else short_words(d)),
            ("drift", f"{d.setup.number} {d.notch}"), drift_words(d, zone), "bad" if d.flags else "",
        )
        for d in found
    )  # fmt: skip
