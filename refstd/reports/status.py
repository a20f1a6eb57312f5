"""May these items be relied on? The verdict on each, and on all together, with every reason."""

from collections.abc import Sequence

from refstd.desk.serviceability import Verdict, kit_status_within, status_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Sheet
from refstd.reports.heading import NO_REASON, REASON_COLUMNS, headed, reason_cells, verdict_members

COLUMNS = (
    Column("subject", "Item or kit", width=12),
    Column("standing", "Standing", width=10),
    Column("verdict", "Verdict", width=24),
    *REASON_COLUMNS,
)


def status_sheet(lab: Lab, when: When, asset_nos: Sequence[str], procedure: str = "") -> Sheet:
    """Return the verdict on each item, and on the kit when several are named, one row a reason."""
    with lab.look(when) as look:
        verdicts = [s.verdict for s in status_within(look, asset_nos, procedure)]
        if len(verdicts) > 1:
            verdicts.append(kit_status_within(look, asset_nos, procedure))
        scope = [("items", ", ".join(v.subject for v in verdicts[: len(asset_nos)])), ("procedure", procedure or "any")]
        rows = [row for v in verdicts for row in _rows(v)]
        return headed(
            look, "refstd.status/1", "Serviceability", COLUMNS, rows, scope=scope,
            extra={"verdicts": [verdict_members(v) for v in verdicts]},
        )  # fmt: skip


def _rows(verdict: Verdict) -> list[tuple[str, ...]]:
    first = (verdict.subject, str(verdict.standing), verdict.headline())
    return [(*first, *reason_cells(r)) for r in verdict.reasons] or [(*first, *NO_REASON)]
