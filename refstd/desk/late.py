"""What was read away from the bench and is entered later: when, by whom, with which kit, and as things stood then."""

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.desk.entry import instant_from_words
from refstd.desk.items import items_of
from refstd.desk.people import may, someone
from refstd.register.custody import Loan, LoanReturn
from refstd.register.lab import CLOCK_SLACK, Actor, Change, Look
from refstd.register.procedures import Job
from refstd.rules.late import Out, custody_objection


def as_it_stood(look: Look, moment: datetime) -> Look:
    """Return a look at the same records, judged as at an earlier instant: what happened since then does not count.

    By what happened, not by when it was recorded: a certificate filed last week counts for the week before if it was
    done by then.
    """
    if moment >= look.instant - CLOCK_SLACK:
        return look
    day = moment.astimezone(look.zone).date()
    return Look(
        look.session, look.head, look.upto, moment, day, look.zone, look.lab_name, look.due_soon_days, {}, look.remembered
    )  # fmt: skip


def who_read(change: Change, code: str | None, act: str) -> Actor:
    """Return who did what is entered: the acting person, or another one who may do it too."""
    if not code:
        return change.by
    done_by = someone(change, code)
    may(change, act, done_by)
    return done_by


def read_at(look: Look, words: str, future: str = "the readings lie in the future") -> datetime:
    """Return when something entered was done: as said, else now; what lies in the future is refused, as `future` says."""
    moment = instant_from_words(words, look.zone) if words else look.instant
    if moment > look.instant + CLOCK_SLACK:
        raise Refusal(future, words, "Check the date and time.")
    return moment


def refuse_not_in_hand(look: Look, equipment_ids: Collection[int], job: str, read_at: datetime) -> None:
    """Refuse readings with an item that cannot have been there: not yet out for the job, back again, or out for another.

    A block that is shared at the bench is there for everybody.
    """
    shown = items_of(look, equipment_ids)
    for number in equipment_ids:
        if shown[number].shared:
            continue
        found = custody_objection(_stays(look, number, shown[number].asset_no), job, read_at)
        if found is not None:
            says, out = found
            until = f" to {_local(look, out.until)}" if out.until else ""
            raise Refusal(
                f"{says}, so it was not read at {_local(look, read_at)}",
                f"out for job {out.job} from {_local(look, out.since)}{until}",
                "Check date and time, the setup and the job.",
            )


def out_for_job(look: Look, job_id: int, moment: datetime) -> frozenset[int]:
    """Return the items that were out for a job at an instant, whoever had them, by internal id."""
    rows = look.session.execute(
        select(Loan.equipment_id, LoanReturn.happened_at)
        .outerjoin(LoanReturn, LoanReturn.loan_id == Loan.id)
        .where(Loan.job_id == job_id, Loan.happened_at <= moment, Loan.entry <= look.upto)
    )
    return frozenset(item for item, back in rows if back is None or back >= moment)


def _stays(look: Look, equipment_id: int, asset_no: str) -> list[Out]:
    rows = look.session.execute(
        select(Loan, Job.number, LoanReturn.happened_at)
        .join(Job, Job.id == Loan.job_id)
        .outerjoin(LoanReturn, LoanReturn.loan_id == Loan.id)
        .where(Loan.equipment_id == equipment_id, Loan.entry <= look.upto)
        .order_by(Loan.id)
    )
    return [Out(asset_no, job, loan.happened_at, back) for loan, job, back in rows]


def _local(look: Look, moment: datetime) -> str:
    return f"{moment.astimezone(look.zone):%Y-%m-%d %H:%M}"
