"""How equipment ages: each notch of each setup against its baseline, with control charts and what stands out."""

from refstd.base.quantity import Unit, derived
from refstd.desk.drift import Course, NotchDrift, at_day, date_of, days_of, drift_within
from refstd.desk.store import Lab, Look, When
from refstd.printing.sheet import Chart, Column, Kind, Series, Sheet
from refstd.reports.heading import headed
from refstd.rules.drift import FEWEST_POINTS, IN_SUCCESSION, SIGNIFICANT, TOO_FEW
from refstd.rules.lookbefore import CAUTION, FEWEST, LEAST_DAYS, METHOD

COLUMNS = (
    Column("setup", "Setup", width=10),
    Column("kit", "Instrument, probe, block", width=23),
    Column("notch", "Notch", width=11),
    Column("deviation_db", "Now", Kind.NUMBER, "dB", 8),
    Column("limits_db", "Limits ±", Kind.NUMBER, "dB", 9),
    Column("flagged", "Flagged", width=10),
    Column("says", "What stands out", width=30),
    Column("look_before", "Look at it before", width=12),
    Column("slope_db_per_year", "Slope", Kind.NUMBER, "dB/year", 11),
    Column("u_slope", "u(slope)", Kind.NUMBER, "dB/year", 11),
    Column("deviation_deg", "Phase now", Kind.NUMBER, "°", 8),
    Column("limits_deg", "Limits ±", Kind.NUMBER, "°", 9),
    Column("gain_needed_db", "Gain needed", Kind.NUMBER, "dB", 10),
    Column("checks", "Judged", Kind.NUMBER, width=10),
    Column("not_judged", "Not judged", Kind.NUMBER, width=10),
    Column("baseline_set_ups", "Set-ups", Kind.NUMBER, width=10),
    Column("baseline_sd_db", "Their scatter", Kind.NUMBER, "dB", 10),
    Column("record", "Newest record", width=10),
)
NOTES = (
    "Deviation: amplitude and phase against the mean of the baseline's independent set-ups, display undone. A rise is a change too.",
    "Set-ups: those that the baseline rests on, with their own standard deviation as scatter.",
    "Gain needed: vertical gain at which the notch would reach the procedure's target, by the newest judged check.",
    "Judged: independent set-ups only. Checks that follow a start, readings hidden in noise or off the screen, and readings "
    "that cannot be compared are counted as not judged.",
    "Limits: individuals chart about the baseline, NIST/SEMATECH e-Handbook 6.3.2.2: ± 3 × mean moving range / 1.128379, or ± 3 × "
    "the set-ups' own standard deviation, whichever is wider, widened by √(1 + 1/n) for the mean of n set-ups; never narrower than 3 standard uncertainties of a "
    "deviation by the readings' last digit, digit/√12 in the reading and in the baseline (JCGM 100:2008, 4.3.7). What stands out says where "
    "that digit sets them; a slope or step is then told only if it leaves them.",
    f"Flagged: the last {IN_SUCCESSION} checks beyond the same limit; or a straight line by least squares whose slope differs from "
    f"zero at {SIGNIFICANT * 100:g} % (two-sided t) and which has left a third of the limits; called a step where a step fits better. "
    "u(slope) is its standard uncertainty. Both stay empty where a step fits better: a line through a step is no trend.",
    f"'{TOO_FEW}': fewer than {FEWEST_POINTS} judged checks since the baseline; nothing is judged and no limit is shown.",
    f"Look at it before: {METHOD}; at least {FEWEST} checks over {LEAST_DAYS / 7:.0f} weeks since the onset or the last break; only where a procedure in use "
    f"limits the notch against the baseline, and no further ahead than the record is long. {CAUTION}",
    "The condition of equipment drives maintenance and intervals; it does not by itself stop a job.",
)


def drift_sheet(lab: Lab, when: When, setup: str = "") -> Sheet:
    """Return the drift of every setup that has a baseline, or of one, with a chart for each series that can be judged."""
    with lab.look(when) as look:
        found = sorted(drift_within(look, setup=setup), key=lambda d: not d.flags)
        scope = [("setup", setup)] if setup else []
        charts = [chart for d in found if (chart := _chart(look, d)) is not None]
        rows = [_row(look, d) for d in found]
        return headed(
            look, "refstd.drift/1", "Drift of responses", COLUMNS, rows, scope=scope, notes=NOTES, charts=charts
        )


def _row(look: Look, d: NotchDrift) -> tuple[str, ...]:
    course, phase, gain, a = d.drift.amplitude, d.drift.phase, d.drift.gain, d.drift.answers
    needed = (
        gain.last + a.baseline_gain_db if gain and gain.last is not None and a.baseline_gain_db is not None else None
    )
    says = (d.in_words(), d.drift.about_limits)
    return (
        d.setup.number, f"{d.setup.instrument} {d.setup.probe} {d.setup.block}", d.notch, _db(course.last, sign=True),
        _db(course.half_width), "yes" if d.flags else "no", "; ".join(s for s in says if s), date_of(d, look.zone),
        _db(course.slope_per_year, sign=True), _db(course.u_slope_per_year), _degrees(phase),
        _bare(phase.half_width if phase else None, Unit.DEGREE), _db(needed), str(len(course.values)),
        str(len(a.checks) - len(course.values)), str(d.baseline_setups), _db(a.baseline_sd_db),
        f"check {d.drift.check(course, -1)}" if len(course.values) else "",
    )  # fmt: skip


def _degrees(phase: Course | None) -> str:
    return _bare(phase.last if phase else None, Unit.DEGREE, sign=True)


def _db(value: float | None, *, sign: bool = False) -> str:
    return _bare(value, Unit.DB, sign=sign)


def _bare(value: float | None, unit: Unit, *, sign: bool = False) -> str:
    """Return a figure with the decimals of its unit and no unit: the column names it."""
    return "" if value is None else derived(value, unit, sign=sign).removesuffix(unit).rstrip()


def _chart(look: Look, d: NotchDrift) -> Chart | None:
    """Return the control chart of a series that has limits."""
    half, course = d.drift.amplitude.half_width, d.drift.amplitude
    if half is None:
        return None
    xs, ys = tuple(course.days.tolist()), tuple(course.values.tolist())
    upper, lower = derived(half, Unit.DB, sign=True), derived(-half, Unit.DB, sign=True)
    lines = ((f"upper limit {upper}", half), ("baseline", 0.0), (f"lower limit {lower}", -half))
    marks = sorted({xs[0], xs[len(xs) // 2], xs[-1]})
    ticks = tuple((x, f"{at_day(x).astimezone(look.zone):%Y-%m-%d}") for x in marks)
    title = f"Setup {d.setup.number} ({d.setup.instrument}, {d.setup.probe}, {d.setup.block}), notch {d.notch}: deviation from the baseline"
    alt = f"{title}, {len(ys)} checks, newest {derived(ys[-1], Unit.DB, sign=True)}, limits {lower}, {upper}; {d.in_words()}"
    beyond = tuple(course.beyond(y) for y in ys)
    happened = [
        (days_of(e.happened_at), f"{e.in_words()} {e.happened_at.astimezone(look.zone):%Y-%m-%d}", e.breaks)
        for e in d.events
    ]
    passing = tuple((x, words) for x, words, breaks in happened if not breaks)
    broken = tuple((x, words) for x, words, breaks in happened if breaks)
    return Chart(title, "Deviation, dB", (Series("deviation", xs, ys, beyond),), lines, ticks, alt, passing, broken)
