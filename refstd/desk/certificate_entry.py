"""A certificate's values as they are typed from the paper: one row a notch, and once for all rows what holds for all."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Literal

from pydantic import Field

from refstd.base.quantity import plain, with_unit
from refstd.base.text import key
from refstd.desk.certificates import ValueDraft, ValueShown
from refstd.desk.entry import Draft, NeededWords, OptionalDecimal, OptionalPercent, OptionalPositive, Words
from refstd.desk.history import CertificateShown
from refstd.desk.items import NotchShown
from refstd.rules.certified import quantity_key

UnitName = Literal["mm", "µm", "%IACS", "MS/m", "dB", "°", "%", "kHz"]
# Common practice, no source: beyond these a slip of the pen is likelier than such a notch or such a measurement.
FAR_FROM_NOMINAL = Decimal("0.2")
LARGE_U = Decimal("0.5")  # of the value
USUAL_K = (Decimal(1), Decimal(4))
KEPT_FROM_LAST = ("laboratory", "accreditation", "method", "place")
_FOR_ALL_AGAIN = ("expanded_uncertainty", "coverage_factor", "coverage_probability_percent", "unit", "point")
_FOR_ALL = ("expanded_uncertainty", "coverage_factor", "coverage_probability_percent", "unit", "point", "limit_source")
_OWN = (*_FOR_ALL, "method", "lower_limit", "upper_limit")


class ValuesForAll(Draft):
    """What holds for every value of the paper, unless a row says otherwise."""

    expanded_uncertainty: OptionalPositive = Field(None, title="U")
    coverage_factor: OptionalPositive = Field(None, title="k")
    coverage_probability_percent: OptionalPercent = Field(None, title="p, %")
    unit: UnitName = "mm"
    point: Words = Field(
        "", title="where", description="where on the notch, such as: deepest, middle, 1 mm from the end"
    )
    limit_source: Words = Field("", title="limits from", description="which paper and clause states the limits, if any")


class ValuesRow(Draft):
    """The values of one notch and quantity, before and after an adjustment; what is empty is as for all rows."""

    notch: Words = Field("", description="empty for a value of the whole item")
    quantity: NeededWords = Field("depth", description="such as depth, length, width, conductivity")
    found: OptionalDecimal = Field(None, title="as found")
    left: OptionalDecimal = Field(None, title="as left")
    unit: Literal["", "mm", "µm", "%IACS", "MS/m", "dB", "°", "%", "kHz"] = ""
    expanded_uncertainty: OptionalPositive = Field(None, title="U")
    coverage_factor: OptionalPositive = Field(None, title="k")
    coverage_probability_percent: OptionalPercent = Field(None, title="p, %")
    lower_limit: OptionalDecimal = None
    upper_limit: OptionalDecimal = None
    limit_source: Words = Field("", title="limits from")
    point: Words = Field("", description="where on the notch, such as: deepest, middle, 1 mm from the end")
    method: Words = Field("", description="how this value was measured, where it differs from the paper's method")

    @property
    def what(self) -> str:
        """Return what the row is about, in words."""
        quantity = "" if quantity_key(self.quantity) == "depth" and self.notch else self.quantity
        return " ".join(x for x in (self.notch, quantity) if x)

    def values(self, for_all: ValuesForAll) -> tuple[ValueDraft, ...]:
        """Return the values to file, as found before as left."""
        limited = self.lower_limit is not None or self.upper_limit is not None
        own = {name: getattr(self, name) for name in _OWN}
        own |= {n: getattr(for_all, n) for n in _FOR_ALL if own[n] in (None, "") and (limited or n != "limit_source")}
        given = {"notch": self.notch, "quantity": self.quantity, **own}
        stages = (("as found", self.found), ("as left", self.left))
        return tuple(ValueDraft(stage=s, value=v, **given) for s, v in stages if v is not None)  # type: ignore[arg-type]


def rows_of(values: Sequence[ValueShown]) -> tuple[dict[str, object], list[dict[str, object]]]:
    """Return filed values as fields: those for all rows where every value agrees, and the rows.

    As found and as left share a row where they agree in all but the value.
    """
    shared = {n: getattr(values[0], n) for n in _FOR_ALL if len({getattr(v, n) for v in values}) == 1} if values else {}
    if any(v.lower_limit is None and v.upper_limit is None for v in values):
        shared.pop("limit_source", None)  # what holds for all is told of limits only
    rows: list[dict[str, object]] = []
    for v in values:
        own = {n: getattr(v, n) for n in _OWN if n not in shared}
        head = {"notch": v.notch, "quantity": v.quantity, **own}
        stage = "found" if v.stage == "as found" else "left"
        row = next((r for r in rows if stage not in r and all(r.get(n) == x for n, x in head.items())), None)
        if row is None:
            rows.append(row := head)
        row[stage] = v.value
    return shared, rows


def head_from_last(certificates: Iterable[CertificateShown]) -> tuple[dict[str, str], str]:
    """Return what the next calibration's paper most likely says again, and which certificate it is taken from."""
    last = _last_calibration(certificates)
    if last is None:
        return {}, ""
    return {n: found for n in KEPT_FROM_LAST if (found := getattr(last, n))}, f"{last.number} of {last.performed_on}"


def for_all_from_last(certificates: Iterable[CertificateShown]) -> dict[str, object]:
    """Return what stood for all values of the last calibration's paper: U, k, p, unit and point where every value agrees.

    Limits are not among them: a paper's own are typed, those of an earlier one are carried when it is filed.
    """
    last = _last_calibration(certificates)
    shared, _ = rows_of(last.values) if last else ({}, [])
    return {n: v for n, v in shared.items() if n in _FOR_ALL_AGAIN and v not in (None, "")}


def _last_calibration(certificates: Iterable[CertificateShown]) -> CertificateShown | None:
    return next((c for c in reversed([*certificates]) if c.in_force and c.activity == "calibration"), None)


def nominal_of(notch: NotchShown, quantity: str) -> Decimal | None:
    """Return the nominal size of a notch in mm, None where the quantity has none on record."""
    sizes: Mapping[str, Decimal | None] = {"depth": notch.depth_mm, "length": notch.length_mm, "width": notch.width_mm}
    return sizes.get(quantity_key(quantity))


def doubts_about(
    notches: Sequence[NotchShown], values: Sequence[ValueDraft], *, complete: bool = True
) -> tuple[str, ...]:
    """Return what is worth a second look before it is filed; none of it is refused.

    complete: whether the values are all there are, so that a notch without one is worth the look as well.
    """
    known = {key(n.label): n for n in notches}
    found: list[str] = []
    for v in values:
        what = " ".join(x for x in (v.notch, v.quantity, v.stage) if x)
        shown = with_unit(plain(v.value), v.unit)
        notch = known.get(key(v.notch)) if v.notch else None
        nominal = nominal_of(notch, v.quantity) if notch else None
        if nominal and v.unit in ("mm", "µm"):
            ratio = (v.value if v.unit == "mm" else v.value / 1000) / nominal
            if abs(ratio - 1) > FAR_FROM_NOMINAL:
                found.append(f"{what}: {shown} is {_against(ratio)} nominal {plain(nominal)} mm")
        if v.expanded_uncertainty is not None and v.expanded_uncertainty > LARGE_U * abs(v.value) > 0:
            found.append(f"{what}: U {with_unit(plain(v.expanded_uncertainty), v.unit)} is more than half of {shown}")
        if v.coverage_factor is not None and not USUAL_K[0] <= v.coverage_factor <= USUAL_K[1]:
            found.append(f"{what}: k {plain(v.coverage_factor)} is unusual, mostly it is near 2")
    if complete:
        found += _missing(notches, values)
    return tuple(found)


def _missing(notches: Sequence[NotchShown], values: Sequence[ValueDraft]) -> list[str]:
    there = {(key(v.notch), v.stage) for v in values}
    found = [n.label for n in notches if not {(key(n.label), "as found"), (key(n.label), "as left")} & there]
    if not values:
        return ["no value is typed: the certificate alone is filed"] if notches else []
    says = [f"no value for notch{'es' if len(found) > 1 else ''} {', '.join(found)}"] if found else []
    if any(stage == "as left" for _, stage in there) and any(stage == "as found" for _, stage in there):
        for stage, other in (("as found", "as left"), ("as left", "as found")):
            alone = [n.label for n in notches if (key(n.label), stage) in there and (key(n.label), other) not in there]
            says += [f"{', '.join(alone)}: {stage} without {other}"] if alone else []
    return says


def _against(ratio: Decimal) -> str:
    percent = (ratio - 1) * 100
    if ratio >= 3:
        return f"{ratio:.1f} times the"
    return f"{abs(percent):.0f} % {'above' if percent > 0 else 'below'} the"
