"""Numbers as people write them: decimals keep their digits, units are a closed set."""

import re
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

from refstd.base.errors import Problem
from refstd.base.text import safe

_DECIMAL = re.compile(r"[+-]?[0-9]{1,12}(?:\.[0-9]{1,12})?")


class Unit(StrEnum):
    """The units that refstd keeps and compares. It never converts between a ratio and decibels silently."""

    MM = "mm"
    UM = "µm"
    KHZ = "kHz"
    DB = "dB"
    DEGREE = "°"
    PERCENT = "%"
    PERCENT_FSH = "% FSH"
    DIVISION = "div"
    RATIO = "ratio"
    MS_PER_M = "MS/m"
    PERCENT_IACS = "%IACS"
    CELSIUS = "°C"


def decimal_as_written(text: str, where: str, *, low: str | None = None, high: str | None = None) -> Decimal | Problem:
    """Return the number with the digits as written (0.500 stays 0.500), or the problem.

    ASCII digits and one point; no exponent, no NaN, no infinity, no grouping. `low` and `high` are inclusive bounds.
    """
    form = text.strip()
    if not form:
        return Problem(where, "is empty", "Give a number, such as 0.500.")
    if not _DECIMAL.fullmatch(form):
        hint = "Write a point, not a comma." if "," in form else "Write a plain number, such as 0.500."
        return Problem(where, f"'{safe(form[:40])}' is not a plain number", hint)
    value = Decimal(form.lstrip("+"))
    if low is not None and value < Decimal(low):
        return Problem(where, f"{form} is below {low}", f"Give a number from {low} up.")
    if high is not None and value > Decimal(high):
        return Problem(where, f"{form} is above {high}", f"Give a number up to {high}.")
    return value


def plain(value: Decimal) -> str:
    """Return a decimal as written, without an exponent."""
    return format(value, "f")


# Decimals shown for quantities that refstd derives; values that somebody wrote are shown as written.
DERIVED_DECIMALS = {
    Unit.DB: 2,
    Unit.DEGREE: 1,
    Unit.PERCENT: 1,
    Unit.PERCENT_FSH: 1,
    Unit.DIVISION: 2,
    Unit.RATIO: 2,
    Unit.MM: 3,
    Unit.UM: 1,
    Unit.KHZ: 2,
    Unit.MS_PER_M: 2,
    Unit.PERCENT_IACS: 1,
    Unit.CELSIUS: 1,
}


def derived(value: float | Decimal, unit: Unit, *, sign: bool = False) -> str:
    """Return a computed quantity with its unit and the decimals of the table above, rounded half to even."""
    places = Decimal(1).scaleb(-DERIVED_DECIMALS[unit])
    exact = Decimal(repr(float(value)) if isinstance(value, float) else value)
    if not exact.is_finite():
        raise ValueError(f"a quantity in {unit} is not a finite number; it cannot be shown")
    number = exact.quantize(places, rounding=ROUND_HALF_EVEN)
    if number.is_zero():
        number = abs(number)  # no minus zero on paper
    shown = format(number, "+f" if sign else "f").replace("-", "−")
    return with_unit(shown, unit)


def with_unit(shown: str, unit: str) -> str:
    """Return a shown number with its unit: no blank before °, nothing behind a ratio."""
    if unit == Unit.RATIO:
        return shown
    return f"{shown}°" if unit == Unit.DEGREE else f"{shown} {unit}"
