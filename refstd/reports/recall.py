"""Calibration recall: what to send to which laboratory by which day, the load by month, and what sending leaves without."""

from refstd.desk.recall import MONTHS, Recalled, recall_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import days, headed, text

COLUMNS = (
    Column("laboratory", "Laboratory", width=14),
    Column("month", "Month", width=8),
    Column("valid_until", "Valid until", Kind.DATE, width=9),
    Column("asset_no", "Asset", width=9),
    Column("name", "Name", width=14),
    Column("serial_no", "Serial number", width=9),
    Column("activity", "Activity", width=10),
    Column("state", "State", width=9),
    Column("days", "Days left", Kind.NUMBER, width=6),
    Column("where", "Where it is", width=12),
    Column("used", "Used", width=9),
    Column("every", "Every", width=10),
    Column("source", "Interval from", width=14),
    Column("record", "Evidence", width=12),
    Column("verdict", "Verdict", width=20),
    Column("warning", "Before it goes", width=30),
    Column("cure", "Next step", width=20),
)
NOTES = (
    "Valid until the last day shown, by the calendar, to the end of a deferral, or as estimated from the uses so far: allow for the way "
    "and for the laboratory's own time.",
    "The laboratory is the one that the schedule names, else the one of the last certificate; of what is not ours to recalibrate the owner "
    "is named in its place, who decides. What this lab does itself is counted in "
    "the load and listed in the due list.",
    "A warning counts what suits the job, or is of the material, and may be relied on today, with what is out on other jobs; what is sent "
    "in another month is taken to be back. It stops nothing.",
    "Each duty is counted once: what falls due again within these months is not. 'At once' is what is late, was never done, or is to be "
    "calibrated before use.",
)  # fmt: skip


def recall_sheet(lab: Lab, when: When, months: int = MONTHS) -> Sheet:
    """Return what to send where, to the end of so many months after this one."""
    with lab.look(when) as look:
        found = recall_within(look, months)
        scope = [("through", f"{found.through}, the end of {months} months after this one")]
        scope += [(f"load {m.month}", m.in_words()) for m in found.load]
        for state in ("away at laboratory", "stored"):
            numbers = [n for n, s in found.left_out if s == state]
            scope += [(f"left out, {state}", ", ".join(numbers))] if numbers else []
        extra: dict[str, object] = {
            "load": [
                {"month": m.month, "to_send": m.items, "by_laboratory": dict(m.by_laboratory), "done_here": m.here} for m in found.load
            ],
            "warnings": [{"asset_no": r.due.asset_no, "activity": r.due.activity, "reasons": [w.as_dict() for w in r.warnings]} for r in found.sent if r.warnings],
        }  # fmt: skip
        return headed(
            look, "refstd.recall/1", "Calibration recall", COLUMNS, [_cells(r) for r in found.sent], scope=scope, notes=NOTES, extra=extra
        )  # fmt: skip


def _cells(r: Recalled) -> tuple[str, ...]:
    d = r.due
    return (
        r.laboratory, r.month, text(r.valid_until), d.asset_no, d.name, r.serial_no, d.activity, d.state, days(d.days), r.where, d.uses, d.every,
        d.source, d.record, d.verdict.headline(), "; ".join(w.says for w in r.warnings), "; ".join(dict.fromkeys(w.cure for w in r.warnings)),
    )  # fmt: skip
