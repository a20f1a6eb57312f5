"""What is reserved for which job, and where there will not be enough."""

from refstd.desk.reservations import ReservationShown, reservations_in, shortages_within, standing_reservations
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text

NOTES = (
    "What is out counts as taken until its return is due, or to today where it is late; an item that falls due, goes back to its "
    "owner or may not be used is not reckoned with from the day after.",
    "What suits a job is judged as things stand today. It advises; nothing is kept from going out by it.",
)


def reservations_sheet(lab: Lab, when: When) -> Sheet:
    """Return every reservation, by its first day."""
    columns = (
        Column("number", "Reservation", width=9),
        Column("job", "Job", width=10),
        Column("kind", "Kind", width=10),
        Column("item", "Item", width=9),
        Column("what", "What", width=24),
        Column("starts_on", "From", Kind.DATE, width=9),
        Column("ends_on", "To", Kind.DATE, width=9),
        Column("person", "By", width=8),
        Column("happened_at", "When", Kind.INSTANT, width=14),
        Column("stands", "Stands", width=16),
        Column("note", "Note", width=16),
    )
    with lab.look(when) as look:
        standing = {r.number for r in standing_reservations(look)}
        rows = [
            (
                r.number, r.job, r.kind, r.item, r.what, text(r.starts_on), text(r.ends_on), r.person, instant(r.happened_at),
                _stands(r, r.number in standing), r.note,
            )
            for r in reservations_in(look)
        ]  # fmt: skip
        return headed(look, "refstd.reservations/1", "Reservations", columns, rows)


def _stands(r: ReservationShown, standing: bool) -> str:
    return f"cancelled by {r.cancelled}" if r.cancelled else "stands" if standing else "over"


def shortages_sheet(lab: Lab, when: When) -> Sheet:
    """Return where several jobs need the same items, or a job has none, the soonest first."""
    columns = (
        Column("starts_on", "From", Kind.DATE, width=9),
        Column("ends_on", "To", Kind.DATE, width=9),
        Column("says", "What is short", width=50),
        Column("jobs", "Jobs", width=18),
        Column("items", "Items there are", width=16),
        Column("reserved", "Reserved as", width=16),
        Column("away", "Not reckoned with", width=30),
    )
    with lab.look(when) as look:
        rows = [
            (
                text(s.starts_on), text(s.ends_on), s.in_words(), ", ".join(sorted({n.job for n in s.needs})), ", ".join(s.items),
                ", ".join(n.ref for n in s.needs), "; ".join(f"{a.asset_no}: {a.why}" for a in s.away),
            )
            for s in shortages_within(look)
        ]  # fmt: skip
        return headed(look, "refstd.shortages/1", "Shortages ahead", columns, rows, notes=NOTES)
