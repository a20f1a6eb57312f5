"""Does this equipment suit this job? Why, why not, and what would cure it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.rules.duties import Duty
from refstd.rules.joining import ROTATING, InstrumentEnd, Link, ProbeEnd
from refstd.rules.notch_sizes import SizesWanted, notch_sizes
from refstd.rules.owners import return_reasons
from refstd.rules.requirements import NotchAdvice
from refstd.rules.serviceability import ItemFacts, ProcedureNeeds, serviceability
from refstd.rules.verdict import Verdict

NEVER_MATCH = "ferromagnetic and non-magnetic never match"
FORMS_OF_PROBE = {
    "plate": {"pencil", "pencil 90°", "spot", "ring", "sliding", "shaped"},
    "edge": {"pencil", "pencil 90°", "shaped"},
    "radius": {"pencil", "pencil 90°", "shaped"},
    "bore": {"manual bolt-hole", ROTATING, "pencil 90°"},
    "countersink": {"countersink"},
    "weld": {"weld (cross-axis)"},
    "layers": {"spot", "ring", "sliding"},
}


@dataclass(frozen=True, slots=True)
class Material:
    """A material as on record."""

    code: str
    family: str
    magnetic_class: str
    conductivity_percent_iacs: Decimal | None


@dataclass(frozen=True, slots=True)
class Loaned:
    """Who has an item."""

    holder: str
    job: str
    since: str


@dataclass(frozen=True, slots=True)
class Reserved:
    """A reservation of an item by name: for which job, from day to day."""

    number: str
    job: str
    starts_on: date
    ends_on: date


@dataclass(frozen=True, slots=True)
class Candidate:
    """An item with what matching needs of it; fields that its kind does not have stay empty."""

    item: ItemFacts
    part_no: str
    form: str = ""
    material: Material | None = None
    bore_diameter_mm: Decimal | None = None
    lowest_khz: Decimal | None = None
    highest_khz: Decimal | None = None
    connector: str = ""
    probe_connector: str = ""
    drives_rotating_probe: bool = False
    circuits: str = ""  # of a probe its own; of an instrument those it takes
    loan: Loaned | None = None
    shared: bool = False  # a block that stays at the bench for everybody
    owner: str = ""
    return_on: date | None = None  # to its owner
    reserved: tuple[Reserved, ...] = ()
    notch_depths_mm: tuple[Decimal, ...] = ()

    @property
    def as_instrument(self) -> InstrumentEnd:
        return InstrumentEnd(self.connector, self.drives_rotating_probe, self.circuits)

    @property
    def as_probe(self) -> ProbeEnd:
        return ProbeEnd(self.connector, self.form, self.circuits)

    def as_link(self, cautions: int = 0) -> Link:
        """Return an accessory as what joins a probe to an instrument."""
        return Link(self.item.asset_no, self.connector, self.probe_connector, cautions)


@dataclass(frozen=True, slots=True)
class NamedItem:
    """Equipment that the procedure names by part number, or an alternate that it approves."""

    kind: str
    part_no: str
    standing: str
    paragraph: str


@dataclass(frozen=True, slots=True)
class AcceptedFamily:
    """A block family that the procedure accepts for a part family."""

    part_family: str
    block_family: str
    paragraph: str


@dataclass(frozen=True, slots=True)
class JobFacts:
    """A job and what its procedure revision asks for."""

    number: str
    procedure: str
    form: str
    material: Material
    bore_diameter_mm: Decimal | None
    frequency_khz: Decimal
    frequency_paragraph: str
    lowest_khz: Decimal
    highest_khz: Decimal
    ends_on: date
    needs: ProcedureNeeds
    named: tuple[NamedItem, ...]
    accepted: tuple[AcceptedFamily, ...]
    conductivity_band: Decimal | None
    conductivity_paragraph: str
    conductivity_measured: bool = False  # of the part: measured on it, not that of its material
    target_depth_mm: Decimal | None = None
    notch_advice: NotchAdvice | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """One item or kit against a job. It fits when nothing stops it; `reasons` say why or why not."""

    subject: str
    asset_nos: tuple[str, ...]
    fits: bool
    verdict: Verdict
    reasons: tuple[Reason, ...]
    named: int = 0  # how many of its items the procedure names
    explained: tuple[Reason, ...] = ()  # calculated advice, added when verdict and order stand


def match_item(job: JobFacts, candidate: Candidate, today: date, soon_days: int) -> Match:
    """Return whether one item suits a job, with every reason that stands against it and what would cure it."""
    verdict = serviceability(candidate.item, today, soon_days, job.needs)
    reasons = [r for r in verdict.reasons if r.weight is not Weight.SUPPORTS]
    reasons += _due_during(job, candidate, today)
    number = candidate.item.asset_no
    reasons += return_reasons(number, candidate.owner, candidate.return_on, today, job.ends_on)
    reasons += _named_reasons(job, candidate)
    reasons += [
        Reason("reserved", f"{number} is reserved for job {r.job}", f"{r.starts_on} to {r.ends_on}", f"job {job.number} ends {job.ends_on}",
               "reservation", f"reservation {r.number}", "take another, or agree it with whoever reserved it", Weight.ADVISES)
        for r in candidate.reserved if r.job != job.number and r.ends_on >= today and r.starts_on <= max(job.ends_on, today)
    ]  # fmt: skip
    if candidate.loan:
        reasons.append(
            Reason("custody", f"{candidate.item.asset_no} is out with {candidate.loan.holder} for job {candidate.loan.job}",
                   f"since {candidate.loan.since}", record=f"loan of {candidate.item.asset_no}", cure="have it checked in first")
        )  # fmt: skip
    if candidate.shared and not candidate.loan:
        says = f"{candidate.item.asset_no} is shared at the bench: it stays there and is used without check-out"
        reasons.append(Reason("custody", says, record=candidate.item.asset_no, weight=Weight.ADVISES))
    reasons += {"block": _block, "probe": _probe, "instrument": _instrument}.get(candidate.item.kind, _nothing)(
        job, candidate
    )
    fits = all(r.weight is not Weight.STOPS for r in reasons)
    named = sum(1 for n in job.named if n.kind == candidate.item.kind and key(n.part_no) == key(candidate.part_no))
    return Match(candidate.item.asset_no, (candidate.item.asset_no,), fits, verdict, tuple(reasons), named)


def a(word: str) -> str:
    """Return a word with its article."""
    return f"{'an' if word[:1] in 'aeiou' else 'a'} {word}"


def _nothing(_job: JobFacts, _candidate: Candidate) -> list[Reason]:
    return []


def _due_during(job: JobFacts, candidate: Candidate, today: date) -> list[Reason]:
    number = candidate.item.asset_no
    return [
        Reason("due during the job", f"{d.activity} of {number} falls due during the job", f"due {end}" + _deferred(d, end),
               f"job {job.number} ends {job.ends_on}", d.source, d.record, f"have the {d.activity} done before the job")
        for d in candidate.item.duties
        if (end := d.valid_to(today)) is not None and today <= end < job.ends_on
    ]  # fmt: skip


def _deferred(duty: Duty, end: date) -> str:
    return f", deferred from {duty.due_on}" if end != duty.due_on else ""


def _named_reasons(job: JobFacts, candidate: Candidate) -> list[Reason]:
    """What the procedure names comes first: where it names any of this kind, others are refused."""
    named = [n for n in job.named if n.kind == candidate.item.kind]
    if not named:
        return []
    mine = next((n for n in named if key(n.part_no) == key(candidate.part_no)), None)
    number = candidate.item.asset_no
    if mine is None:
        allowed = ", ".join(n.part_no for n in named)
        return [
            Reason("named by the procedure", f"{number} is not a {candidate.item.kind} that {job.procedure} names",
                   f"part number {candidate.part_no or 'none'}", allowed, f"{job.procedure}, {named[0].paragraph}", number,
                   f"take one with part number {allowed}")
        ]  # fmt: skip
    word = "names it" if mine.standing == "named" else "approves it as an alternate"
    return [
        Reason("named by the procedure", f"{job.procedure} {word}", f"part number {candidate.part_no}", mine.part_no,
               f"{job.procedure}, {mine.paragraph}", number, weight=Weight.SUPPORTS)
    ]  # fmt: skip


def _block(job: JobFacts, c: Candidate) -> list[Reason]:
    number, reasons = c.item.asset_no, []
    assert c.material is not None
    part, block = job.material, c.material
    rule = next(
        (
            a
            for a in job.accepted
            if key(a.part_family) == key(part.family) and key(a.block_family) == key(block.family)
        ),
        None,
    )
    magnetic = part.magnetic_class == block.magnetic_class
    if not magnetic or (key(part.family) != key(block.family) and rule is None):
        reasons.append(
            Reason("material", f"{number} is {block.family}, the part is {part.family}", f"{block.family} ({block.magnetic_class})",
                   f"{part.family} ({part.magnetic_class})",
                   f"{job.procedure}: no paragraph accepts this family" if magnetic else NEVER_MATCH,
                   number, f"take a block of {part.family}")
        )  # fmt: skip
    elif rule is not None:
        reasons.append(
            Reason("material", f"{block.family} is accepted for {part.family}", block.family, part.family,
                   f"{job.procedure}, {rule.paragraph}", number, weight=Weight.SUPPORTS)
        )  # fmt: skip
    if c.form != job.form:
        reasons.append(
            Reason("form", f"{number} is {a(c.form)} block, the job is on {a(job.form)}", c.form, job.form, f"job {job.number}", number,
                   f"take {a(job.form)} block")
        )  # fmt: skip
    elif job.form == "bore" and job.bore_diameter_mm is not None and c.bore_diameter_mm != job.bore_diameter_mm:
        have = f"{plain(c.bore_diameter_mm)} mm" if c.bore_diameter_mm is not None else "unknown"
        want = f"{plain(job.bore_diameter_mm)} mm"
        reasons.append(
            Reason("bore", f"{number} has a bore of {have}, the holes are {want}", have, want, f"job {job.number}", number,
                   f"take a block with a bore of {want}")
        )  # fmt: skip
    have_notches = {key(n) for n in c.item.notches}
    missing = [n for n in job.needs.notches if key(n) not in have_notches]
    if missing and c.form == job.form:
        reasons.append(
            Reason("notches", f"{number} lacks the notches {', '.join(missing)} that {job.procedure} names", ", ".join(c.item.notches),
                   ", ".join(job.needs.notches), job.procedure, number, "take a block with these notches")
        )  # fmt: skip
    if c.form == job.form:
        wanted = SizesWanted(job.number, job.procedure, job.target_depth_mm, job.notch_advice)
        reasons += notch_sizes(number, c.notch_depths_mm, wanted)
    reasons += _conductivity(job, c)
    return reasons


def _conductivity(job: JobFacts, c: Candidate) -> list[Reason]:
    """Ferrous blocks are matched by family, never by conductivity; others only where the procedure states a band."""
    assert c.material is not None
    ours, parts, band = (
        c.material.conductivity_percent_iacs,
        job.material.conductivity_percent_iacs,
        job.conductivity_band,
    )
    if band is None or c.material.magnetic_class == "ferromagnetic":
        return []
    source = f"{job.procedure}, {job.conductivity_paragraph}"
    if ours is None or parts is None:
        unknown = [f"the block's material {c.material.code}"] if ours is None else []
        unknown += [f"the part's material {job.material.code}"] if parts is None else []
        return [Reason("conductivity", f"the conductivity of {' and '.join(dict.fromkeys(unknown))} is not on record", "unknown",
                       f"±{plain(band)} %IACS", source, c.item.asset_no, "have it measured, and entered with its source")]  # fmt: skip
    how = " as measured" if job.conductivity_measured else ""
    figure, limit = f"block {plain(ours)} %IACS, part {plain(parts)} %IACS{how}", f"±{plain(band)} %IACS"
    if abs(ours - parts) > band:
        return [Reason("conductivity", f"{c.item.asset_no} is too far from the part in conductivity", figure, limit, source,
                       c.item.asset_no, "take a block nearer to the part, or ask the responsible level 3")]  # fmt: skip
    return [Reason("conductivity", "conductivity within the procedure's band", figure, limit, source, c.item.asset_no,
                   weight=Weight.SUPPORTS)]  # fmt: skip


def _frequency(job: JobFacts, c: Candidate) -> list[Reason]:
    number, low, high = c.item.asset_no, c.lowest_khz, c.highest_khz
    if low is None or high is None or low <= job.frequency_khz <= high:
        return []
    return [
        Reason("frequency", f"{number} does not reach the job's frequency", f"{plain(job.frequency_khz)} kHz",
               f"{plain(low)} to {plain(high)} kHz", f"range on record for {number}; {job.procedure}, {job.frequency_paragraph}", number,
               f"take a {c.item.kind} whose range covers {plain(job.frequency_khz)} kHz")
    ]  # fmt: skip


def _probe(job: JobFacts, c: Candidate) -> list[Reason]:
    reasons = _frequency(job, c)
    suits = FORMS_OF_PROBE[job.form]
    if c.form not in suits:
        reasons.append(
            Reason("form", f"{c.item.asset_no} is {a(c.form)} probe, the job is on {a(job.form)}", c.form, " or ".join(sorted(suits)),
                   "common practice, no source", c.item.asset_no, f"take a probe made for {a(job.form)}")
        )  # fmt: skip
    return reasons


def _instrument(job: JobFacts, c: Candidate) -> list[Reason]:
    return _frequency(job, c)
