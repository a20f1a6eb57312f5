"""Any item of the register as it stood: description, notches, state, loan."""

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import select

from refstd.desk.jobs import MaterialShown, material_shown
from refstd.desk.loans import LoanShown, open_loans
from refstd.register.equipment import (
    AccessoryDescription,
    BlockDescription,
    Equipment,
    EquipmentRevision,
    EquipmentState,
    InstrumentDescription,
    Notch,
    NotchRevision,
    ProbeDescription,
)
from refstd.register.lab import CLOCK_SLACK, Lab, Look, When
from refstd.register.revisions import among as among
from refstd.register.revisions import newest_of_each

_DESCRIPTIONS: dict[str, Any] = {
    "block": BlockDescription,
    "probe": ProbeDescription,
    "instrument": InstrumentDescription,
    "accessory": AccessoryDescription,
}


@dataclass(frozen=True, slots=True)
class NotchShown:
    """A notch as on record."""

    label: str
    site: str
    process: str
    depth_mm: Decimal
    length_mm: Decimal | None
    width_mm: Decimal | None
    second_leg_mm: Decimal | None
    cover_mm: Decimal | None
    through: bool


@dataclass(frozen=True, slots=True)
class ItemShown:
    """An item with everything that its kind has; `special` holds what only that kind has, by column name."""

    equipment_id: int
    asset_no: str
    kind: str
    name: str
    part_no: str
    made_by: str
    serial_no: str
    firmware: str
    owner: str
    return_on: date | None
    ours_to_recalibrate: bool
    pieces: str
    note: str
    revision: int
    state: str
    location: str
    state_why: str
    state_since: datetime
    material: MaterialShown | None = None
    special: dict[str, Any] = field(default_factory=dict)
    notches: tuple[NotchShown, ...] = ()
    loan: LoanShown | None = None

    @property
    def form(self) -> str:
        return str(self.special.get("form", ""))

    @property
    def shared(self) -> bool:
        """Return whether it is a block that stays at the bench for everybody, without check-out."""
        return bool(self.special.get("shared"))


def items(look: Look) -> dict[int, ItemShown]:
    """Return every item on record at the look's instant, by internal id, in the order of asset numbers."""
    if "items" not in look.known:
        look.known["items"] = _gathered(look)
    gathered: dict[int, ItemShown] = look.known["items"]
    return gathered


def items_of(look: Look, ids: Collection[int]) -> dict[int, ItemShown]:
    """Return at least these items, by internal id: one check does not read the whole register."""
    if "items" in look.known:
        return items(look)
    known: dict[int, ItemShown] = look.known.setdefault("items of", {})
    missing = [number for number in ids if number not in known]
    if missing:
        known.update(_gathered(look, missing))
    return known


def register(lab: Lab, when: When, kind: str = "") -> tuple[ItemShown, ...]:
    """Return the items of a kind, or all."""
    with lab.look(when) as look:
        return tuple(i for i in items(look).values() if not kind or i.kind == kind)


def _gathered(look: Look, ids: Collection[int] | None = None) -> dict[int, ItemShown]:
    session, upto = look.session, look.upto
    mine = (Equipment.entry <= upto, *among(Equipment.id, ids))
    rows = session.execute(select(Equipment).where(*mine).order_by(Equipment.asset_no)).scalars().all()
    of_item = EquipmentRevision.equipment_id
    described = newest_of_each(session, EquipmentRevision, of_item, upto, *among(of_item, ids))
    stood = (EquipmentState.entry <= upto, *among(EquipmentState.equipment_id, ids))
    states: dict[int, EquipmentState] = {}
    for state in session.execute(select(EquipmentState).where(*stood).order_by(EquipmentState.id)).scalars():
        if state.equipment_id not in states or state.happened_at <= look.instant + CLOCK_SLACK:
            states[state.equipment_id] = state
    revisions = None if ids is None else [r.id for r in described.values()]
    special = {
        kind: {
            r.equipment_revision_id: r
            for r in session.execute(
                select(d).where(d.entry <= upto, *among(d.equipment_revision_id, revisions))
            ).scalars()
        }
        for kind, d in _DESCRIPTIONS.items()
        if any(row.kind == kind for row in rows)
    }
    notches, loans = _notches(look, ids), open_loans(look, ids)
    shown = {}
    for row in rows:
        revision, state = described[row.id], states[row.id]
        detail = special[row.kind][revision.id]
        columns = {
            c.name: getattr(detail, c.name)
            for c in detail.__table__.columns
            if c.name not in ("id", "entry", "recorded_at", "equipment_revision_id", "material_id")
        }
        material = material_shown(look, detail.material_id) if row.kind == "block" else None
        shown[row.id] = ItemShown(
            row.id, row.asset_no, row.kind, revision.name, revision.part_no, revision.made_by, revision.serial_no, revision.firmware,
            revision.owner, revision.return_on, revision.ours_to_recalibrate, revision.pieces, revision.note, revision.revision, state.state, state.location, state.why, state.happened_at, material,
            columns, tuple(notches.get(row.id, ())), loans.get(row.id),
        )  # fmt: skip
    return shown


def _notches(look: Look, ids: Collection[int] | None) -> dict[int, list[NotchShown]]:
    mine = (Notch.entry <= look.upto, *among(Notch.equipment_id, ids))
    rows = look.session.execute(select(Notch).where(*mine)).scalars().all()
    of_notch, numbers = NotchRevision.notch_id, None if ids is None else [n.id for n in rows]
    newest = newest_of_each(look.session, NotchRevision, of_notch, look.upto, *among(of_notch, numbers))
    found: dict[int, list[NotchShown]] = {}
    for row in sorted(rows, key=lambda n: newest[n.id].place):
        r = newest[row.id]
        found.setdefault(row.equipment_id, []).append(
            NotchShown(
                row.label,
                r.site,
                r.process,
                r.depth_mm,
                r.length_mm,
                r.width_mm,
                r.second_leg_mm,
                r.cover_mm,
                r.through,
            )
        )
    return found
