"""What was done about a procedure revision, and what else it asks for beside its limits, each with its paragraph."""

from decimal import Decimal

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped

from refstd.register.columns import Base, Fact, Record, key_of, one_of, strict

ACTS = ("drafted", "reviewed", "approved", "withdrawn")
# When a procedure asks for a check around a job; 'interval' is the one that `check_every_hours` counts.
ASKED_OCCASIONS = (
    "start", "interval", "end", "exchange", "operator", "power off", "program recalled", "knocked", "tape renewed", "doubt",
)  # fmt: skip


class ProcedureAct(Fact, Base):
    """What somebody did about a revision, by own act: drafted, reviewed, approved or withdrawn it."""

    __tablename__ = "procedure_act"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    kind: Mapped[str]
    person_id: Mapped[int] = key_of("person")
    why: Mapped[str]
    __table_args__ = strict(UniqueConstraint("procedure_revision_id", "kind"), one_of("kind", ACTS))


class ProcedureScan(Record, Base):
    """How a procedure has the surface scanned: speed, overlap of the tracks, index, one direction or two."""

    __tablename__ = "procedure_scan"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision", unique=True)
    largest_speed_mm_s: Mapped[Decimal | None]
    least_overlap_percent: Mapped[Decimal | None]
    largest_index_mm: Mapped[Decimal | None]
    directions: Mapped[int | None]
    paragraph: Mapped[str]
    __table_args__ = strict(CheckConstraint("directions IS NULL OR directions IN (1, 2)", name="directions"))


class ProcedureOccasion(Record, Base):
    """An occasion on which a procedure asks for a check."""

    __tablename__ = "procedure_occasion"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    place: Mapped[int]
    occasion: Mapped[str]
    paragraph: Mapped[str]
    __table_args__ = strict(UniqueConstraint("procedure_revision_id", "occasion"), one_of("occasion", ASKED_OCCASIONS))


class ProcedureNotchAdvice(Record, Base):
    """What a procedure asks of the sizes of a block's notches: how many, and whether they stand on both sides of the target."""

    __tablename__ = "procedure_notch_advice"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision", unique=True)
    fewest_sizes: Mapped[int | None]
    bracketing: Mapped[bool]
    paragraph: Mapped[str]
    __table_args__ = strict()


class ProcedurePartReading(Record, Base):
    """A procedure that asks for a reading on the part after the block: how far the phase may shift between them."""

    __tablename__ = "procedure_part_reading"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision", unique=True)
    largest_phase_shift_deg: Mapped[Decimal]
    paragraph: Mapped[str]
    __table_args__ = strict()


class ProcedureVision(Record, Base):
    """A procedure that asks for tests of vision: which, and after how many months again."""

    __tablename__ = "procedure_vision"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    place: Mapped[int]
    kind: Mapped[str]
    every_months: Mapped[int | None]
    paragraph: Mapped[str]
    __table_args__ = strict(
        UniqueConstraint("procedure_revision_id", "kind"), one_of("kind", ("near vision", "colour"))
    )


class ProcedureQualification(Record, Base):
    """A qualification that a procedure asks of the one who examines: method, lowest level, sector ('' is any)."""

    __tablename__ = "procedure_qualification"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision", unique=True)
    method: Mapped[str]
    level: Mapped[int]
    sector: Mapped[str]
    paragraph: Mapped[str]
    __table_args__ = strict(CheckConstraint("level IN (1, 2, 3)", name="level"))
