"""The register: entering materials, blocks, probes, instruments and accessories, and describing them anew."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any, Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Problem, Refusal
from refstd.base.quantity import plain
from refstd.base.text import key
from refstd.desk.entry import (
    Draft,
    NeededWords,
    Number,
    OneOrTwo,
    OptionalDay,
    OptionalPositive,
    Positive,
    Words,
    YesNo,
    draft_or_refuse,
    refuse_if,
    row_from,
)
from refstd.desk.events import EventDraft, events_of, keep_event
from refstd.desk.known import found, named, refuse_taken
from refstd.desk.order_checks import question_checks
from refstd.desk.people import may
from refstd.desk.states import State
from refstd.desk.states import set_state as set_state
from refstd.register.equipment import (
    AccessoryDescription,
    BlockDescription,
    Equipment,
    EquipmentRevision,
    EquipmentState,
    InstrumentDescription,
    Material,
    MaterialRevision,
    Notch,
    NotchRevision,
    ProbeDescription,
)
from refstd.register.lab import Change, Lab
from refstd.register.revisions import newest
from refstd.rules.pieces import pieces_from

FIRMWARE = "firmware changed"


class MaterialDraft(Draft):
    """A material to put on record, its values with their source."""

    code: Number
    name: NeededWords
    family: NeededWords = Field(description="such as aluminium alloy, titanium alloy, carbon steel, stainless steel")
    magnetic_class: Literal["non-magnetic", "ferromagnetic"]
    conductivity_percent_iacs: OptionalPositive = Field(None, title="conductivity, %IACS")
    source: NeededWords = Field(description="where the values come from: certificate, standard, data sheet")


class ItemDraft(Draft):
    """What all kinds of equipment have in common."""

    asset_no: Number = Field(title="asset number")
    name: NeededWords
    part_no: Words = Field("", title="part number")
    made_by: Words = ""
    serial_no: Words = Field("", title="serial number")
    firmware: Words = Field("", title="software and firmware version")
    owner: Words = Field("", description="whose it is, where it is not the lab's own")
    return_on: OptionalDay = Field(None, title="goes back to its owner on")
    ours_to_recalibrate: YesNo = Field(
        True, title="ours to recalibrate", description="no: its owner decides; ask before it goes to a laboratory"
    )
    pieces: Words = Field("", title="counted pieces", description="counted out and in, such as shim 0.05 mm=3; tip=2")
    state: State = "in service"
    location: Words = ""
    note: Words = ""


class BlockDraft(ItemDraft):
    """A reference block to enter."""

    material: Number = Field(title="material code")
    grade: Literal["primary", "secondary"] = "secondary"
    form: Literal["plate", "edge", "radius", "bore", "countersink", "weld", "layers", "conductivity"]
    thickness_mm: OptionalPositive = Field(None, title="thickness, mm")
    bore_diameter_mm: OptionalPositive = Field(None, title="bore diameter, mm")
    surface: Words = Field("", description="finish, coating or weld bead as made")
    made_for: Words = Field("", description="drawing and zone, if part-specific")
    shared: YesNo = Field(
        False, title="shared at the bench", description="it stays there and is used by several people without check-out"
    )


class NotchDraft(Draft):
    """A notch of a block."""

    label: NeededWords
    site: Literal[
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
    ] = "face"
    process: Literal["EDM", "milled", "sawn", "fatigue crack"] = "EDM"
    depth_mm: Positive = Field(title="depth, mm")
    length_mm: OptionalPositive = Field(None, title="length, mm")
    width_mm: OptionalPositive = Field(None, title="width, mm")
    second_leg_mm: OptionalPositive = Field(None, title="second leg, mm")
    cover_mm: OptionalPositive = Field(None, title="cover thickness, mm")
    through: YesNo = Field(False, title="through slot")


class ProbeDraft(ItemDraft):
    """A probe to enter."""

    form: Literal[
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
    ]
    circuit: Literal["bridge", "reflection"]
    coils: Literal["absolute", "differential", "cross-axis"]
    lowest_khz: Positive = Field(title="lowest frequency, kHz")
    highest_khz: Positive = Field(title="highest frequency, kHz")
    diameter_mm: OptionalPositive = Field(None, title="diameter, mm")
    effective_width_mm: OptionalPositive = Field(None, title="effective width, mm")
    connector: NeededWords
    shielded: YesNo = False
    coil_inner_mm: OptionalPositive = Field(
        None, title="coil, inner diameter, mm", description="the winding of an air-core coil; leave out if not known"
    )
    coil_outer_mm: OptionalPositive = Field(None, title="coil, outer diameter, mm")
    coil_height_mm: OptionalPositive = Field(None, title="coil, height, mm")
    coil_gap_mm: OptionalPositive = Field(None, title="coil, from winding to tip face, mm")


class InstrumentDraft(ItemDraft):
    """An instrument to enter."""

    frequencies: OneOrTwo = Field(1, title="number of frequencies")
    lowest_khz: Positive = Field(title="lowest frequency, kHz")
    highest_khz: Positive = Field(title="highest frequency, kHz")
    connector: NeededWords
    display_order: Literal["rotate-then-scale", "scale-then-rotate", "unknown"] = Field(
        "unknown",
        title="order of rotation and gain",
        description="unknown: only readings at equal settings are comparable",
    )
    display_order_source: Words = Field("", description="how the order is known: manual, or a two-reading test")
    full_screen_div: Positive = Field(Decimal("10"), title="full screen height, div")
    drives_rotating_probe: YesNo = False
    circuits: Literal["not stated", "bridge", "reflection", "bridge and reflection"] = Field(
        "not stated", title="circuits of probes", description="which probes it takes; where stated, others do not join"
    )


class AccessoryDraft(ItemDraft):
    """A cable, adapter, rotating drive or shim to enter."""

    form: Literal["cable", "adapter", "rotating drive", "shim"]
    instrument_connector: Words = ""
    probe_connector: Words = ""
    thickness_mm: OptionalPositive = Field(None, title="thickness, mm")
    length_m: OptionalPositive = Field(None, title="length, m")


def enter_material(lab: Lab, draft: MaterialDraft, *, by: str, now: datetime, operation: str = "") -> None:
    """Put a material on record; the same code again describes it anew."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep the register")
        keep_material(change, draft)
        change.record("material entered", material=draft.code)


def keep_material(change: Change, draft: MaterialDraft) -> None:
    """Add the rows of a material, or its next revision."""
    material = found(change, Material, draft.code)
    revision = 1
    if material is None:
        material = change.add(Material(code=draft.code, code_key=key(draft.code)))
    else:
        revision = (
            newest(change.session, MaterialRevision, None, MaterialRevision.material_id == material.id).revision + 1
        )
    why = "entered" if revision == 1 else "described anew"
    change.add(row_from(MaterialRevision, draft, material_id=material.id, revision=revision, why=why))


def enter_item(
    lab: Lab, draft: ItemDraft, notches: Sequence[NotchDraft] = (), *, by: str, now: datetime, operation: str = ""
) -> None:
    """Enter a block with its notches, a probe, an instrument or an accessory. Refused whole if anything is wrong."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep the register")
        keep_item(change, draft, notches)
        change.record(f"{kind_of(draft)} entered", item=draft.asset_no)


def kind_of(draft: ItemDraft) -> str:
    """Return the kind of equipment that a draft describes."""
    return {BlockDraft: "block", ProbeDraft: "probe", InstrumentDraft: "instrument", AccessoryDraft: "accessory"}[
        type(draft)
    ]


def keep_item(change: Change, draft: ItemDraft, notches: Sequence[NotchDraft] = ()) -> Equipment:
    """Add the rows of a new item: identity, description, notches, first state."""
    refuse_taken(change, Equipment, draft.asset_no)
    refuse_if(item_problems(draft, notches), draft.asset_no)
    item = change.add(Equipment(asset_no=draft.asset_no, asset_key=key(draft.asset_no), kind=kind_of(draft)))
    _describe(change, item, draft, 1, "entered")
    for place, notch in enumerate(notches, start=1):
        row = change.add(Notch(equipment_id=item.id, label=notch.label, label_key=key(notch.label)))
        change.add(_notch_revision(row.id, place, notch, 1, "entered"))
    change.add(
        EquipmentState(
            equipment_id=item.id, state=draft.state, location=draft.location, why="entered", happened_at=change.instant
        )
    )
    return item


def revise_item(
    lab: Lab,
    draft: ItemDraft,
    why: str,
    notches: Sequence[NotchDraft] = (),
    *,
    by: str,
    now: datetime,
    operation: str = "",
) -> tuple[str, ...]:
    """Describe an item anew, with the reason. Notches that are named get a new description; others keep theirs.

    Another firmware of an instrument is put on record as the event too, unless somebody has. Returns the numbers of the
    findings on the checks that rest on another order of rotation and gain, and on lots that the new firmware leaves
    without a check.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep the register")
        item = named(change, Equipment, draft.asset_no)
        if item.kind != kind_of(draft):
            raise Refusal(
                f"{item.asset_no} is a {item.kind}, not a {kind_of(draft)}", "", "A number keeps its kind for ever."
            )
        refuse_if(item_problems(draft, notches), draft.asset_no)
        last = newest(change.session, EquipmentRevision, None, EquipmentRevision.equipment_id == item.id)
        _describe(change, item, draft, last.revision + 1, why)
        _revise_notches(change, item, notches, why)
        questioned: tuple[str, ...] = ()
        if item.kind == "instrument":
            questioned = (*question_checks(change, item), *_keep_firmware(change, item, last, draft.firmware, why))
        more = {"findings": list(questioned)} if questioned else {}
        change.record(f"{item.kind} described anew", item=item.asset_no, why=why, **more)
        return questioned


def _keep_firmware(
    change: Change, item: Equipment, last: EquipmentRevision, firmware: str, why: str
) -> tuple[str, ...]:
    """Record 'firmware changed' where a description names another version than the last one that named any.

    A description is only text; what new firmware asks for, a verification and a new start, hangs on the event. If the old
    version was only noted wrongly, a second person withdraws the event.
    """
    texts = select(EquipmentRevision.firmware).where(
        EquipmentRevision.equipment_id == item.id, EquipmentRevision.firmware != "", EquipmentRevision.id <= last.id
    )
    before = change.session.execute(texts.order_by(EquipmentRevision.id.desc()).limit(1)).scalar_one_or_none()
    if not firmware or before is None or key(before) == key(firmware):
        return ()
    if any(e.event == FIRMWARE and e.entry > last.entry for e in events_of(change, [item.id])):
        return ()
    note = f"version {firmware}, was {before}; described anew: {why}"
    return keep_event(
        change, draft_or_refuse(EventDraft, {"asset_no": item.asset_no, "event": FIRMWARE, "note": note}, item.asset_no)
    )


def _revise_notches(change: Change, item: Equipment, notches: Sequence[NotchDraft], why: str) -> None:
    rows = change.session.execute(select(Notch).where(Notch.equipment_id == item.id)).scalars().all()
    known = {r.label_key: r for r in rows}
    for notch in notches:
        row = known.get(key(notch.label))
        if row is None:
            row = change.add(Notch(equipment_id=item.id, label=notch.label, label_key=key(notch.label)))
            change.add(_notch_revision(row.id, len(known) + 1, notch, 1, why))
            known[row.label_key] = row
            continue
        last = newest(change.session, NotchRevision, None, NotchRevision.notch_id == row.id)
        change.add(_notch_revision(row.id, last.place, notch, last.revision + 1, why))


def item_problems(draft: ItemDraft, notches: Sequence[NotchDraft]) -> list[Problem]:
    """Return what is impossible about an item: a notch deeper than its block, a range upside down, a bore without size."""
    problems: list[Problem] = []
    pieces = pieces_from(draft.pieces)
    if isinstance(pieces, Problem):
        problems.append(pieces)
    if not draft.owner and (draft.return_on or not draft.ours_to_recalibrate):
        wrong = "is missing: the item goes back to its owner, or is not ours to recalibrate"
        problems.append(Problem("owner", wrong, "Say whose it is; or leave the day out and say yes to ours."))
    if isinstance(draft, ProbeDraft | InstrumentDraft) and draft.highest_khz < draft.lowest_khz:
        problems.append(Problem("highest_khz", "is below the lowest frequency", "Exchange the two."))
    if isinstance(draft, ProbeDraft):
        problems += _coil_problems(draft)
    if not isinstance(draft, BlockDraft):
        return problems
    if draft.form == "bore" and draft.bore_diameter_mm is None:
        problems.append(Problem("bore_diameter_mm", "is missing for a bore block", "Give the diameter in mm."))
    seen: set[str] = set()
    for place, notch in enumerate(notches, start=1):
        where = f"notch {place} ({notch.label})"
        if key(notch.label) in seen:
            problems.append(Problem(where, "has the label of another notch", "Give each notch a label of its own."))
        seen.add(key(notch.label))
        if draft.thickness_mm is not None and notch.depth_mm >= draft.thickness_mm and not notch.through:
            problems.append(
                Problem(
                    where,
                    f"is {plain(notch.depth_mm)} mm deep in a block of {plain(draft.thickness_mm)} mm",
                    "Check the depth, or mark it as a through slot.",
                )
            )
    return problems


COIL = ("coil_inner_mm", "coil_outer_mm", "coil_height_mm", "coil_gap_mm")


def _coil_problems(draft: ProbeDraft) -> list[Problem]:
    """Return what is wrong with a coil's size: it is whole or not known, and its winding has a width."""
    missing = [name for name in COIL if getattr(draft, name) is None]
    if len(missing) == len(COIL):
        return []
    if missing:
        remedy = "Give the whole size of the coil, or leave all four fields empty."
        return [Problem(name, "is missing beside the other sizes of the coil", remedy) for name in missing]
    inner, outer = draft.coil_inner_mm, draft.coil_outer_mm
    if inner is not None and outer is not None and outer <= inner:
        wrong = f"is {plain(outer)} mm and the inner diameter {plain(inner)} mm"
        return [Problem("coil_outer_mm", wrong, "Exchange the two, or measure again: the outer one is larger.")]
    return []


_DESCRIPTIONS: dict[str, type[Any]] = {
    "block": BlockDescription,
    "probe": ProbeDescription,
    "instrument": InstrumentDescription,
    "accessory": AccessoryDescription,
}


def _describe(change: Change, item: Equipment, draft: ItemDraft, revision: int, why: str) -> None:
    common = change.add(row_from(EquipmentRevision, draft, equipment_id=item.id, revision=revision, why=why))
    special: dict[str, object] = {"equipment_revision_id": common.id}
    if isinstance(draft, BlockDraft):
        special["material_id"] = named(change, Material, draft.material).id
    change.add(row_from(_DESCRIPTIONS[item.kind], draft, **special))


def _notch_revision(notch_id: int, place: int, draft: NotchDraft, revision: int, why: str) -> NotchRevision:
    return row_from(NotchRevision, draft, notch_id=notch_id, revision=revision, why=why, place=place)
