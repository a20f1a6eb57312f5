"""The register: materials, equipment of four kinds, notches, states, schedules."""

from datetime import date
from decimal import Decimal

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from refstd.register.columns import Base, Fact, Record, Revision, key_of, one_of, strict

KINDS = ("block", "probe", "instrument", "accessory")
ACTIVITIES = ("calibration", "verification", "comparison", "inspection")
STATES = (
    "in service",
    "awaiting receipt",
    "quarantined",
    "in repair",
    "lost",
    "retired",
    "stored",
    "away at laboratory",
    "calibrate before use",
    "reference only",
)
# What wears an item out, counted from its last evidence; '' where only the calendar counts. A schedule that has neither
# months nor days nor uses is owed once ('depth certified once').
USES = ("", "checks", "days of use", "check-outs")
# What may change an answer without anybody exchanging an item. The last three break a series: what was before and after
# is not one record of one thing.
EVENTS = (
    "tape renewed",
    "tip worn",
    "tip cleaned",
    "reading moves with the cable",
    "play in the bearing",
    "knocked",
    "power off",
    "program recalled",
    "repaired",
    "part exchanged",
    "firmware changed",
)


class Material(Record, Base):
    """A material that blocks and parts are made of, known by a code."""

    __tablename__ = "material"
    code: Mapped[str]
    code_key: Mapped[str] = mapped_column(unique=True)
    __table_args__ = strict()


class MaterialRevision(Revision, Base):
    """What is held about a material; each value with the source it was taken from."""

    __tablename__ = "material_revision"
    material_id: Mapped[int] = key_of("material")
    name: Mapped[str]
    family: Mapped[str]
    magnetic_class: Mapped[str]
    conductivity_percent_iacs: Mapped[Decimal | None]
    source: Mapped[str]
    __table_args__ = strict(
        UniqueConstraint("material_id", "revision"),
        one_of("magnetic_class", ("non-magnetic", "ferromagnetic")),
    )


class Equipment(Record, Base):
    """One item of the register, known by its asset number, which is never used again."""

    __tablename__ = "equipment"
    asset_no: Mapped[str]
    asset_key: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    __table_args__ = strict(one_of("kind", KINDS))


class EquipmentRevision(Revision, Base):
    """What all kinds have in common (ISO/IEC 17025:2017, 6.4.13 a, b). `pieces`: those counted out and in, 'shim=3; tip=2'.

    `owner`: '' for the lab itself; whose item it is may want it back on a day, and may keep its calibration to themselves.
    """

    __tablename__ = "equipment_revision"
    equipment_id: Mapped[int] = key_of("equipment")
    name: Mapped[str]
    part_no: Mapped[str]
    made_by: Mapped[str]
    serial_no: Mapped[str]
    firmware: Mapped[str]
    owner: Mapped[str]
    return_on: Mapped[date | None]
    ours_to_recalibrate: Mapped[bool]
    pieces: Mapped[str]
    note: Mapped[str]
    __table_args__ = strict(UniqueConstraint("equipment_id", "revision"))


class BlockDescription(Record, Base):
    """What only a reference block has. `shared`: it stays at the bench and is used by several people without check-out."""

    __tablename__ = "block_description"
    equipment_revision_id: Mapped[int] = key_of("equipment_revision", unique=True)
    material_id: Mapped[int] = key_of("material")
    grade: Mapped[str]
    form: Mapped[str]
    thickness_mm: Mapped[Decimal | None]
    bore_diameter_mm: Mapped[Decimal | None]
    surface: Mapped[str]
    made_for: Mapped[str]
    shared: Mapped[bool]
    __table_args__ = strict(
        one_of("grade", ("primary", "secondary")),
        one_of("form", ("plate", "edge", "radius", "bore", "countersink", "weld", "layers", "conductivity")),
    )


class ProbeDescription(Record, Base):
    """What only a probe has."""

    __tablename__ = "probe_description"
    equipment_revision_id: Mapped[int] = key_of("equipment_revision", unique=True)
    form: Mapped[str]
    circuit: Mapped[str]
    coils: Mapped[str]
    lowest_khz: Mapped[Decimal]
    highest_khz: Mapped[Decimal]
    diameter_mm: Mapped[Decimal | None]
    effective_width_mm: Mapped[Decimal | None]
    connector: Mapped[str]
    shielded: Mapped[bool]
    coil_inner_mm: Mapped[Decimal | None]
    coil_outer_mm: Mapped[Decimal | None]
    coil_height_mm: Mapped[Decimal | None]
    coil_gap_mm: Mapped[Decimal | None]
    __table_args__ = strict(
        one_of(
            "form",
            (
                "pencil",
                "pencil 90°",
                "spot",
                "manual bolt-hole",
                "rotating bolt-hole",
                "countersink",
                "ring",
                "sliding",
                "shaped",
                "weld (cross-axis)",
            ),
        ),
        one_of("circuit", ("bridge", "reflection")),
        one_of("coils", ("absolute", "differential", "cross-axis")),
    )


class InstrumentDescription(Record, Base):
    """What only an instrument has. The order of rotation and gain decides how its display is undone."""

    __tablename__ = "instrument_description"
    equipment_revision_id: Mapped[int] = key_of("equipment_revision", unique=True)
    frequencies: Mapped[int]
    lowest_khz: Mapped[Decimal]
    highest_khz: Mapped[Decimal]
    connector: Mapped[str]
    display_order: Mapped[str]
    display_order_source: Mapped[str]
    full_screen_div: Mapped[Decimal]
    drives_rotating_probe: Mapped[bool]
    circuits: Mapped[str]
    __table_args__ = strict(
        one_of("display_order", ("rotate-then-scale", "scale-then-rotate", "unknown")),
        one_of("circuits", ("not stated", "bridge", "reflection", "bridge and reflection")),
        CheckConstraint("frequencies IN (1, 2)", name="frequencies"),
    )


class AccessoryDescription(Record, Base):
    """What only an accessory has: a cable or adapter joins two connectors; a shim has a thickness."""

    __tablename__ = "accessory_description"
    equipment_revision_id: Mapped[int] = key_of("equipment_revision", unique=True)
    form: Mapped[str]
    instrument_connector: Mapped[str]
    probe_connector: Mapped[str]
    thickness_mm: Mapped[Decimal | None]
    length_m: Mapped[Decimal | None]
    __table_args__ = strict(one_of("form", ("cable", "adapter", "rotating drive", "shim")))


class Notch(Record, Base):
    """One reference discontinuity on a block, known by its label on that block."""

    __tablename__ = "notch"
    equipment_id: Mapped[int] = key_of("equipment")
    label: Mapped[str]
    label_key: Mapped[str]
    __table_args__ = strict(UniqueConstraint("equipment_id", "label_key"))


class NotchRevision(Revision, Base):
    """How a notch is described: where it is, how it was made, its nominal size."""

    __tablename__ = "notch_revision"
    notch_id: Mapped[int] = key_of("notch")
    place: Mapped[int]
    site: Mapped[str]
    process: Mapped[str]
    depth_mm: Mapped[Decimal]
    length_mm: Mapped[Decimal | None]
    width_mm: Mapped[Decimal | None]
    second_leg_mm: Mapped[Decimal | None]
    cover_mm: Mapped[Decimal | None]
    through: Mapped[bool]
    __table_args__ = strict(
        UniqueConstraint("notch_id", "revision"),
        one_of(
            "site",
            (
                "face",
                "edge",
                "radius",
                "bore wall",
                "bore corner (entry)",
                "bore corner (exit)",
                "countersink",
                "layer interface",
                "weld cap",
                "weld toe",
                "heat-affected zone",
                "below the surface",
            ),
        ),
        one_of("process", ("EDM", "milled", "sawn", "fatigue crack")),
    )


class EquipmentState(Fact, Base):
    """The state an item was put in and where it is, from an instant on (ISO/IEC 17025:2017, 6.4.13 d, h)."""

    __tablename__ = "equipment_state"
    equipment_id: Mapped[int] = key_of("equipment")
    state: Mapped[str]
    location: Mapped[str]
    why: Mapped[str]
    __table_args__ = strict(one_of("state", STATES))


class EquipmentEvent(Fact, Base):
    """Something that happened to an item and may have changed how it answers; it marks every series it takes part in."""

    __tablename__ = "equipment_event"
    equipment_id: Mapped[int] = key_of("equipment")
    event: Mapped[str]
    tape: Mapped[str]
    tape_thickness_mm: Mapped[Decimal | None]
    person_id: Mapped[int] = key_of("person")
    note: Mapped[str]
    withdrawn: Mapped[bool]
    supersedes_id: Mapped[int | None] = key_of("equipment_event", unique=True)
    why: Mapped[str]
    __table_args__ = strict(one_of("event", EVENTS))


class OrderTest(Fact, Base):
    """One static signal shown at two rotations: which of rotation and gain an instrument applies first."""

    __tablename__ = "order_test"
    equipment_id: Mapped[int] = key_of("equipment")
    unit: Mapped[str]
    horizontal_gain_db: Mapped[Decimal]
    vertical_gain_db: Mapped[Decimal]
    first_rotation_deg: Mapped[Decimal]
    first_horizontal: Mapped[Decimal]
    first_vertical: Mapped[Decimal]
    second_rotation_deg: Mapped[Decimal]
    second_horizontal: Mapped[Decimal]
    second_vertical: Mapped[Decimal]
    found: Mapped[str]
    person_id: Mapped[int] = key_of("person")
    note: Mapped[str]
    __table_args__ = strict(
        one_of("unit", ("div", "% FSH")), one_of("found", ("rotate-then-scale", "scale-then-rotate"))
    )


class Schedule(Fact, Base):
    """What an item owes, how often, counted from what, and who says so."""

    __tablename__ = "schedule"
    equipment_id: Mapped[int] = key_of("equipment")
    activity: Mapped[str]
    every_months: Mapped[int | None]
    every_days: Mapped[int | None]
    every_uses: Mapped[int | None]
    use: Mapped[str]
    anchor: Mapped[str]
    counted_from: Mapped[date | None]
    done_by: Mapped[str]
    source: Mapped[str]
    active: Mapped[bool]
    supersedes_id: Mapped[int | None] = key_of("schedule", unique=True)
    why: Mapped[str]
    __table_args__ = strict(
        one_of("activity", ACTIVITIES),
        one_of("anchor", ("last done", "fixed calendar", "first use")),
        one_of("use", USES),
        CheckConstraint("every_months IS NULL OR every_days IS NULL", name="one_interval"),
        CheckConstraint("(every_uses IS NULL) = (use = '')", name="uses_of_something"),
    )


class Deferral(Fact, Base):
    """A due date put off to a later day, by somebody with the authority, before it had passed."""

    __tablename__ = "deferral"
    equipment_id: Mapped[int] = key_of("equipment")
    activity: Mapped[str]
    due_on: Mapped[date]
    until: Mapped[date]
    person_id: Mapped[int] = key_of("person")
    withdrawn: Mapped[bool]
    supersedes_id: Mapped[int | None] = key_of("deferral", unique=True)
    why: Mapped[str]
    __table_args__ = strict(one_of("activity", ACTIVITIES), CheckConstraint("until > due_on", name="later"))


class IntervalReview(Fact, Base):
    """A proposed interval that somebody with the authority took or turned down, with the data and method behind it."""

    __tablename__ = "interval_review"
    equipment_id: Mapped[int] = key_of("equipment")
    activity: Mapped[str]
    method: Mapped[str]
    rests_on: Mapped[str]
    interval_before: Mapped[str]
    interval_proposed: Mapped[str]
    taken: Mapped[bool]
    schedule_id: Mapped[int | None] = key_of("schedule", unique=True)
    person_id: Mapped[int] = key_of("person")
    why: Mapped[str]
    __table_args__ = strict(one_of("activity", ACTIVITIES))


class ReceiptInspection(Fact, Base):
    """What was found when an item came in, point by point; it files its own evidence."""

    __tablename__ = "receipt_inspection"
    equipment_id: Mapped[int] = key_of("equipment")
    ordered_as: Mapped[str]
    check_id: Mapped[int | None] = key_of("response_check")
    certificate_id: Mapped[int] = key_of("certificate", unique=True)
    person_id: Mapped[int] = key_of("person")
    outcome: Mapped[str]
    note: Mapped[str]
    __table_args__ = strict(one_of("outcome", ("as ordered", "not as ordered")))


class ReceiptPoint(Record, Base):
    """One point of a receipt inspection: what was asked, what was found, against which limit."""

    __tablename__ = "receipt_point"
    receipt_inspection_id: Mapped[int] = key_of("receipt_inspection")
    place: Mapped[int]
    asked: Mapped[str]
    found: Mapped[str]
    value: Mapped[Decimal | None]
    unit: Mapped[str]
    lower_limit: Mapped[Decimal | None]
    upper_limit: Mapped[Decimal | None]
    limit_source: Mapped[str]
    outcome: Mapped[str]
    __table_args__ = strict(one_of("outcome", ("in order", "not in order", "not looked at")))
