"""Finding what is on record by its public number, or saying plainly that it is not."""

import re
from difflib import get_close_matches
from typing import Any, TypeVar

from sqlalchemy import select

from refstd.base.errors import AlreadyOnRecord, NotFound
from refstd.base.text import key, safe
from refstd.register.checks import BlockComparison, ResponseCheck, Setup, SwapTest
from refstd.register.columns import Base
from refstd.register.custody import Reservation
from refstd.register.equipment import Equipment, Material, Notch
from refstd.register.findings import ExaminedLot, Finding
from refstd.register.lab import Change, Look
from refstd.register.people import Person, Qualification, VisionTest
from refstd.register.procedures import Job, Procedure

T = TypeVar("T", bound=Base)
_LISTS: dict[type[Base], tuple[str, str, str]] = {
    Equipment: ("asset_key", "an item", "blocks"), Material: ("code_key", "a material", "materials"),
    Person: ("code_key", "a person", "people"), Procedure: ("code_key", "a procedure", "procedures"),
    Job: ("number_key", "a job", "jobs"), Setup: ("number_key", "a setup", "setups"),
    ResponseCheck: ("number_key", "a check", "checks"), Finding: ("number_key", "a finding", "findings"),
    ExaminedLot: ("number_key", "an examined lot", "lots"), SwapTest: ("number_key", "a swap test", "swaps"),
    BlockComparison: ("number_key", "a comparison of blocks", "comparisons"),
    Qualification: ("number_key", "a qualification", "qualifications"),
    VisionTest: ("number_key", "a test of vision", "vision_tests"),
    Reservation: ("number_key", "a reservation", "reservations"),
}  # fmt: skip


_A_KIND = {"block": "a block", "probe": "a probe", "instrument": "an instrument", "accessory": "an accessory"}
_LISTED = {"block": "blocks", "probe": "probes", "instrument": "instruments", "accessory": "accessories"}


def found(look: Look, kind: type[T], number: str) -> T | None:
    """Return the record of a kind by its public number, or None."""
    column = getattr(kind, _LISTS[kind][0])
    row = look.session.execute(select(kind).where(column == key(number), kind.entry <= look.upto)).scalar_one_or_none()  # type: ignore[attr-defined]
    return row


def named(look: Look, kind: type[T], number: str) -> T:
    """Return the record of a kind by its public number, or refuse with where to look."""
    row = found(look, kind, number)
    if row is None:
        raise _not_found(look, kind, number)
    return row


def _not_found(look: Look, kind: type[Base], number: str) -> NotFound:
    """Return the refusal: what bears that number instead, or which numbers of the kind are written almost so."""
    _, what, listed = _LISTS[kind]
    for other, (_, is_what, _) in _LISTS.items():
        row = found(look, other, number) if other is not kind else None
        if row is not None:
            name = _number_of(row)
            ask = _kit_of(look, row) if kind is Equipment and isinstance(row, Setup) else ""
            return NotFound(f"{name} is {is_what}, not {what}", "", f"See `refstd show {name}`{ask}.")
    near = _near(look, kind, number)
    meant = f"Did you mean {' or '.join(near)}? " if near else ""
    return NotFound(
        f"{what} with the number '{safe(number)}' is not on record", "", f"{meant}See `refstd list {listed}`."
    )


def _number_of(row: Base) -> str:
    return str(next(getattr(row, name) for name in ("asset_no", "code", "number") if hasattr(row, name)))


def _kit_of(look: Look, setup: Setup) -> str:
    ids = (setup.instrument_id, setup.probe_id, setup.block_id)
    kit = " ".join(look.session.get_one(Equipment, i).asset_no for i in ids)
    return f", or ask for its items: `refstd status {kit}`"


def _near(look: Look, kind: type[Base], number: str) -> list[str]:
    """Return the numbers of a kind that differ by signs and leading zeros alone; else at most three that look alike."""
    rows = look.session.execute(select(kind).where(kind.entry <= look.upto)).scalars()  # type: ignore[attr-defined]
    numbers = sorted(_number_of(row) for row in rows)
    bare = [n for n in numbers if _bare(n) == _bare(number)]
    return bare or get_close_matches(key(number).upper(), numbers, n=3, cutoff=0.75)


def _bare(number: str) -> str:
    return re.sub(r"(?<![0-9])0+(?=[0-9])", "", re.sub(r"[^a-z0-9]", "", key(number)))


def refuse_taken(look: Look, kind: type[Any], number: str) -> None:
    """Refuse a number that is on record already; numbers are never used again."""
    if found(look, kind, number) is not None:
        raise AlreadyOnRecord(
            f"the number {safe(number)} is taken", _LISTS[kind][1], "Numbers are never used again; choose another."
        )


def next_number(change: Change, kind: type[Any], prefix: str) -> str:
    """Return the next free running number of a kind, such as C-0042."""
    column = kind.number
    taken = change.session.execute(select(column).where(column.like(prefix + "-%"))).scalars()
    highest = max((int(n.split("-")[-1]) for n in taken if n.split("-")[-1].isdigit()), default=0)
    return f"{prefix}-{highest + 1:04d}"


def notches_of(look: Look, equipment_id: int) -> dict[str, Notch]:
    """Return the notches of a block by label key."""
    rows = look.session.execute(
        select(Notch).where(Notch.equipment_id == equipment_id, Notch.entry <= look.upto)
    ).scalars()
    return {row.label_key: row for row in rows}


def of_kind(look: Look, asset_no: str, kind: str) -> Equipment:
    """Return an item of a kind, or refuse: it is not on record, or it is something else."""
    row = named(look, Equipment, asset_no)
    if row.kind != kind:
        raise NotFound(
            f"{row.asset_no} is {_A_KIND[row.kind]}, not {_A_KIND[kind]}", "", f"See `refstd list {_LISTED[kind]}`."
        )
    return row
