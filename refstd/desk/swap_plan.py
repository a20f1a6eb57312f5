"""What a swap test starts from, and with what each thing can be exchanged: setups that differ in it alone, with a baseline from before."""

from dataclasses import dataclass

import numpy as np
from sqlalchemy import func, select

from refstd.desk.happened import baseline_advice
from refstd.desk.items import items
from refstd.desk.series import days_of, series_within
from refstd.desk.setups import baseline_of, baseline_sets, notch_depths, reading_set
from refstd.desk.suspects import PARTNER_STATES, suspects_within
from refstd.metrology.incidence import Candidate, Deviation
from refstd.register.checks import Baseline, ResponseCheck, Setup
from refstd.register.lab import Look
from refstd.register.procedures import Procedure, ProcedureRevision
from refstd.rules.suspects import in_words
from refstd.rules.swaps import ORDER, Exchanged, Result, Seen, chance_db, conclude, notch_like, seen_of

_MEMBERS: dict[Exchanged, str] = {"probe": "probe_id", "block": "block_id", "instrument": "instrument_id"}


@dataclass(frozen=True, slots=True)
class Origin:
    """The check that a swap test starts from. cable, adapter: asset numbers, '' where none was named."""

    check: ResponseCheck
    setup: Setup
    notch_id: int
    notch: str
    depth_mm: float
    instrument: str
    probe: str
    block: str
    cable: str
    adapter: str
    procedure: str
    seen: Seen

    def names(self) -> dict[Exchanged, str]:
        """Return what each thing that can be exchanged is called."""
        return {
            "cable": f"cable {self.cable}" if self.cable else "the cable",
            "probe": self.probe,
            "block": f"notch {self.notch} of {self.block}",
            "instrument": self.instrument,
        }


@dataclass(frozen=True, slots=True)
class Partner:
    """A setup that differs from the first in one thing alone and has a baseline from before the deviation showed.

    takes_part: the asset number that comes in. notch: what to read there. out_to: who has it and for which job, or ''.
    """

    setup: str
    takes_part: str
    instrument: str
    probe: str
    block: str
    notch: str
    baseline_setups: int
    out_to: str


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One thing to exchange: what comes in, and what the answer would mean.

    partners: the best first; none for a cable, and where nothing on record can take the thing's place, which `missing`
    says. results: of the times it was exchanged already.
    """

    exchanged: Exchanged
    comes_in: str
    partners: tuple[Partner, ...]
    missing: str
    if_it_goes: str
    if_it_stays: str
    results: tuple[str, ...]

    @property
    def do(self) -> str:
        """What to do."""
        return f"exchange the {self.exchanged}: {self.comes_in}, everything else as it is"

    @property
    def possible(self) -> bool:
        return not self.missing

    @property
    def told(self) -> bool:
        """Whether it was exchanged and a check could tell."""
        return bool(set(self.results) & {"stayed", "went"})


def origin_of(look: Look, check: ResponseCheck, notch_id: int) -> Origin:
    """Return what a swap test from this check and notch starts from."""
    setup = look.session.get_one(Setup, check.setup_id)
    registered = items(look)
    label, depth = notch_depths(look, setup.block_id)[notch_id]
    revision = look.session.get_one(ProcedureRevision, check.procedure_revision_id)
    return Origin(
        check, setup, notch_id, label, depth, registered[setup.instrument_id].asset_no, registered[setup.probe_id].asset_no,
        registered[setup.block_id].asset_no, registered[check.cable_id].asset_no if check.cable_id else "",
        registered[check.adapter_id].asset_no if check.adapter_id else "",
        look.session.get_one(Procedure, revision.procedure_id).code, seen_in(look, check, label),
    )  # fmt: skip


def seen_in(look: Look, check: ResponseCheck, notch: str) -> Seen:
    """Return how far a notch lies in a kept check from the baseline that the check was held against."""
    baseline = look.session.get(Baseline, check.baseline_id) if check.baseline_id else None
    return seen_of(reading_set(look, check), notch, baseline_sets(look, baseline))


def suspected_of(look: Look, origin: Origin) -> tuple[Exchanged, ...]:
    """Return what took part and is suspected: what the evidence over the whole lab ties, else everything that can be exchanged."""
    first = _as_deviation(origin)
    tied = [s.candidate for s in suspects_within(look).found if s.tied_with and s.candidate.took_part(first)]
    kinds = {c.thing[0] for c in tied}
    if len(kinds & {"probe", "block", "instrument"}) < 2 or "common" in kinds:
        return ORDER
    return tuple(k for k in ORDER if k in kinds or (k == "cable" and kinds & {"probe", "instrument"}))


def named_in(look: Look, origin: Origin) -> tuple[str, ...]:
    """Return what the evidence over the whole lab names alone among what took part, in words."""
    first = _as_deviation(origin)
    return tuple(
        in_words(s.candidate) for s in suspects_within(look).found if not s.tied_with and s.candidate.took_part(first)
    )


def _as_deviation(origin: Origin) -> Deviation:
    return Deviation(0, origin.instrument, origin.probe, origin.block, origin.notch, 0, 1)


def candidate_of(origin: Origin, thing: Exchanged) -> Candidate | None:
    """Return the suspect of the evidence that a thing is; a cable is none."""
    if thing == "cable":
        return None
    if thing == "block":
        return Candidate("notch", origin.block, origin.notch)
    return Candidate(thing, origin.probe if thing == "probe" else origin.instrument)


def exchanged_between(first: Setup, other: Setup) -> tuple[Exchanged, ...]:
    """Return what differs between two setups."""
    return tuple(kind for kind, column in _MEMBERS.items() if getattr(first, column) != getattr(other, column))


def notch_in(look: Look, origin: Origin, setup: Setup) -> str:
    """Return the notch of a setup's block that stands for the first one: one that its baseline has, '' for none."""
    sets = baseline_sets(look, baseline_of(look, setup.id))
    there = [(r.notch, r.depth_mm) for r in sets[0].readings] if sets else []
    return notch_like((origin.notch, origin.depth_mm), there)


def sound_for(look: Look, origin: Origin, setup: Setup, baseline: Baseline) -> bool:
    """Return whether another setup's baseline can have nothing of the deviation in it, and is of the items as they are.

    It is no newer than the last check of the origin's setup that lay within chance of its own baseline (where none did,
    than the first check against it), and nothing of its items was repaired or exchanged since.
    """
    if baseline_advice(look, [setup]).get(setup.id):
        return False
    spread = suspects_within(look).spread
    if spread.degrees_of_freedom <= 0:
        return False
    until = origin.check.happened_at
    for series in series_within(look, origin.setup.id):
        if series.notch_id == origin.notch_id:
            a = series.answers
            off = np.abs(a.deviation_db) > chance_db(spread, a.baseline_setups)
            within = np.flatnonzero(np.isfinite(a.deviation_db) & ~off & (a.days < days_of(until)))
            begun = float(a.days[within[-1] if len(within) else 0])
            return days_of(baseline.happened_at) <= begun
    return baseline.happened_at < until


def partners_of(look: Look, origin: Origin) -> dict[Exchanged, tuple[Partner, ...]]:
    """Return what can take the place of each thing: in service, not suspected, not out first, last used first."""
    rows = look.session.execute(
        select(Setup, func.max(ResponseCheck.happened_at))
        .outerjoin(ResponseCheck, (ResponseCheck.setup_id == Setup.id) & (ResponseCheck.entry <= look.upto))
        .where(Setup.conditions_key == origin.setup.conditions_key, Setup.entry <= look.upto)
        .group_by(Setup.id)
        .order_by(func.max(ResponseCheck.happened_at).desc(), Setup.id)
    ).all()
    suspected = {s.candidate.code for s in suspects_within(look).found}
    found: dict[Exchanged, list[Partner]] = {kind: [] for kind in _MEMBERS}
    for setup, _ in rows:
        differs = exchanged_between(origin.setup, setup)
        if len(differs) != 1:
            continue
        comes_in = items(look)[getattr(setup, _MEMBERS[differs[0]])]
        baseline, notch = baseline_of(look, setup.id), notch_in(look, origin, setup)
        if comes_in.state not in PARTNER_STATES or comes_in.asset_no in suspected or baseline is None or not notch:
            continue
        if not sound_for(look, origin, setup, baseline):
            continue
        instrument, probe, block = (
            items(look)[i].asset_no for i in (setup.instrument_id, setup.probe_id, setup.block_id)
        )
        loan = comes_in.loan
        out_to = f"{loan.holder} for job {loan.job}" if loan else ""
        count = len(baseline_sets(look, baseline))
        found[differs[0]].append(
            Partner(setup.number, comes_in.asset_no, instrument, probe, block, notch, count, out_to)
        )
    return {kind: tuple(sorted(each, key=lambda p: bool(p.out_to))) for kind, each in found.items()}


def planned(
    look: Look, origin: Origin, suspected: tuple[Exchanged, ...], steps: tuple[tuple[Exchanged, Result], ...]
) -> tuple[PlannedStep, ...]:
    """Return the things to exchange, the cheapest first: those suspected, and the others once none of these is left."""
    partners, names = partners_of(look, origin), origin.names()
    kinds = suspected if conclude(names, suspected, steps).left else ORDER
    return tuple(
        PlannedStep(
            kind, _comes_in(origin, kind, partners.get(kind, ())), partners.get(kind, ()), _missing(origin, kind, partners),
            conclude(names, suspected, (*steps, (kind, "went"))).says,
            conclude(names, suspected, (*steps, (kind, "stayed"))).says,
            tuple(result for k, result in steps if k == kind),
        )
        for kind in kinds
    )  # fmt: skip


def _comes_in(origin: Origin, kind: Exchanged, partners: tuple[Partner, ...]) -> str:
    if kind == "cable":
        return f"another one in place of {origin.names()['cable']} (setup {origin.setup.number})"
    if not partners:
        return ""
    best = partners[0]
    first = {"probe": origin.probe, "block": origin.block, "instrument": origin.instrument}[kind]
    notch = f", reading notch {best.notch}" if kind == "block" else ""
    out = f"; {best.takes_part} is out to {best.out_to}" if best.out_to else ""
    return f"{best.takes_part} in place of {first}{notch} (setup {best.setup}, baseline of {best.baseline_setups} set-ups{out})"


def _missing(origin: Origin, kind: Exchanged, partners: dict[Exchanged, tuple[Partner, ...]]) -> str:
    if kind == "cable" or partners[kind]:
        return ""
    return (
        f"no other {kind}, with all else as in {origin.setup.number}, in service and not suspected, has a baseline from before; one "
        "taken now would have the deviation in it"
    )
