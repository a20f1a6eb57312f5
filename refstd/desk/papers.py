"""Which papers of an item count at an instant, and the values in them."""

from collections.abc import Collection, Iterable

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
    first = _first_filed(look, ids)
    return {
        number: sorted(rows, key=lambda c: (c.performed_on, first.get(c.id, c.id))) for number, rows in found.items()
    }


def in_order(look: Look, papers: Iterable[Certificate]) -> list[Certificate]:
    """Return papers of one item oldest first; of one day as they were first filed: a corrected paper keeps its place."""
    rows = list(papers)
    first = _first_filed(look, {c.equipment_id for c in rows})
    return sorted(rows, key=lambda c: (c.performed_on, first.get(c.id, c.id)))


def papers_before(look: Look, paper: Certificate, papers: Iterable[Certificate]) -> list[Certificate]:
    """Return those of an item's papers that were done before this one, oldest first."""
    ordered = in_order(look, [*(p for p in papers if p.id != paper.id), paper])
    return ordered[: ordered.index(paper)]


def _first_filed(look: Look, ids: Collection[int] | None) -> dict[int, int]:
    """Return, by the internal id of each paper that corrects another one, that of the first paper of its chain."""
    corrects = select(Certificate.id, Certificate.supersedes_id).where(
        Certificate.supersedes_id.is_not(None), *among(Certificate.equipment_id, ids)
    )
    first: dict[int, int] = {}
    for number, before in look.session.execute(corrects.order_by(Certificate.id)):
        if before is not None:
            first[number] = first.get(before, before)
    return first


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
