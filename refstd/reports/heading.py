"""What stands on every report: from which records, on which day and by which rules it was made, and the caution."""

from collections.abc import Sequence
from datetime import UTC, datetime

from refstd.base.reason import Reason
from refstd.desk.serviceability import CAUTION, Verdict
from refstd.desk.store import Look, standpoint
from refstd.printing.sheet import Chart, Column, Sheet

REASON_COLUMNS = (
    Column("weight", "Weight", width=8),
    Column("says", "Reason", width=26),
    Column("figure", "Figure", width=14),
    Column("limit", "Limit", width=14),
    Column("source", "Limit from", width=16),
    Column("record", "Read from", width=14),
    Column("cure", "Next step", width=18),
)


def headed(
    look: Look,
    schema: str,
    title: str,
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    *,
    scope: Sequence[tuple[str, str]] = (),
    notes: Sequence[str] = (),
    charts: Sequence[Chart] = (),
    extra: dict[str, object] | None = None,
) -> Sheet:
    """Return a sheet that says from where it was answered. The hash is that of the last entry that counts."""
    at = standpoint(look)
    return Sheet(
        schema, title, at.lab_name, at.as_at, at.day, at.log_sequence, at.log_hash, at.rules_version, tuple(columns),
        tuple(tuple(row) for row in rows), tuple(scope), (*notes, CAUTION), tuple(charts), extra or {}, at.zone,
    )  # fmt: skip


def reason_cells(reason: Reason) -> tuple[str, ...]:
    """Return a reason in the order of REASON_COLUMNS."""
    return (
        str(reason.weight), reason.says, reason.figure, reason.limit, reason.source, reason.record, reason.cure,
    )  # fmt: skip


NO_REASON = ("",) * len(REASON_COLUMNS)


def verdict_members(verdict: Verdict, reasons: Sequence[Reason] | None = None) -> dict[str, object]:
    """Return a verdict as JSON has it; `reasons` in place of its own where a question adds some."""
    return {
        "subject": verdict.subject,
        "standing": str(verdict.standing),
        "verdict": verdict.headline(),
        "struck": list(verdict.struck),
        "reasons": [r.as_dict() for r in (verdict.reasons if reasons is None else reasons)],
    }


def instant(moment: datetime | None) -> str:
    """Return an instant as kept (UTC), or '' for none. The printers show it in the lab's zone."""
    return "" if moment is None else moment.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def days(number: int | None) -> str:
    """Return a number of days as a cell."""
    return "" if number is None else str(number)


def text(value: object) -> str:
    """Return a value as a cell: '' for none, yes and no for truth."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return format(value, "f") if hasattr(value, "as_tuple") else str(value)
