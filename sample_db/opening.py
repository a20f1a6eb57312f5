"""How the register was opened in March 2024: people, materials, equipment, procedures, setups and their baselines."""

from collections.abc import Iterator
from datetime import date, timedelta
from functools import partial

from refstd.desk.baselines import BaselineDraft, set_baseline_from_readings
from refstd.desk.equipment import (
    AccessoryDraft,
    BlockDraft,
    InstrumentDraft,
    MaterialDraft,
    NotchDraft,
    ProbeDraft,
    enter_item,
    enter_material,
)
from refstd.desk.people import GrantDraft, PersonDraft, enter_person, grant
from refstd.desk.procedure_entry import (
    AcceptedFamilyDraft,
    LimitDraft,
    NamedItemDraft,
    ProcedureDraft,
    TargetDraft,
    file_procedure,
)
from refstd.desk.requirements import ASKED
from refstd.desk.setups import SetupDraft, make_setup

from .equipment import ACCESSORIES, BLOCKS, COILS, INSTRUMENTS, PIECES, PROBES, THEIRS, notches_of
from .materials import MATERIALS
from .papers_of_people import papers_on_opening
from .people import GRANTS, PEOPLE
from .procedures import PROCEDURES, Written
from .responses import chance, standardized
from .setups import SETUPS, SetUp
from .telling import Event, Telling, at, check_of, draft, readings_of

SET_UPS_OF_A_BASELINE = 5


def opening() -> Iterator[Event]:
    """Yield what is entered before work begins."""
    monday, tuesday = date(2024, 3, 4), date(2024, 3, 5)
    yield Event(at(monday, "08:30"), _people)
    yield Event(at(monday, "09:30"), _materials)
    yield Event(at(monday, "13:00"), _blocks)
    yield Event(at(tuesday, "09:00"), _probes)
    yield Event(at(tuesday, "14:00"), _instruments_and_accessories)
    for written in PROCEDURES:
        yield Event(at(date(2024, 3, 8), "10:00"), partial(file_written, written))
    for setup in SETUPS:
        yield Event(at(setup.first_set_up, "08:30"), partial(_setup, setup))
        yield Event(at(_working(setup.first_set_up, 5), "16:00"), partial(_baseline, setup))


def _people(telling: Telling) -> None:
    for code, name, role in PEOPLE[1:]:
        telling.do(enter_person, draft(PersonDraft, code=code, name=name, role=role), by="ORLA")
    for person, authority, granted_on, expires_on, why in GRANTS:
        given = draft(
            GrantDraft, person=person, authority=authority, granted_on=granted_on, expires_on=expires_on, why=why
        )
        telling.do(grant, given, by="ORLA")
    papers_on_opening(telling)


def _materials(telling: Telling) -> None:
    for code, name, family, magnetic_class, conductivity, source in MATERIALS:
        entered = draft(
            MaterialDraft, code=code, name=name, family=family, magnetic_class=magnetic_class,
            conductivity_percent_iacs=conductivity, source=source,
        )  # fmt: skip
        telling.do(enter_material, entered, by="ORLA")


def _blocks(telling: Telling) -> None:
    for row in BLOCKS:
        if row[12] != "awaiting receipt":
            enter_block(row, telling)


def enter_block(row: tuple[str, ...], telling: Telling) -> None:
    """Enter a block of the table with its notches."""
    asset, name, part, material, grade, form, thick, bore, kind, surface, made_for, owner, state, place = row
    return_on, ours = THEIRS.get(asset, ("", "yes"))
    block = draft(
        BlockDraft, asset_no=asset, name=name, part_no=part, made_by="own workshop", material=material, grade=grade, form=form,
        thickness_mm=thick, bore_diameter_mm=bore, surface=surface, made_for=made_for, owner=owner, state=state, location=place, return_on=return_on, ours_to_recalibrate=ours,
    )  # fmt: skip
    notches = [
        draft(
            NotchDraft,
            label=label,
            site=site,
            depth_mm=d,
            length_mm=length,
            width_mm=w,
            second_leg_mm=leg,
            cover_mm=cover,
        )
        for label, site, d, length, w, leg, cover in notches_of(kind, form)
    ]
    telling.do(enter_item, block, notches, by="ORLA")


def _probes(telling: Telling) -> None:
    for first, last, name, part, form, circuit, coils, low, high, diameter, width, connector, shielded, maker in PROBES:
        for number in range(first, last + 1):
            inner, outer, height, gap = COILS.get(f"P-{number}", ("",) * 4)
            probe = draft(
                ProbeDraft, asset_no=f"P-{number}", name=name, part_no=part, form=form, circuit=circuit, coils=coils, lowest_khz=low,
                highest_khz=high, diameter_mm=diameter, effective_width_mm=width, connector=connector, shielded=shielded,
                made_by=maker, serial_no=f"{part}-{number}", location="probe drawers", coil_inner_mm=inner, coil_outer_mm=outer,
                coil_height_mm=height, coil_gap_mm=gap,
            )  # fmt: skip
            telling.do(enter_item, probe, by="ORLA")


def _instruments_and_accessories(telling: Telling) -> None:
    for asset, name, serial, firmware, count, low, high, connector, order, source, drives in INSTRUMENTS:
        instrument = draft(
            InstrumentDraft, asset_no=asset, name=name, serial_no=serial, firmware=firmware, frequencies=count, lowest_khz=low,
            highest_khz=high, connector=connector, display_order=order, display_order_source=source, drives_rotating_probe=drives,
            circuits="bridge and reflection", made_by="supplier one", location="instrument room",
        )  # fmt: skip
        telling.do(enter_item, instrument, by="ORLA")
    for asset, name, form, to_instrument, to_probe, thickness, length in ACCESSORIES:
        accessory = draft(
            AccessoryDraft, asset_no=asset, name=name, form=form, instrument_connector=to_instrument, probe_connector=to_probe,
            thickness_mm=thickness, length_m=length, location="cable rack", pieces=PIECES.get(asset, ""),
        )  # fmt: skip
        telling.do(enter_item, accessory, by="ORLA")


def file_written(written: Written, telling: Telling, why: str = "", on_paper: str = "GRETA") -> None:
    """File a procedure as GRETA approved it on paper, or to be reviewed and approved."""
    limits = [
        draft(LimitDraft, quantity=q, against=a, notch=n, lower=low, upper=high, unit=u, paragraph=p)
        for q, a, n, low, high, u, p in written.limits
    ]
    targets = [draft(TargetDraft, notch=n, value=v, unit=u, paragraph=p) for n, v, u, p in written.targets]
    named = [draft(NamedItemDraft, kind=k, part_no=n, standing=s, paragraph=p) for k, n, s, p in written.named]
    accepted = [draft(AcceptedFamilyDraft, part_family=a, block_family=b, paragraph=p) for a, b, p in written.accepted]
    asked = {name: [draft(ASKED[name][0], **row) for row in rows] for name, rows in written.asked.items()}
    procedure = draft(ProcedureDraft, approved_on_paper_by=on_paper, **written.fields)
    telling.do(file_procedure, procedure, limits, targets, named, accepted, asked=asked, why=why, by="ORLA")


def _setup(setup: SetUp, telling: Telling) -> None:
    made = draft(
        SetupDraft, number=setup.number, instrument=setup.instrument, probe=setup.probe, block=setup.block,
        frequency_khz=setup.frequency_khz, measure=setup.measure, unit=setup.unit, phase_reference=setup.phase_reference,
        covering=setup.covering, scan=setup.scan, rpm=setup.rpm,
        screen=setup.screen, high_pass_hz=setup.pass_hz[0], low_pass_hz=setup.pass_hz[1],
    )  # fmt: skip
    telling.do(make_setup, made, by="TAM")


def _baseline(setup: SetUp, telling: Telling) -> None:
    """Set a baseline from set-ups on five working days, each nulled and set anew."""
    sets = []
    for each in range(SET_UPS_OF_A_BASELINE):
        day = _working(setup.first_set_up, each)
        shown = standardized(setup, day, chance(setup, telling.dice), telling.happenings)
        taken = check_of(setup, "set-up", shown, procedure=setup.procedure, happened_at=f"{day}T09:{10 * each:02d}")
        sets.append((taken, readings_of(shown)))
    approval = draft(BaselineDraft, setup=setup.number, approved_by="IVO")
    telling.do(set_baseline_from_readings, approval, sets, by="TAM")


def _working(first: date, days: int) -> date:
    """Return the day so many working days after the first."""
    day = first
    while days:
        day += timedelta(days=1)
        days -= day.weekday() < 5
    return day
