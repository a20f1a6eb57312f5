"""What goes out with a kit on one page: its items, how to set up with this kit's own figures, when to check, how to scan."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.desk.against import AgainstShown, decided_on
from refstd.desk.check_record import CheckRecord, check_record_within
from refstd.desk.happened import members
from refstd.desk.items import ItemShown, items, items_of
from refstd.desk.jobs import JobShown, job_named
from refstd.desk.kits import match_within
from refstd.desk.known import named
from refstd.desk.loans import open_loans
from refstd.desk.pieces import read_pieces
from refstd.desk.receipt import receipts_in
from refstd.desk.setups import SetupShown, setup_shown
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.equipment import Equipment
from refstd.register.lab import Lab, Look, When
from refstd.rules.matching import Match
from refstd.rules.pieces import Piece
from refstd.rules.scanplan import Area, ScanPlan, scan_plan


@dataclass(frozen=True, slots=True)
class KitItem:
    """An item of the kit with how it suits the job; `condition` and `due_back_on` are those of its loan, if it is out for it."""

    item: ItemShown
    match: Match
    condition: str
    due_back_on: date | None
    pieces: tuple[Piece, ...] = ()  # to count out and in


@dataclass(frozen=True, slots=True)
class KitForJob:
    """A kit for a job. `together` is how its items suit as one; `setup` and `last` are None where none is on record."""

    job: JobShown
    items: tuple[KitItem, ...]
    together: Match
    setup: SetupShown | None
    last: CheckRecord | None
    plan: ScanPlan
    decided: tuple[AgainstShown, ...] = ()  # where it was taken against advice


def kit_for(lab: Lab, job: str, when: When, asset_nos: Sequence[str] = ()) -> KitForJob:
    """Return the sheet of a kit: these items, or without any those that are out for the job."""
    with lab.look(when) as look:
        return kit_for_within(look, job, asset_nos)


def kit_for_within(look: Look, job: str, asset_nos: Sequence[str] = ()) -> KitForJob:
    """Return the sheet of a kit, within a look."""
    shown = job_named(look, job)
    loans = {number: x for number, x in open_loans(look).items() if x.job == shown.number}
    ids = [named(look, Equipment, n).id for n in dict.fromkeys(asset_nos)] or list(loans)
    ids += [] if asset_nos else _at_the_bench(look, shown, ids)
    if not ids:
        raise Refusal(f"nothing is out for job {shown.number}", "", "Check a kit out, or name its items.")
    known = items_of(look, ids)
    ordered = sorted(ids, key=lambda i: (_ORDER.index(known[i].kind), known[i].asset_no))
    matches = match_within(look, shown, ordered, in_hand=True)
    alone, together = matches[: len(ordered)], matches[-1]  # a single item stands for itself
    found = tuple(
        KitItem(
            known[i],
            match,
            loans[i].condition if i in loans else "",
            loans[i].due_back_on if i in loans else None,
            read_pieces(loans[i].counted if i in loans else known[i].pieces),
        )
        for i, match in zip(ordered, alone, strict=True)
    )
    setup = _setup(look, shown, ordered)
    return KitForJob(
        shown, found, together, setup_shown(look, setup) if setup else None, _last(look, setup) if setup else None,
        _plan(look, shown, [k.item for k in found]), decided_on(look, shown.job_id, [k.item.asset_no for k in found]),
    )  # fmt: skip


_ORDER = ("block", "probe", "instrument", "accessory")


def _at_the_bench(look: Look, job: JobShown, ids: Sequence[int]) -> list[int]:
    """Return the shared block that goes with a kit in which no block is out: that of the setup which was checked last."""
    if any(i.kind == "block" for i in items_of(look, ids).values() if i.equipment_id in ids):
        return []
    shared = [i.equipment_id for i in items(look).values() if i.shared]
    setup = _setup(look, job, [*ids, *shared])
    return [setup.block_id] if setup else []


def _setup(look: Look, job: JobShown, ids: Sequence[int]) -> Setup | None:
    """Return the setup of these items at the job's frequency: of several the one that was checked last, else the newest."""
    rows = look.session.execute(
        select(Setup).where(
            Setup.entry <= look.upto, Setup.block_id.in_(ids), Setup.probe_id.in_(ids), Setup.instrument_id.in_(ids)
        )
    ).scalars()
    fit = [s for s in rows if s.frequency_khz == job.frequency_khz and set(members(s)) <= set(ids)]
    latest = {s.id: _last_start(look, s) for s in fit}
    return max(fit, key=lambda s: (c.happened_at.timestamp() if (c := latest[s.id]) else 0.0, s.id), default=None)


def _last_start(look: Look, setup: Setup) -> ResponseCheck | None:
    """Return the last acceptable start check of a setup that no correction replaced: its readings are what is expected."""
    c = ResponseCheck
    replaced = select(c.supersedes_id).where(c.supersedes_id.is_not(None), c.entry <= look.upto)
    return look.session.execute(
        select(c)
        .where(
            c.setup_id == setup.id, c.occasion == "start", c.outcome == "acceptable", c.entry <= look.upto, c.id.not_in(replaced)
        )
        .order_by(c.happened_at.desc(), c.id.desc())
        .limit(1)
    ).scalar_one_or_none()  # fmt: skip


def _last(look: Look, setup: Setup) -> CheckRecord | None:
    row = _last_start(look, setup)
    return check_record_within(look, row.number) if row else None


def _plan(look: Look, job: JobShown, kit: Sequence[ItemShown]) -> ScanPlan:
    d, probe = job.details, next((i for i in kit if i.kind == "probe"), None)
    area = Area(
        job.form, d.area_length_mm, d.area_width_mm, job.bore_diameter_mm, d.bores, d.bore_depth_mm, d.weld_length_mm
    )
    width = probe.special["effective_width_mm"] if probe else None
    source = f"description of {probe.asset_no}" if probe else ""
    measured = _measured_width(look, probe.equipment_id) if probe else None
    if measured is not None and (width is None or measured[0] < width):  # the narrower one leaves nothing out
        width, source = measured
    return scan_plan(area, probe.form if probe else "", width, source, job.procedure.asks.scan)


def _measured_width(look: Look, probe_id: int) -> tuple[Decimal, str] | None:
    """Return the effective width as last measured at a receipt inspection, and where it is on record."""
    for receipt in reversed(receipts_in(look, probe_id)):
        for p in receipt.points:
            if p.asked == "effective width" and p.value is not None:
                return p.value, f"receipt inspection of {receipt.asset_no}, measured"
    return None
