"""Which papers of an item count at an instant, and the values in them."""

from collections.abc import Collection

from sqlalchemy import select

from refstd.desk.items import among
from refstd.register.certificates import Certificate, CertifiedValue
from refstd.register.lab import Look
from refstd.register.revisions import standing


def certificates_in_force(look: Look, ids: Collection[int] | None = None) -> dict[int, list[Certificate]]:
    """Return the certificates in force at the look's instant, oldest first, of these items or of all.

    What is done after the look's day is no evidence on that day.
    """
    done = Certificate.performed_on <= look.today
    conditions = (Certificate.withdrawn.is_(False), done, *among(Certificate.equipment_id, ids))
    found: dict[int, list[Certificate]] = {}
    for row in look.session.execute(standing(Certificate, look.upto, *conditions)).scalars():
        found.setdefault(row.equipment_id, []).append(row)
    return {number: sorted(rows, key=lambda c: (c.performed_on, c.id)) for number, rows in found.items()}


def standing_certificates(look: Look, equipment_id: int) -> list[Certificate]:
    """Return the certificates of an item that are in force at the look's instant, oldest first."""
    return certificates_in_force(look, [equipment_id]).get(equipment_id, [])


def values_of(look: Look, certificate_id: int) -> list[CertifiedValue]:
    """Return the values of a certificate in the order of the paper."""
    return list(
        look.session.execute(
            select(CertifiedValue).where(CertifiedValue.certificate_id == certificate_id).order_by(CertifiedValue.id)
        ).scalars()
    )
