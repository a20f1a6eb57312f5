"""How an item was found by each certificate: in tolerance or not, how much of the tolerance was used, and the values in time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from refstd.base.quantity import Unit, plain, with_unit
from refstd.base.text import key
from refstd.metrology.drift import Trend
from refstd.rules.certified import CertifiedPoint, quantity_key

IN_TOLERANCE = ("pass", "conditional pass")


@dataclass(frozen=True, slots=True)
class FoundValue:
    """A value as found, with its limits. kept: the outcome kept with it when it was filed, '' where none was judged."""

    point: CertifiedPoint
    kept: str = ""

    @property
    def what(self) -> str:
        return f"notch {self.point.notch} {self.point.quantity}" if self.point.notch else self.point.quantity

    @property
    def place(self) -> tuple[str, str]:
        """Return what it is of, the same for two papers about one thing."""
        return key(self.point.notch), quantity_key(self.point.quantity)

    @property
    def limited(self) -> bool:
        return self.point.lower is not None or self.point.upper is not None

    @property
    def in_tolerance(self) -> bool:
        """By the outcome kept with it; else inside its limits, both included (simple acceptance)."""
        if self.kept:
            return self.kept in IN_TOLERANCE
        return self.point.inside

    @property
    def share(self) -> float | None:
        """How much of the tolerance it used, 1 on a limit; None without two limits."""
        return self.point.share

    def in_words(self) -> str:
        p, share = self.point, self.share
        used = "" if share is None else f", {share:.0%} of the tolerance used"
        rule = f"{self.kept} as judged when filed" if self.kept else "compared simply"
        return f"{self.what} {with_unit(plain(p.value), p.unit)}, {limits_in_words(p.lower, p.upper, p.unit, p.limit_source)}{used} ({rule})"


@dataclass(frozen=True, slots=True)
class AsFound:
    """What one certificate says of the time before it. in_tolerance: None where it does not say; says: its worst value, or why.

    share: the largest share of a tolerance that a value used, None where not all have two limits. lasted: days since the
    certificate before, uses: uses since then, None for the first one.
    """

    record: str
    done_on: date
    in_tolerance: bool | None
    share: float | None
    says: str
    lasted: int | None = None
    uses: int | None = None

    def in_words(self) -> str:
        how = {None: "not said", True: "in tolerance", False: "OUT of tolerance"}[self.in_tolerance]
        after = "" if self.lasted is None else f", {self.lasted} days after the one before"
        used = f", {self.uses} uses" if self.uses is not None and self.lasted is not None else ""
        return f"{self.record} of {self.done_on}{after}{used}: {how}; {self.says}"


@dataclass(frozen=True, slots=True)
class Series:
    """One value as found in time, since it was last adjusted. u: standard uncertainty of the newest, None where not given."""

    what: str
    days: tuple[float, ...]  # as date.toordinal counts
    values: tuple[float, ...]
    unit: str
    lower: float | None
    upper: float | None
    limit_source: str
    u: float | None
    adjusted_on: date | None = None

    def lacks(self, fewest: int) -> str:
        """Return what is missing for a line through it, '' for nothing."""
        if len(set(self.days)) < fewest:
            since = f" since it was adjusted on {self.adjusted_on}" if self.adjusted_on else ""
            return f"has {len(set(self.days))} of {fewest} values{since}"
        return "" if self.u else "has no U and k"

    def limits_in_words(self) -> str:
        lower, upper = (None if x is None else Decimal(repr(x)) for x in (self.lower, self.upper))
        return limits_in_words(lower, upper, self.unit, self.limit_source)

    def in_words(self, line: Trend) -> str:
        """Return the values' span, slope and scatter, and U."""
        first, last = (date.fromordinal(int(d)) for d in (self.days[0], self.days[-1]))
        a_year = with_unit(f"{line.slope * 365.25:+.2g}".replace("-", "−"), self.unit)
        return (
            f"{self.what}: {len(self.values)} values from {first} to {last}, {a_year} a year, scatter "
            f"{with_unit(f'{line.residual_sd:.2g}', self.unit)}, u {with_unit(f'{self.u or 0:.2g}', self.unit)}, {self.limits_in_words()}"
        )


def limits_in_words(lower: Decimal | None, upper: Decimal | None, unit: str, source: str) -> str:
    """Return limits with their source."""
    low, high = (None if x is None else plain(x) for x in (lower, upper))
    both = f"limits {low} to {high}" if low and high else (f"limit at least {low}" if low else f"limit at most {high}")
    return f"{both}{'' if unit == Unit.DEGREE else ' '}{unit} ({source or 'limit without a source'})"


def as_found(
    record: str,
    done_on: date,
    values: Sequence[FoundValue],
    result: str,
    why_none: str,
    lasted: int | None,
    uses: int | None,
) -> AsFound:
    """Return what a certificate says. result: its own 'sound' or 'not sound'; why_none: why it has no value as found.

    'not sound' counts as out of tolerance; 'sound' alone says nothing of the tolerance.
    """
    limited = [v for v in values if v.limited]
    if not limited:
        if result == "not sound":
            return AsFound(record, done_on, False, None, "the result is 'not sound'", lasted, uses)
        return AsFound(record, done_on, None, None, why_none or "no value as found has limits", lasted, uses)
    out = [v for v in limited if not v.in_tolerance]
    shares = [v.share for v in limited]
    worst = max(out or limited, key=lambda v: v.share or 0.0)
    known = None if None in shares else max(s for s in shares if s is not None)
    inside = not out and result != "not sound"
    says = worst.in_words() if inside or out else "the result is 'not sound'"
    return AsFound(record, done_on, inside, known, says, lasted, uses)
