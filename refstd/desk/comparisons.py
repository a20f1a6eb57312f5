"""Comparing a secondary block with its primary: the scans, what they say, and the evidence that is filed with them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal, cast

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Problem, Refusal
from refstd.base.quantity import plain
from refstd.base.reason import Weight
from refstd.base.text import key, safe
from refstd.desk.certificates import (
    CertificateDraft,
    keep_certificate,
    keep_withdrawal,
    standing_certificates,
    standing_of,
)
from refstd.desk.doubt import hold_what_is_in_doubt
from refstd.desk.entry import (
    AnyDecimal,
    Draft,
    GainDb,
    NeededWords,
    Number,
    OptionalDecimal,
    OptionalNumber,
    OptionalPositive,
    Positive,
    RotationDeg,
    Words,
    draft_or_refuse,
    refuse_if,
    row_from,
)
from refstd.desk.findings import keep_finding
from refstd.desk.items import ItemShown, items_of
from refstd.desk.known import named, next_number, notches_of, of_kind
from refstd.desk.late import as_it_stood, read_at
from refstd.desk.people import may
from refstd.desk.serviceability import facts_of
from refstd.eddy.signals import Display, Order
from refstd.register.certificates import Certificate
from refstd.register.checks import BlockComparison, ComparisonReading, ComparisonResult
from refstd.register.equipment import Equipment
from refstd.register.lab import Change, Lab, Look, When
from refstd.rules.comparing import (
    EXIT_OF,
    PRIMARY,
    SECONDARY,
    Agreement,
    Band,
    ComparedBlock,
    ComparedNotch,
    NotchCompared,
    Scan,
    SeenThrough,
    Side,
    as_primary,
    compare,
    pair_problems,
    scan_problems,
    together,
)
from refstd.rules.serviceability import kit_serviceability
from refstd.rules.verdict import Standing
from refstd.rules.version import RULES_VERSION

CAUSE = "does not agree with its primary"


class ComparisonDraft(Draft):
    """Which blocks are compared, with which system, at which settings, and by how much they may differ."""

    primary: Number = Field(title="primary block")
    secondary: Number = Field(title="secondary block")
    instrument: Number
    probe: Number
    cable: OptionalNumber = None
    frequency_khz: Positive = Field(title="frequency, kHz")
    measure: Literal[
        "horizontal and vertical", "vertical from balance", "vertical peak to peak", "amplitude peak to peak"
    ] = "horizontal and vertical"
    unit: Literal["div", "% FSH"] = Field(title="unit of readings")
    rotation_deg: RotationDeg = Field(title="rotation, °", description="the same for every scan")
    horizontal_gain_db: GainDb = Field(title="horizontal gain, dB", description="the same for every scan")
    vertical_gain_db: GainDb = Field(title="vertical gain, dB", description="the same for every scan")
    noise: OptionalDecimal = Field(None, description="noise amplitude in the readings' unit, on a sound part")
    band_db: Positive = Field(title="band of the amplitude, ± dB", description="by which the blocks may differ")
    band_deg: OptionalPositive = Field(
        None, title="band of the phase, ± °", description="empty: the phase is shown and decides nothing"
    )
    band_source: NeededWords = Field(title="band from", description="procedure and paragraph, written practice")
    happened_at: Words = Field("", description="instant of the scans; empty: now")
    note: Words = ""


class ScanDraft(Draft):
    """One scan of one notch, as seen. Where an amplitude is read, it stands in `vertical`."""

    block: Number = Field(description="A for the primary, B for the secondary; or the asset number")
    notch: NeededWords
    horizontal: OptionalDecimal = None
    vertical: AnyDecimal = Field(description="as seen; a signal off the screen cannot be compared: lower the gain")


@dataclass(frozen=True, slots=True)
class Compared:
    """What a comparison says, before anything is kept."""

    outcome: Agreement
    notches: tuple[NotchCompared, ...]

    @property
    def exit_code(self) -> int:
        return int(EXIT_OF[self.outcome])


@dataclass(frozen=True, slots=True)
class _Task:
    primary: ItemShown
    secondary: ItemShown
    instrument: Equipment
    probe: Equipment
    cable: Equipment | None
    scans: tuple[Scan, ...]
    said: Compared
    moment: datetime  # of the scans
    then: Look  # the records as they stood at that moment


def preview_comparison(lab: Lab, draft: ComparisonDraft, scans: Sequence[ScanDraft], when: When) -> Compared:
    """Return what a comparison would say. Nothing is kept."""
    with lab.look(when) as look:
        return _task(look, draft, scans).said


def compare_blocks(
    lab: Lab,
    draft: ComparisonDraft,
    scans: Sequence[ScanDraft],
    *,
    supersedes: str = "",
    why: str = "",
    by: str,
    now: datetime,
    operation: str = "",
) -> str:
    """Keep a comparison with its scans and what they say, file it as evidence, and return its number.

    A block that does not agree is held by a finding from then on; a comparison that is not conclusive is kept and counts
    as none. `supersedes` corrects an earlier comparison (its number), with the reason.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "compare blocks")
        row, finding = keep_comparison(change, draft, scans, supersedes=supersedes, why=why)
        change.record(
            "blocks compared", comparison=row.number, primary=draft.primary, secondary=draft.secondary, outcome=row.outcome,
            finding=finding, corrects=supersedes, why=why.strip(),
        )  # fmt: skip
        return row.number


def keep_comparison(
    change: Change, draft: ComparisonDraft, scans: Sequence[ScanDraft], *, supersedes: str = "", why: str = ""
) -> tuple[BlockComparison, str]:
    """Add the rows of a comparison, of its evidence, and of the finding that follows; return it and the finding's number."""
    task = _task(change, draft, scans)
    before = _to_correct(change, task, supersedes, why)
    number = next_number(change, BlockComparison, "CB")
    paper = _evidence(change, draft, task, number, before, why)
    row = change.add(
        row_from(
            BlockComparison, draft, number=number, number_key=key(number), primary_id=task.primary.equipment_id,
            secondary_id=task.secondary.equipment_id, instrument_id=task.instrument.id, probe_id=task.probe.id,
            cable_id=task.cable.id if task.cable else None, person_id=change.by.person_id, outcome=str(task.said.outcome),
            certificate_id=paper.id if paper else None, rules_version=RULES_VERSION,
            supersedes_id=before.id if before else None, why=why.strip(), happened_at=task.moment,
        )
    )  # fmt: skip
    _keep_scans(change, row, task)
    if task.said.outcome is not Agreement.NOT:
        return row, ""
    off = [r.in_words() for n in task.said.notches for r in n.reasons if r.weight is Weight.STOPS]
    asset_no, primary = task.secondary.asset_no, task.primary.asset_no
    says = f"{asset_no} does not agree with its primary {primary} (comparison {number}): {'; '.join(off)}"
    item = named(change, Equipment, asset_no)
    finding = keep_finding(change, CAUSE, says, item=item, certificate=paper)
    hold_what_is_in_doubt(change, [item.id])
    return row, finding


def _task(look: Look, draft: ComparisonDraft, scans: Sequence[ScanDraft]) -> _Task:
    """Gather what is compared, refuse what cannot be, and say what the scans say.

    Primary and system are judged as they stood at the scans: a calibration made since is no evidence for them.
    """
    moment = read_at(look, draft.happened_at, "the scans lie in the future")
    then = as_it_stood(look, moment)
    ids = [of_kind(look, number, "block").id for number in (draft.primary, draft.secondary)]
    if ids[0] == ids[1]:
        raise Refusal("a block is not compared with itself", draft.secondary, "Name its primary.")
    instrument, probe = of_kind(look, draft.instrument, "instrument"), of_kind(look, draft.probe, "probe")
    cable = of_kind(look, draft.cable, "accessory") if draft.cable else None
    primary, secondary = (items_of(look, ids)[i] for i in ids)
    what = f"comparison of {secondary.asset_no} with {primary.asset_no}"
    refuse_if(pair_problems(as_compared(primary), as_compared(secondary)), what)
    refuse_unfit(then, [ids[0], instrument.id, probe.id, *([cable.id] if cable else [])], secondary)
    special = items_of(look, [instrument.id])[instrument.id].special
    order = None if special["display_order"] == "unknown" else cast(Order, special["display_order"])
    display = Display(float(draft.rotation_deg), float(draft.horizontal_gain_db), float(draft.vertical_gain_db), order)
    seen = SeenThrough(display, draft.measure, draft.unit, draft.noise)
    labels = [n.label for n in secondary.notches]
    problems: list[Problem] = []
    taken = tuple(s for s in (_scan(draft, d, place, problems) for place, d in enumerate(scans, start=1)) if s)
    problems += scan_problems(taken, labels, seen) if not problems else []
    if draft.band_deg is not None and not seen.directed:
        problems.append(Problem("band_deg", f"is given, and {draft.measure} has no phase", "Leave it out."))
    refuse_if(problems, what)
    notches = compare(taken, labels, seen, Band(draft.band_db, draft.band_deg, draft.band_source))
    return _Task(
        primary, secondary, instrument, probe, cable, taken, Compared(together(notches), notches), moment, then
    )


def _scan(draft: ComparisonDraft, scan: ScanDraft, place: int, problems: list[Problem]) -> Scan | None:
    sides = {"A": PRIMARY, "B": SECONDARY, draft.primary: PRIMARY, draft.secondary: SECONDARY}
    if scan.block not in sides:
        wrong = f"'{safe(scan.block)}' is neither of the two blocks"
        remedy = f"Write A or {draft.primary} for the primary, B or {draft.secondary} for the secondary."
        problems.append(Problem(f"scan {place}, block", wrong, remedy))
        return None
    return Scan(scan.notch, cast(Side, sides[scan.block]), scan.horizontal, scan.vertical)


def as_compared(item: ItemShown) -> ComparedBlock:
    """Return a block as far as two must be alike to be compared."""
    notches = tuple(ComparedNotch(n.label, n.depth_mm, n.site, n.process) for n in item.notches)
    family = item.material.family if item.material else ""
    return ComparedBlock(item.asset_no, item.special["grade"], item.state, family, notches)


def refuse_unfit(look: Look, ids: Sequence[int], secondary: ItemShown) -> None:
    """Refuse a primary or a system that may not be relied on itself, and a primary notch that is struck out.

    ids: the primary's, then those of the system.
    """
    facts = facts_of(look, ids, evidence=False)
    kit = (as_primary(facts[ids[0]]), *(facts[i] for i in ids[1:]))
    verdict = kit_serviceability(kit, look.today, look.due_soon_days)
    if verdict.standing is Standing.DO_NOT_USE:
        stop = next(r for r in verdict.reasons if r.weight is Weight.STOPS)
        raise Refusal(
            f"nothing is compared with what may not be used itself: {stop.says}", stop.record, f"First {stop.cure}."
        )
    needed = {key(f"notch {n.label}") for n in secondary.notches}
    struck = [s for s in verdict.struck if key(s) in needed]
    if struck:
        raise Refusal(
            f"the primary is limited: {', '.join(struck)} is struck out", "primary",
            "Name a primary whose notches conform, or have the secondary calibrated.",
        )  # fmt: skip


def _to_correct(change: Change, task: _Task, supersedes: str, why: str) -> BlockComparison | None:
    if not supersedes:
        return None
    before = named(change, BlockComparison, supersedes)
    if before.secondary_id != task.secondary.equipment_id:
        raise Refusal(f"comparison {before.number} is of another block", "", "Correct it with scans of its own blocks.")
    if not why.strip():
        raise Refusal("a correction needs a reason", before.number, "Give it with --why.")
    later = change.session.execute(
        select(BlockComparison.number).where(BlockComparison.supersedes_id == before.id)
    ).scalar_one_or_none()
    if later:
        raise Refusal(f"{before.number} is corrected already by {later}", "", f"Correct {later} if need be.")
    return before


def _evidence(
    change: Change, draft: ComparisonDraft, task: _Task, number: str, before: BlockComparison | None, why: str
) -> Certificate | None:  # fmt: skip
    """File what the comparison says as evidence of the secondary, in place of what it corrects; what is not conclusive is none."""
    secondary = named(change, Equipment, task.secondary.asset_no)
    old = change.session.get(Certificate, before.certificate_id) if before and before.certificate_id else None
    old = standing_of(change, secondary, old.number) if old else None
    if task.said.outcome is Agreement.NOT_CONCLUSIVE:
        if old is not None:
            keep_withdrawal(change, old, why)
        return None
    papers = [c for c in standing_certificates(task.then, task.primary.equipment_id) if c.activity == "calibration"]
    newest = f", certificate {papers[-1].number} of {papers[-1].performed_on}" if papers else ""
    values = {
        "asset_no": secondary.asset_no, "activity": "comparison", "number": number, "laboratory": change.lab_name,
        "performed_on": task.moment.astimezone(change.zone).date(),
        "method": f"A-B-A with {task.instrument.asset_no} and {task.probe.asset_no} at {plain(draft.frequency_khz)} kHz, {draft.measure}",
        "traceability": f"primary block {task.primary.asset_no}{newest}",
        "result": "sound" if task.said.outcome is Agreement.AGREES else "not sound",
    }  # fmt: skip
    paper = draft_or_refuse(CertificateDraft, values, f"comparison {number}")
    return keep_certificate(change, paper, (), supersedes=old.number if old else "", why=why.strip() if old else "")


def _keep_scans(change: Change, row: BlockComparison, task: _Task) -> None:
    notches = {
        side: notches_of(change, item.equipment_id)
        for side, item in ((PRIMARY, task.primary), (SECONDARY, task.secondary))
    }
    rounds: dict[tuple[str, str], int] = {}
    for place, scan in enumerate(task.scans, start=1):
        turn = (scan.side, key(scan.notch))
        rounds[turn] = rounds.get(turn, 0) + 1
        change.add(
            ComparisonReading(
                block_comparison_id=row.id, place=place, round=rounds[turn], notch_id=notches[scan.side][key(scan.notch)].id,
                horizontal=scan.horizontal, vertical=scan.vertical,
            )
        )  # fmt: skip
    for n in task.said.notches:
        change.add(
            ComparisonResult(
                block_comparison_id=row.id, notch_id=notches[SECONDARY][key(n.notch)].id, ratio_db=_kept(n.ratio_db),
                phase_deg=_kept(n.phase_deg), moved_db=_kept(n.moved_db), outcome=str(n.outcome), says=n.in_words(),
            )
        )  # fmt: skip


def _kept(figure: float | None) -> Decimal | None:
    """Return a figure with the digits that are kept of it: more than are shown."""
    return None if figure is None else Decimal(f"{figure:.4f}")
