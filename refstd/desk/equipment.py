"""The register: entering materials, blocks, probes, instruments and accessories; and their states."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from itertools import takewhile
from typing import Any, Literal, cast

from pydantic import Field
from sqlalchemy import func, select

from refstd.base.errors import Problem, Refusal
from refstd.base.quantity import plain
from refstd.base.text import key
from refstd.desk.entry import (
    Draft,
    NeededWords,
    Number,
    OneOrTwo,
    OptionalPositive,
    Positive,
    Words,
    YesNo,
    draft_or_refuse,
    refuse_if,
    row_from,
)
from refstd.desk.events import EventDraft, events_of, keep_event
from refstd.desk.items import open_loans
from refstd.desk.known import found, named, refuse_taken
from refstd.desk.order_checks import question_checks
from refstd.desk.papers import standing_certificates
from refstd.desk.people import may
from refstd.register.certificates import Certificate
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
    ReceiptInspection,
)
from refstd.register.lab import Change, Lab
from refstd.register.revisions import newest

State = Literal[
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
]


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
    owner: Words = ""
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


class StateDraft(Draft):
    """A change of an item's state, with the reason."""

    state: State
    why: NeededWords = Field(title="reason")
    location: Words = Field("", description="empty: where it was")


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

    Returns the number of the finding on the checks that rest on an instrument's order of rotation and gain, if that is
    another one now.
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
        questioned = question_checks(change, item) if item.kind == "instrument" else ()
        more = {"findings": list(questioned)} if questioned else {}
        change.record(f"{item.kind} described anew", item=item.asset_no, why=why, **more)
        return questioned


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


def set_state(
    lab: Lab, asset_no: str, state: str, why: str, *, location: str = "", by: str, now: datetime, operation: str = ""
) -> tuple[str, ...]:
    """Put an item into a state. A technician may quarantine; any other change is the custodian's.

    Back in service after a repair, the event 'repaired' is recorded too, unless what was done is on record already.
    Returns the numbers of the findings that hold lots which the repair leaves without a check.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        found = keep_state(change, asset_no, state, why, location=location)
        change.record("state changed", item=asset_no, state=state, why=why)
        return found


def keep_state(change: Change, asset_no: str, state: str, why: str, *, location: str = "") -> tuple[str, ...]:
    """Add the row of a state change; return the numbers of the findings that a repair opens."""
    may(change, "quarantine" if state == "quarantined" else "change a state")
    item = named(change, Equipment, asset_no)
    if state not in cast(tuple[str, ...], State.__args__):  # type: ignore[attr-defined]
        raise Refusal(f"'{state}' is not a state", "", f"Use one of {', '.join(State.__args__)}.")  # type: ignore[attr-defined]
    if not why.strip():
        raise Refusal("a change of state needs a reason", item.asset_no, "Give it with --why.")
    last = change.session.execute(
        select(EquipmentState).where(EquipmentState.equipment_id == item.id).order_by(EquipmentState.id.desc()).limit(1)
    ).scalar_one()
    if last.state == "retired":
        raise Refusal(
            f"{item.asset_no} is retired", "", "A retired item does not come back; enter it under a new number."
        )
    _refuse_contradiction(change, item, last, state)
    change.add(
        EquipmentState(
            equipment_id=item.id,
            state=state,
            location=location or last.location,
            why=why.strip(),
            happened_at=change.instant,
        )
    )
    return _keep_repair(change, item, why.strip()) if state == "in service" else ()


def _refuse_contradiction(change: Change, item: Equipment, last: EquipmentState, state: str) -> None:
    """Refuse what the records contradict: at a laboratory while it is out, or back in use without its calibration."""
    loan = open_loans(change, [item.id]).get(item.id)
    if state in ("stored", "away at laboratory") and loan is not None:
        where = f"{item.asset_no} is out with {loan.holder} for job {loan.job}"
        raise Refusal(where, "", "Check it in first.")
    if state == "in service":
        _refuse_unreceived(change, item)
    if last.state != "calibrate before use" or state != "in service":
        return
    mine = (Certificate.equipment_id == item.id, Certificate.activity == "calibration", Certificate.entry <= last.entry)
    known = change.session.execute(select(func.max(Certificate.performed_on)).where(*mine)).scalar_one()
    done = [
        p for p in standing_certificates(change, item.id) if p.activity == "calibration" and p.result != "not sound"
    ]
    if not any(known is None or p.performed_on > known for p in done):  # newer than all when the state was set
        since = f"{last.happened_at.astimezone(change.zone):%Y-%m-%d}"
        raise Refusal(
            f"{item.asset_no} is to be calibrated before use, and no calibration has been filed since {since}", last.why,
            "File its certificate first. If the state was a mistake, quarantine it with that reason before it goes back.",
        )  # fmt: skip


def _refuse_unreceived(change: Change, item: Equipment) -> None:
    """Refuse an item that came in and was not found as ordered since: whatever states lie between, nobody has looked."""
    came = select(func.max(EquipmentState.id)).where(
        EquipmentState.equipment_id == item.id, EquipmentState.state == "awaiting receipt"
    )
    since = change.session.execute(select(EquipmentState.entry).where(EquipmentState.id.in_(came))).scalar_one_or_none()
    if since is None:
        return
    looked = select(ReceiptInspection.id).where(
        ReceiptInspection.equipment_id == item.id, ReceiptInspection.outcome == "as ordered", ReceiptInspection.entry > since
    )  # fmt: skip
    if change.session.execute(looked).first() is None:
        raise Refusal(
            f"{item.asset_no} awaits its receipt inspection", "",
            f"Do it from its record, or with `refstd receive {item.asset_no}`; as ordered, it is in service by that.",
        )  # fmt: skip


def _keep_repair(change: Change, item: Equipment, why: str) -> tuple[str, ...]:
    """Record 'repaired' for an item that comes back from repair, unless somebody has recorded what was done.

    The event stands at the instant at which the item went into repair: a check made between then and its return to
    service, which is how a repair is verified, is no longer one of the old record.
    """
    states = change.session.execute(
        select(EquipmentState)
        .where(EquipmentState.equipment_id == item.id)
        .order_by(EquipmentState.id.desc())
        .offset(1)
    ).scalars()
    gone = [s for s in takewhile(lambda s: s.state != "in service", states) if s.state == "in repair"]
    if not gone:
        return ()
    since = gone[-1].happened_at
    if any(e.breaks and e.happened_at >= since for e in events_of(change, [item.id])):
        return ()
    note = f"in repair from then on, back in service {change.instant.astimezone(change.zone):%Y-%m-%d %H:%M}: {why}"
    values = {"asset_no": item.asset_no, "event": "repaired", "happened_at": since.isoformat(), "note": note}
    return keep_event(change, draft_or_refuse(EventDraft, values, item.asset_no))
