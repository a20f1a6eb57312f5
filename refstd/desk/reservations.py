"""Reservations: what a job is to have weeks ahead, and where there will not be enough."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.desk.entry import Draft, Number, OptionalDay, OptionalNumber, Words
from refstd.desk.items import ItemShown, items
from refstd.desk.jobs import JobShown, job_shown
from refstd.desk.kits import match_within, serving
from refstd.desk.known import named, next_number
from refstd.desk.people import code_of, may
from refstd.desk.serviceability import all_facts, status_of
from refstd.register.custody import Reservation, ReservationCancelled
from refstd.register.equipment import Equipment
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.procedures import Job
from refstd.rules.reservations import Away, Need, shortage_advice, shortages
from refstd.rules.reservations import Shortage as Shortage
from refstd.rules.verdict import Standing


class ReservationDraft(Draft):
    """What is to be reserved for a job: an item, or one of a kind that suits the job."""

    job: Number
    kind: Literal["", "block", "probe", "instrument"] = Field(
        "", description="any that suits the job; or name one item"
    )
    item: OptionalNumber = Field(None, title="asset number")
    starts_on: OptionalDay = Field(None, title="from", description="empty: the job's first day")
    ends_on: OptionalDay = Field(None, title="to", description="empty: the job's last day")
    note: Words = ""


@dataclass(frozen=True, slots=True)
class ReservationShown:
    """A reservation as on record. item: '' where any of the kind will do. cancelled: why, '' while it stands."""

    number: str
    job: str
    kind: str
    item: str
    what: str
    starts_on: date
    ends_on: date
    person: str
    happened_at: datetime
    note: str
    cancelled: str

    def in_words(self) -> str:
        which = f"{self.kind} {self.item}" if self.item else f"any {self.what} that suits the job"
        return f"{which}, {self.starts_on} to {self.ends_on}" + (f" ({self.note})" if self.note else "")


def reserve(
    lab: Lab, draft: ReservationDraft, *, by: str, now: datetime, operation: str = ""
) -> tuple[str, tuple[Shortage, ...]]:
    """Reserve for a job. Returns the number, and the shortages that it takes part in: they are told and stop nothing."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "reserve")
        last = draft.ends_on or job_shown(change, named(change, Job, draft.job)).ends_on
        if last < change.today:
            raise Refusal(f"the last day {last} has passed", f"job {draft.job}", "Reserve for days to come.")
        number = keep_reservation(change, draft)
        change.record("reserved", reservation=number, job=draft.job)
        return number, tuple(s for s in shortages_within(change) if any(n.ref == number for n in s.needs))


def keep_reservation(change: Change, draft: ReservationDraft) -> str:
    """Add the row of a reservation and return its number."""
    job = job_shown(change, named(change, Job, draft.job))
    if not job.open:
        raise Refusal(f"job {job.number} is closed", "", "Open a new job.")
    item = named(change, Equipment, draft.item) if draft.item else None
    if item is None and not draft.kind:
        raise Refusal(
            "nothing is named to reserve", f"job {job.number}", "Name an item, or a kind: block, probe or instrument."
        )
    if item is not None and draft.kind and draft.kind != item.kind:
        raise Refusal(
            f"{item.asset_no} is a {item.kind}, not a {draft.kind}", f"job {job.number}", "Leave the kind out."
        )
    first, last = draft.starts_on or job.starts_on, draft.ends_on or job.ends_on
    if last < first:
        raise Refusal(f"the last day {last} lies before the first {first}", f"job {job.number}", "Exchange the two.")
    if item is not None and items(change)[item.id].state in ("retired", "lost"):
        raise Refusal(f"{item.asset_no} is {items(change)[item.id].state}", f"job {job.number}", "Reserve another.")
    for r in standing_reservations(change):
        if (
            item is not None
            and (r.job, r.item) == (job.number, item.asset_no)
            and r.starts_on <= last
            and first <= r.ends_on
        ):
            raise Refusal(
                f"{item.asset_no} is reserved for this job already, {r.starts_on} to {r.ends_on}", f"reservation {r.number}",
                "Cancel that one first, or reserve for other days.",
            )  # fmt: skip
    number = next_number(change, Reservation, "R")
    change.add(
        Reservation(
            number=number, number_key=key(number), job_id=job.job_id, kind=item.kind if item else draft.kind,
            equipment_id=item.id if item else None, starts_on=first, ends_on=last, person_id=change.by.person_id, note=draft.note,
            happened_at=change.instant,
        )
    )  # fmt: skip
    return number


def cancel(lab: Lab, number: str, why: str, *, by: str, now: datetime, operation: str = "") -> None:
    """Cancel a reservation, with the reason; it stays on record."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "reserve")
        row = named(change, Reservation, number)
        if not why.strip():
            raise Refusal("a cancelled reservation needs a reason", row.number, "Give it with --why.")
        if _cancelled(change).get(row.id):
            raise Refusal(f"reservation {row.number} is cancelled already", "", "Nothing to do.")
        change.add(
            ReservationCancelled(
                reservation_id=row.id, person_id=change.by.person_id, why=why.strip(), happened_at=change.instant
            )
        )
        change.record("reservation cancelled", reservation=row.number, why=why.strip())


def reservations(lab: Lab, when: When) -> tuple[ReservationShown, ...]:
    """Return every reservation on record, by its first day."""
    with lab.look(when) as look:
        return reservations_in(look)


def reservations_in(look: Look) -> tuple[ReservationShown, ...]:
    """Return every reservation on record within a look, by its first day."""
    rows = look.session.execute(
        select(Reservation).where(Reservation.entry <= look.upto).order_by(Reservation.id)
    ).scalars()
    ended, shown, found = _cancelled(look), items(look), []
    for r in rows:
        job = job_shown(look, look.session.get_one(Job, r.job_id))
        item = shown[r.equipment_id].asset_no if r.equipment_id else ""
        found.append(
            ReservationShown(
                r.number, job.number, r.kind, item, _what(job, r.kind), r.starts_on, r.ends_on, code_of(look, r.person_id), r.happened_at,
                r.note, ended.get(r.id, ""),
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda r: (r.starts_on, r.number)))


def standing_reservations(look: Look) -> tuple[ReservationShown, ...]:
    """Return the reservations that count: not cancelled, not over, of jobs that are open."""
    shown = [r for r in reservations_in(look) if not r.cancelled and r.ends_on >= look.today]
    is_open = {n: job_shown(look, named(look, Job, n)).open for n in {r.job for r in shown}}
    return tuple(r for r in shown if is_open[r.job])


def past_reservations(look: Look) -> tuple[ReservationShown, ...]:
    """Return the others: cancelled, over, or of jobs that are closed."""
    standing = {r.number for r in standing_reservations(look)}
    return tuple(r for r in reservations_in(look) if r.number not in standing)


def shortages_ahead(lab: Lab, when: When) -> tuple[Shortage, ...]:
    """Return where there will not be enough, from today on, the soonest first."""
    with lab.look(when) as look:
        return shortages_within(look)


def shortages_within(look: Look) -> tuple[Shortage, ...]:
    """Return the same within a look."""
    needs = needs_of(look)
    return shortages(needs, _away(look, needs), look.today)


def advice_on(lab: Lab, job: str, asset_nos: Sequence[str], when: When) -> tuple[Reason, ...]:
    """Return what is advised of these items for a job and stops nothing: before they go out, and when they have."""
    with lab.look(when) as look:
        shown = job_shown(look, named(look, Job, job))
        ids = [named(look, Equipment, n).id for n in dict.fromkeys(asset_nos)]
        found = [r for m in match_within(look, shown, ids) for r in m.reasons if r.weight is Weight.ADVISES]
        told = {r.record for r in found if r.rule == "reserved"}
        found += [r for r in taking_within(look, shown, ids) if r.record not in told]
        return tuple(
            dict.fromkeys(r for r in found if r.rule != "custody")
        )  # where an item is says the check-out itself


def taking_within(look: Look, job: JobShown, ids: Sequence[int]) -> tuple[Reason, ...]:
    """Return which jobs would be left without, if a job takes these items until its last day."""
    needs, shown = needs_of(look), items(look)
    if not needs:
        return ()
    away = _away(look, needs)
    known = {(s.starts_on, s.needs) for s in shortages(needs, away, look.today)}
    found = []
    for number in ids:
        item = shown[number]
        rest = [n for n in needs if n.job != job.number or n.what != _what(job, item.kind)]
        taken = Need(
            "", job.number, _what(job, item.kind), frozenset((item.asset_no,)), look.today, max(job.ends_on, look.today)
        )
        for s in shortages([*rest, taken], away, look.today):
            if (
                (s.starts_on, s.needs) not in known
                and item.asset_no in s.items
                and any(n.job != job.number for n in s.needs)
            ):
                found.append(shortage_advice(s, item.asset_no))
    return tuple(found)


def needs_of(look: Look) -> tuple[Need, ...]:
    """Return what jobs need from today on: the reservations, and what is out, which nobody else can have until it is back.

    Where a job has an item of a kind that it reserved, that item meets the reservation.
    """
    if "needs" not in look.known:
        look.known["needs"] = _needs(look)
    needs: tuple[Need, ...] = look.known["needs"]
    return needs


def _needs(look: Look) -> tuple[Need, ...]:
    reserved = standing_reservations(look)
    out = {(i.loan.job, i.asset_no): i for i in items(look).values() if i.loan}
    met: dict[tuple[str, str], ItemShown] = {}
    needs, suits = [], dict[str, dict[str, frozenset[str]]]()
    for r in reserved:
        mine = {n: i for (job, n), i in out.items() if job == r.job and i.kind == r.kind and (job, n) not in met}
        has = mine.get(r.item) if r.item else next(iter(mine.values()), None)
        if has is not None:
            met[r.job, has.asset_no] = has
            choices = frozenset((has.asset_no,))
        elif r.item:
            choices = frozenset((r.item,))
        else:
            if r.job not in suits:
                suits[r.job] = serving(look, job_shown(look, named(look, Job, r.job)))
            choices = suits[r.job][r.kind]
        needs.append(Need(r.number, r.job, r.what, choices, r.starts_on, r.ends_on))
    for (job, asset_no), item in out.items():
        loan = item.loan
        assert loan is not None
        what = _what(job_shown(look, named(look, Job, job)), item.kind)
        spans = [(n.starts_on, n.ends_on) for n in needs if n.job == job and n.items == {asset_no}]
        first, last = look.today, max(loan.due_back_on, look.today)
        for start, end in sorted(spans):  # what the reservation says already
            if start <= first <= end:
                first = end + timedelta(days=1)
        later = [start for start, _ in spans if start > first]
        last = min(last, *(start - timedelta(days=1) for start in later)) if later else last
        if first <= last:
            needs.append(Need(f"loan of {asset_no}", job, what, frozenset((asset_no,)), first, last))
    return tuple(needs)


def _away(look: Look, needs: Sequence[Need]) -> tuple[Away, ...]:
    """Return which of the items wanted cannot be reckoned with from which day on: due, back to its owner, or unfit today."""
    wanted = frozenset[str]().union(*(n.items for n in needs))
    found = []
    for number, item in items(look).items():
        if item.asset_no not in wanted:
            continue
        if status_of(look, number).verdict.standing is Standing.DO_NOT_USE:
            found.append(Away(item.asset_no, look.today, status_of(look, number).verdict.headline()))
            continue
        ends = [
            (end, f"{d.activity} due {end}")
            for d in all_facts(look)[number].duties
            if (end := d.valid_to(look.today)) is not None
        ]
        if item.return_on is not None:
            ends.append((item.return_on, f"back to {item.owner} on {item.return_on}"))
        if ends:
            last, why = min(ends)
            found.append(Away(item.asset_no, max(last + timedelta(days=1), look.today), why))
    return tuple(found)


def _what(job: JobShown, kind: str) -> str:
    """Return what a job needs of a kind, in the words of its form: '6.4 mm bore block'."""
    if kind != "block":
        return kind
    size = f"{plain(job.bore_diameter_mm)} mm " if job.bore_diameter_mm is not None else ""
    return f"{size}{job.form} block of {job.material.code}"


def _cancelled(look: Look) -> dict[int, str]:
    query = select(ReservationCancelled).where(ReservationCancelled.entry <= look.upto)
    return {r.reservation_id: f"{code_of(look, r.person_id)}: {r.why}" for r in look.session.execute(query).scalars()}
