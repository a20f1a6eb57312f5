"""How often items were used: the checks made with them, the days on which they were out or checked, the check-outs."""

from bisect import bisect_left
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, timedelta

from sqlalchemy import or_, select

from refstd.desk.items import among
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.custody import Loan, LoanReturn
from refstd.register.lab import Look
from refstd.register.revisions import standing


@dataclass(slots=True)
class UseRecord:
    """The use of one item: the days of its checks and check-outs, one entry each, and every day on which it was in use."""

    checks: list[date] = field(default_factory=list)
    out: list[date] = field(default_factory=list)
    days: set[date] = field(default_factory=set)

    def in_order(self, what: str) -> list[date]:
        """Return the uses of one kind by their days, oldest first. ValueError for a kind that is not counted."""
        kinds = {"checks": self.checks, "check-outs": self.out, "days of use": self.days}
        if what not in kinds:
            raise ValueError(f"'{what}' is not counted. Use one of {', '.join(kinds)}.")
        return sorted(kinds[what])


def made_since(uses: list[date], day: date) -> int:
    """Return how many of these uses, in order, were made on or after a day."""
    return len(uses) - bisect_left(uses, day)


def uses_of(look: Look, ids: Collection[int] | None) -> dict[int, UseRecord]:
    """Return the use of these items, or of all that were ever used, by internal id, at the look's instant.

    A check counts once for each of its items, whatever came of it; one that corrects another is the same use. A loan's
    days count from the day it went out to the day it came back, both included.
    """
    found: dict[int, UseRecord] = {}
    kit = (Setup.block_id, Setup.probe_id, Setup.instrument_id, ResponseCheck.cable_id, ResponseCheck.adapter_id)
    wanted = () if ids is None else (or_(*(c.in_(ids) for c in kit)),)
    checks = standing(ResponseCheck, look.upto, *wanted).join(Setup, Setup.id == ResponseCheck.setup_id)
    for moment, *members in look.session.execute(checks.with_only_columns(ResponseCheck.happened_at, *kit)):
        day = moment.astimezone(look.zone).date()
        for number in members:
            if number is not None and (ids is None or number in ids):
                record = found.setdefault(number, UseRecord())
                record.checks.append(day)
                record.days.add(day)
    returned = LoanReturn.__table__.alias()
    loans = (
        select(Loan.equipment_id, Loan.happened_at, returned.c.happened_at)
        .outerjoin(returned, (returned.c.loan_id == Loan.id) & (returned.c.entry <= look.upto))
        .where(Loan.entry <= look.upto, *among(Loan.equipment_id, ids))
    )
    for number, went, came in look.session.execute(loans):
        first = went.astimezone(look.zone).date()
        last = came.astimezone(look.zone).date() if came else max(look.today, first)
        record = found.setdefault(number, UseRecord())
        record.out.append(first)
        record.days.update(first + timedelta(days=n) for n in range((last - first).days + 1))
    return found
