"""Numbers of a Digital Calibration Certificate with unit, U, k and p: one, a list, or the same in several units."""

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from refstd.base.quantity import plain, with_unit
from refstd.base.text import safe
from refstd.exchange.dcc_document import BY_HAND, SI, Document
from refstd.exchange.dcc_units import D_SI, UnitRead, in_unit, unit_read

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

FORMS = ("real", "realListXMLList", "hybrid")
_MOST = 12  # digits before and after the point that the records hold


@dataclass(frozen=True, slots=True)
class Numbers:
    """Numbers of one quantity in a unit of ours, with what is said about each of them, one or as many."""

    values: tuple[Decimal, ...]
    unit: str
    labels: tuple[str, ...] = ()
    u: tuple[Decimal, ...] = ()
    k: tuple[Decimal, ...] = ()
    p: tuple[Decimal, ...] = ()
    standard: bool = False


def numbers_in(doc: Document, element: "Element", *, needed: bool) -> Numbers | None:
    """Return the numbers of a quantity in a unit of ours; None, or a refusal where they are needed, for another unit."""
    if str(element.tag) == f"{SI}hybrid":
        return _hybrid(doc, element, needed=needed)
    many = str(element.tag) == f"{SI}realListXMLList"
    suffix = "XMLList" if many else ""
    unit_at = doc.one(element, f"unit{suffix}", SI)
    written = (unit_at.text or "").split() if not len(unit_at) else []
    units = [unit_read(w) for w in written]
    if not units or None in units:
        if not needed:
            return None
        unknown = next((w for w, u in zip(written, units, strict=True) if u is None), "")
        doc.refuse(
            f"the unit '{safe(unknown)[:40]}' is not one that refstd knows", unit_at, f"Units that it knows: {', '.join(D_SI)}. {BY_HAND}"
        )  # fmt: skip
    if len(set(units)) > 1:
        if not needed:
            return None
        doc.refuse("its values have different units", unit_at)
    unit = units[0]
    assert unit is not None
    values = _list(doc, doc.one(element, f"value{suffix}", SI), many=many)
    if not values:
        doc.refuse("has no value", element)
    doc.words(unit_at)
    if len(units) not in (1, len(values)):
        doc.refuse(f"has {len(units)} units for {len(values)} values", unit_at)
    labels_at = doc.maybe(element, "labelXMLList" if many else "label", SI)
    labels: tuple[str, ...] = ()
    if labels_at is not None:
        labels = tuple(doc.tokens(labels_at)) if many else (doc.words(labels_at),)
        if len(labels) != len(values):
            doc.refuse(f"has {len(labels)} labels for {len(values)} values", labels_at)
    found = Numbers(tuple(_ours(doc, v, unit, element) for v in values), unit.unit, labels)
    return _with_uncertainty(doc, element, found, unit, suffix)


def _list(doc: Document, element: "Element", *, many: bool) -> list[Decimal]:
    written = doc.tokens(element)
    if not many and len(written) != 1:
        doc.refuse(f"holds {len(written)} numbers where one belongs", element)
    return [doc.number(w, element) for w in written]


def _ours(doc: Document, value: Decimal, unit: UnitRead, at: "Element") -> Decimal:
    """Return a value in our unit, or refuse one with more digits than can be kept."""
    found = unit.ours(value)
    form = plain(found)
    whole, _, fraction = form.lstrip("-").partition(".")
    if len(whole) > _MOST or len(fraction) > _MOST:
        doc.refuse(f"{form[:40]} {unit.unit} has more digits than can be kept", at)
    return Decimal(form)  # 5.0E+1 becomes 50: the digits as they will be shown


def _with_uncertainty(doc: Document, element: "Element", found: Numbers, unit: UnitRead, suffix: str) -> Numbers:
    """Return the numbers with U, k and p, in the newer or the older spelling; a standard uncertainty u is U with k = 1."""
    around = doc.maybe(element, f"measurementUncertaintyUnivariate{suffix}", SI)
    for parent, inner, name in (
        (around, f"expandedMU{suffix}", f"valueExpandedMU{suffix}"),
        (element, f"expandedUnc{suffix}", f"uncertainty{suffix}"),
        (around, f"standardMU{suffix}", f"valueStandardMU{suffix}"),
        (around, f"coverageIntervalMU{suffix}", f"valueStandardMU{suffix}"),
        (element, f"coverageInterval{suffix}", f"standardUnc{suffix}"),
    ):
        stated = None if parent is None else doc.maybe(parent, inner, SI)
        if stated is None:
            continue
        if found.u:
            doc.refuse("states its uncertainty twice", element)
        count, many, expanded = len(found.values), bool(suffix), name.startswith(("valueExpanded", "uncertainty"))
        at = doc.one(stated, name, SI)
        u = [_ours(doc, x, unit, at) for x in _each(doc, at, count, many=many)]
        if any(x <= 0 for x in u):
            doc.refuse("an uncertainty is not above 0", at)
        k = _beside(doc, stated, f"coverageFactor{suffix}", count, many=many) if expanded else [Decimal(1)]
        p = _beside(doc, stated, f"coverageProbability{suffix}", count, many=many) if expanded else []
        distribution = doc.maybe(stated, f"distribution{suffix}", SI)
        if distribution is not None:
            doc.words(distribution)
        if any(x <= 0 for x in k) or any(not 0 < x <= 1 for x in p):
            doc.refuse("a coverage factor or probability is out of range", stated)
        percent = tuple(Decimal(plain(x.scaleb(2))) for x in p)
        found = replace(found, u=tuple(u), k=tuple(k), p=percent, standard=not expanded)
    return found


def _beside(doc: Document, parent: "Element", name: str, count: int, *, many: bool) -> list[Decimal]:
    """Return k or p: one for all, or one each; none where it is not stated, since 2 or 95 % would be a guess."""
    element = doc.maybe(parent, name, SI)
    return [] if element is None else _each(doc, element, count, many=many)


def _each(doc: Document, element: "Element", count: int, *, many: bool) -> list[Decimal]:
    found = _list(doc, element, many=many)
    if len(found) not in (1, count):
        doc.refuse(f"has {len(found)} entries for {count} values; 1 or {count} belong here", element)
    return found


def _hybrid(doc: Document, element: "Element", *, needed: bool) -> Numbers | None:
    """Return one of the spellings of a quantity that is written in several units, when those that can be compared agree."""
    forms = [child for child in element.iterchildren("{*}*") if str(child.tag)[len(SI) :] in FORMS[:2]]
    if not forms and needed:
        doc.refuse("is written in a form that refstd does not read", element)
    read = [r for form in forms if (r := numbers_in(doc, form, needed=False)) is not None]
    if not read:
        if needed and forms:
            numbers_in(doc, forms[0], needed=True)  # refuses, and names the unit
        return None
    first = read[0]
    for other in read[1:]:
        _refuse_unlike(doc, element, first, other)
    return next((r for r in read if r.u), first)


def _refuse_unlike(doc: Document, element: "Element", first: Numbers, other: Numbers) -> None:
    """Refuse two spellings of one quantity that differ by more than half of the last digit of each."""
    if len(first.values) != len(other.values):
        doc.refuse("its spellings in several units do not have the same number of values", element)
    for one, two in zip(first.values, other.values, strict=True):
        same = in_unit(two, other.unit, first.unit)
        if same is None:
            doc.refuse(f"is written in {first.unit} and in {other.unit}, which do not measure the same", element)
        assert same is not None
        step = in_unit(two + _last_digit(two), other.unit, first.unit)
        assert step is not None
        if abs(one - same) * 2 > _last_digit(one) + abs(step - same):
            told = f"{with_unit(plain(one), first.unit)} and {with_unit(plain(two), other.unit)}"
            doc.refuse(f"its spellings in several units do not agree: {told}", element)
    if first.u and other.u:
        scale = in_unit(Decimal(1), other.unit, first.unit), in_unit(Decimal(2), other.unit, first.unit)
        per_unit = (scale[1] or Decimal()) - (scale[0] or Decimal())  # K and °C differ by a shift, which no U has
        ours, theirs = spread(first.u, len(first.values)), spread(other.u, len(other.values))
        for one, two in zip(ours, theirs, strict=True):
            if abs(one - two * per_unit) * 2 > _last_digit(one) + _last_digit(two) * per_unit:
                doc.refuse("the uncertainties of its spellings in several units do not agree", element)
        if (first.k, first.p) != (other.k, other.p):
            doc.refuse("its spellings in several units differ in k or p", element)


def _last_digit(value: Decimal) -> Decimal:
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    return Decimal(1).scaleb(exponent)


def spread(all_: tuple[Decimal, ...], rows: int) -> tuple[Decimal, ...]:
    """Return one entry for each row where one stands for all."""
    return all_ * rows if len(all_) == 1 else all_
