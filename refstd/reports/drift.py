"""How equipment ages: each notch of each setup against its baseline, with control charts and what stands out."""

from datetime import timedelta

from refstd.base.quantity import Unit, derived
from refstd.desk.drift import NotchDrift, drift_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Chart, Column, Kind, Series, Sheet
from refstd.reports.heading import headed
from refstd.rules.drift import FEWEST_POINTS, IN_SUCCESSION, SIGNIFICANT, TOO_FEW

COLUMNS = (
    Column("setup", "Setup", width=8),
    Column("notch", "Notch", width=9),
    Column("checks", "Comparable checks", Kind.NUMBER, width=7),
    Column("deviation_db", "Newest deviation", Kind.NUMBER, "dB", 8),
    Column("lower_db", "Lower limit", Kind.NUMBER, "dB", 8),
    Column("upper_db", "Upper limit", Kind.NUMBER, "dB", 8),
    Column("slope_db_per_year", "Slope", Kind.NUMBER, "dB/year", 8),
    Column("u_slope", "u(slope)", Kind.NUMBER, "dB/year", 8),
    Column("flagged", "Flagged", width=7),
    Column("says", "What stands out", width=18),
    Column("baseline_set_ups", "Set-ups of the baseline", Kind.NUMBER, width=8),
    Column("baseline_sd_db", "Their scatter", Kind.NUMBER, "dB", 8),
    Column("not_comparable", "Not comparable", Kind.NUMBER, width=8),
    Column("equipment", "Equipment", width=18),
    Column("record", "Newest record", width=12),
)
NOTES = (
    "Deviation: amplitude against the mean of the baseline's independent set-ups, in dB, display undone. A rise is a change too.",
    "Limits: individuals chart about the baseline, NIST/SEMATECH e-Handbook 6.3.2.2: ± 3 × mean moving range / 1.128379, or ± 3 × "
    "the set-ups' own standard deviation, whichever is wider, widened by √(1 + 1/n) for the mean of n set-ups.",
    f"Flagged: the last {IN_SUCCESSION} checks beyond the same limit; or a straight line by least squares whose slope differs from "
    f"zero at {SIGNIFICANT * 100:g} % (two-sided t) and which has left a third of the limits. u(slope) is its standard uncertainty.",
    f"'{TOO_FEW}': fewer than {FEWEST_POINTS} comparable checks since the baseline; nothing is judged and no limit is shown.",
    "The condition of equipment drives maintenance and intervals; it does not by itself stop a job.",
)


def drift_sheet(lab: Lab, when: When, setup: str = "") -> Sheet:
    """Return the drift of every setup that has a baseline, or of one, with a chart for each series that can be judged."""
    with lab.look(when) as look:
        found = drift_within(look, setup=setup)
        scope = [("setup", setup)] if setup else []
        charts = [chart for d in found if (chart := _chart(d)) is not None]
        return headed(
            look, "refstd.drift/1", "Drift of responses", COLUMNS, [_row(d) for d in found], scope=scope, notes=NOTES,
            charts=charts,
        )  # fmt: skip


def _row(d: NotchDrift) -> tuple[str, ...]:
    drift, last = d.drift, d.drift.last
    comparable = sum(p.deviation_db is not None for p in drift.points)
    return (
        d.setup.number, d.notch, str(comparable), _number(last.deviation_db if last else None, sign=True),
        _number(drift.lower, sign=True), _number(drift.upper, sign=True), _number(drift.slope_db_per_year, sign=True),
        _number(drift.u_slope_db_per_year), "yes" if drift.flags else "no", drift.in_words(), str(d.baseline_setups), _number(d.baseline_sd_db),
        str(len(drift.points) - comparable), f"{d.setup.instrument}, {d.setup.probe}, {d.setup.block}",
        f"check {last.check}" if last else "",
    )  # fmt: skip


def _number(value: float | None, *, sign: bool = False) -> str:
    """Return a figure in dB with the decimals of its unit and no unit: the column names it."""
    return "" if value is None else derived(value, Unit.DB, sign=sign).removesuffix(f" {Unit.DB}")


def _chart(d: NotchDrift) -> Chart | None:
    """Return the control chart of a series that has limits."""
    lower, upper = d.drift.lower, d.drift.upper
    if lower is None or upper is None:
        return None
    points = [(p.days, p.deviation_db) for p in d.drift.points if p.deviation_db is not None]
    xs, ys = tuple(x for x, _ in points), tuple(y for _, y in points)
    beyond = tuple(not lower <= y <= upper for y in ys)
    lines = (
        (f"upper limit {derived(upper, Unit.DB, sign=True)}", upper),
        ("baseline", 0.0),
        (f"lower limit {derived(lower, Unit.DB, sign=True)}", lower),
    )
    marks = sorted({xs[0], xs[len(xs) // 2], xs[-1]})
    ticks = tuple((x, f"{d.baseline_at + timedelta(days=x):%Y-%m-%d}") for x in marks)
    title = f"Setup {d.setup.number}, notch {d.notch}: deviation from the baseline"
    alt = f"{title}, {len(ys)} checks, newest {derived(ys[-1], Unit.DB, sign=True)}, limits {lines[2][0]}, {lines[0][0]}; {d.drift.in_words()}"
    return Chart(title, "Deviation, dB", (Series("deviation", xs, ys, beyond),), lines, ticks, alt)
