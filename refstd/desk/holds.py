"""Putting a finding on record with what it holds: what any act may do that finds something wrong."""

from refstd.base.text import key
from refstd.desk.known import next_number
from refstd.register.certificates import Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.equipment import Equipment
from refstd.register.findings import ExaminedLot, Finding, FindingHold
from refstd.register.lab import Change


def keep_finding(
    change: Change,
    cause: str,
    says: str,
    *,
    item: Equipment | None = None,
    setup: Setup | None = None,
    lots: tuple[ExaminedLot, ...] = (),
    check: ResponseCheck | None = None,
    certificate: Certificate | None = None,
    earlier: Certificate | None = None,
) -> str:
    """Add the rows of a finding and its holds, and return its number."""
    number = next_number(change, Finding, "F")
    finding = change.add(
        Finding(
            number=number, number_key=key(number), cause=cause, says=says, person_id=change.by.person_id,
            check_id=check.id if check else None, certificate_id=certificate.id if certificate else None,
            earlier_certificate_id=earlier.id if earlier else None, happened_at=change.instant,
        )
    )  # fmt: skip
    if item is not None:
        change.add(FindingHold(finding_id=finding.id, equipment_id=item.id))
    if setup is not None:
        change.add(FindingHold(finding_id=finding.id, setup_id=setup.id))
    for lot in lots:
        change.add(FindingHold(finding_id=finding.id, lot_id=lot.id))
    return number
