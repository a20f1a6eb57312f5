"""Decide whether a certified value conforms to its tolerance, by a rule that somebody named; there is no default rule."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from refstd.base.domain import Array, Numbers, finite, positive, same_shape

Rule = Literal["simple", "guard band", "iso 14253-1"]
Outcome = Literal["pass", "conditional pass", "conditional fail", "fail"]
RULES: tuple[Rule, ...] = ("simple", "guard band", "iso 14253-1")

# One-sided normal 95 %: ISO 14253-1:2017 default since that edition (MEMORY); earlier editions use the whole U.
ISO_14253_1_FACTOR = 1.65
_ROUNDING = 1e-9  # of the limit's own size: 9.90 + 0.02 must not miss 9.92


def probability(
    value: Numbers,
    standard_uncertainty: Numbers,
    lower: float | Array | None = None,
    upper: float | Array | None = None,
) -> Numbers:
    """Return the probability, 0 to 1, that the true value lies within the limits (normal distribution about `value`).

    All in one unit; at least one limit. JCGM 106:2012 clause 7: Φ((upper − y)/u) − Φ((lower − y)/u).
    """
    from scipy.special import ndtr

    y, u = finite("value", value), positive("standard uncertainty", standard_uncertainty)
    low, high = _limits(lower, upper)
    below, above = (low - y) / u, (high - y) / u
    flip = below > 0  # there the difference of two numbers near 1 would lose its digits
    inside = ndtr(np.where(flip, -below, above)) - ndtr(np.where(flip, -above, below))
    result: Numbers = same_shape(inside)
    return result


def _limits(lower: float | Array | None, upper: float | Array | None) -> tuple[Array, Array]:
    if lower is None and upper is None:
        raise ValueError("No limit is given. Give the lower limit, the upper limit or both.")
    low = np.asarray(-np.inf) if lower is None else finite("lower limit", lower)
    high = np.asarray(np.inf) if upper is None else finite("upper limit", upper)
    if not (low < high).all():
        raise ValueError("The lower limit must be below the upper one. Exchange them.")
    return low, high


def guard_band(expanded_uncertainty: Numbers, ratio: float) -> Numbers:
    """Return w = ratio × U, unit of U: how far inside the tolerance a value must lie to pass.

    ILAC-G8:09/2019 4.2.3: ratio 1 keeps the risk of a false pass below 2.5 %, 0.83 below 5 %, 0 below 50 % (k = 2);
    a negative ratio lets values outside the tolerance pass.
    """
    r = finite("ratio", ratio, "Give the guard band as a share of U, such as 1.")
    result: Numbers = same_shape(r * positive("expanded uncertainty", expanded_uncertainty))
    return result


@dataclass(frozen=True, slots=True)
class Decision:
    """One value judged by a named rule.

    conforming: probability of conformity, 0 to 1. accept_from, accept_to: the acceptance limits, in the value's unit,
    −∞ or ∞ where there is none; if accept_from is above accept_to, U is too large for any value to pass.
    """

    outcome: Outcome
    rule: Rule
    conforming: float
    guard_band: float
    accept_from: float
    accept_to: float


def decide(
    value: float,
    expanded_uncertainty: float,
    coverage_factor: float,
    rule: Rule,
    *,
    lower: float | None = None,
    upper: float | None = None,
    ratio: float | None = None,
) -> Decision:
    """Return the decision on one value. `ratio` belongs to the rule 'guard band' and is required there, nowhere else.

    simple: pass within the limits, else fail. guard band: pass within the limits drawn in by w = ratio·U, conditional
    pass up to the limit, conditional fail up to w beyond it, fail from there (ILAC-G8:09/2019 4.2.3, non-binary); with a
    negative ratio pass up to |w| beyond the limits, else fail. iso 14253-1: the same four with w = 1.65·u; pass there
    means conformity proven, fail means non-conformity proven. A value on a limit is inside it.
    """
    if rule not in RULES:
        raise ValueError(f"decision rule '{rule}' is unknown. Name one of {', '.join(RULES)}.")
    if (ratio is None) is (rule == "guard band"):
        raise ValueError("The rule 'guard band' needs its ratio r (w = r·U); no other rule takes one.")
    u = float(positive("expanded uncertainty", expanded_uncertainty)) / float(
        positive("coverage factor", coverage_factor)
    )
    conforming = probability(value, u, lower, upper)
    low, high = (float(limit) for limit in _limits(lower, upper))
    w = 0.0
    if rule == "iso 14253-1":
        w = ISO_14253_1_FACTOR * u
    elif ratio is not None:
        w = guard_band(expanded_uncertainty, ratio)

    def outside(margin: float) -> bool:
        """Whether the value lies outside the limits moved outwards by the margin."""
        slack = _ROUNDING * max(abs(value), abs(margin))
        return value < low - margin - slack or value > high + margin + slack

    outcome: Outcome = "pass"
    if w <= 0:
        outcome = "fail" if outside(-w) else "pass"
    elif outside(w):
        outcome = "fail"
    elif outside(0):
        outcome = "conditional fail"
    elif outside(-w):
        outcome = "conditional pass"
    return Decision(outcome, rule, conforming, w, low + w, high - w)
