"""Ask whether two measurements of one thing agree within what both laboratories claim."""

import numpy as np

from refstd.base.domain import Numbers, finite, not_negative, same_shape

_REMEDY = "Read the expanded uncertainty from the certificate."


def e_n(first: Numbers, first_expanded: Numbers, second: Numbers, second_expanded: Numbers) -> Numbers:
    """Return E_n = (first − second)/√(U_first² + U_second²), no unit; |E_n| ≤ 1 is agreement.

    Both expanded uncertainties at the same coverage probability (k = 2). It takes the two as independent: from one
    laboratory by one method they are correlated, and E_n comes out too small. ISO/IEC 17043 and ISO 13528.
    """
    return _normalised(first, first_expanded, second, second_expanded, "expanded uncertainty")


def zeta(first: Numbers, first_standard: Numbers, second: Numbers, second_standard: Numbers) -> Numbers:
    """Return ζ = (first − second)/√(u_first² + u_second²), no unit: from 2 a warning, from 3 an action (ISO 13528)."""
    return _normalised(first, first_standard, second, second_standard, "standard uncertainty")


def _normalised(first: Numbers, u_first: Numbers, second: Numbers, u_second: Numbers, kind: str) -> Numbers:
    spread = np.hypot(not_negative(kind, u_first, _REMEDY), not_negative(kind, u_second, _REMEDY))
    if not (spread > 0).all():
        raise ValueError(f"Both values come without {kind}, so they cannot be compared. {_REMEDY}")
    result: Numbers = same_shape((finite("first value", first) - finite("second value", second)) / spread)
    return result
