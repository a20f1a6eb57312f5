"""Say which items took part in which checks: what such checks can tell apart, and which further check would."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from refstd.base.domain import Array

Kind = Literal["instrument", "probe", "notch", "block", "common"]


@dataclass(frozen=True, slots=True, order=True)
class Candidate:
    """What may have moved: an instrument, a probe, one notch of a block, a block as a whole, or everything at once.

    'common' stands for what all checks share: person, procedure, temperature, firmware, lift-off shim.
    """

    kind: Kind
    code: str = ""
    notch: str = ""

    @property
    def thing(self) -> tuple[str, str]:
        """What a person takes in hand: a notch is part of its block."""
        return ("block" if self.kind == "notch" else self.kind), self.code

    def took_part(self, reading: "Deviation") -> bool:
        """Return whether a reading was made with it."""
        if self.kind == "notch":
            return (self.code, self.notch) == (reading.block, reading.notch)
        return self.kind == "common" or self.code == getattr(reading, self.kind)


COMMON = Candidate("common")


@dataclass(frozen=True, slots=True)
class Deviation:
    """One notch read in one check, in dB from the mean of its own baseline.

    days: on any one count of days. baseline: what it is compared with, so that the error of that mean is shared by all
    readings against it; '' takes probe and block. baseline_setups: independent set-ups in it, infinity if taken as
    exact. check: its number, so that notches read in one set-up count together; '' when read alone.
    """

    days: float
    instrument: str
    probe: str
    block: str
    notch: str
    deviation_db: float
    baseline_setups: float
    baseline: str = ""
    check: str = ""

    @property
    def reference(self) -> tuple[str, str]:
        """Which baseline."""
        return (self.baseline, "") if self.baseline else (self.probe, self.block)

    @property
    def in_order(self) -> tuple[object, ...]:
        """Sorts by time, then by name, so that no answer depends on the order in which readings are given."""
        return self.days, self.check, self.instrument, self.probe, self.block, self.notch, self.deviation_db


@dataclass(frozen=True, slots=True)
class Swap:
    """One thing exchanged, and the check to make with it.

    holds: the suspects in that check. If the deviation stays, it is among them; if it goes, among the other suspects
    (with `change` 'cable': it was the cable). known: a baseline of this probe on this block exists; without one, ask
    first whether they may be used together and compare by another way.
    """

    change: Literal["cable", "probe", "block", "instrument"]
    instrument: str
    probe: str
    block: str
    holds: tuple[Candidate, ...]
    known: bool


def incidence(items: Sequence[Candidate], readings: Sequence[Deviation]) -> Array:
    """Return a table of readings × items, true where the reading was made with the item."""
    fields = ("instrument", "probe", "block", "notch")
    of = {field: np.array([getattr(r, field) for r in readings]) for field in fields}
    table = np.ones((len(readings), len(items)), dtype=bool)
    for k, item in enumerate(items):
        kind, code = item.thing
        if kind != "common":
            table[:, k] = of[kind] == code
        if item.kind == "notch":
            table[:, k] &= of["notch"] == item.notch
    return table


def candidates(readings: Iterable[Deviation]) -> tuple[Candidate, ...]:
    """Return what may have moved in these readings; a block as a whole only where more than one notch of it was read."""
    rows = list(readings)
    found = {Candidate("instrument", r.instrument) for r in rows} | {Candidate("probe", r.probe) for r in rows}
    notches = {(r.block, r.notch) for r in rows}
    blocks = [block for block, _ in notches]
    found |= {Candidate("notch", block, notch) for block, notch in notches}
    found |= {Candidate("block", block) for block in blocks if blocks.count(block) > 1}
    return tuple(sorted(found | {COMMON}))


def swap_tests(
    tied: Sequence[Candidate], readings: Sequence[Deviation], partners: Iterable[Candidate] = ()
) -> tuple[Swap, ...]:
    """Return the checks that would split tied suspects: cable first, then probe, block, instrument.

    Each starts from the latest check that holds most suspects, and exchanges one thing for one that is not suspected:
    with a known baseline before without, last used first, then those of `partners`. Exchanging one thing at a time is
    common practice, no source.
    """
    if not tied or not readings:
        return ()
    things = {suspect.thing for suspect in tied}
    newest = sorted(readings, key=lambda r: r.in_order, reverse=True)
    start = max(newest, key=lambda r: len(_held(tied, r)))
    found = []
    if any(kind in ("probe", "instrument") for kind, _ in things):
        found.append(Swap("cable", start.instrument, start.probe, start.block, _held(tied, start), True))
    for kind in ("probe", "block", "instrument"):
        spare = [p.code for p in partners if p.thing[0] == kind]
        for swap in _ordered(start, kind, [*(getattr(r, kind) for r in newest), *spare], tied, newest):
            if (kind, getattr(swap, kind)) not in things and 0 < len({c.thing for c in swap.holds}) < len(things):
                found.append(swap)
                break
    return tuple(found)


def _ordered(
    start: Deviation, kind: Literal["probe", "block", "instrument"], codes: list[str], tied: Sequence[Candidate],
    readings: Sequence[Deviation],
) -> list[Swap]:  # fmt: skip
    """Return the start with one thing exchanged for each code in turn, those with a known baseline first."""
    baselines = {(r.probe, r.block) for r in readings}
    swaps = []
    for code in dict.fromkeys(c for c in codes if c != getattr(start, kind)):
        exchanged: dict[str, Any] = {kind: code}
        new = replace(start, **exchanged)
        known = (new.probe, new.block) in baselines
        swaps.append(Swap(kind, new.instrument, new.probe, new.block, _held(tied, new), known))
    return sorted(swaps, key=lambda swap: not swap.known)


def _held(tied: Iterable[Candidate], reading: Deviation) -> tuple[Candidate, ...]:
    return tuple(c for c in tied if c.thing[0] == "common" or c.thing[1] == getattr(reading, c.thing[0]))


def confirmation_checks(item: Candidate, readings: Sequence[Deviation]) -> tuple[Deviation, ...]:
    """Return up to two earlier readings to repeat with the named item, with partners independent of one another.

    Two blocks for a probe, two probes for anything else, with different instruments where that has been done before.
    Fewer than two: nothing on record confirms it independently.
    """
    made = sorted((r for r in readings if item.took_part(r)), key=lambda r: r.in_order, reverse=True)
    partner = "block" if item.kind == "probe" else "probe"
    if not made:
        return ()
    first = made[0]
    others = [r for r in made if getattr(r, partner) != getattr(first, partner)]
    others.sort(key=lambda r: r.instrument == first.instrument)
    return (first, *others[:1])


@dataclass(frozen=True, slots=True)
class Separable:
    """What a set of checks can tell apart, whatever the statistics.

    groups: probes and notches connected by checks; between two groups nothing can be compared. alike: items that took
    part in exactly the same checks. always: items that took part in all, so that they are one with COMMON. rank: how
    many independent differences the checks carry, of as many as there are items.
    """

    groups: tuple[tuple[Candidate, ...], ...]
    alike: tuple[tuple[Candidate, ...], ...]
    always: tuple[Candidate, ...]
    rank: int


def separable(readings: Sequence[Deviation]) -> Separable:
    """Return what these checks can tell apart: connected groups, identical incidence, rank of the incidence."""
    if not readings:
        return Separable((), (), (), 0)
    items = [c for c in candidates(readings) if c != COMMON]
    took_part = incidence(items, readings)
    columns: dict[bytes, list[Candidate]] = {}
    for item, column in zip(items, took_part.T, strict=True):
        columns.setdefault(column.tobytes(), []).append(item)
    crossed = [k for k, item in enumerate(items) if item.kind in ("probe", "notch")]
    groups: list[set[int]] = []
    for row in took_part[:, crossed]:
        joined = set(np.flatnonzero(row).tolist())
        apart = [g for g in groups if not g & joined]
        groups = [*apart, joined.union(*(g for g in groups if g & joined))]
    named = sorted(tuple(sorted(items[crossed[i]] for i in g)) for g in groups)
    return Separable(
        groups=tuple(named),
        alike=tuple(sorted(tuple(sorted(same)) for same in columns.values() if len(same) > 1)),
        always=tuple(item for item, column in zip(items, took_part.T, strict=True) if column.all()),
        rank=int(np.linalg.matrix_rank(took_part.astype(np.float64))),
    )
