"""The units of a Digital Calibration Certificate in ours: a closed table. What is not in it is refused, never guessed.

D-SI writes a unit in words, each with a backslash in front, the prefix before its unit: \\milli\\metre.
"""

from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import Unit, plain, with_unit

KELVIN, VOLT, OHM, ONE = "K", "V", "Ω", "1"
ZERO_CELSIUS_K = Decimal("273.15")  # SI brochure, 9th edition, 2.3.4, table 4: t/°C = T/K − 273.15


@dataclass(frozen=True, slots=True)
class UnitRead:
    """A unit of ours, and the power of ten that takes a value in theirs to it: only the point moves, no digit changes."""

    unit: str
    power: int = 0

    def ours(self, value: Decimal) -> Decimal:
        return value.scaleb(self.power) if self.power else value


_PER_METRE = (r"\per\metre", r"\metre\tothe{-1}")
D_SI: dict[str, UnitRead] = {
    r"\metre": UnitRead(Unit.MM, 3),
    r"\milli\metre": UnitRead(Unit.MM),
    r"\micro\metre": UnitRead(Unit.UM),
    r"\nano\metre": UnitRead(Unit.UM, -3),
    r"\hertz": UnitRead(Unit.KHZ, -3),
    r"\kilo\hertz": UnitRead(Unit.KHZ),
    r"\mega\hertz": UnitRead(Unit.KHZ, 3),
    r"\percent": UnitRead(Unit.PERCENT),
    r"\decibel": UnitRead(Unit.DB),
    r"\degree": UnitRead(Unit.DEGREE),
    r"\degreecelsius": UnitRead(Unit.CELSIUS),
    r"\kelvin": UnitRead(KELVIN),
    r"\volt": UnitRead(VOLT),
    r"\ohm": UnitRead(OHM),
    r"\one": UnitRead(ONE),
    **{rf"\siemens{per}": UnitRead(Unit.MS_PER_M, -6) for per in _PER_METRE},
    **{rf"\mega\siemens{per}": UnitRead(Unit.MS_PER_M) for per in _PER_METRE},
}  # fmt: skip
# Units that measure the same: the power of ten of one of ours in the first, and what is added.
_SAME: dict[str, tuple[str, int, Decimal]] = {
    Unit.MM: (Unit.MM, 0, Decimal(0)),
    Unit.UM: (Unit.MM, -3, Decimal(0)),
    ONE: (ONE, 0, Decimal(0)),
    Unit.PERCENT: (ONE, -2, Decimal(0)),
    KELVIN: (KELVIN, 0, Decimal(0)),
    Unit.CELSIUS: (KELVIN, 0, ZERO_CELSIUS_K),
}


def unit_read(written: str) -> UnitRead | None:
    r"""Return the unit of ours, or None. Both \degreecelsius and \degreeCelsius occur in files."""
    form = written.strip()
    return D_SI.get(r"\degreecelsius" if form == r"\degreeCelsius" else form)


def in_unit(value: Decimal, unit: str, wanted: str) -> Decimal | None:
    """Return a value in another unit that measures the same, exactly; None where the units do not."""
    if unit == wanted:
        return value
    if unit not in _SAME or wanted not in _SAME or _SAME[unit][0] != _SAME[wanted][0]:
        return None
    _, power, added = _SAME[unit]
    _, their_power, their_added = _SAME[wanted]
    moved = value.scaleb(power - their_power) if power != their_power else value
    shift = added - their_added
    return moved + shift if shift else moved


def shown(value: Decimal, unit: str) -> str:
    """Return a value with its unit; kelvin also as °C, a bare ratio also in %."""
    if unit == KELVIN:
        return f"{plain(value)} K ({plain(value - ZERO_CELSIUS_K)} °C)"
    if unit == ONE:
        return f"{plain(value)} ({plain(value.scaleb(2))} %)"
    return with_unit(plain(value), unit)
