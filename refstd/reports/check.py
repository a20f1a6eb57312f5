"""One response check as it was kept: readings and settings, the job comparison, and apart from it the condition."""

from refstd.desk.against import decided_on
from refstd.desk.check_record import (
    CheckRecord,
    check_record_within,
    conditions_in_words,
    recorded_in_words,
    settings_in_words,
    sheet_in_words,
)
from refstd.desk.jobs import job_named
from refstd.desk.store import Lab, Look, When
from refstd.printing.sheet import Chart, Column, Series, Sheet
from refstd.reports.heading import REASON_COLUMNS, headed, instant, reason_cells, text

COLUMNS = (Column("part", "Part", width=14), *REASON_COLUMNS)
JOB = "job comparison"
CONDITION = "condition"
NOTES = (
    "Two comparisons, never one: the job comparison holds the procedure's limits and decides; the condition holds the check "
    "against the setup's baseline, says how the equipment ages, and stops no job.",
    "A verdict stands as kept, by the rules of its day.",
    "Beside each figure stands whether it is the deflection as seen or has the display undone: its gains, and where both "
    "parts were read its rotation too.",
    "u is the standard uncertainty (k = 1) of a deviation, of what was read alone: a last digit is uniform within it, the noise "
    "on record a half-width, JCGM 100:2008, 4.3.7 and 5.1.2; gains and rotation of one instrument at the same settings cancel.",
)


def check_sheet(lab: Lab, when: When, number: str) -> Sheet:
    """Return a kept check as a page: what was read, and every reason of both comparisons."""
    with lab.look(when) as look:
        record = check_record_within(look, number)
        v = record.verdict
        rows = _readings(record)
        rows += [(JOB, *reason_cells(r)) for r in v.reasons]
        rows += [(CONDITION, *reason_cells(r)) for r in v.condition]
        rows += [("what to do", "", line, "", "", "", "", "") for line in v.do]
        notes = [*NOTES, *(f"Tell: {v.tell}." for _ in range(1) if v.tell)]
        members: dict[str, object] = {
            "number": v.number, "outcome": v.outcome, "verdict": v.headline(), "kept_by_rules": v.rules_version,
            "held": list(v.held), "finding": v.finding, "reasons": [r.as_dict() for r in v.reasons],
            "condition": [r.as_dict() for r in v.condition],
        }  # fmt: skip
        scope = [*_scope(record), *_decided(look, record)]
        title = f"{v.occasion.capitalize()} check {v.number}: {v.outcome}"
        return headed(
            look,
            "refstd.check/1",
            title,
            COLUMNS,
            rows,
            scope=scope,
            notes=notes,
            charts=_plane(record),
            extra={"check": members},
        )


def _decided(look: Look, record: CheckRecord) -> list[tuple[str, str]]:
    """Return whether its kit had been taken against advice when it was made: by whom decided, why."""
    v, s = record.verdict, record.setup
    if not v.job:
        return []
    found = decided_on(
        look, job_named(look, v.job).job_id, (s.block, s.probe, s.instrument, record.cable, record.adapter)
    )
    return [
        ("against advice", f"{a.in_words()}; advised: {'; '.join(a.advised)}") for a in found if a.happened_at <= v.happened_at
    ]  # fmt: skip


def _readings(record: CheckRecord) -> list[tuple[str, ...]]:
    r = record.readings
    rows: list[tuple[str, ...]] = []
    for reading in r.readings:
        seen = [f"{r.one_figure} {text(reading.vertical)}"] if reading.vertical is not None else []
        if reading.horizontal is not None:
            seen.insert(0, f"horizontal {text(reading.horizontal)}")
        figure = (
            f"at least full screen ({text(r.full_screen)} {r.unit})"
            if reading.full_screen
            else f"{', '.join(seen)} {r.unit} (as seen)"
        )
        rows.append(("reading", "", f"notch {reading.notch}", figure, "", "", r.record, ""))
    for d in record.depths:
        rows.append(("certified depth", "", f"notch {d.notch}", d.figure(), "", "", f"certificate {d.certificate}", ""))
        rows += [("certified depth", *reason_cells(reason)) for reason in d.against]
    return rows


def _plane(record: CheckRecord) -> list[Chart]:
    """Return the readings as the screen showed them, each from the balance point; none where one figure was read."""
    r = record.readings
    points = [(x.notch, x.horizontal, x.vertical, x.full_screen) for x in r.readings]
    series = [
        Series(f"notch {notch}", (0.0, float(h)), (0.0, float(v)))
        for notch, h, v, full_screen in points
        if h is not None and v is not None and not full_screen
    ]
    if not series:
        return []
    left_out = [notch for notch, _, _, full_screen in points if full_screen]
    title = "Impedance plane as seen on the screen" + (
        f", without what filled it: notch {', '.join(left_out)}" if left_out else ""
    )
    alt = "; ".join(f"{s.name}: horizontal {s.x[1]:g}, vertical {s.y[1]:g} {r.unit}" for s in series)
    return [Chart(title, f"Vertical against horizontal, {r.unit}", tuple(series), alt=alt, plane=True)]


def _scope(record: CheckRecord) -> list[tuple[str, str]]:
    v, s = record.verdict, record.setup
    parts = [
        ("setup", s.in_words()), ("conditions", conditions_in_words(s)), ("settings", settings_in_words(record)), ("job", v.job),
        ("procedure", record.procedure), ("start check", record.start_check), ("read at", instant(v.happened_at)),
        ("recorded", recorded_in_words(record, instant(record.recorded_at))), ("by", v.person), ("paper sheet", sheet_in_words(record)), ("cable", record.cable),
        ("adapter", record.adapter), ("block's certificate", record.certificate), ("remedy before the repeat", record.remedy),
        ("repeats", v.repeats), ("corrects", record.corrects), ("corrected by", record.corrected_by), ("reason of the correction", record.why),
        ("second person", record.second_person), ("covers", v.covers), ("finding", v.finding), ("held", "; ".join(v.held)),
        ("rules of the day", v.rules_version), ("note", record.note),
    ]  # fmt: skip
    return [(name, value) for name, value in parts if value]
