"""Which items are reserved by name, for which job from day to day: what matching needs to know of reservations."""

from sqlalchemy import select

from refstd.register.custody import Reservation, ReservationCancelled
from refstd.register.lab import Look
from refstd.register.procedures import Job
from refstd.rules.matching import Reserved


def reserved_items(look: Look) -> dict[int, tuple[Reserved, ...]]:
    """Return the reservations of each item that are not cancelled and not over, by internal id."""
    if "reserved" not in look.known:
        ended = select(ReservationCancelled.reservation_id).where(ReservationCancelled.entry <= look.upto)
        query = select(Reservation, Job.number).join(Job, Job.id == Reservation.job_id)
        query = query.where(
            Reservation.entry <= look.upto, Reservation.equipment_id.is_not(None), Reservation.id.not_in(ended)
        )
        found: dict[int, tuple[Reserved, ...]] = {}
        for r, job in look.session.execute(query.where(Reservation.ends_on >= look.today).order_by(Reservation.id)):
            assert r.equipment_id is not None
            found[r.equipment_id] = (*found.get(r.equipment_id, ()), Reserved(r.number, job, r.starts_on, r.ends_on))
        look.known["reserved"] = found
    known: dict[int, tuple[Reserved, ...]] = look.known["reserved"]
    return known
