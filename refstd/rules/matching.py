"""Does this equipment suit this job? Why, why not, and what would cure it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import product

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.rules.duties import Duty
from refstd.rules.serviceability import ItemFacts, ProcedureNeeds, kit_serviceability, serviceability
from refstd.rules.verdict import Standing, Verdict

ROTATING = "rotating bolt-hole"
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
    loan: Loaned | None = None


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
    reasons += _named_reasons(job, candidate)
    if candidate.loan:
        reasons.append(
            Reason("custody", f"{candidate.item.asset_no} is out with {candidate.loan.holder} for job {candidate.loan.job}",
                   f"since {candidate.loan.since}", record=f"loan of {candidate.item.asset_no}", cure="have it checked in first")
        )  # fmt: skip
    reasons += {"block": _block, "probe": _probe, "instrument": _instrument}.get(candidate.item.kind, _nothing)(
        job, candidate
    )
    fits = all(r.weight is not Weight.STOPS for r in reasons)
    named = sum(1 for n in job.named if n.kind == candidate.item.kind and key(n.part_no) == key(candidate.part_no))
    return Match(candidate.item.asset_no, (candidate.item.asset_no,), fits, verdict, tuple(reasons), named)


@dataclass(frozen=True, slots=True)
class KnownSetup:
    """A setup on record at the job's frequency that has a baseline: its number, its three items, what speaks against it."""

    number: str
    asset_nos: frozenset[str]
    advice: tuple[Reason, ...] = ()


def match_kits(
    job: JobFacts,
    candidates: tuple[Candidate, ...],
    today: date,
    soon_days: int,
    *,
    known: tuple[KnownSetup, ...] = (),
    most: int = 20,
) -> tuple[tuple[Match, ...], tuple[Match, ...]]:
    """Return (kits that fit, best first, the best of each block before the rest; items that do not, with their reasons).

    A kit is a block, a probe and an instrument whose connectors join, directly or by one cable or adapter. What the
    procedure names comes first, then kits whose setup has a baseline, then those with the least to advise. Behind the
    items stand the probes that join no instrument, and the kits that are held as a setup.
    """
    judged = [(c, match_item(job, c, today, soon_days)) for c in candidates]
    good = {
        k: [(c, m) for c, m in judged if c.item.kind == k and m.fits]
        for k in ("block", "probe", "instrument", "accessory")
    }
    kits: list[Match] = []
    held: list[Match] = []
    accessories = [c for c, _ in good["accessory"]]
    for (b, mb), (p, mp), (i, mi) in product(good["block"], good["probe"], good["instrument"]):
        joined = _joined(i, p, accessories)
        if joined is None:
            continue
        parts = (b, p, i, *joined)
        verdict = kit_serviceability(tuple(c.item for c in parts), today, soon_days, job.needs)
        numbers = tuple(c.item.asset_no for c in parts)
        fits = verdict.standing is not Standing.DO_NOT_USE
        # What stands against an item alone, such as a hold of another setup, does not stand against this kit.
        of_the_job = (r for m in (mb, mp, mi) for r in m.reasons if r not in m.verdict.reasons)
        proven = [r for k in known if k.asset_nos <= set(numbers) for r in (_proven(k), *k.advice)]
        reasons = tuple(dict.fromkeys((*verdict.reasons, *of_the_job, *proven)))
        found = Match(" + ".join(numbers), numbers, fits, verdict, reasons, mb.named + mp.named + mi.named)
        (kits if fits else held).append(found)
    kits.sort(
        key=lambda m: (
            -m.named,
            not any(r.rule == PROVEN for r in m.reasons),
            sum(r.weight in (Weight.LIMITS, Weight.ADVISES) for r in m.reasons),
            m.asset_nos,
        )
    )
    lonely = _lonely(good["probe"], good["instrument"], accessories)
    return tuple(_each_block_first(kits)[:most]), (*(m for _, m in judged if not m.fits), *lonely, *held)


def _each_block_first(kits: list[Match]) -> list[Match]:
    """Return ranked kits with the best one of each block first: the many kits of one block would hide the other blocks."""
    best: dict[str, Match] = {}
    rest = []
    for kit in kits:
        if best.setdefault(kit.asset_nos[0], kit) is not kit:
            rest.append(kit)
    return [*best.values(), *rest]


PROVEN = "baseline"


def _proven(known: KnownSetup) -> Reason:
    return Reason(
        PROVEN,
        f"setup {known.number} of these items has a baseline",
        record=f"setup {known.number}",
        weight=Weight.SUPPORTS,
    )


def a(word: str) -> str:
    """Return a word with its article."""
    return f"{'an' if word[:1] in 'aeiou' else 'a'} {word}"


def _lonely(
    probes: list[tuple[Candidate, Match]], instruments: list[tuple[Candidate, Match]], accessories: list[Candidate]
) -> list[Match]:
    """Return the probes that suit the job and join none of the instruments that do, with what would join them."""
    found = []
    for p, match in probes:
        apart = [_apart(i, p) for i, _ in instruments if _joined(i, p, accessories) is None]
        if apart and len(apart) == len(instruments):
            reasons = tuple(dict.fromkeys((*match.reasons, *apart)))
            found.append(Match(match.subject, match.asset_nos, False, match.verdict, reasons, match.named))
    return found


def _apart(instrument: Candidate, probe: Candidate) -> Reason:
    """Return why a probe and an instrument do not join."""
    p, i = probe.item.asset_no, instrument.item.asset_no
    if probe.form == ROTATING and not instrument.drives_rotating_probe:
        return Reason("rotating drive", f"{i} does not drive a rotating probe such as {p}", "no drive", "a drive for a rotating probe",
                      "instrument on record", f"{p}, {i}", "take an instrument that drives a rotating probe")  # fmt: skip
    return Reason("connectors", f"{p} ({probe.connector}) does not join {i} ({instrument.connector})", probe.connector,
                  instrument.connector, "connectors on record", f"{p}, {i}", "add a cable or adapter that joins the two")  # fmt: skip


def match_chosen(job: JobFacts, chosen: tuple[Candidate, ...], today: date, soon_days: int) -> tuple[Match, ...]:
    """Return each chosen item against the job, and what stands against using them together; together fits if all fit."""
    found = [match_item(job, c, today, soon_days) for c in chosen]
    probes = [c for c in chosen if c.item.kind == "probe"]
    instruments = [c for c in chosen if c.item.kind == "instrument"]
    accessories = [c for c in chosen if c.item.kind == "accessory"]
    together = [_apart(i, p) for p, i in product(probes, instruments) if _joined(i, p, accessories) is None]
    verdict = kit_serviceability(tuple(c.item for c in chosen), today, soon_days, job.needs)
    alone = {r for m in found for r in m.reasons}
    together += [r for r in verdict.reasons if r.weight is Weight.STOPS and r not in alone]
    if together or len(chosen) > 1:
        numbers = tuple(c.item.asset_no for c in chosen)
        fits = not together and all(m.fits for m in found)
        found.append(Match(" + ".join(numbers), numbers, fits, verdict, tuple(together)))
    return tuple(found)


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
                   f"{job.procedure}: no paragraph accepts this family" if magnetic else "ferromagnetic and non-magnetic never match",
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
    figure, limit = f"block {plain(ours)} %IACS, part {plain(parts)} %IACS", f"±{plain(band)} %IACS"
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


def _joined(instrument: Candidate, probe: Candidate, accessories: list[Candidate]) -> tuple[Candidate, ...] | None:
    """Return the accessories that join the two: none when the connectors are alike; None when nothing joins them."""
    if probe.form == ROTATING and not instrument.drives_rotating_probe:
        return None
    if key(instrument.connector) == key(probe.connector):
        return ()
    for a in accessories:
        if key(a.connector) == key(instrument.connector) and key(a.probe_connector) == key(probe.connector):
            return (a,)
    return None
