"""Comparisons of blocks as on record, and what is to be scanned for the next one."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import or_, select

from refstd.base.errors import Refusal
from refstd.base.quantity import Unit, derived, plain, with_unit
from refstd.desk.comparisons import ComparisonDraft, as_compared, refuse_unfit
from refstd.desk.items import items
from refstd.desk.known import named, of_kind
from refstd.desk.people import code_of
from refstd.desk.serviceability import status_of
from refstd.register.certificates import Certificate
from refstd.register.checks import BlockComparison, ComparisonReading, ComparisonResult, ResponseCheck, Setup
from refstd.register.equipment import Equipment, Notch
from refstd.register.findings import Finding
from refstd.register.lab import Lab, Look, When
from refstd.rules.comparing import PRIMARY, SECONDARY, pair_problems


@dataclass(frozen=True, slots=True)
class ScanShown:
    """One scan as kept, in the order in which they were made."""

    notch: str
    side: str
    round: int
    horizontal: Decimal | None
    vertical: Decimal


@dataclass(frozen=True, slots=True)
class NotchResult:
    """What a comparison said of one notch on its day."""

    notch: str
    ratio_db: Decimal | None
    phase_deg: Decimal | None
    moved_db: Decimal | None
    outcome: str
    says: str

    def figures(self) -> tuple[str, str, str]:
        """Return ratio, phase and movement of the primary as shown, '' where there is none."""
        return (
            "" if self.ratio_db is None else derived(self.ratio_db, Unit.DB, sign=True),
            "" if self.phase_deg is None else derived(self.phase_deg, Unit.DEGREE, sign=True),
            "" if self.moved_db is None else derived(self.moved_db, Unit.DB),
        )


@dataclass(frozen=True, slots=True)
class ComparisonShown:
    """A comparison as on record. next_due: of the secondary's duty 'comparison', where it counts from this one; corrected_by: the number that counts instead."""

    number: str
    primary: str
    secondary: str
    instrument: str
    probe: str
    cable: str
    frequency_khz: Decimal
    measure: str
    unit: str
    settings: tuple[Decimal, Decimal, Decimal]  # rotation °, horizontal gain dB, vertical gain dB
    noise: Decimal | None
    band_db: Decimal
    band_deg: Decimal | None
    band_source: str
    person: str
    happened_at: datetime
    outcome: str
    notches: tuple[NotchResult, ...]
    scans: tuple[ScanShown, ...]
    certificate: str
    finding: str
    next_due: date | None
    counts: str  # the paper that the next date counts from, as a record; '' where no schedule asks for one
    corrects: str
    corrected_by: str
    why: str
    note: str
    entry: int
    rules_version: str

    def headline(self) -> str:
        """Return the outcome in one line."""
        meaning = {
            "agrees": f"{self.secondary} agrees with its primary {self.primary}",
            "does not agree": f"{self.secondary} does not agree with its primary {self.primary}: do not use it",
        }.get(self.outcome, f"{self.secondary} against {self.primary}: not conclusive, which counts as no comparison")
        return f"{meaning} (corrected by {self.corrected_by})" if self.corrected_by else meaning

    def band_in_words(self) -> str:
        """Return the band with its source."""
        phase = f", ±{with_unit(plain(self.band_deg), Unit.DEGREE)}" if self.band_deg is not None else ""
        return f"±{with_unit(plain(self.band_db), Unit.DB)}{phase} ({self.band_source})"

    def system_in_words(self) -> str:
        """Return the system and the settings of all scans."""
        rotation, horizontal, vertical = (plain(v) for v in self.settings)
        cable = f", {self.cable}" if self.cable else ""
        noise = f"noise {plain(self.noise)} {self.unit}" if self.noise else "no noise on record"
        return (
            f"{self.instrument}, {self.probe}{cable}, {plain(self.frequency_khz)} kHz, {self.measure} in {self.unit}, rotation "
            f"{rotation}°, gains {horizontal} and {vertical} dB, {noise}"
        )

    def next_in_words(self) -> str:
        """Return when the next comparison is due, by the schedule; one that does not agree gives no date."""
        if self.outcome != "agrees" or self.corrected_by:
            return "it gives no next date"
        if not self.counts:
            return "no schedule says when the next comparison is due"
        if self.counts != f"certificate {self.certificate}":
            return f"it gives no next date: {self.counts} counts"
        return f"next comparison due {self.next_due}" if self.next_due else "no further date by its schedule"


@dataclass(frozen=True, slots=True)
class PrimaryOffered:
    """A primary block that a secondary might be compared with; `why_not` is '' where it may."""

    asset_no: str
    name: str
    why_not: str


@dataclass(frozen=True, slots=True)
class ComparisonSheet:
    """What is to be scanned: primaries, usable ones first; notches in order; what to begin the form from."""

    secondary: str
    primaries: tuple[PrimaryOffered, ...]
    notches: tuple[tuple[str, Decimal], ...]  # label, nominal depth mm
    begin_from: dict[str, str]


def comparison_sheet(lab: Lab, secondary: str, when: When) -> ComparisonSheet:
    """Return what is to be scanned to compare a secondary block, or refuse what is no such block."""
    with lab.look(when) as look:
        item = items(look)[of_kind(look, secondary, "block").id]
        if item.special["grade"] != SECONDARY:
            raise Refusal(
                f"{item.asset_no} is a {item.special['grade']} block", "", "Open the record of the secondary that is compared with it."
            )  # fmt: skip
        ours = as_compared(item)
        offered = []
        for other in items(look).values():
            if other.kind != "block" or other.special["grade"] != PRIMARY:
                continue
            problems = pair_problems(as_compared(other), ours)
            why_not = str(problems[0]) if problems else ""
            if not why_not:
                try:
                    refuse_unfit(look, [other.equipment_id], item)
                except Refusal as refusal:
                    why_not = str(refusal)
            offered.append(PrimaryOffered(other.asset_no, other.name, why_not))
        offered.sort(key=lambda p: (bool(p.why_not), p.asset_no))
        notches = tuple((n.label, n.depth_mm) for n in item.notches)
        return ComparisonSheet(item.asset_no, tuple(offered), notches, _begin_from(look, item.equipment_id))


def _begin_from(look: Look, secondary_id: int) -> dict[str, str]:
    """Return the fields of the last comparison of this block; else the system of the last check on it, without a band."""
    last = look.session.execute(
        select(BlockComparison)
        .where(BlockComparison.secondary_id == secondary_id, BlockComparison.entry <= look.upto)
        .order_by(BlockComparison.id.desc())
        .limit(1)
    ).scalar_one_or_none()
    if last is not None:
        shown = _shown(look, last)
        left_out = ("noise", "happened_at", "note")
        return {n: v for n, v in _fields(shown).items() if n not in left_out}
    found = look.session.execute(
        select(ResponseCheck, Setup)
        .join(Setup, Setup.id == ResponseCheck.setup_id)
        .where(Setup.block_id == secondary_id, ResponseCheck.entry <= look.upto)
        .order_by(ResponseCheck.id.desc())
        .limit(1)
    ).first()
    if found is None:
        return {}
    check, setup = found
    names = items(look)
    return {
        "instrument": names[setup.instrument_id].asset_no, "probe": names[setup.probe_id].asset_no,
        "cable": names[check.cable_id].asset_no if check.cable_id else "", "frequency_khz": plain(setup.frequency_khz),
        "measure": setup.measure, "unit": setup.unit, "rotation_deg": plain(check.rotation_deg),
        "horizontal_gain_db": plain(check.horizontal_gain_db), "vertical_gain_db": plain(check.vertical_gain_db),
    }  # fmt: skip


def _fields(c: ComparisonShown) -> dict[str, str]:
    """Return a comparison as the fields of its form, in text."""
    rotation, horizontal, vertical = c.settings
    own: dict[str, object] = {
        name: getattr(c, name) for name in ComparisonDraft.model_fields if hasattr(c, name)
    } | {"rotation_deg": rotation, "horizontal_gain_db": horizontal, "vertical_gain_db": vertical}  # fmt: skip
    return {n: plain(v) if isinstance(v, Decimal) else str(v) for n, v in own.items() if v is not None}


def comparison(lab: Lab, number: str, when: When) -> ComparisonShown:
    """Return a comparison by its number, or refuse."""
    with lab.look(when) as look:
        return _shown(look, named(look, BlockComparison, number))


def comparisons(lab: Lab, when: When, asset_no: str = "") -> tuple[ComparisonShown, ...]:
    """Return the comparisons on record, newest first; of one block, on either side, or all."""
    with lab.look(when) as look:
        return comparisons_in(look, named(look, Equipment, asset_no).id if asset_no else None)


def comparisons_in(look: Look, block_id: int | None = None) -> tuple[ComparisonShown, ...]:
    """Return the comparisons within a look, newest first."""
    query = select(BlockComparison).where(BlockComparison.entry <= look.upto).order_by(BlockComparison.id.desc())
    if block_id is not None:
        query = query.where(or_(BlockComparison.primary_id == block_id, BlockComparison.secondary_id == block_id))
    return tuple(_shown(look, row) for row in look.session.execute(query).scalars())


def _shown(look: Look, row: BlockComparison) -> ComparisonShown:
    labels: dict[int, tuple[str, int]] = {
        n.id: (n.label, n.equipment_id)
        for n in look.session.execute(
            select(Notch).where(Notch.equipment_id.in_((row.primary_id, row.secondary_id)))
        ).scalars()
    }
    readings = look.session.execute(
        select(ComparisonReading).where(ComparisonReading.block_comparison_id == row.id).order_by(ComparisonReading.place)
    ).scalars()  # fmt: skip
    results = look.session.execute(
        select(ComparisonResult).where(ComparisonResult.block_comparison_id == row.id).order_by(ComparisonResult.id)
    ).scalars()
    scans = tuple(
        ScanShown(
            labels[r.notch_id][0], PRIMARY if labels[r.notch_id][1] == row.primary_id else SECONDARY, r.round, r.horizontal,
            r.vertical,
        )
        for r in readings
    )  # fmt: skip
    notches = tuple(
        NotchResult(labels[r.notch_id][0], r.ratio_db, r.phase_deg, r.moved_db, r.outcome, r.says) for r in results
    )
    later = look.session.execute(
        select(BlockComparison.number).where(
            BlockComparison.supersedes_id == row.id, BlockComparison.entry <= look.upto
        )
    ).scalar_one_or_none()
    earlier = look.session.get(BlockComparison, row.supersedes_id) if row.supersedes_id else None
    paper = look.session.get(Certificate, row.certificate_id) if row.certificate_id else None
    finding = look.session.execute(
        select(Finding.number).where(Finding.certificate_id == row.certificate_id, Finding.entry == row.entry)
    ).scalars().first() if paper else None  # fmt: skip
    names = items(look)
    duty = next((d for d in status_of(look, row.secondary_id).duties if d.activity == "comparison"), None)
    return ComparisonShown(
        row.number, names[row.primary_id].asset_no, names[row.secondary_id].asset_no, names[row.instrument_id].asset_no,
        names[row.probe_id].asset_no, names[row.cable_id].asset_no if row.cable_id else "", row.frequency_khz, row.measure, row.unit,
        (row.rotation_deg, row.horizontal_gain_db, row.vertical_gain_db), row.noise, row.band_db, row.band_deg, row.band_source,
        code_of(look, row.person_id), row.happened_at, row.outcome, notches, scans, paper.number if paper else "", finding or "",
        duty.due_on if duty and paper and duty.record == f"certificate {paper.number}" else None, duty.record if duty else "", earlier.number if earlier else "", later or "", row.why, row.note,
        row.entry, row.rules_version,
    )  # fmt: skip
