"""Custody: a kit goes out whole to a job or not at all, and never twice; it comes back with its condition."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError

from refstd.base.errors import AlreadyOut, NotFound, Refusal
from refstd.base.reason import Weight
from refstd.desk.against import Decided, keep_against, may_be_overridden
from refstd.desk.findings import keep_finding
from refstd.desk.items import items, items_of
from refstd.desk.jobs import job_shown
from refstd.desk.kits import match_within
from refstd.desk.known import named
from refstd.desk.loans import LoanShown, open_loans
from refstd.desk.people import PersonShown, allowed, may, people_in, person_shown, someone
from refstd.desk.pieces import (
    counts_or_refuse,
    described_pieces,
    in_words,
    keep_unaccounted,
    read_pieces,
    refuse_incomplete,
)
from refstd.register.custody import Loan, LoanHandover, LoanOpen, LoanReturn
from refstd.register.equipment import Equipment
from refstd.register.lab import Actor, Change, Lab, Look, When
from refstd.register.people import Person
from refstd.register.procedures import Job
from refstd.rules.pieces import differences


@dataclass(frozen=True, slots=True)
class Where:
    """Where an item is: with whom for which job since when, or in the lab, and then in which state and place."""

    asset_no: str
    name: str
    state: str
    location: str
    loan: LoanShown | None
    late: bool


@dataclass(frozen=True, slots=True)
class Out:
    """An item that is out."""

    asset_no: str
    name: str
    loan: LoanShown
    late: bool


def check_out(
    lab: Lab,
    job: str,
    asset_nos: Sequence[str],
    *,
    due_back_on: date | None = None,
    condition: str = "as last checked in",
    counted: Sequence[str] = (),
    against: Decided | None = None,
    by: str,
    now: datetime,
    operation: str = "",
) -> tuple[str, ...]:
    """Hand a kit out to the acting person for a job: all items, or none. Refused with every reason that stands against it.

    A block that is shared at the bench stays there for everybody; returns those that stay. counted: the counts of the
    items' pieces, as `rules/pieces.py: counts_from` reads them. against: who with the authority lets it go against advice.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "check out")
        stay = keep_check_out(change, job, asset_nos, due_back_on, condition, counted, against)
        more: dict[str, object] = {"stay_at_the_bench": list(stay)} if stay else {}
        if against is not None:
            more |= {"against_advice": against.why.strip(), "decided_by": against.by.upper()}
        change.record("checked out", job=job, items=list(asset_nos), **more)
        return stay


def keep_check_out(
    change: Change,
    job_number: str,
    asset_nos: Sequence[str],
    due_back_on: date | None,
    condition: str,
    counted: Sequence[str] = (),
    decided: Decided | None = None,
) -> tuple[str, ...]:
    """Add the rows of a check-out, and return which of the items stay at the bench."""
    if not asset_nos:
        raise Refusal("no item is named", "", "Name the items of the kit.")
    job = job_shown(change, named(change, Job, job_number))
    if not job.open:
        raise Refusal(f"job {job.number} is closed", "", "Open a new job.")
    equipment = [named(change, Equipment, n) for n in dict.fromkeys(asset_nos)]
    loans = open_loans(change)
    for item in equipment:
        if item.id in loans:
            raise _already_out(change, item, loans[item.id])
    reasons = [r for m in match_within(change, job, [e.id for e in equipment]) for r in m.reasons]
    against = [r for r in reasons if r.weight is Weight.STOPS]
    if decided is not None:
        told = [r for r in reasons if r.rule != "custody" or r.weight is Weight.STOPS]
        keep_against(change, change.session.get_one(Job, job.job_id), equipment, told, decided)
    elif against:
        lines = list(dict.fromkeys(r.in_words() for r in against))
        may_decide = all(may_be_overridden(r) for r in against)
        raise Refusal(
            "the kit does not suit the job: " + "; ".join(lines), f"job {job.number}",
            "Nothing was checked out." + (" The responsible level 3 may let it go against advice, with the reason." if may_decide else ""),
        )  # fmt: skip
    stay = tuple(e.asset_no for e in equipment if items(change)[e.id].shared)
    out = [e for e in equipment if e.asset_no not in stay]
    if not out:
        raise Refusal(
            f"{', '.join(stay)} is shared at the bench and is not checked out",
            "",
            "Use it there; to take it away, have it described as not shared (custodian).",
        )
    expected = described_pieces(change, [e.id for e in out])
    counts = counts_or_refuse(counted, expected)
    refuse_incomplete(counts, expected)
    for item in out:
        loan = change.add(
            Loan(
                equipment_id=item.id, job_id=job.job_id, person_id=change.by.person_id,
                due_back_on=due_back_on or job.ends_on, condition=condition, counted=in_words(counts.get(item.asset_no, ())),
                happened_at=change.instant,
            )
        )  # fmt: skip
        _put_out(change, item, loan)
    return stay


def _put_out(change: Change, item: Equipment, loan: Loan) -> None:
    """Hold the item in the now table; the database's own key decides a race."""
    savepoint = change.session.begin_nested()
    try:
        change.session.add(LoanOpen(equipment_id=item.id, loan_id=loan.id))
        change.session.flush()
    except IntegrityError as error:
        savepoint.rollback()
        raise AlreadyOut(f"{item.asset_no} is out", "", "Have it checked in first; nothing was checked out.") from error
    savepoint.commit()


def check_in(
    lab: Lab,
    asset_nos: Sequence[str],
    *,
    sound: bool = True,
    condition: str = "sound",
    counted: Sequence[str] = (),
    part: str = "",
    area: str = "",
    by: str,
    now: datetime,
    operation: str = "",
) -> tuple[str, ...]:
    """Take items back with their condition; one that is not sound is held by a finding. Returns the findings' numbers.

    counted: the counts of the pieces that went out, as `rules/pieces.py: counts_from` reads them. Where one does not
    agree, a finding holds the item and the lots of its job until it is signed off; `part` and `area` say where to look.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "check in")
        numbers = keep_check_in(change, asset_nos, sound, condition, counted, part, area)
        change.record("checked in", items=list(asset_nos), sound=sound)
        return numbers


def keep_check_in(
    change: Change,
    asset_nos: Sequence[str],
    sound: bool,
    condition: str,
    counted: Sequence[str] = (),
    part: str = "",
    area: str = "",
) -> tuple[str, ...]:
    """Add the rows of a check-in."""
    if not asset_nos:
        raise Refusal("no item is named", "", "Name the items that came back.")
    if not condition.strip():
        raise Refusal("the condition is missing", "", "Say in which condition the items came back.")
    loans = open_loans(change)
    equipment = [named(change, Equipment, n) for n in dict.fromkeys(asset_nos)]
    for item in equipment:
        if item.id not in loans:
            raise NotFound(f"{item.asset_no} is not out", "", "Nothing was checked in; see `refstd list out`.")
    went_out = {e.asset_no: read_pieces(loans[e.id].counted) for e in equipment}
    came_back = counts_or_refuse(counted, went_out)
    found = []
    for item in equipment:
        loan, pieces = loans[item.id], came_back.get(item.asset_no, ())
        change.add(
            LoanReturn(
                loan_id=loan.loan_id, person_id=change.by.person_id, sound=sound, condition=condition.strip(),
                counted=in_words(pieces), happened_at=change.instant,
            )
        )  # fmt: skip
        change.session.execute(delete(LoanOpen).where(LoanOpen.equipment_id == item.id))
        if not sound:
            found.append(keep_finding(change, "damage", f"came back not sound: {condition.strip()}", item=item))
        unlike = differences(went_out[item.asset_no], pieces)
        if unlike:
            found.append(keep_unaccounted(change, item, loan, unlike, part, area))
    return tuple(found)


def hand_over(
    lab: Lab,
    asset_nos: Sequence[str],
    to: str,
    *,
    condition: str = "as handed out",
    by: str,
    now: datetime,
    operation: str = "",
) -> None:
    """Let items that are out go on with another person, for the same job: all of them, or none."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "check out")
        receiver = someone(change, to)
        if not person_shown(change, named(change, Person, to)).active:
            raise Refusal(f"{receiver.code} no longer works here", "--to", "Hand over to a person who does.")
        keep_hand_over(change, asset_nos, receiver, condition)
        change.record("handed over", items=list(asset_nos), to=receiver.code)


def keep_hand_over(change: Change, asset_nos: Sequence[str], to: Actor, condition: str) -> None:
    """Add the rows of a hand-over. Refused for an item that is not out, and for who has it already or may not have it."""
    if not asset_nos:
        raise Refusal("no item is named", "", "Name the items that are handed over.")
    if not condition.strip():
        raise Refusal("the condition is missing", "", "Say in which condition the items are handed over.")
    may(change, "check out", to)
    loans = open_loans(change)
    for number in dict.fromkeys(asset_nos):
        item = named(change, Equipment, number)
        loan = loans.get(item.id)
        if loan is None:
            raise NotFound(f"{item.asset_no} is not out", "", "Nothing was handed over; see `refstd list out`.")
        if loan.holder == to.code:
            raise Refusal(f"{to.code} has {item.asset_no} already", f"job {loan.job}", "Nothing was handed over.")
        change.add(
            LoanHandover(
                loan_id=loan.loan_id, person_id=to.person_id, condition=condition.strip(), happened_at=change.instant
            )
        )  # fmt: skip


def receivers(lab: Lab, asset_nos: Sequence[str], when: When) -> tuple[PersonShown, ...]:
    """Return who may be handed these items: everybody who may have equipment, but not who has them all already."""
    with lab.look(when) as look:
        have = {w.loan.holder for w in where_within(look, asset_nos) if w.loan}
        only = have if len(have) == 1 else set()
        return tuple(p for p in people_in(look) if p.active and allowed(p, "check out") and p.code not in only)


def out_now(lab: Lab, when: When) -> tuple[Out, ...]:
    """Return what is out, and whether it is late."""
    with lab.look(when) as look:
        return out_within(look)


def where_within(look: Look, asset_nos: Sequence[str]) -> tuple[Where, ...]:
    """Return where items are at the look's instant, and who has them."""
    ids = [named(look, Equipment, n).id for n in dict.fromkeys(asset_nos)]
    shown = items_of(look, ids)
    return tuple(
        Where(i.asset_no, i.name, i.state, i.location, i.loan, i.loan is not None and look.today > i.loan.due_back_on)
        for i in (shown[number] for number in ids)
    )


def out_within(look: Look) -> tuple[Out, ...]:
    """Return what is out at the look's instant."""
    return tuple(
        Out(i.asset_no, i.name, i.loan, look.today > i.loan.due_back_on)
        for i in items(look).values()
        if i.loan is not None
    )


def _already_out(look: Look, item: Equipment, loan: LoanShown) -> AlreadyOut:
    since = f"{loan.since.astimezone(look.zone):%Y-%m-%d %H:%M}"
    return AlreadyOut(
        f"{item.asset_no} is out with {loan.holder}", f"job {loan.job}, since {since}",
        "Have it checked in first; nothing was checked out.",
    )  # fmt: skip
