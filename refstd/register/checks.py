"""Setups, response checks with their readings and kept reasons, baselines."""

from decimal import Decimal

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from refstd.register.columns import Base, Fact, Record, key_of, one_of, strict

OCCASIONS = ("set-up", "start", "interim", "end", "exchange", "operator", "doubt", "periodic", "receipt", "swap test")
OUTCOMES = ("acceptable", "not acceptable", "not conclusive", "kept for a baseline")
MEASURES = ("vertical from balance", "vertical peak to peak", "horizontal and vertical", "amplitude peak to peak")
SCREENS = ("impedance plane", "sweep")
EXCHANGED = ("cable", "probe", "block", "instrument")
SWAP_RESULTS = ("stayed", "went", "cannot tell")


class Setup(Record, Base):
    """Instrument, probe, block and conditions: what must be equal for two readings to be comparable."""

    __tablename__ = "setup"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    instrument_id: Mapped[int] = key_of("equipment")
    probe_id: Mapped[int] = key_of("equipment")
    block_id: Mapped[int] = key_of("equipment")
    frequency_khz: Mapped[Decimal]
    second_frequency_khz: Mapped[Decimal | None]
    mix: Mapped[str]
    high_pass_hz: Mapped[Decimal | None]
    low_pass_hz: Mapped[Decimal | None]
    drive: Mapped[str]
    measure: Mapped[str]
    unit: Mapped[str]
    phase_reference: Mapped[str]
    covering: Mapped[str]
    scan: Mapped[str]
    screen: Mapped[str]
    rpm: Mapped[Decimal | None]
    conditions_key: Mapped[str]
    __table_args__ = strict(
        UniqueConstraint("instrument_id", "probe_id", "block_id", "conditions_key"),
        one_of("measure", MEASURES),
        one_of("unit", ("div", "% FSH")),
        one_of("scan", ("manual", "rotating")),
        one_of("screen", SCREENS),
    )


class ResponseCheck(Fact, Base):
    """The readings taken on the notches on one occasion, with settings, and the outcome kept with them.

    The person is who took the readings; who entered them, the log entry says. `sheet_id` is the scan of a paper sheet.
    """

    __tablename__ = "response_check"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    setup_id: Mapped[int] = key_of("setup")
    job_id: Mapped[int | None] = key_of("job")
    procedure_revision_id: Mapped[int | None] = key_of("procedure_revision")
    occasion: Mapped[str]
    person_id: Mapped[int] = key_of("person")
    start_check_id: Mapped[int | None] = key_of("response_check")
    baseline_id: Mapped[int | None] = key_of("baseline")
    certificate_id: Mapped[int | None] = key_of("certificate")
    cable_id: Mapped[int | None] = key_of("equipment")
    adapter_id: Mapped[int | None] = key_of("equipment")
    rotation_deg: Mapped[Decimal]
    horizontal_gain_db: Mapped[Decimal]
    vertical_gain_db: Mapped[Decimal]
    nulled: Mapped[bool]
    phase_set: Mapped[bool]
    noise: Mapped[Decimal | None]
    block_temperature_c: Mapped[Decimal | None]
    part_temperature_c: Mapped[Decimal | None]
    sheet_id: Mapped[int | None] = key_of("attachment")
    remedy: Mapped[str]
    repeats_id: Mapped[int | None] = key_of("response_check", unique=True)
    outcome: Mapped[str]
    covers: Mapped[str]
    rules_version: Mapped[str]
    note: Mapped[str]
    second_person_id: Mapped[int | None] = key_of("person")
    supersedes_id: Mapped[int | None] = key_of("response_check", unique=True)
    why: Mapped[str]
    __table_args__ = strict(one_of("occasion", OCCASIONS), one_of("outcome", OUTCOMES))


class Reading(Record, Base):
    """One scan of one notch as seen: horizontal and vertical, vertical alone, or 'at least full screen'."""

    __tablename__ = "reading"
    check_id: Mapped[int] = key_of("response_check")
    notch_id: Mapped[int] = key_of("notch")
    place: Mapped[int]
    horizontal: Mapped[Decimal | None]
    vertical: Mapped[Decimal | None]
    full_screen: Mapped[bool]
    certified_value_id: Mapped[int | None] = key_of("certified_value")
    __table_args__ = strict(
        UniqueConstraint("check_id", "notch_id"),
        CheckConstraint("full_screen = 1 OR vertical IS NOT NULL", name="a_value"),
    )


class CheckReason(Record, Base):
    """A reason of a check's outcome, kept as it was told on the day, with the rules of the day."""

    __tablename__ = "check_reason"
    check_id: Mapped[int] = key_of("response_check")
    place: Mapped[int]
    comparison: Mapped[str]
    rule: Mapped[str]
    says: Mapped[str]
    figure: Mapped[str]
    limit_shown: Mapped[str]
    source: Mapped[str]
    read_from: Mapped[str]
    cure: Mapped[str]
    weight: Mapped[str]
    __table_args__ = strict(one_of("comparison", ("job", "condition")))


class Baseline(Fact, Base):
    """Accepted responses of a setup from independent set-ups, frozen; replaced only with a reason."""

    __tablename__ = "baseline"
    setup_id: Mapped[int] = key_of("setup")
    person_id: Mapped[int] = key_of("person")
    approved_by_id: Mapped[int] = key_of("person")
    supersedes_id: Mapped[int | None] = key_of("baseline", unique=True)
    why: Mapped[str]
    __table_args__ = strict()


class BaselineSet(Record, Base):
    """One of the independent set-ups that a baseline rests on."""

    __tablename__ = "baseline_set"
    baseline_id: Mapped[int] = key_of("baseline")
    check_id: Mapped[int] = key_of("response_check", unique=True)
    __table_args__ = strict()


class BaselineCurrent(Base):
    """Now table: the one baseline in force for a setup. Rebuilt from the facts by `verify --deep`."""

    __tablename__ = "baseline_current"
    setup_id: Mapped[int] = key_of("setup", primary_key=True)
    baseline_id: Mapped[int] = key_of("baseline")
    __table_args__ = strict(now=True)


class SwapTest(Fact, Base):
    """Find out which of several suspects moved: exchange one thing at a time. It starts from the check that showed it."""

    __tablename__ = "swap_test"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    check_id: Mapped[int] = key_of("response_check")
    notch_id: Mapped[int] = key_of("notch")
    suspects: Mapped[str]
    person_id: Mapped[int] = key_of("person")
    why: Mapped[str]
    __table_args__ = strict()


class SwapStep(Fact, Base):
    """One thing exchanged, the check made with it, and whether the deviation stayed or went. A thing may be exchanged again."""

    __tablename__ = "swap_step"
    swap_test_id: Mapped[int] = key_of("swap_test")
    exchanged: Mapped[str]
    check_id: Mapped[int] = key_of("response_check", unique=True)
    result: Mapped[str]
    says: Mapped[str]
    __table_args__ = strict(
        one_of("exchanged", EXCHANGED),
        one_of("result", SWAP_RESULTS),
    )


class BlockComparison(Fact, Base):
    """A secondary block held against its primary: same system, same day, primary and secondary in turn (A-B-A)."""

    __tablename__ = "block_comparison"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    primary_id: Mapped[int] = key_of("equipment")
    secondary_id: Mapped[int] = key_of("equipment")
    instrument_id: Mapped[int] = key_of("equipment")
    probe_id: Mapped[int] = key_of("equipment")
    cable_id: Mapped[int | None] = key_of("equipment")
    frequency_khz: Mapped[Decimal]
    measure: Mapped[str]
    unit: Mapped[str]
    rotation_deg: Mapped[Decimal]
    horizontal_gain_db: Mapped[Decimal]
    vertical_gain_db: Mapped[Decimal]
    noise: Mapped[Decimal | None]
    band_db: Mapped[Decimal]
    band_deg: Mapped[Decimal | None]
    band_source: Mapped[str]
    person_id: Mapped[int] = key_of("person")
    outcome: Mapped[str]
    certificate_id: Mapped[int | None] = key_of("certificate", unique=True)
    rules_version: Mapped[str]
    note: Mapped[str]
    supersedes_id: Mapped[int | None] = key_of("block_comparison", unique=True)
    why: Mapped[str]
    __table_args__ = strict(
        one_of("measure", MEASURES),
        one_of("unit", ("div", "% FSH")),
        one_of("outcome", ("agrees", "does not agree", "not conclusive")),
        CheckConstraint("primary_id <> secondary_id", name="two_blocks"),
    )


class ComparisonReading(Record, Base):
    """One scan of one notch of the primary or the secondary block, in the order in which they were made."""

    __tablename__ = "comparison_reading"
    block_comparison_id: Mapped[int] = key_of("block_comparison")
    place: Mapped[int]
    round: Mapped[int]
    notch_id: Mapped[int] = key_of("notch")
    horizontal: Mapped[Decimal | None]
    vertical: Mapped[Decimal]
    __table_args__ = strict(UniqueConstraint("block_comparison_id", "place"))


class ComparisonResult(Record, Base):
    """Secondary against primary at one notch, kept as it was told on the day."""

    __tablename__ = "comparison_result"
    block_comparison_id: Mapped[int] = key_of("block_comparison")
    notch_id: Mapped[int] = key_of("notch")
    ratio_db: Mapped[Decimal | None]
    phase_deg: Mapped[Decimal | None]
    moved_db: Mapped[Decimal | None]
    outcome: Mapped[str]
    says: Mapped[str]
    __table_args__ = strict(
        UniqueConstraint("block_comparison_id", "notch_id"),
        one_of("outcome", ("agrees", "does not agree", "not conclusive")),
    )
