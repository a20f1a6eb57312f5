"""Which items make a kit for a job: block, probe and instrument that suit it and join, ranked.

A kit's rank is the sum of its items' ranks, so that the best kits are made of the best items: of each kind, and of each way
to join, only the first few can be part of the first few kits. Only they are tried, and the answer is that of trying all.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from heapq import nsmallest
from itertools import islice, product
from operator import attrgetter
from typing import TypeVar

from refstd.base.reason import Reason, Weight
from refstd.rules.joining import InstrumentEnd, ProbeEnd, apart, path
from refstd.rules.matching import Candidate, JobFacts, Match, match_item
from refstd.rules.serviceability import kit_serviceability
from refstd.rules.verdict import Standing

A = TypeVar("A")
B = TypeVar("B")
PROVEN = "baseline"
_UNKNOWN_GAP = Decimal(100)  # %IACS: no conductivity is further off


@dataclass(frozen=True, slots=True)
class KnownSetup:
    """A setup on record at the job's frequency that has a baseline: its number, its three items, what speaks against it."""

    number: str
    asset_nos: frozenset[str]
    advice: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Rank:
    """What puts one before another; the smallest comes first. The ranks of its parts add up to a kit's."""

    unnamed: int = 0  # minus how many of the items the procedure names
    unproven: int = 0  # 0 where a setup of the three items has a baseline, else 1
    cautions: int = 0
    links: int = 0  # cables and adapters between instrument and probe
    gap_percent_iacs: Decimal = Decimal(0)  # between the block's material and the part's

    def __add__(self, other: "Rank") -> "Rank":
        return Rank(
            self.unnamed + other.unnamed, self.unproven + other.unproven, self.cautions + other.cautions,
            self.links + other.links, self.gap_percent_iacs + other.gap_percent_iacs,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Part:
    """An item that suits the job."""

    candidate: Candidate
    match: Match
    rank: Rank

    @property
    def number(self) -> str:
        return self.candidate.item.asset_no

    @property
    def order(self) -> tuple[Rank, str]:
        return self.rank, self.number


@dataclass(frozen=True, slots=True)
class _Pair:
    """A probe and an instrument that join, with what joins them."""

    probe: _Part
    instrument: _Part
    links: tuple[_Part, ...]

    @property
    def rank(self) -> Rank:
        links = sum((link.rank for link in self.links), Rank(links=len(self.links)))
        return self.probe.rank + self.instrument.rank + links

    @property
    def order(self) -> tuple[Rank, str, str]:
        return self.rank, self.probe.number, self.instrument.number


@dataclass(frozen=True, slots=True)
class _Kit:
    """A block with a pair; `known` are the setups of the three that have a baseline."""

    block: _Part
    pair: _Pair
    known: tuple[KnownSetup, ...] = ()

    @property
    def parts(self) -> tuple[_Part, ...]:
        return self.block, self.pair.probe, self.pair.instrument, *self.pair.links

    @property
    def order(self) -> tuple[Rank, tuple[str, ...]]:
        setups = Rank(unproven=not self.known, cautions=sum(len(k.advice) for k in self.known))
        return self.block.rank + self.pair.rank + setups, tuple(p.number for p in self.parts)


def match_kits(
    job: JobFacts,
    candidates: Sequence[Candidate],
    today: date,
    soon_days: int,
    *,
    known: tuple[KnownSetup, ...] = (),
    most: int = 20,
) -> tuple[tuple[Match, ...], tuple[Match, ...]]:
    """Return (kits that fit, best first, the best of each block before the rest; items that do not, with their reasons).

    A kit is a block, a probe and an instrument whose connectors join, directly or by cables and adapters. What the
    procedure names comes first, then kits whose setup has a baseline, then those with the least to advise, with the fewest
    links, with a block nearest to the part in conductivity. Behind the items stand the probes that join no instrument, and
    the kits that are held as a setup.
    """
    judged = [(c, match_item(job, c, today, soon_days)) for c in candidates]
    shelf = _Shelf([_Part(c, m, _rank(job, c, m)) for c, m in judged if m.fits])
    setups = {k.order[1]: k for k in _of_setups(shelf, known)}
    matched = {numbers: _match(job, kit, today, soon_days) for numbers, kit in setups.items()}
    held = [m for m in matched.values() if not m.fits]
    of_block = Counter(m.asset_nos[0] for m in held)
    every = {k.order[1]: k for k in shelf.first_kits(most + len(setups), of_block)} | setups
    ranked = sorted(
        (k for k in every.values() if k.order[1] not in {m.asset_nos for m in held}), key=attrgetter("order")
    )
    kits = tuple(_match(job, kit, today, soon_days) for kit in islice(_each_block_first(ranked), most))
    return kits, (*(m for _, m in judged if not m.fits), *shelf.lonely(), *held)


def _rank(job: JobFacts, candidate: Candidate, match: Match) -> Rank:
    # A hold of another setup that an item is part of does not stand against this kit.
    against = [r for r in match.reasons if r.weight in (Weight.LIMITS, Weight.ADVISES)]
    cautions = sum(r.rule != "setup hold" or r.weight is Weight.ADVISES for r in against)
    return Rank(-match.named, 0, cautions, 0, _gap(job, candidate))


def _gap(job: JobFacts, candidate: Candidate) -> Decimal:
    """Return how far a block's material is from the part's: of ferrous ones conductivity says nothing, only which it is."""
    block, part = candidate.material, job.material
    if block is None or block.code == part.code:
        return Decimal(0)
    ours, parts = block.conductivity_percent_iacs, part.conductivity_percent_iacs
    if part.magnetic_class == "ferromagnetic" or ours is None or parts is None:
        return _UNKNOWN_GAP
    return abs(ours - parts)


class _Shelf:
    """The items that suit a job, sorted by what decides how they join, best first."""

    def __init__(self, parts: Iterable[_Part]) -> None:
        self.by_number = {p.number: p for p in parts}
        ranked = sorted(self.by_number.values(), key=attrgetter("order"))
        self.blocks = [p for p in ranked if p.candidate.item.kind == "block"]
        self.accessories = {p.number: p for p in ranked if p.candidate.item.kind == "accessory"}
        self.probes: dict[ProbeEnd, list[_Part]] = defaultdict(list)
        self.instruments: dict[InstrumentEnd, list[_Part]] = defaultdict(list)
        for p in ranked:
            if p.candidate.item.kind == "probe":
                self.probes[p.candidate.as_probe].append(p)
            elif p.candidate.item.kind == "instrument":
                self.instruments[p.candidate.as_instrument].append(p)
        links = [p.candidate.as_link(p.rank.cautions) for p in self.accessories.values()]
        ways = {(i, p): path(i, p, links) for i, p in product(self.instruments, self.probes)}
        self.joined = {
            ends: tuple(self.accessories[link.asset_no] for link in way)
            for ends, way in ways.items()
            if way is not None
        }

    def first_kits(self, count: int, held: Mapping[str, int]) -> list[_Kit]:
        """Return kits among which the first `count` of all stand, and the best one of each of as many blocks.

        `held` is how many kits of a block are held: so many more of its pairs are tried, for its best one may be among them.
        """
        near = [
            _Pair(p, i, links)
            for (at_instrument, at_probe), links in self.joined.items()
            for p, i in _near(self.probes[at_probe], self.instruments[at_instrument], count)
        ]
        pairs = nsmallest(count, near, key=attrgetter("order"))
        more = ((b, p) for b in self.blocks[:count] for p in pairs[: 1 + held.get(b.number, 0)])
        tried = {
            (b.number, p.probe.number, p.instrument.number): _Kit(b, p)
            for b, p in (*_near(self.blocks, pairs, count), *more)
        }
        return list(tried.values())

    def kit(self, asset_nos: Iterable[str]) -> _Kit | None:
        """Return the kit of three items, if they suit and join."""
        kinds = {p.candidate.item.kind: p for n in asset_nos if (p := self.by_number.get(n))}
        if not kinds.keys() >= {"block", "probe", "instrument"}:
            return None
        block, probe, instrument = kinds["block"], kinds["probe"], kinds["instrument"]
        links = self.joined.get((instrument.candidate.as_instrument, probe.candidate.as_probe))
        return None if links is None else _Kit(block, _Pair(probe, instrument, links))

    def lonely(self) -> list[Match]:
        """Return the probes that suit the job and join none of the instruments that do, with what would join them."""
        found = []
        for end, probes in self.probes.items():
            if not self.instruments or any((i, end) in self.joined for i in self.instruments):
                continue
            for p in probes:
                why = (apart(p.number, end, [i.number for i in own], at) for at, own in self.instruments.items())
                reasons = tuple(dict.fromkeys((*p.match.reasons, *why)))
                found.append(Match(p.number, (p.number,), False, p.match.verdict, reasons, p.match.named))
        return sorted(found, key=attrgetter("subject"))


def _near(ones: Sequence[A], others: Sequence[B], count: int) -> Iterator[tuple[A, B]]:
    """Yield, of two ranked rows, the couples that can be among the first `count`.

    Before the a-th with the b-th stand all couples of the first a with the first b: that is a × b − 1.
    """
    for place, one in enumerate(ones[:count], start=1):
        for other in others[: count // place]:
            yield one, other


def _of_setups(shelf: _Shelf, known: Sequence[KnownSetup]) -> Iterable[_Kit]:
    """Yield the kits about which a setup says something of its own: one with a baseline, or one that is held."""
    proven: dict[frozenset[str], list[KnownSetup]] = defaultdict(list)
    for setup in known:
        proven[setup.asset_nos].append(setup)
    held = {frozenset(f.setup_items) for p in shelf.by_number.values() for f in p.candidate.item.findings if f.setup}
    for three in sorted(held | proven.keys(), key=sorted):
        kit = shelf.kit(three)
        if kit is not None:
            yield _Kit(kit.block, kit.pair, tuple(proven[three]))


def _each_block_first(kits: list[_Kit]) -> Iterable[_Kit]:
    """Return ranked kits with the best one of each block first: the many kits of one block would hide the other blocks."""
    best: dict[str, _Kit] = {}
    rest = [kit for kit in kits if best.setdefault(kit.block.number, kit) is not kit]
    return [*best.values(), *rest]


def _match(job: JobFacts, kit: _Kit, today: date, soon_days: int) -> Match:
    """Return a kit with its verdict and every reason, those of the job among them."""
    parts = [p.candidate.item for p in kit.parts]
    verdict = kit_serviceability(tuple(parts), today, soon_days, job.needs)
    # What stands against an item alone, such as a hold of another setup, does not stand against this kit.
    of_the_job = (r for p in kit.parts for r in p.match.reasons if r not in p.match.verdict.reasons)
    proven = (r for k in kit.known for r in (_proven(k), *k.advice))
    numbers = tuple(i.asset_no for i in parts)
    return Match(
        " + ".join(numbers), numbers, verdict.standing is not Standing.DO_NOT_USE, verdict,
        tuple(dict.fromkeys((*verdict.reasons, *of_the_job, *proven))), sum(p.match.named for p in kit.parts),
    )  # fmt: skip


def _proven(known: KnownSetup) -> Reason:
    return Reason(
        PROVEN,
        f"setup {known.number} of these items has a baseline",
        record=f"setup {known.number}",
        weight=Weight.SUPPORTS,
    )


def match_chosen(job: JobFacts, chosen: tuple[Candidate, ...], today: date, soon_days: int) -> tuple[Match, ...]:
    """Return each chosen item against the job, and what stands against using them together; together fits if all fit."""
    found = [match_item(job, c, today, soon_days) for c in chosen]
    of_kind = {k: [c for c in chosen if c.item.kind == k] for k in ("probe", "instrument", "accessory")}
    links = [c.as_link() for c in of_kind["accessory"]]
    together = [
        apart(p.item.asset_no, p.as_probe, [i.item.asset_no], i.as_instrument)
        for p, i in product(of_kind["probe"], of_kind["instrument"])
        if path(i.as_instrument, p.as_probe, links) is None
    ]
    verdict = kit_serviceability(tuple(c.item for c in chosen), today, soon_days, job.needs)
    alone = {r for m in found for r in m.reasons}
    together += [r for r in verdict.reasons if r.weight is Weight.STOPS and r not in alone]
    if together or len(chosen) > 1:
        numbers = tuple(c.item.asset_no for c in chosen)
        fits = not together and all(m.fits for m in found)
        found.append(Match(" + ".join(numbers), numbers, fits, verdict, tuple(together)))
    return tuple(found)
