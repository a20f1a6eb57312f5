"""What a swap test starts from: a check, the notch that deviates, and what is suspected of it."""

from dataclasses import dataclass

from refstd.desk.items import items
from refstd.desk.setups import baseline_of, baseline_sets, notch_depths, reading_set
from refstd.desk.suspects import suspects_within
from refstd.metrology.incidence import Candidate, Deviation
from refstd.register.checks import Baseline, ResponseCheck, Setup
from refstd.register.lab import Look
from refstd.register.procedures import Procedure, ProcedureRevision
from refstd.rules.suspects import in_words
from refstd.rules.swaps import ORDER, Exchanged, Seen, notch_like, seen_of

MEMBERS: dict[Exchanged, str] = {"probe": "probe_id", "block": "block_id", "instrument": "instrument_id"}


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
    return tuple(kind for kind, column in MEMBERS.items() if getattr(first, column) != getattr(other, column))


def notch_in(look: Look, origin: Origin, setup: Setup) -> str:
    """Return the notch of a setup's block that stands for the first one: one that its baseline has, '' for none."""
    sets = baseline_sets(look, baseline_of(look, setup.id))
    there = [(r.notch, r.depth_mm) for r in sets[0].readings] if sets else []
    return notch_like((origin.notch, origin.depth_mm), there)
