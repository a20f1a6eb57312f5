"""Drift as rows and as a control chart: the newest deviation, its limits and where they come from, the flags in words."""

from collections.abc import Sequence
from datetime import timedelta
from zoneinfo import ZoneInfo

from refstd.base.quantity import Unit, derived
from refstd.desk.drift import NotchDrift
from refstd.tui.widgets.control import ControlLine, ControlPicture, ControlPoint
from refstd.tui.widgets.rows import Col, Row

DRIFT_COLUMNS = (
    Col("setup", 8), Col("notch", 12), Col("newest", 9, right=True), Col("limits", 17), Col("points", 6, right=True),
    Col("what stands out"),
)  # fmt: skip
LIMITS_FROM = (
    "limits: ±3 × mean moving range / 1.128 or ±3 standard deviations of the baseline's n set-ups, whichever is wider, "
    "× √(1 + 1/n), about the baseline (NIST/SEMATECH e-Handbook 6.3.2.2)"
)


def limits_in_words(d: NotchDrift) -> str:
    """Return the limits of the deviation, in dB."""
    if d.drift.lower is None or d.drift.upper is None:
        return "none yet"
    low, high = derived(d.drift.lower, Unit.DB, sign=True), derived(d.drift.upper, Unit.DB, sign=True)
    return f"{low.removesuffix(' dB')} to {high}"


def newest_in_words(d: NotchDrift) -> str:
    """Return the newest comparable deviation."""
    last = d.drift.last
    return derived(last.deviation_db, Unit.DB, sign=True) if last and last.deviation_db is not None else "none"


def drift_words(d: NotchDrift) -> str:
    """Return the drift of one notch in full."""
    lines = [f"{d.setup.in_words()}, notch {d.notch}: {newest_in_words(d)} against the baseline; {d.drift.in_words()}"]
    if d.drift.slope_db_per_year is not None and d.drift.u_slope_db_per_year is not None:
        slope = derived(d.drift.slope_db_per_year, Unit.DB, sign=True)
        lines.append(
            f"trend {slope} per year, standard uncertainty {derived(d.drift.u_slope_db_per_year, Unit.DB)} per year"
        )
    lines.append(LIMITS_FROM)
    return "\n".join(lines)


def drift_rows(found: Sequence[NotchDrift]) -> tuple[Row, ...]:
    """Return the drift of notches, one a row."""
    return tuple(
        Row(
            (d.setup.number, d.notch, newest_in_words(d), limits_in_words(d), str(len(d.drift.points)), d.drift.in_words()),
            ("drift", f"{d.setup.number} {d.notch}"), drift_words(d), "bad" if d.drift.flags else "",
        )
        for d in found
    )  # fmt: skip


def chart_of(d: NotchDrift, zone: ZoneInfo, chosen: int | None = None) -> ControlPicture:
    """Return the control chart of one notch: days since the baseline, deviation in dB; the chosen point has a ▲ below."""
    lower, upper = d.drift.lower, d.drift.upper
    lines = []
    if lower is not None and upper is not None:
        lines = [
            ControlLine(derived(upper, Unit.DB, sign=True), upper),
            ControlLine("baseline", 0.0, "centre"),
            ControlLine(derived(lower, Unit.DB, sign=True), lower),
        ]
    else:
        lines = [ControlLine("baseline", 0.0, "centre")]
    points = tuple(
        ControlPoint(
            p.days, float("nan") if p.deviation_db is None else p.deviation_db,
            p.deviation_db is not None and upper is not None and abs(p.deviation_db) > upper,
        )
        for p in d.drift.points
    )  # fmt: skip
    days = [p.days for p in d.drift.points] or [0.0]
    wanted = dict.fromkeys((days[0], (days[0] + days[-1]) / 2, days[-1]))
    ticks = [(x, f"{(d.baseline_at + timedelta(days=x)).astimezone(zone):%Y-%m-%d}") for x in wanted]
    if chosen is not None and d.drift.points:
        x = d.drift.points[chosen].days
        ticks.insert(0, (x, f"▲{(d.baseline_at + timedelta(days=x)).astimezone(zone):%Y-%m-%d}"))
    return ControlPicture(points, tuple(lines), f"deviation, dB: {d.setup.number} {d.notch}", ticks=tuple(ticks))
