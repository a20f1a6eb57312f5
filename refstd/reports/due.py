"""What is due, and what is late: every duty of every item in use, with the source of its interval."""

from refstd.desk.duties import due_within
from refstd.desk.owners import ReturnDue, returns_within
from refstd.desk.qualifications import LAPSED, PersonDue, people_due_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import days, headed, text

COLUMNS = (
    Column("asset_no", "Asset or person", width=9),
    Column("name", "Name", width=14),
    Column("kind", "Kind", width=8),
    Column("activity", "Activity", width=10),
    Column("due_on", "Due on", Kind.DATE, width=9),
    Column("state", "State", width=9),
    Column("days", "Days left", Kind.NUMBER, width=6),
    Column("deferred_to", "Deferred to", Kind.DATE, width=9),
    Column("deferral", "Deferred by, why", width=12),
    Column("used", "Used", width=9),
    Column("last_done_on", "Last done", Kind.DATE, width=9),
    Column("every", "Every", width=10),
    Column("source", "Interval from", width=14),
    Column("record", "Evidence", width=14),
    Column("done_by", "Done by", width=10),
    Column("location", "Where", width=10),
    Column("verdict", "Verdict", width=26),
)
NOTES = (
    "The due date is the last day of validity: an item is overdue from the day after. Days left are negative when overdue.",
    "Due dates are anchor + n × interval; a day that a month lacks becomes that month's last day.",
    "By the calendar and by use, whichever comes first: an item whose uses are used up is overdue. The day of the evidence counts.",
    "On a fixed calendar, evidence of the last quarter of the interval before a date counts for that date.",
    "A deferral holds to its end, to the last day included, and until new evidence is filed; days left are to its end.",
    "Retired and lost items owe nothing and are left out. What is stored, away at the laboratory, awaiting receipt or to be "
    "calibrated before use is not late: it is due before it is used.",
    "What belongs to others and goes back to them on a day stands below the lab's own duties.",
    "People stand below the items: their qualifications and tests of vision. Past the last day a check is kept, but no lot can be signed.",
)


def due_sheet(lab: Lab, when: When, within_days: int | None = None) -> Sheet:
    """Return what is due; `within_days` keeps what falls due by then, and everything that is late or was never done."""
    with lab.look(when) as look:
        rows: list[tuple[str, ...]] = [
            (
                r.asset_no, r.name, r.kind, r.activity, text(r.due_on), r.state, days(r.days), text(r.deferred_to), r.deferral, r.uses, text(r.last_done_on),
                r.every, r.source, r.record, r.done_by, r.location, r.verdict.headline(),
            )
            for r in due_within(look, within_days=within_days)
        ]  # fmt: skip
        rows += [_return(r) for r in returns_within(look, within_days=within_days)]
        rows += [_person(p) for p in people_due_within(look, within_days=within_days)]
        scope = [("due soon means", f"within {look.due_soon_days} days (the lab's own setting)")]
        if within_days is not None:
            scope.insert(0, ("within", f"{within_days} days, and what is late or was never done"))
        return headed(look, "refstd.due/1", "Due list", COLUMNS, rows, scope=scope, notes=NOTES)


def _return(r: ReturnDue) -> tuple[str, ...]:
    cells = {
        "asset_no": r.asset_no, "name": r.name, "kind": r.kind, "activity": r.activity, "due_on": text(r.return_on), "state": r.state,
        "days": days(r.days), "source": f"agreed with {r.owner}", "location": r.where,
    }  # fmt: skip
    return tuple(cells.get(c.key, "") for c in COLUMNS)


def _person(p: PersonDue) -> tuple[str, ...]:
    o = p.owed
    cells = {
        "asset_no": p.person, "name": p.name, "kind": "person", "activity": o.what, "due_on": text(o.due_on), "state": o.state,
        "days": days(p.days), "last_done_on": text(o.last_done_on), "source": o.source, "record": o.record,
        "verdict": "can't sign for lots that ask for it" if o.state in LAPSED else "",
    }  # fmt: skip
    return tuple(cells.get(c.key, "") for c in COLUMNS)
