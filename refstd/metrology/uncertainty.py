"""Put uncertainties together: combined, effective degrees of freedom, coverage factor (JCGM 100:2008)."""

from collections.abc import Sequence

import numpy as np

from refstd.base.domain import Array, Numbers, finite, not_negative, same_shape

Parts = Sequence[float] | Array


def combined(components: Parts) -> float:
    """Return the combined standard uncertainty of uncorrelated components, their unit (JCGM 100:2008 5.1.2)."""
    return float(np.linalg.norm(not_negative("components", components)))


def effective_degrees_of_freedom(components: Parts, degrees_of_freedom: Parts) -> float:
    """Return the effective degrees of freedom of the sum of uncorrelated components, not rounded.

    components: standard uncertainties in one unit; degrees_of_freedom: one for each, infinity where the component is
    taken as known. Infinity if all that contribute are. Welch–Satterthwaite, JCGM 100:2008 G.4.1. Round down for a
    printed table only when a report asks for it: 18.9987 is 19 there, not 18.
    """
    u, nu = not_negative("components", components), np.asarray(degrees_of_freedom, dtype=np.float64)
    if u.shape != nu.shape or u.ndim != 1 or not u.any():
        raise ValueError("Give one number of degrees of freedom for each component, and one component above 0.")
    if not (nu > 0).all():
        raise ValueError("Degrees of freedom must be above 0. Use infinity for a component taken as known.")
    share = u / np.linalg.norm(u)  # before the fourth power, which would underflow for small units
    weight = float((share**4 / nu).sum())
    return 1 / weight if weight > 0 else float("inf")


def coverage_factor(probability: Numbers, degrees_of_freedom: Numbers) -> Numbers:
    """Return k so that ±k standard uncertainties hold the probability (two-sided): Student's t quantile.

    probability: between 0 and 1; degrees_of_freedom: above 0, fractions allowed, infinity for the normal distribution.
    JCGM 100:2008 G.3 and table G.2.
    """
    from scipy.special import ndtri, stdtrit

    p, nu = finite("probability", probability), np.asarray(degrees_of_freedom, dtype=np.float64)
    if not ((p > 0) & (p < 1)).all():
        raise ValueError("probability must lie between 0 and 1. Give 0.95 for 95 %.")
    if not (nu > 0).all():
        raise ValueError("Degrees of freedom must be above 0. Take more readings, or use infinity for a known value.")
    upper = (1 + p) / 2
    student = stdtrit(np.where(np.isinf(nu), 1.0, nu), upper)
    result: Numbers = same_shape(np.where(np.isinf(nu), ndtri(upper), student))
    return result
