"""The plan of a swap test: the things to exchange, the cheapest first, with what comes in and what each answer would mean."""

from dataclasses import dataclass

from refstd.desk.at_work import first_at_work
from refstd.desk.happened import members
from refstd.desk.swap_origin import MEMBERS, Origin
from refstd.desk.swap_partners import Choices, Partner, cables_of, partners_of
from refstd.register.lab import Look
from refstd.rules.swaps import ORDER, Exchanged, Result, conclude


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One thing to exchange: what comes in, and what the answer would mean.

    partners: the best first; none for a cable, and where nothing on record can take the thing's place, which `missing`
    says. results: of the times it was exchanged already. against: why the others on record cannot come in. cables: the
    numbers of those that can, where the cable is exchanged.
    """

    exchanged: Exchanged
    comes_in: str
    partners: tuple[Partner, ...]
    missing: str
    if_it_goes: str
    if_it_stays: str
    results: tuple[str, ...]
    against: tuple[str, ...] = ()
    cables: tuple[str, ...] = ()

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


def planned(
    look: Look, origin: Origin, suspected: tuple[Exchanged, ...], steps: tuple[tuple[Exchanged, Result], ...]
) -> tuple[PlannedStep, ...]:
    """Return the things to exchange, the cheapest first: those suspected, and the others once none of these is left."""
    partners, names = partners_of(look, origin), origin.names()
    kinds = suspected if conclude(names, suspected, steps).left else ORDER
    cables, no_cables = cables_of(look, origin)
    planned = []
    for kind in kinds:
        choices = partners.get(kind, Choices(against=no_cables))
        planned.append(
            PlannedStep(
                kind, _comes_in(origin, kind, choices.offered), choices.offered, _missing(look, origin, kind, choices),
                conclude(names, suspected, (*steps, (kind, "went"))).says,
                conclude(names, suspected, (*steps, (kind, "stayed"))).says,
                tuple(result for k, result in steps if k == kind), choices.against, cables if kind == "cable" else (),
            )
        )  # fmt: skip
    return tuple(planned)


def staying(origin: Origin, kind: Exchanged) -> tuple[int, ...]:
    """Return the items that stay as they were when one thing is exchanged, by internal id."""
    check, going = origin.check, getattr(origin.setup, MEMBERS[kind]) if kind in MEMBERS else origin.check.cable_id
    return tuple(i for i in (*members(origin.setup), check.cable_id, check.adapter_id) if i and i != going)


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


def _missing(look: Look, origin: Origin, kind: Exchanged, choices: Choices) -> str:
    if busy := first_at_work(look, staying(origin, kind)):
        return f"{busy}: make the end check of that work first"
    if kind == "cable" or choices.offered:
        return ""
    if choices.against:
        return f"no other {kind} can come in: {'; '.join(choices.against)}"
    return f"no other {kind} is in a setup on record with all else as in {origin.setup.number}"
