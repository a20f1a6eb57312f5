"""One control chart: the picture, the rows behind it, and the method with every figure's source."""

import math
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from refstd.base.quantity import Unit, derived
from refstd.desk.baselines import BaselineShown
from refstd.desk.charts import (
    FOR_THE_READER,
    LOOK_BEFORE_CAUTION,
    LOOK_BEFORE_METHOD,
    NotchChart,
    Quantity,
    charted,
)
from refstd.desk.drift import Course, NotchDrift, at_day, date_in_words, date_of
from refstd.tui.driftwords import limits_in_words, trend_in_words
from refstd.tui.suspectwords import moved_words
from refstd.tui.widgets.control import ControlLine, ControlPicture, ControlPoint
from refstd.tui.widgets.plane import PlanePicture, PlaneSeries, Point
from refstd.tui.widgets.rows import Col, Row, heading

POINT_COLUMNS = (
    Col("check", 8), Col("done", 10), Col("by", 8), Col("dB", 6, right=True), Col("°", 6, right=True), Col("gain", 6, right=True),
    Col("against the limits"),
)  # fmt: skip
LIMITS_FROM = (
    "individuals chart about the baseline (NIST/SEMATECH e-Handbook 6.3.2.2): ± 3 × mean moving range / 1.128, or ± 3 standard "
    "deviations of the baseline's n set-ups, whichever is wider, × √(1 + 1/n) for the uncertainty of their mean; never narrower than 3 standard uncertainties by the "
    "readings' last digit, digit/√12 each time (JCGM 100:2008, 4.3.7)"
)
NEWEST = 8  # readings that the plane shows by a sign of their own


def day_words(days: float, zone: ZoneInfo) -> str:
    """Return the civil day of an instant in days."""
    return f"{at_day(days).astimezone(zone):%Y-%m-%d}"


def event_letters(d: NotchDrift) -> tuple[tuple[float, str, str, bool], ...]:
    """Return the events since the baseline as (day, letter, words, breaks), oldest first; a break needs no letter."""
    found, n = [], 0
    for e in sorted(d.events, key=lambda e: e.happened_at):
        letter = "" if e.breaks else chr(ord("a") + n % 26)
        n += not e.breaks
        found.append((e.happened_at.timestamp() / 86400, letter, e.in_words(), e.breaks))
    return tuple(found)


def chart_of(chart: NotchChart, quantity: Quantity, zone: ZoneInfo, chosen: int) -> ControlPicture:
    """Return the control chart of one quantity over time; the chosen check has a ▲ below."""
    d, a, course = chart.drift, chart.drift.drift.answers, quantity.course
    half, unit = course.half_width, course.unit
    lines = [ControlLine("baseline", 0.0, "centre")]
    if half is not None:
        upper, lower = (derived(x, unit, sign=True) for x in (half, -half))
        lines = [ControlLine(upper, half), *lines, ControlLine(lower, -half)]
    judged = set(quantity.judged.tolist())
    points = tuple(
        ControlPoint(x, y, n in judged and course.beyond(y), n not in judged)
        for n, (x, y) in enumerate(zip(a.days.tolist(), quantity.values.tolist(), strict=True))
        if math.isfinite(y) or n not in judged
    )
    points = tuple(p for p in points if math.isfinite(p.y))
    begun = d.baseline_at.timestamp() / 86400
    days = [begun, *a.days.tolist()]
    wanted = dict.fromkeys((days[0], (days[0] + days[-1]) / 2, days[-1]))
    ticks = [(x, day_words(x, zone)) for x in wanted]
    if len(a.days):
        ticks.insert(0, (days[1 + chosen], f"▲{day_words(days[1 + chosen], zone)}"))
    told = event_letters(d)
    named = "re-baselined" if chart.baseline is not None and chart.baseline.why else "baseline set"
    breaks = ((begun, named), *((x, words) for x, _, words, breaks in told if breaks))
    title = f"{quantity.name}, {unit} from the baseline"
    return ControlPicture(
        points, tuple(lines), title, breaks, tuple(ticks), tuple((x, letter) for x, letter, _, b in told if not b)
    )


def plane_of(chart: NotchChart, chosen: int) -> PlanePicture | None:
    """Return the readings in the impedance plane about the baseline's mean, which lies at 0; None without a phase.

    In % of the baseline's amplitude, turned so that the baseline's own direction lies to the right: a change of the
    amplitude moves a mark along, a change of the phase across. Both axes have one scale.
    """
    a = chart.drift.drift.answers
    places = {
        n: (100 * (10 ** (db / 20) * math.cos(math.radians(deg)) - 1), 100 * 10 ** (db / 20) * math.sin(math.radians(deg)))
        for n, (db, deg) in enumerate(zip(a.deviation_db.tolist(), a.deviation_deg.tolist(), strict=True))
        if math.isfinite(db) and math.isfinite(deg)
    }  # fmt: skip
    if not places:
        return None
    newest = [n for n in places if n != chosen][-NEWEST:]

    def marks(numbers: Sequence[int]) -> tuple[Point, ...]:
        return tuple(Point("", *places[n]) for n in numbers)

    earlier = [n for n in places if n not in newest and n != chosen]
    series = [
        PlaneSeries("earlier", "baseline", marks(earlier)),
        PlaneSeries(f"newest {len(newest)}", "start", marks(newest)),
    ]
    if chosen in places:
        series.append(PlaneSeries("the chosen check", "new", marks([chosen]), spokes=True))
    return PlanePicture(tuple(series), "%", x_title="along", y_title="across", origin="baseline's mean")


def against_words(chart: NotchChart, quantity: Quantity, n: int) -> str:
    """Return how a check lies against the limits, or why it is not judged."""
    a, course = chart.drift.drift.answers, quantity.course
    if n in a.why_not:
        return f"not judged: {a.why_not[n]}"
    if not math.isfinite(quantity.values[n]):
        return "not judged: not read"
    if n not in quantity.judged:
        return "○ shown, not judged: no set-up of its own"
    if course.half_width is None:
        return "no limits yet"
    return "X beyond" if course.beyond(float(quantity.values[n])) else "within"


def point_row(chart: NotchChart, quantity: Quantity, n: int, zone: ZoneInfo) -> Row:
    """Return one check as a row, with the three figures and how it lies against the limits of one of them."""
    a = chart.drift.drift.answers
    number, check = a.checks[n], chart.checks.get(a.checks[n])
    against = against_words(chart, quantity, n)
    figures = tuple(_bare(v, u, s) for v, u, s in _figures(chart, n))
    outcome = f"; {check.outcome}" if check else ""
    return Row(
        (number, day_words(float(a.days[n]), zone), check.person if check else "", *figures, against + outcome), ("check", number),
        f"check {number}: {', '.join(_named_figures(chart, n)) or 'no figure'}; {against}{outcome}",
        "quiet" if "not judged" in against else "bad" if "beyond" in against else "",
    )  # fmt: skip


def point_rows(chart: NotchChart, quantity: Quantity, zone: ZoneInfo) -> list[Row]:
    """Return every check, newest first, with the events between them."""
    rows: list[tuple[float, Row]] = []
    for n, day in enumerate(chart.drift.drift.answers.days.tolist()):
        rows.append((day, point_row(chart, quantity, n, zone)))
    for day, letter, words, breaks in event_letters(chart.drift):
        lead = "break" if breaks else f"event {letter}"
        rows.append((day, heading(f"── {day_words(day, zone)} {lead}: {words}")))
    rows.sort(key=lambda each: each[0], reverse=True)
    return [row for _, row in rows]


def chart_about(chart: NotchChart, quantity: Quantity, zone: ZoneInfo) -> str:
    """Return what a chart says in a few lines; the method has the rest."""
    d = chart.drift
    lines = [
        f"{_kit(d)}: {d.in_words()}" if quantity.name == "amplitude" else f"{_kit(d)}: {quantity.course.in_words()}"
    ]
    lines += [f"moved: {moved_words(s)}" for s in chart.suspects]
    told = [f"{letter} {day_words(day, zone)} {words}" for day, letter, words, breaks in event_letters(d) if not breaks]
    if told:
        lines.append("; ".join(told))
    if d.drift.about_limits:
        lines.append(d.drift.about_limits)
    return "\n".join(lines)


def method_words(chart: NotchChart, quantity: Quantity, zone: ZoneInfo) -> str:
    """Return the method behind a chart: every limit with its source, and what the charts for the reader show."""
    d, course, a = chart.drift, quantity.course, chart.drift.drift.answers
    n = a.baseline_setups
    lines = [
        f"What is drawn: {quantity.name} of notch {d.notch} against the mean of the baseline's set-ups, display undone.",
        f"Judged: {len(quantity.judged)} of {len(a.checks)} checks, those balanced and set up anew. ○ are shown and not judged; the table (v) says why.",
        f"Limits: {limits_in_words(course)}{_widest_of(course)}; {LIMITS_FROM}.",
        *_baseline_lines(chart.baseline, quantity, chart, n, zone),
        f"Stands out: {d.in_words() if quantity.name == 'amplitude' else course.in_words()}.",
        f"Trend{' since the last break' if course.since else ''}: {trend_in_words(course)}; straight line by least squares "
        "(JCGM 100:2008, H.3).",
    ]
    if d.drift.about_limits:
        lines.insert(4, f"Note: {d.drift.about_limits}.")
    if quantity.name == "amplitude":
        lines += [f"Date: {date_in_words(d, zone)}.", f"  method: {LOOK_BEFORE_METHOD}"]
        lines += [f"  {LOOK_BEFORE_CAUTION}"] if date_of(d, zone) else []
    return "\n".join((*lines, "", *_charted_lines(chart, quantity, zone)))


def _widest_of(course: Course) -> str:
    """Return the three widths of which the limits are the widest, each with what it comes from; '' where there are none."""
    w = course.widths
    if w is None:
        return ""
    told = [
        f"±{derived(w.by_range, course.unit)} from the mean moving range {derived(w.mean_range, course.unit)}",
        f"±{derived(w.by_setups, course.unit)} from the set-ups' own scatter",
        f"±{derived(w.by_digit, course.unit)} from the readings' last digit" if w.by_digit else "",
    ]
    return f", the widest of {', '.join(t for t in told if t)}"


def _baseline_lines(
    b: BaselineShown | None, quantity: Quantity, chart: NotchChart, n: int, zone: ZoneInfo
) -> list[str]:
    a = chart.drift.drift.answers
    own = {
        "amplitude": (a.baseline_sd_db, Unit.DB),
        "phase": (a.baseline_sd_deg, Unit.DEGREE),
    }.get(quantity.name, (a.baseline_gain_sd_db, Unit.DB))
    scatter = f", their scatter {derived(own[0], own[1])} (standard deviation)" if own[0] is not None else ""
    who = (
        f": checks {', '.join(b.checks)}, {b.happened_at.astimezone(zone):%Y-%m-%d} by {b.person}, approved by {b.approved_by}"
        + (f" ({b.why})" if b.why else "")
        if b
        else ""
    )
    return [f"Baseline: {n} independent set-up{'s' if n != 1 else ''}{scatter}{who}."]


def _charted_lines(chart: NotchChart, quantity: Quantity, zone: ZoneInfo) -> list[str]:
    found = charted(quantity.course)
    if found is None:
        return ["Charts for the reader: none, there are no limits yet."]
    a, course = chart.drift.drift.answers, quantity.course
    since = f" since the last break ({found.values} values)" if course.since else f" ({found.values} values)"
    lines = [
        f"{FOR_THE_READER} σ = {derived(found.sigma, course.unit)}, a third of the limits{since}.",
    ]
    for rule in found.fired:
        numbers = [a.checks[int(quantity.judged[i])] for i in rule.at]
        days = [day_words(float(course.days[i]), zone) for i in rule.at]
        if not numbers:
            where = "nowhere"
        elif len(numbers) == 1:
            where = f"at check {numbers[0]} ({days[0]})"
        else:
            where = f"at {len(numbers)} checks, first {numbers[0]} ({days[0]}), last {numbers[-1]} ({days[-1]})"
        lines.append(f"· {rule.says}: {where} ({rule.source})")
    return lines


def _figures(chart: NotchChart, n: int) -> tuple[tuple[float, Unit, bool], ...]:
    a = chart.drift.drift.answers
    return (
        (float(a.deviation_db[n]), Unit.DB, True),
        (float(a.deviation_deg[n]), Unit.DEGREE, True),
        (float(a.gain_needed_db[n]), Unit.DB, False),
    )


def _named_figures(chart: NotchChart, n: int) -> list[str]:
    names = ("amplitude", "phase", "gain needed for the target")
    return [
        f"{name} {derived(value, unit, sign=sign)}"
        for name, (value, unit, sign) in zip(names, _figures(chart, n), strict=True)
        if math.isfinite(value)
    ]


def _bare(value: float, unit: Unit, sign: bool) -> str:
    return derived(value, unit, sign=sign).removesuffix(unit).rstrip() if math.isfinite(value) else "—"


def _kit(d: NotchDrift) -> str:
    return f"{d.setup.instrument} {d.setup.probe} {d.setup.block}, notch {d.notch}"
