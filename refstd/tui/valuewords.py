"""A certified value as a row: nominal beside measured, and how it was judged when it was filed, with its sign."""

from decimal import Decimal

from refstd.base.quantity import plain, with_unit
from refstd.tui.record_sections import limits_words
from refstd.tui.widgets.rows import Row
from refstd.tui.widgets.verdict import sign_of

P_IS = "P: probability of conformity"  # what stands beside a rule in short
_TONES = {"fail": "bad", "conditional fail": "bad", "conditional pass": "warn", "not judged": "warn"}


def value_row(
    what: tuple[str, str, str], nominal_mm: Decimal | None, value: Decimal, unit: str, outcome: str, says: str, about: str
) -> Row:  # fmt: skip
    """Return a value under the columns what, nominal, measured, outcome, says. what: notch, quantity, stage.

    nominal_mm: the notch's nominal depth, None for another quantity. outcome: '' for a value without limits.
    """
    notch, quantity, stage = what
    name = notch if nominal_mm is not None else " ".join(x for x in (notch, quantity) if x)
    name += " found" if stage == "as found" else ""
    nominal = "" if nominal_mm is None else plain(nominal_mm)
    judged = outcome or "no limits"
    cells = (name, nominal, with_unit(plain(value), unit), f"{sign_of(judged)} {judged}", says)
    return Row(cells, ("value", "|".join(what)), about, _TONES.get(outcome, ""))


def says_of(
    in_short: str, limits: tuple[Decimal | None, Decimal | None], unit: str, u: Decimal | None, k: Decimal | None
) -> str:  # fmt: skip
    """Return what stands beside a value as judged: rule and P, then limits, then U and k as printed."""
    window = limits_words(*limits, unit, "") if limits != (None, None) else ""
    spread = (
        "no U" if u is None else f"U = {with_unit(plain(u), unit)}" + (f", k = {plain(k)}" if k is not None else "")
    )
    return "; ".join(x for x in (in_short, window, spread) if x)
