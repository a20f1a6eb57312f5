"""A laboratory's evidence: certificates, the values in them, and the papers themselves."""

from datetime import date
from decimal import Decimal

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from refstd.register.columns import Base, Fact, Record, key_of, one_of, strict
from refstd.register.equipment import ACTIVITIES

DECISION_RULES = ("", "simple", "guard band", "iso 14253-1")


class Attachment(Record, Base):
    """A paper, known by the SHA-256 of its bytes; its name is shown and never used as a path."""

    __tablename__ = "attachment"
    sha256: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    media_type: Mapped[str]
    size: Mapped[int]
    content: Mapped[bytes]
    __table_args__ = strict(CheckConstraint("length(sha256) = 64", name="sha256"))


class Certificate(Fact, Base):
    """Evidence that something was done on an item: who, when, how, traceable to what (ISO/IEC 17025:2017, 6.4.13 c, e, f)."""

    __tablename__ = "certificate"
    equipment_id: Mapped[int] = key_of("equipment")
    activity: Mapped[str]
    number: Mapped[str]
    laboratory: Mapped[str]
    accreditation: Mapped[str]
    performed_on: Mapped[date]
    issued_on: Mapped[date | None]
    method: Mapped[str]
    place: Mapped[str]
    temperature_c: Mapped[Decimal | None]
    environment: Mapped[str]
    traceability: Mapped[str]
    adjusted: Mapped[bool]
    adjustment: Mapped[str]
    decision_rule: Mapped[str]
    guard_ratio: Mapped[Decimal | None]
    result: Mapped[str]
    withdrawn: Mapped[bool]
    attachment_id: Mapped[int | None] = key_of("attachment")
    supersedes_id: Mapped[int | None] = key_of("certificate", unique=True)
    why: Mapped[str]
    __table_args__ = strict(
        one_of("activity", ACTIVITIES),
        one_of("decision_rule", DECISION_RULES),
        one_of("result", ("", "sound", "not sound")),
    )


class CertifiedValue(Record, Base):
    """One value of a certificate, as found or as left, with U and k as printed, and the limits if the paper has any."""

    __tablename__ = "certified_value"
    certificate_id: Mapped[int] = key_of("certificate")
    notch_id: Mapped[int | None] = key_of("notch")
    quantity: Mapped[str]
    stage: Mapped[str]
    value: Mapped[Decimal]
    unit: Mapped[str]
    expanded_uncertainty: Mapped[Decimal | None]
    coverage_factor: Mapped[Decimal | None]
    coverage_probability_percent: Mapped[Decimal | None]
    method: Mapped[str]
    point: Mapped[str]
    lower_limit: Mapped[Decimal | None]
    upper_limit: Mapped[Decimal | None]
    limit_source: Mapped[str]
    __table_args__ = strict(one_of("stage", ("as found", "as left")))


class Tolerance(Fact, Base):
    """The limits that a lab sets for a certified value of an item, and the decision rule; for values filed from now on.

    Without a rule nothing is decided: there is no default rule (ISO/IEC 17025:2017, 7.8.6).
    """

    __tablename__ = "tolerance"
    equipment_id: Mapped[int] = key_of("equipment")
    notch_id: Mapped[int | None] = key_of("notch")
    quantity: Mapped[str]
    lower_limit: Mapped[Decimal | None]
    upper_limit: Mapped[Decimal | None]
    unit: Mapped[str]
    source: Mapped[str]
    decision_rule: Mapped[str]
    guard_ratio: Mapped[Decimal | None]
    active: Mapped[bool]
    supersedes_id: Mapped[int | None] = key_of("tolerance", unique=True)
    why: Mapped[str]
    __table_args__ = strict(one_of("decision_rule", DECISION_RULES))


class Conformity(Record, Base):
    """How a certified value was judged when it was filed: rule, limits, outcome and probability of that day, for good.

    A rule that is named later judges later values only (ISO/IEC 17025:2017, 7.8.6.1: the rule and its level of risk).
    """

    __tablename__ = "conformity"
    certified_value_id: Mapped[int] = key_of("certified_value", unique=True)
    decision_rule: Mapped[str]
    guard_ratio: Mapped[Decimal | None]
    rule_source: Mapped[str]
    lower_limit: Mapped[Decimal | None]
    upper_limit: Mapped[Decimal | None]
    limit_source: Mapped[str]
    outcome: Mapped[str]
    conforming_percent: Mapped[Decimal | None]
    says: Mapped[str]
    rules_version: Mapped[str]
    __table_args__ = strict(
        one_of("decision_rule", DECISION_RULES),
        one_of("outcome", ("pass", "conditional pass", "conditional fail", "fail", "not judged")),
    )


class NameMapping(Fact, Base):
    """Which notch a laboratory means by its own name for a place on an item; the newest for that name counts."""

    __tablename__ = "name_mapping"
    equipment_id: Mapped[int] = key_of("equipment")
    laboratory_key: Mapped[str]
    their_name: Mapped[str]
    notch_id: Mapped[int | None] = key_of("notch")
    quantity: Mapped[str]
    __table_args__ = strict()
