"""The parts of a job, what is known of them, and which of them and which of their holes a lot examined."""

from decimal import Decimal

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped

from refstd.register.columns import Base, Record, Revision, key_of, strict


class JobPart(Record, Base):
    """A part of a job. `holes` is '' where the job names none, else as '1-12, 15'."""

    __tablename__ = "job_part"
    job_id: Mapped[int] = key_of("job")
    place: Mapped[int]
    serial: Mapped[str]
    zone: Mapped[str]
    holes: Mapped[str]
    __table_args__ = strict(UniqueConstraint("job_id", "place"))


class JobDetails(Revision, Base):
    """What is known of a job's parts, area and target beside what the job itself says; measured later or anew is a revision."""

    __tablename__ = "job_details"
    job_id: Mapped[int] = key_of("job")
    heat_treatment: Mapped[str]
    part_conductivity_percent_iacs: Mapped[Decimal | None]
    coating_mm: Mapped[Decimal | None]
    shims: Mapped[str]
    area_length_mm: Mapped[Decimal | None]
    area_width_mm: Mapped[Decimal | None]
    bores: Mapped[int | None]
    bore_depth_mm: Mapped[Decimal | None]
    weld_length_mm: Mapped[Decimal | None]
    target_length_mm: Mapped[Decimal | None]
    target_depth_mm: Mapped[Decimal | None]
    __table_args__ = strict(UniqueConstraint("job_id", "revision"))


class LotPart(Record, Base):
    """What a lot examined of a part of its job: these holes; '' where the part has none, and then all of it or of the zone."""

    __tablename__ = "lot_part"
    lot_id: Mapped[int] = key_of("examined_lot")
    job_part_id: Mapped[int] = key_of("job_part")
    place: Mapped[int]
    zone: Mapped[str]
    holes: Mapped[str]
    __table_args__ = strict(UniqueConstraint("lot_id", "place"))
