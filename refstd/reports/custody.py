"""Who has what: what is out, what is late, and every loan before."""

from refstd.desk.history import LoanPast, loans_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant

COLUMNS = (
    Column("asset_no", "Asset", width=10),
    Column("state", "State", width=10),
    Column("holder", "Holder", width=8),
    Column("job", "Job", width=10),
    Column("since", "Out since", Kind.INSTANT, width=14),
    Column("due_back_on", "Due back", Kind.DATE, width=10),
    Column("returned_at", "Returned", Kind.INSTANT, width=14),
    Column("condition", "Condition on return", width=24),
    Column("late_days", "Days late", Kind.NUMBER, width=7),
)
_ORDER = ("out, late", "out", "returned late", "returned")


def custody_sheet(lab: Lab, when: When) -> Sheet:
    """Return every loan: out and late first, then out, then the history, newest first."""
    with lab.look(when) as look:
        past = sorted(loans_within(look), key=lambda x: (x.since, x.asset_no), reverse=True)
        past.sort(key=lambda x: min(_ORDER.index(_state(x)), 2))
        rows = [
            (
                x.asset_no, _state(x), x.holder, x.job, instant(x.since), x.due_back_on, instant(x.returned_at), x.condition,
                str(x.late_days) if x.late_days else "",
            )
            for x in past
        ]  # fmt: skip
        counts = {word: sum(_state(x) == word for x in past) for word in _ORDER}
        scope = [(word, str(counts[word])) for word in _ORDER]
        return headed(look, "refstd.custody/1", "Custody", COLUMNS, rows, scope=scope)


def _state(loan: LoanPast) -> str:
    if loan.returned_at is None:
        return "out, late" if loan.late_days else "out"
    return "returned late" if loan.late_days else "returned"
