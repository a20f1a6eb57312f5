"""Examined lots, findings, what they hold, and what was decided."""

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from refstd.register.columns import Base, Fact, Record, key_of, one_of, strict

CAUSES = (
    "failed job check",
    "failed response check",
    "damage",
    "certificate",
    "found out of tolerance",
    "certificates disagree",
    "does not agree with its primary",
    "not as ordered",
    "late return",
    "lost",
    "piece unaccounted for",
    "other",
)


class ExaminedLot(Fact, Base):
    """Parts examined between two checks, with the kit of one start check."""

    __tablename__ = "examined_lot"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    job_id: Mapped[int] = key_of("job")
    start_check_id: Mapped[int] = key_of("response_check")
    person_id: Mapped[int] = key_of("person")
    parts: Mapped[str]
    zone: Mapped[str]
    __table_args__ = strict()


class Finding(Fact, Base):
    """Something wrong, on record."""

    __tablename__ = "finding"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    cause: Mapped[str]
    says: Mapped[str]
    person_id: Mapped[int] = key_of("person")
    check_id: Mapped[int | None] = key_of("response_check")
    certificate_id: Mapped[int | None] = key_of("certificate")
    earlier_certificate_id: Mapped[int | None] = key_of("certificate")
    __table_args__ = strict(one_of("cause", CAUSES))


class FindingHold(Record, Base):
    """What a finding stops: one item, one setup, or one examined lot."""

    __tablename__ = "finding_hold"
    finding_id: Mapped[int] = key_of("finding")
    equipment_id: Mapped[int | None] = key_of("equipment")
    setup_id: Mapped[int | None] = key_of("setup")
    lot_id: Mapped[int | None] = key_of("examined_lot")
    __table_args__ = strict(
        CheckConstraint(
            "(equipment_id IS NOT NULL) + (setup_id IS NOT NULL) + (lot_id IS NOT NULL) = 1", name="one_subject"
        )
    )


class FindingAction(Fact, Base):
    """What was done about a finding. A release ends its holds and closes it."""

    __tablename__ = "finding_action"
    finding_id: Mapped[int] = key_of("finding")
    kind: Mapped[str]
    person_id: Mapped[int] = key_of("person")
    authority: Mapped[str]
    says: Mapped[str]
    __table_args__ = strict(one_of("kind", ("note", "disposition", "release")))
