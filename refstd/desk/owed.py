"""What each item owes, from its schedules, its evidence, its use and what was deferred, as the one rule wants it."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from dateutil.relativedelta import relativedelta
from sqlalchemy import select

from refstd.desk.items import among
from refstd.desk.uses import UseRecord, made_since, uses_of
from refstd.register.certificates import Certificate
from refstd.register.equipment import Deferral, Schedule
from refstd.register.lab import Look
from refstd.register.people import Person
from refstd.register.revisions import standing
from refstd.rules.due import Uses, calendar_due
from refstd.rules.duties import Duty, PutOff


def duties_of(
    look: Look, papers: Mapping[int, Sequence[Certificate]], ids: Collection[int] | None, names: Mapping[int, str]
) -> dict[int, tuple[Duty, ...]]:
    """Return the duties of these items, or of all, by internal id. papers: the certificates in force, oldest first."""
    rows = active_schedules(look, ids)
    counted = {s.equipment_id for s in rows if s.use or s.anchor == "first use"}
    uses = uses_of(look, counted if ids is not None else None) if counted else {}
    put_off = deferrals_of(look, ids)
    found: dict[int, list[Duty]] = {}
    for s in sorted(rows, key=lambda s: s.activity):
        number = s.equipment_id
        own = [p for p in papers.get(number, ()) if p.activity == s.activity]
        duty = _duty(look, s, own, uses.get(number, UseRecord()), put_off.get((number, s.activity)), names[number])
        found.setdefault(number, []).append(duty)
    return {number: tuple(duties) for number, duties in found.items()}


def active_schedules(look: Look, ids: Collection[int] | None = None) -> list[Schedule]:
    """Return the schedules in force of these items, or of all."""
    active = (Schedule.active.is_(True), *among(Schedule.equipment_id, ids))
    return list(look.session.execute(standing(Schedule, look.upto, *active)).scalars())


def interval_of(s: Schedule) -> relativedelta | None:
    """Return the calendar interval of a schedule, or None where it has none."""
    if s.every_months is None and s.every_days is None:
        return None
    return relativedelta(months=s.every_months or 0, days=s.every_days or 0)


def interval_in_words(s: Schedule) -> str:
    """Return how often something is owed, such as '12 months or 50 checks, whichever comes first'."""
    parts = []
    if s.every_months is not None or s.every_days is not None:
        words = f"{s.every_months} months" if s.every_months is not None else f"{s.every_days} days"
        anchor = {"first use": ", counted from first use", "fixed calendar": f" by the calendar from {s.counted_from}"}
        parts.append(words + anchor.get(s.anchor, ""))
    if s.every_uses is not None:
        parts.append(f"{s.every_uses} {s.use}")
    return " or ".join(parts) + (", whichever comes first" if len(parts) > 1 else "") if parts else "once"


def _duty(
    look: Look, s: Schedule, papers: Sequence[Certificate], use: UseRecord, deferral: Deferral | None, asset_no: str
) -> Duty:
    """Return one duty. Evidence is the newest paper of its activity that does not say 'not sound'."""
    done = [p for p in papers if p.result != "not sound"]
    last = done[-1] if done else None
    every, due, uses = interval_of(s), None, None
    if last is not None and every is not None:
        due = calendar_due(s.anchor, every, s.counted_from, last.performed_on, use.in_order("days of use"))
    if last is not None and s.every_uses is not None:
        made = made_since(use.in_order(s.use), last.performed_on)
        uses = Uses(made, s.every_uses, s.use, (look.today - last.performed_on).days)
    return Duty(
        s.activity, due, last.performed_on if last else None, interval_in_words(s), s.source,
        f"certificate {last.number}" if last else f"schedule of {asset_no}", uses, _put_off(look, deferral, due, last),
        s.done_by or (papers[-1].laboratory if papers else ""),
    )  # fmt: skip


def deferrals_of(look: Look, ids: Collection[int] | None = None) -> dict[tuple[int, str], Deferral]:
    """Return the deferrals that nothing supersedes and nobody withdrew, by item and activity."""
    mine = (Deferral.withdrawn.is_(False), *among(Deferral.equipment_id, ids))
    rows = look.session.execute(standing(Deferral, look.upto, *mine)).scalars()
    return {(row.equipment_id, row.activity): row for row in rows}


def _put_off(look: Look, row: Deferral | None, due: date | None, last: Certificate | None) -> PutOff | None:
    """Return a deferral while it is one of this due date and no newer evidence was filed, whatever that said or became."""
    if row is None or last is None or row.due_on != due:
        return None
    newer = select(Certificate.id).where(
        Certificate.equipment_id == row.equipment_id, Certificate.activity == row.activity, Certificate.supersedes_id.is_(None),
        Certificate.performed_on > last.performed_on, Certificate.entry > row.entry, Certificate.entry <= look.upto,
    )  # fmt: skip
    if look.session.execute(newer.limit(1)).first():
        return None
    by = look.session.get_one(Person, row.person_id).code
    return PutOff(row.until, by, row.why, deferral_record(row))


def deferral_record(row: Deferral) -> str:
    """Return the words by which a deferral is named as a record."""
    return f"deferral, log entry {row.entry}"
