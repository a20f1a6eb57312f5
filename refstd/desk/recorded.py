"""How late something was put on record, and by whom where that was another person than the one who did it."""

from sqlalchemy import select

from refstd.desk.people import code_of
from refstd.register.checks import ResponseCheck
from refstd.register.findings import ExaminedLot
from refstd.register.lab import Change, Look
from refstd.register.log import LogEntry
from refstd.rules.late import days_late, late_in_words


def told_late(look: Look, row: ResponseCheck | ExaminedLot) -> str:
    """Return how late a check or a lot was recorded, and by whom where that was another person; '' where neither."""
    done_by, entered_by = code_of(look, row.person_id), _entered_by(look, row.entry)
    zone = look.zone
    days = days_late(row.happened_at.astimezone(zone).date(), row.recorded_at.astimezone(zone).date())
    return late_in_words(days, "" if entered_by == done_by else entered_by)


def _entered_by(look: Look, entry: int) -> str:
    if isinstance(look, Change) and entry == look.upto:
        return look.by.code
    known: dict[int, str] = look.known.setdefault("entered by", {})
    if not known:
        known.update((n, code) for n, code in look.session.execute(select(LogEntry.sequence, LogEntry.person)))
    return known[entry]
