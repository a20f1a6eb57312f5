"""Setups: instrument, probe, block and conditions, and the readings taken with them as the rules want them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal, cast

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import AlreadyOnRecord, Problem
from refstd.base.quantity import plain
from refstd.base.text import key
from refstd.desk.entry import (
    Draft,
    NeededWords,
    Number,
    OptionalNumber,
    OptionalPositive,
    Positive,
    Words,
    refuse_if,
    row_from,
)
from refstd.desk.items import items, items_of
from refstd.desk.known import named, next_number, of_kind, refuse_taken
from refstd.desk.people import may
from refstd.eddy.signals import Order
from refstd.register.checks import Baseline, BaselineSet, Reading, ResponseCheck, Setup
from refstd.register.equipment import Equipment, Notch, NotchRevision
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.log import canonical
from refstd.register.revisions import newest_of_each, standing
from refstd.rules.readings import NotchReading, ReadingSet

CONDITIONS = (
    "frequency_khz", "second_frequency_khz", "mix", "high_pass_hz", "low_pass_hz", "drive", "measure", "unit", "phase_reference",
    "covering", "scan", "screen", "rpm",
)  # fmt: skip


class SetupDraft(Draft):
    """Instrument, probe, block and the conditions that must be equal for two readings to be comparable."""

    number: OptionalNumber = Field(None, description="left empty, the next running number is taken")
    instrument: Number
    probe: Number
    block: Number
    frequency_khz: Positive = Field(title="frequency, kHz")
    second_frequency_khz: OptionalPositive = Field(None, title="second frequency, kHz")
    mix: Words = ""
    high_pass_hz: OptionalPositive = Field(None, title="high-pass filter, Hz")
    low_pass_hz: OptionalPositive = Field(None, title="low-pass filter, Hz")
    drive: Words = ""
    measure: Literal[
        "vertical from balance", "vertical peak to peak", "horizontal and vertical", "amplitude peak to peak"
    ]
    unit: Literal["div", "% FSH"] = Field(title="unit of readings")
    phase_reference: NeededWords = Field("lift-off", description="lift-off, or the label of a notch")
    covering: Words = Field("", description="tape or shim between probe and block, with its thickness")
    scan: Literal["manual", "rotating"] = "manual"
    screen: Literal["impedance plane", "sweep"] = Field(
        "impedance plane", description="sweep: the amplitude over the rotation of the probe"
    )
    rpm: OptionalPositive = Field(None, title="revolutions a minute", description="of a rotating scan")


@dataclass(frozen=True, slots=True)
class SetupShown:
    """A setup as on record."""

    setup_id: int
    number: str
    instrument: str
    probe: str
    block: str
    conditions: tuple[tuple[str, str], ...]
    measure: str
    unit: str
    phase_reference: str
    frequency_khz: Decimal

    def in_words(self) -> str:
        return f"{self.number}: {self.instrument}, {self.probe}, {self.block}, {plain(self.frequency_khz)} kHz"


def make_setup(
    lab: Lab, draft: SetupDraft, *, by: str, now: datetime, operation: str = ""
) -> tuple[str, tuple[str, ...]]:
    """Put a setup on record and return its number and what is worth a warning. The same setup again is refused."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "make a setup")
        number = keep_setup(change, draft)
        change.record("setup made", setup=number)
        return number, setup_warnings(change, draft)


def keep_setup(change: Change, draft: SetupDraft) -> str:
    """Add the row of a setup."""
    instrument, probe = of_kind(change, draft.instrument, "instrument"), of_kind(change, draft.probe, "probe")
    block = of_kind(change, draft.block, "block")
    labels = {key(n.label) for n in items_of(change, [block.id])[block.id].notches}
    problems = []
    if draft.phase_reference != "lift-off" and key(draft.phase_reference) not in labels:
        problems.append(
            Problem("phase_reference", f"{block.asset_no} has no such notch", "Give lift-off or a notch's label.")
        )
    refuse_if([*problems, *scan_problems(draft)], "setup")
    conditions = canonical({name: _word(getattr(draft, name)) for name in CONDITIONS})
    same = change.session.execute(
        select(Setup).where(
            Setup.instrument_id == instrument.id, Setup.probe_id == probe.id, Setup.block_id == block.id,
            Setup.conditions_key == key(conditions),
        )
    ).scalar_one_or_none()  # fmt: skip
    if same is not None:
        raise AlreadyOnRecord(f"this setup is on record as {same.number}", "", f"Use {same.number}.")
    number = draft.number or next_number(change, Setup, "S")
    refuse_taken(change, Setup, number)
    row = row_from(
        Setup, draft, number=number, number_key=key(number), instrument_id=instrument.id, probe_id=probe.id, block_id=block.id,
        conditions_key=key(conditions),
    )  # fmt: skip
    change.add(row)
    return number


def scan_problems(draft: SetupDraft) -> list[Problem]:
    """Return what does not go together about scan, screen, measure and filters.

    Speed and filters shape what a rotating scan shows, so that readings compare only where they are equal. A sweep shows
    one amplitude over the rotation: it has no horizontal part.
    """
    problems = []
    rotating, sweep = draft.scan == "rotating", draft.screen == "sweep"
    if rotating:
        needed = (
            ("rpm", "the revolutions a minute"), ("high_pass_hz", "the high-pass filter in Hz"),
            ("low_pass_hz", "the low-pass filter in Hz"),
        )  # fmt: skip
        problems += [
            Problem(name, "is missing for a rotating scan, whose readings depend on it", f"Give {words}, as the procedure has it.")
            for name, words in needed
            if getattr(draft, name) is None
        ]  # fmt: skip
    elif draft.rpm is not None:
        problems.append(
            Problem("rpm", "belongs to a rotating scan, and only there", "Leave it empty, or scan rotating.")
        )
    if draft.high_pass_hz is not None and draft.low_pass_hz is not None and draft.high_pass_hz >= draft.low_pass_hz:
        problems.append(
            Problem("high_pass_hz", "is not below the low-pass filter, so nothing passes", "Exchange the two.")
        )
    if sweep and not rotating:
        problems.append(
            Problem("screen", "a sweep shows the signal over the rotation of the probe", "Scan rotating, or take the impedance plane.")
        )  # fmt: skip
    if sweep and draft.measure == "horizontal and vertical":
        problems.append(
            Problem("measure", "a sweep shows no horizontal part", "Read amplitude or vertical peak to peak, or take the impedance plane.")
        )  # fmt: skip
    return problems


def setup_warnings(look: Look, draft: SetupDraft) -> tuple[str, ...]:
    """Return what is worth a warning and refuses nothing: a frequency outside a printed range (the procedure governs)."""
    warnings = []
    for number in (draft.probe, draft.instrument):
        special = items(look)[named(look, Equipment, number).id].special
        low, high = special["lowest_khz"], special["highest_khz"]
        for frequency in (draft.frequency_khz, draft.second_frequency_khz):
            if frequency is not None and not low <= frequency <= high:
                warnings.append(
                    f"{plain(frequency)} kHz is outside the range of {number} on record, {plain(low)} to {plain(high)} kHz; "
                    "the written procedure governs"
                )
    return tuple(warnings)


def setups(lab: Lab, when: When) -> tuple[SetupShown, ...]:
    """Return the setups on record."""
    with lab.look(when) as look:
        return setups_in(look)


def setups_in(look: Look) -> tuple[SetupShown, ...]:
    """Return the setups on record at the look's instant, by number."""
    rows = look.session.execute(select(Setup).where(Setup.entry <= look.upto).order_by(Setup.number)).scalars()
    return tuple(setup_shown(look, row) for row in rows)


def setup_shown(look: Look, row: Setup) -> SetupShown:
    """Return a setup as on record."""
    registered = items(look)
    conditions = tuple((name, _word(getattr(row, name))) for name in CONDITIONS if getattr(row, name) not in (None, ""))
    return SetupShown(
        row.id, row.number, registered[row.instrument_id].asset_no, registered[row.probe_id].asset_no,
        registered[row.block_id].asset_no, conditions, row.measure, row.unit, row.phase_reference, row.frequency_khz,
    )  # fmt: skip


def reading_set(look: Look, check: ResponseCheck) -> ReadingSet:
    """Return the readings of a kept check with the display they were seen through."""
    return reading_sets(look, [check])[0]


def reading_sets(look: Look, checks: Sequence[ResponseCheck]) -> tuple[ReadingSet, ...]:
    """Return the readings of each of these checks with the display they were seen through."""
    query = select(Reading).where(Reading.check_id.in_([c.id for c in checks])).order_by(Reading.place)
    rows: dict[int, list[Reading]] = {}
    for row in look.session.execute(query).scalars():
        rows.setdefault(row.check_id, []).append(row)
    found = []
    for check in checks:
        setup = look.session.get_one(Setup, check.setup_id)
        depths = notch_depths(look, setup.block_id)
        readings = tuple(
            NotchReading(*depths[r.notch_id], r.horizontal, r.vertical, r.full_screen) for r in rows.get(check.id, ())
        )
        found.append(assembled(look, setup, check, readings, f"check {check.number}"))
    return tuple(found)


def assembled(
    look: Look, setup: Setup, check: ResponseCheck, readings: tuple[NotchReading, ...], record: str
) -> ReadingSet:
    """Return readings with the display of a check (kept or not yet kept)."""
    special = items_of(look, [setup.instrument_id])[setup.instrument_id].special
    order = None if special["display_order"] == "unknown" else cast(Order, special["display_order"])
    full_screen = Decimal("100") if setup.unit == "% FSH" else special["full_screen_div"]
    return ReadingSet(
        record, readings, check.rotation_deg, check.horizontal_gain_db, check.vertical_gain_db, order, setup.unit, setup.measure,
        setup.phase_reference, check.phase_set, check.noise, full_screen, check.nulled,
        check.block_temperature_c, check.part_temperature_c,
    )  # fmt: skip


def notch_depths(look: Look, block_id: int) -> dict[int, tuple[str, float]]:
    """Return label and nominal depth (mm) of each notch of a block, by the notch's internal id."""
    cached = ("notch depths", block_id)
    if cached not in look.known:
        rows = (
            look.session.execute(select(Notch).where(Notch.equipment_id == block_id, Notch.entry <= look.upto))
            .scalars()
            .all()
        )
        newest = newest_of_each(
            look.session,
            NotchRevision,
            NotchRevision.notch_id,
            look.upto,
            NotchRevision.notch_id.in_([r.id for r in rows]),
        )
        look.known[cached] = {r.id: (r.label, float(newest[r.id].depth_mm)) for r in rows}
    found: dict[int, tuple[str, float]] = look.known[cached]
    return found


def baseline_of(look: Look, setup_id: int) -> Baseline | None:
    """Return the baseline of a setup in force at the look's instant."""
    return look.session.execute(standing(Baseline, look.upto, Baseline.setup_id == setup_id)).scalars().first()


def baseline_sets(look: Look, baseline: Baseline | None) -> tuple[ReadingSet, ...]:
    """Return the independent set-ups that a baseline rests on."""
    if baseline is None:
        return ()
    rows: Sequence[ResponseCheck] = (
        look.session.execute(
            select(ResponseCheck)
            .join(BaselineSet, BaselineSet.check_id == ResponseCheck.id)
            .where(BaselineSet.baseline_id == baseline.id)
            .order_by(ResponseCheck.id)
        )
        .scalars()
        .all()
    )
    return reading_sets(look, rows)


def _word(value: object) -> str:
    if value is None:
        return ""
    return plain(value) if isinstance(value, Decimal) else str(value)
