"""Who had what, from when to when: every loan, hand-over by hand-over, as on record."""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select

from refstd.desk.people import code_of
from refstd.register.custody import Loan, LoanHandover, LoanReturn
from refstd.register.equipment import Equipment
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Job
from refstd.register.revisions import among


@dataclass(frozen=True, slots=True)
class LoanShown:
    """A loan that is not returned."""

    loan_id: int
    holder: str
    job: str
    since: datetime
    due_back_on: date
    condition: str
    counted: str = ""  # its pieces as they were counted out


@dataclass(frozen=True, slots=True)
class LoanPast:
    """One person's keeping of an item, from check-out or hand-over to return or hand-over.

    `returned_at` is when it came back, None while it is out or when it went on to `handed_to` at `handed_at`. Late is
    told of the person in whose hands it was late: of the one who brought it back, or who has it.
    """

    asset_no: str
    holder: str
    job: str
    since: datetime
    due_back_on: str
    returned_at: datetime | None
    condition: str
    late_days: int
    handed_to: str = ""
    handed_at: datetime | None = None
    counted_out: str = ""
    counted_in: str = ""

    @property
    def out(self) -> bool:
        """Return whether this person still has it."""
        return self.returned_at is None and self.handed_at is None

    def until(self, local: Callable[[datetime], str]) -> str:
        """Return how it ended, in words; `local` shows an instant in the lab's zone."""
        if self.handed_at is not None:
            return f"{local(self.handed_at)} to {self.handed_to}"
        return local(self.returned_at) if self.returned_at else "still out"


def open_loans(look: Look, ids: Collection[int] | None = None) -> dict[int, LoanShown]:
    """Return the loans that were not returned at the look's instant, by the item's internal id; of these items, or all."""
    returned = select(LoanReturn.loan_id).where(LoanReturn.entry <= look.upto)
    open_ones = (Loan.entry <= look.upto, Loan.id.not_in(returned), *among(Loan.equipment_id, ids))
    rows = look.session.execute(select(Loan).where(*open_ones)).scalars().all()
    handed = handed_over(look, [r.id for r in rows])
    found = {}
    for row in rows:
        last: Loan | LoanHandover = handed[row.id][-1] if row.id in handed else row
        found[row.equipment_id] = LoanShown(
            row.id, code_of(look, last.person_id), look.session.get_one(Job, row.job_id).number, last.happened_at,
            row.due_back_on, last.condition, row.counted,
        )  # fmt: skip
    return found


def loans(lab: Lab, when: When) -> tuple[LoanPast, ...]:
    """Return every keeping of every item, oldest first, with how late it came back or is."""
    with lab.look(when) as look:
        return loans_within(look)


def loans_within(look: Look, ids: Collection[int] | None = None) -> tuple[LoanPast, ...]:
    """Return every keeping within a look, of these items or of all, oldest first."""
    returns = {
        r.loan_id: r for r in look.session.execute(select(LoanReturn).where(LoanReturn.entry <= look.upto)).scalars()
    }
    handed = handed_over(look)
    rows = look.session.execute(
        select(Loan).where(Loan.entry <= look.upto, *among(Loan.equipment_id, ids)).order_by(Loan.happened_at, Loan.id)
    ).scalars()
    found = [x for row in rows for x in _keepings(look, row, handed.get(row.id, ()), returns.get(row.id))]
    return tuple(sorted(found, key=lambda x: x.since))


def handed_over(look: Look, loan_ids: Collection[int] | None = None) -> dict[int, tuple[LoanHandover, ...]]:
    """Return the hand-overs of each loan, in order."""
    query = select(LoanHandover).where(LoanHandover.entry <= look.upto, *among(LoanHandover.loan_id, loan_ids))
    found: dict[int, tuple[LoanHandover, ...]] = {}
    for row in look.session.execute(query.order_by(LoanHandover.id)).scalars():
        found[row.loan_id] = (*found.get(row.loan_id, ()), row)
    return found


def _keepings(look: Look, row: Loan, handed: tuple[LoanHandover, ...], back: LoanReturn | None) -> tuple[LoanPast, ...]:
    """Return a loan as one keeping for each person who had it in turn."""
    day = back.happened_at.astimezone(look.zone).date() if back else look.today
    late = max(0, (day - row.due_back_on).days)
    asset_no, job = (
        look.session.get_one(Equipment, row.equipment_id).asset_no,
        look.session.get_one(Job, row.job_id).number,
    )
    keepers = [(row.person_id, row.happened_at), *((h.person_id, h.happened_at) for h in handed)]
    found = []
    for place, (person, since) in enumerate(keepers):
        goes = handed[place] if place < len(handed) else None
        end = back if goes is None else None
        found.append(
            LoanPast(
                asset_no, code_of(look, person), job, since, str(row.due_back_on), end.happened_at if end else None,
                goes.condition if goes else end.condition if end else "", 0 if goes else late,
                code_of(look, goes.person_id) if goes else "", goes.happened_at if goes else None, row.counted,
                end.counted if end else "",
            )
        )  # fmt: skip
    return tuple(found)
