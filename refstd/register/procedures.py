"""The written procedures and the jobs done under them. Every limit comes from here, with its paragraph."""

from datetime import date
from decimal import Decimal

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from refstd.register.columns import Base, Record, Revision, key_of, one_of, strict

FORMS = ("plate", "edge", "radius", "bore", "countersink", "weld", "layers")


class Procedure(Record, Base):
    """A written procedure, known by its code."""

    __tablename__ = "procedure"
    code: Mapped[str]
    code_key: Mapped[str] = mapped_column(unique=True)
    __table_args__ = strict()


class ProcedureRevision(Revision, Base):
    """One revision of a procedure; its acts say whether it is in force. A paragraph stands beside every requirement.

    `approved_on_paper_by_id` is who approved it before it came on record from a file, not by an act of their own here.
    `editorial`: nothing that it requires differs from the revision before.
    """

    __tablename__ = "procedure_revision"
    procedure_id: Mapped[int] = key_of("procedure")
    issue: Mapped[str]
    title: Mapped[str]
    approved_on_paper_by_id: Mapped[int | None] = key_of("person")
    editorial: Mapped[bool]
    form: Mapped[str]
    lowest_khz: Mapped[Decimal]
    highest_khz: Mapped[Decimal]
    frequency_paragraph: Mapped[str]
    check_every_hours: Mapped[Decimal | None]
    check_paragraph: Mapped[str]
    needs_baseline: Mapped[bool]
    baseline_paragraph: Mapped[str]
    baseline_setups: Mapped[int]
    conductivity_band_percent_iacs: Mapped[Decimal | None]
    conductivity_paragraph: Mapped[str]
    temperature_band_c: Mapped[Decimal | None]
    temperature_paragraph: Mapped[str]
    tell: Mapped[str]
    __table_args__ = strict(UniqueConstraint("procedure_id", "revision"), one_of("form", FORMS))


class ProcedureLimit(Record, Base):
    """One limit, in the procedure's own unit, against what the procedure says, for one notch or for all."""

    __tablename__ = "procedure_limit"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    place: Mapped[int]
    quantity: Mapped[str]
    against: Mapped[str]
    notch_label: Mapped[str | None]
    lower: Mapped[Decimal | None]
    upper: Mapped[Decimal | None]
    unit: Mapped[str]
    paragraph: Mapped[str]
    __table_args__ = strict(
        one_of("quantity", ("amplitude", "phase", "signal to noise")),
        one_of("against", ("none", "target", "start check", "baseline")),
        one_of("unit", ("%", "% FSH", "div", "dB", "°", "ratio")),
        CheckConstraint("lower IS NOT NULL OR upper IS NOT NULL", name="a_limit"),
    )


class ProcedureTolerance(Record, Base):
    """What a procedure asks of a certified value of the block, and by which decision rule; for the procedure only."""

    __tablename__ = "procedure_tolerance"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    place: Mapped[int]
    quantity: Mapped[str]
    notch_label: Mapped[str | None]
    against: Mapped[str]
    lower: Mapped[Decimal | None]
    upper: Mapped[Decimal | None]
    largest_uncertainty: Mapped[Decimal | None]
    largest_uncertainty_percent: Mapped[Decimal | None]
    unit: Mapped[str]
    decision_rule: Mapped[str]
    guard_ratio: Mapped[Decimal | None]
    paragraph: Mapped[str]
    __table_args__ = strict(
        one_of("against", ("none", "nominal")),
        one_of("decision_rule", ("", "simple", "guard band", "iso 14253-1")),
        CheckConstraint(
            "coalesce(lower, upper, largest_uncertainty, largest_uncertainty_percent) IS NOT NULL", name="a_limit"
        ),
    )


class ProcedureTarget(Record, Base):
    """The response that a notch is to be set to when standardizing."""

    __tablename__ = "procedure_target"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    place: Mapped[int]
    notch_label: Mapped[str]
    value: Mapped[Decimal]
    unit: Mapped[str]
    paragraph: Mapped[str]
    __table_args__ = strict(one_of("unit", ("% FSH", "div")))


class ProcedureItem(Record, Base):
    """Equipment that the procedure names by part number, or an alternate that it approves."""

    __tablename__ = "procedure_item"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    place: Mapped[int]
    kind: Mapped[str]
    part_no: Mapped[str]
    standing: Mapped[str]
    paragraph: Mapped[str]
    __table_args__ = strict(
        one_of("kind", ("block", "probe", "instrument", "accessory")), one_of("standing", ("named", "alternate"))
    )


class ProcedureMaterial(Record, Base):
    """A block family that the procedure accepts for a part family. Nothing is accepted that no procedure says."""

    __tablename__ = "procedure_material"
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    part_family: Mapped[str]
    block_family: Mapped[str]
    paragraph: Mapped[str]
    __table_args__ = strict()


class Job(Record, Base):
    """Work to do: parts to examine, known by a number."""

    __tablename__ = "job"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    __table_args__ = strict()


class JobRevision(Revision, Base):
    """What a job is: procedure revision, parts, material, form, days."""

    __tablename__ = "job_revision"
    job_id: Mapped[int] = key_of("job")
    procedure_revision_id: Mapped[int] = key_of("procedure_revision")
    customer_reference: Mapped[str]
    parts: Mapped[str]
    material_id: Mapped[int] = key_of("material")
    form: Mapped[str]
    bore_diameter_mm: Mapped[Decimal | None]
    frequency_khz: Mapped[Decimal]
    target_flaw: Mapped[str]
    place: Mapped[str]
    starts_on: Mapped[date]
    ends_on: Mapped[date]
    open: Mapped[bool]
    __table_args__ = strict(
        UniqueConstraint("job_id", "revision"),
        one_of("form", FORMS),
        CheckConstraint("ends_on >= starts_on", name="days"),
    )
