"""What the certificates say of each interval, by each method, and what was answered to it."""

from refstd.desk.intervals import CAUTION, TARGET_PERCENT, DutyIntervals, Proposed, intervals_within, reviews_in
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text

COLUMNS = (
    Column("asset_no", "Asset", width=9),
    Column("name", "Name", width=14),
    Column("activity", "Activity", width=10),
    Column("every", "Every", width=10),
    Column("source", "Interval from", width=12),
    Column("last_done_on", "Last done", Kind.DATE, width=9),
    Column("due_on", "Due on", Kind.DATE, width=9),
    Column("method", "Method", width=10),
    Column("outcome", "Proposes", width=9),
    Column("proposed", "Every, proposed", width=10),
    Column("would_be_due_on", "Would be due on", Kind.DATE, width=9),
    Column("says", "Because", width=24),
    Column("data", "Data", width=34),
    Column("missing", "Missing", width=14),
    Column("method_source", "Method from", width=16),
    Column("answer", "Answered", width=14),
)
NOTES = (
    CAUTION,
    "Longer only from certificates that say how the item was found, never from response checks; these can make it shorter.",
    "As found: by the rule kept with the value, else compared with its limits simply. Of a paper without adjustment, as left is as found.",
    "Years from before a repair, an exchanged part or new firmware are left out. Steps, shares and the fewest values: common practice, no source.",
)


def intervals_sheet(lab: Lab, when: When, item: str = "", target_percent: int = TARGET_PERCENT) -> Sheet:
    """Return what each method says of the intervals of an item; of all items, what to look at first of each duty."""
    with lab.look(when) as look:
        found = intervals_within(look, item, target_percent=target_percent)
        rows = [_cells(d, p) for d in found for p in (d.proposals if item else (d.first,))]
        scope = [("target", f"{target_percent} % in tolerance at an interval's end (common practice, no source)")]
        if item:
            scope.insert(0, ("item", item))
        if not item:
            scope.append(("shown", "of each duty what to look at first; every method: ask for one item"))
        return headed(look, "refstd.intervals/1", "Proposed intervals", COLUMNS, rows, scope=scope, notes=NOTES)


def _cells(d: DutyIntervals, proposed: Proposed) -> tuple[str, ...]:
    p, r = proposed.proposal, proposed.review
    answer = "" if r is None else f"{'taken' if r.taken else 'turned down'} by {r.person}: {r.why}"
    return (
        d.asset_no, d.name, d.activity, d.every_words, d.source, text(d.last_done_on), text(d.due_on), p.method, p.outcome,
        p.every.in_words() if p.every else "", text(p.due_on), p.says, "; ".join(p.data), p.missing, p.source, answer,
    )  # fmt: skip


def reviews_sheet(lab: Lab, when: When) -> Sheet:
    """Return every answer to a proposed interval, newest first."""
    columns = (
        Column("asset_no", "Asset", width=9),
        Column("activity", "Activity", width=10),
        Column("method", "Method", width=10),
        Column("interval_before", "Every, before", width=10),
        Column("interval_proposed", "Every, proposed", width=10),
        Column("answer", "Answer", width=9),
        Column("person", "By", width=7),
        Column("why", "Reason", width=24),
        Column("rests_on", "Rests on", width=34),
        Column("happened_at", "When", Kind.INSTANT, width=13),
        Column("entry", "Log entry", Kind.NUMBER, width=6),
    )
    with lab.look(when) as look:
        rows = [
            (
                r.asset_no, r.activity, r.method, r.interval_before, r.interval_proposed, "taken" if r.taken else "turned down", r.person,
                r.why, r.rests_on, instant(r.happened_at), str(r.entry),
            )
            for r in reversed(reviews_in(look))
        ]  # fmt: skip
        return headed(look, "refstd.reviews/1", "Reviewed intervals", columns, rows)
