"""Who has what, or had it: what is out, what is late, and every loan before, hand-over by hand-over."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from refstd.desk.against import against_in
from refstd.desk.custody import Where, where_within
from refstd.desk.loans import LoanPast, loans_within
from refstd.desk.lost import LossShown, losses_in
from refstd.desk.serviceability import status_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant

COLUMNS = (
    Column("asset_no", "Asset", width=10),
    Column("state", "State", width=12),
    Column("holder", "Holder", width=8),
    Column("job", "Job", width=10),
    Column("since", "Since", Kind.INSTANT, width=14),
    Column("due_back_on", "Due back", Kind.DATE, width=10),
    Column("until", "Until", Kind.INSTANT, width=14),
    Column("handed_to", "Handed to", width=8),
    Column("condition", "Condition then", width=24),
    Column("counted_out", "Counted out", width=14),
    Column("counted_in", "Counted in", width=14),
    Column("late_days", "Days late", Kind.NUMBER, width=7),
    Column("verdict", "Verdict while out", width=18),
)
_ORDER = ("out, late", "out", "returned late", "returned", "handed over")


def custody_sheet(lab: Lab, when: When, asset_nos: Sequence[str] = ()) -> Sheet:
    """Return every loan, of these items or of all: out and late first, then out, then the history, newest first."""
    with lab.look(when) as look:
        asked = where_within(look, asset_nos)
        numbers = {w.asset_no for w in asked}
        past = [x for x in loans_within(look) if not asked or x.asset_no in numbers]
        past.sort(key=lambda x: (x.since, x.asset_no), reverse=True)
        past.sort(key=lambda x: min(_ORDER.index(_state(x)), 2))
        out = [x.asset_no for x in past if x.returned_at is None and x.handed_at is None]
        verdicts = {s.item.asset_no: s.verdict.headline() for s in status_within(look, out)}
        rows = [
            (
                x.asset_no, _state(x), x.holder, x.job, instant(x.since), x.due_back_on,
                instant(x.returned_at or x.handed_at), x.handed_to, x.condition, x.counted_out, x.counted_in, str(x.late_days) if x.late_days else "",
                verdicts.get(x.asset_no, "") if x.returned_at is None and x.handed_at is None else "",
            )
            for x in past
        ]  # fmt: skip
        counts = {word: sum(_state(x) == word for x in past) for word in _ORDER}
        scope = [(w.asset_no, _where(w, look.zone)) for w in asked]
        scope += [(word, str(counts[word])) for word in _ORDER]
        scope += [
            ("against advice", f"{instant(a.happened_at)}: {a.in_words()}")
            for a in against_in(look)
            if not asked or numbers & set(a.items)
        ]
        gone = [x for x in losses_in(look) if not asked or x.asset_no in numbers]
        scope += [(f"{x.asset_no} {'found' if x.found_at else 'lost'}", _loss(x, look.zone)) for x in gone]
        return headed(look, "refstd.custody/1", "Custody", COLUMNS, rows, scope=scope)


def _loss(x: LossShown, zone: ZoneInfo) -> str:
    """Return a loss, in words: what was known, who was told, how it came back."""
    found = f"; {x.found_in_words()} ({x.found_at.astimezone(zone):%Y-%m-%d %H:%M})" if x.found_at else ""
    return f"{x.happened_at.astimezone(zone):%Y-%m-%d %H:%M}, {x.person}: {x.says}; told: {x.told_in_words()}{found}"


def _where(w: Where, zone: ZoneInfo) -> str:
    """Return where an item is, in words."""
    if w.loan is None:
        return ", ".join(x for x in ("not out", w.state, w.location) if x)
    late = ", late" if w.late else ""
    since = f"{w.loan.since.astimezone(zone):%Y-%m-%d %H:%M}"
    return f"with {w.loan.holder} for job {w.loan.job} since {since}, due back {w.loan.due_back_on}{late}"


def _state(loan: LoanPast) -> str:
    if loan.handed_to:
        return "handed over"
    if loan.out:
        return "out, late" if loan.late_days else "out"
    return "returned late" if loan.late_days else "returned"
