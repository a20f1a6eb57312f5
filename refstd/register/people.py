"""Who works here, what they may do, and the lab's own settings."""

from datetime import date
from enum import StrEnum

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from refstd.register.columns import Base, Fact, Record, Revision, key_of, one_of, strict


class Person(Record, Base):
    """A person, known by a code that is never given to another."""

    __tablename__ = "person"
    code: Mapped[str]
    code_key: Mapped[str] = mapped_column(unique=True)
    __table_args__ = strict()


class PersonRevision(Revision, Base):
    """How a person is described: name as printed, role, still here or not."""

    __tablename__ = "person_revision"
    person_id: Mapped[int] = key_of("person")
    name: Mapped[str]
    role: Mapped[str]
    active: Mapped[bool]
    __table_args__ = strict(
        UniqueConstraint("person_id", "revision"), one_of("role", ("custodian", "technician", "auditor"))
    )


class AuthorityGrant(Fact, Base):
    """An authority given to a person, from a day, to a day. Withdrawing is a new grant that ends at once."""

    __tablename__ = "authority_grant"
    person_id: Mapped[int] = key_of("person")
    authority: Mapped[str]
    granted_on: Mapped[date]
    expires_on: Mapped[date | None]
    why: Mapped[str]
    __table_args__ = strict(one_of("authority", ("level 2", "responsible level 3", "quality")))


class Qualification(Fact, Base):
    """A person's qualification in a method, and the employer's authorisation to work on it. A correction supersedes."""

    __tablename__ = "qualification"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    person_id: Mapped[int] = key_of("person")
    method: Mapped[str]
    level: Mapped[int]
    sector: Mapped[str]
    scheme: Mapped[str]
    certificate_no: Mapped[str]
    authorised_on: Mapped[date]
    expires_on: Mapped[date]
    supersedes_id: Mapped[int | None] = key_of("qualification", unique=True)
    why: Mapped[str]
    __table_args__ = strict(CheckConstraint("level IN (1, 2, 3)", name="level"))


class VisionTest(Fact, Base):
    """A test of a person's vision, passed or not, and to what day it counts by the written practice. A correction supersedes."""

    __tablename__ = "vision_test"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    person_id: Mapped[int] = key_of("person")
    kind: Mapped[str]
    tested_on: Mapped[date]
    passed: Mapped[bool]
    result: Mapped[str]
    expires_on: Mapped[date | None]
    practice: Mapped[str]
    supersedes_id: Mapped[int | None] = key_of("vision_test", unique=True)
    why: Mapped[str]
    __table_args__ = strict(
        one_of("kind", ("near vision", "colour")),
        CheckConstraint("passed = 0 OR expires_on IS NOT NULL", name="counts_to"),
    )


class LabRevision(Revision, Base):
    """The lab's settings: its name, its time zone, how many days ahead 'due soon' begins; a demo store's story day."""

    __tablename__ = "lab_revision"
    name: Mapped[str]
    time_zone: Mapped[str]
    due_soon_days: Mapped[int]
    story_day: Mapped[date | None]
    __table_args__ = strict(UniqueConstraint("revision"))


class KnownBy(StrEnum):
    """How the acting person was known. On a shared file this is attribution, not protection."""

    NAMED = "named on the command line or on screen"
    BUILDER = "sample builder"
