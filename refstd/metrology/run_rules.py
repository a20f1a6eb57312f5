"""See in a control chart the runs and patterns that chance hardly ever makes, each by its published rule.

"Beyond" a limit is strictly beyond it; a point on the centre line is on neither side. Each rule added gives more false
alarms: with the one rule of 3σ a steady process waits 370 points for one on average, with the four Western Electric rules
92 (Champ and Woodall, 1987, MEMORY).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from refstd.base.domain import Array, finite, positive

Pattern = Literal["beyond", "one side", "steady course", "alternating", "within", "outside"]

_WESTERN_ELECTRIC = "Western Electric, Statistical Quality Control Handbook (1956); e-Handbook 6.3.2"  # MEMORY
_NELSON = "Nelson, Journal of Quality Technology 16 (1984), tests for special causes"  # MEMORY
_ON_THE_LIMIT = 1e-9  # σ: 0.4 lies on 0.1 + 3 × 0.1, though binary fractions say beyond


@dataclass(frozen=True, slots=True)
class Rule:
    """One published rule: `needed` of the last `of` points (or steps between points) show the pattern.

    number: in the set as published. sigmas: the limit of 'beyond', 'within' and 'outside', in σ from the centre.
    """

    number: int
    says: str
    source: str
    pattern: Pattern
    needed: int
    of: int
    sigmas: float = 0.0


WESTERN_ELECTRIC = (
    Rule(1, "1 point beyond 3σ", _WESTERN_ELECTRIC, "beyond", 1, 1, 3),
    Rule(2, "2 of the last 3 points beyond 2σ on the same side", _WESTERN_ELECTRIC, "beyond", 2, 3, 2),
    Rule(3, "4 of the last 5 points beyond 1σ on the same side", _WESTERN_ELECTRIC, "beyond", 4, 5, 1),
    Rule(4, "8 points in a row on one side of the centre", _WESTERN_ELECTRIC, "one side", 8, 8),
)
NELSON = (
    Rule(1, "1 point beyond 3σ", _NELSON, "beyond", 1, 1, 3),
    Rule(2, "9 points in a row on one side of the centre", _NELSON, "one side", 9, 9),
    Rule(3, "6 points in a row rising or falling", _NELSON, "steady course", 5, 5),
    Rule(4, "14 points in a row alternating up and down", _NELSON, "alternating", 12, 12),
    Rule(5, "2 of 3 points beyond 2σ on the same side", _NELSON, "beyond", 2, 3, 2),
    Rule(6, "4 of 5 points beyond 1σ on the same side", _NELSON, "beyond", 4, 5, 1),
    Rule(7, "15 points in a row within 1σ", _NELSON, "within", 15, 15, 1),
    Rule(8, "8 points in a row outside 1σ, on either side", _NELSON, "outside", 8, 8, 1),
)


@dataclass(frozen=True, slots=True)
class Signal:
    """A rule fulfilled at the point with this index, counted from 0; the point itself shows the pattern."""

    index: int
    rule: Rule


def signals(values: Sequence[float] | Array, centre: float, sigma: float, rules: Sequence[Rule]) -> tuple[Signal, ...]:
    """Return every signal of the rules, in the order of the points.

    values: in time order; centre and sigma (of single values, above 0) in their unit, from a stable period that these
    values are not part of, or the limits follow what they should find.
    """
    x = finite("values", values)
    if x.ndim != 1:
        raise ValueError("values must be one row of numbers in time order. Give one series at a time.")
    z = (x - float(finite("centre", centre))) / float(positive("sigma", sigma))
    found = [Signal(int(i), rule) for rule in rules for i in np.flatnonzero(_fulfilled(rule, z))]
    return tuple(sorted(found, key=lambda signal: (signal.index, signal.rule.number)))


def _fulfilled(rule: Rule, z: Array) -> Array:
    fulfilled = np.zeros(len(z), dtype=bool)
    if len(z):
        for shows in _shows(rule, z):
            so_far = np.convolve(shows, np.ones(rule.of))[: len(z)]
            fulfilled |= shows & (so_far > rule.needed - 0.5)
    return fulfilled


def _shows(rule: Rule, z: Array) -> tuple[Array, ...]:
    """Return where each point shows the pattern, one row for each direction the pattern may have."""
    limit = rule.sigmas + _ON_THE_LIMIT
    step = np.diff(z, prepend=z[0])  # the first point has no step before it
    if rule.pattern in ("beyond", "one side"):
        return z > limit, z < -limit
    if rule.pattern == "steady course":
        return step > _ON_THE_LIMIT, step < -_ON_THE_LIMIT
    if rule.pattern == "alternating":
        up = np.where(np.abs(step) > _ON_THE_LIMIT, np.sign(step), 0)
        return (up * np.concatenate(([0], up[:-1])) < 0,)
    return (np.abs(z) <= limit,) if rule.pattern == "within" else (np.abs(z) > limit,)
