"""The results of a Digital Calibration Certificate: its tables, column by column, into values with all that belongs to each.

A column's meaning comes from its refType alone, never from its place. Limits, calibration points and the laboratory's own
statements stand in a column's metadata, and are read as such, never as results.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from refstd.base.quantity import plain, with_unit
from refstd.base.text import safe
from refstd.exchange.dcc_document import BY_HAND, SI, Document
from refstd.exchange.dcc_units import D_SI, UnitRead, in_unit, unit_read

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

MEASURED, REFERENCE, ERROR, NOMINAL = "measured", "reference", "error", "nominal"
ROLES = {
    "basic_measuredValue": MEASURED,
    "basic_referenceValue": REFERENCE,
    "basic_measurementError": ERROR,
    "basic_nominalValue": NOMINAL,
}
LIMITS = {
    f"basic_{kind}Limit{side}": (kind, side) for kind in ("tolerance", "acceptance") for side in ("Lower", "Upper")
}
STATED = ("pass", "fail", "conditionalPass", "conditionalFail", "noPass", "noFail")
STAGES = {
    "beforeAdjustment": "as found",
    "beforeRepair": "as found",
    "afterAdjustment": "as left",
    "afterRepair": "as left",
}
_MOST = 12  # digits before and after the point that the records hold
_FORMS = ("real", "realListXMLList", "hybrid")


@dataclass(frozen=True, slots=True)
class ValueRead:
    """One value of a certificate, digits as written; `place` is the laboratory's name for where, '' if it has none.

    `lower` and `upper` are limits of the kind that `limits` names (tolerance or acceptance, '' for none), in the value's
    unit; `stated` is the laboratory's own statement of conformity; `rule` and `rule_says` the decision rule it names.
    `role` is '' where nothing in the file says what the column means.
    """

    place: str
    row: int
    column: str
    role: str
    value: Decimal
    unit: str
    nominal: Decimal | None = None
    nominal_unit: str = ""
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    coverage_probability_percent: Decimal | None = None
    standard_uncertainty: bool = False  # U is the standard uncertainty u as stated: k = 1
    lower: Decimal | None = None
    upper: Decimal | None = None
    limits: str = ""
    stated: str = ""
    rule: str = ""
    rule_says: str = ""
    stage: str = ""
    method: str = ""
    path: str = ""
    about: str = ""  # what the result's name and its table's name say, for the quantity


@dataclass(frozen=True, slots=True)
class _Numbers:
    """Numbers of one quantity in a unit of ours, with what is said about each of them, one or as many."""

    values: tuple[Decimal, ...]
    unit: str
    labels: tuple[str, ...] = ()
    u: tuple[Decimal, ...] = ()
    k: tuple[Decimal, ...] = ()
    p: tuple[Decimal, ...] = ()
    standard: bool = False


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of a table before it is cut into rows."""

    element: "Element"
    name: str
    role: str
    numbers: _Numbers


def values_in(doc: Document, result: "Element", stages: Sequence["Element"]) -> list[ValueRead]:
    """Return the values of one `result`. `stages` are the elements around it that may state as found or as left."""
    name = doc.named(result)
    around = [result, *stages]
    return [v for data in doc.every(result, "data") for v in _tables(doc, data, name, around)]


def _tables(doc: Document, parent: "Element", about: str, around: Sequence["Element"]) -> list[ValueRead]:
    """Return the values of a `data` or `list`: its own quantities are one table, each list within it another one."""
    quantities, found = doc.every(parent, "quantity"), []
    lists = [
        q for q in quantities if any(doc.every(q, form, SI) for form in _FORMS[1:]) or doc.every(q, "charsXMLList")
    ]
    if str(parent.tag).endswith("}list") or lists:
        found += _table(doc, parent, quantities, about, around)
    else:
        for quantity in quantities:
            found += _table(doc, parent, [quantity], about, around)
    for inner in doc.every(parent, "list"):
        told = " ".join(p for p in (about, doc.named(inner)) if p)
        found += _tables(doc, inner, told, [inner, *around])
    return found


def _table(
    doc: Document, parent: "Element", quantities: Sequence["Element"], about: str, around: Sequence["Element"]
) -> list[ValueRead]:
    columns: list[_Column] = []
    chars: list[list[str]] = []
    for quantity in quantities:
        text = doc.maybe(quantity, "charsXMLList")
        if text is not None:
            chars.append(doc.tokens(text))
            doc.named(quantity)
            continue
        roles = sorted({ROLES[t] for t in doc.types(quantity) if t in ROLES})
        if len(roles) > 1:
            doc.refuse(f"is called both {' and '.join(roles)}", quantity)
        column = _column(doc, quantity, roles[0] if roles else "")
        if column is not None:
            columns.append(column)
    if not columns:
        return []
    rows = max(len(c.numbers.values) for c in columns)
    for column in columns:
        if len(column.numbers.values) != rows:
            count = len(column.numbers.values)
            doc.refuse(f"has {count} values, and another column of its table {rows}", column.element)
    places = _places(doc, parent, chars, columns, rows)
    nominal = next((c for c in columns if c.role == NOMINAL), None)
    found = []
    for column in columns:
        if column.role != NOMINAL:
            found += _values(doc, column, nominal.numbers if nominal else None, places, rows, about, around)
    points = {v.row: (v.nominal, v.nominal_unit) for v in reversed(found) if v.nominal is not None}
    return [
        replace(v, nominal=points[v.row][0], nominal_unit=points[v.row][1])
        if v.nominal is None and v.row in points
        else v
        for v in found
    ]


def _places(
    doc: Document, parent: "Element", chars: list[list[str]], columns: Sequence[_Column], rows: int
) -> list[str]:
    """Return the laboratory's name for each row: a column of names, or the labels of the values themselves."""
    for names in chars:
        if len(names) != rows:
            doc.refuse(f"a column of names has {len(names)} of them, and the table {rows} rows", parent)
    if chars:
        return [" / ".join(names[n] for names in chars) for n in range(rows)]
    labelled = [c.numbers.labels for c in columns if c.numbers.labels]
    if any(labels != labelled[0] for labels in labelled):
        doc.refuse("its columns do not name the rows alike", parent)
    if labelled:
        return list(labelled[0])
    if rows > 1:
        return [""] * rows
    if str(parent.tag).endswith("}list"):
        return [doc.named(parent)]
    own = [c.name for c in columns if c.role != NOMINAL]
    return [own[0] if len(own) == 1 else ""]


def _column(doc: Document, quantity: "Element", role: str) -> _Column | None:
    """Return a column of numbers; None for what has none, or has them in a form or unit that is not needed here."""
    forms = [f for f in _FORMS if doc.every(quantity, f, SI)]
    if len(forms) > 1:
        doc.refuse("holds its value in two forms, and nothing says which counts", quantity)
    if not forms:
        if role:
            doc.refuse(f"is the {role} value, written in a form that refstd does not read", quantity)
        return None
    numbers = _numbers(doc, doc.one(quantity, forms[0], SI), needed=bool(role))
    if numbers is None:
        return None
    return _Column(quantity, doc.named(quantity), role, numbers)


def _numbers(doc: Document, element: "Element", *, needed: bool) -> _Numbers | None:
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
    found = _Numbers(tuple(_ours(doc, v, unit, element) for v in values), unit.unit, labels)
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


def _with_uncertainty(doc: Document, element: "Element", found: _Numbers, unit: UnitRead, suffix: str) -> _Numbers:
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


def _hybrid(doc: Document, element: "Element", *, needed: bool) -> _Numbers | None:
    """Return one of the spellings of a quantity that is written in several units, when those that can be compared agree."""
    forms = [child for child in element.iterchildren("{*}*") if str(child.tag)[len(SI) :] in _FORMS[:2]]
    if not forms and needed:
        doc.refuse("is written in a form that refstd does not read", element)
    read = [r for form in forms if (r := _numbers(doc, form, needed=False)) is not None]
    if not read:
        if needed and forms:
            _numbers(doc, forms[0], needed=True)  # refuses, and names the unit
        return None
    first = read[0]
    for other in read[1:]:
        _refuse_unlike(doc, element, first, other)
    return next((r for r in read if r.u), first)


def _refuse_unlike(doc: Document, element: "Element", first: _Numbers, other: _Numbers) -> None:
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
        ours, theirs = _spread(first.u, len(first.values)), _spread(other.u, len(other.values))
        for one, two in zip(ours, theirs, strict=True):
            if abs(one - two * per_unit) * 2 > _last_digit(one) + _last_digit(two) * per_unit:
                doc.refuse("the uncertainties of its spellings in several units do not agree", element)
        if (first.k, first.p) != (other.k, other.p):
            doc.refuse("its spellings in several units differ in k or p", element)


def _last_digit(value: Decimal) -> Decimal:
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    return Decimal(1).scaleb(exponent)


def _values(
    doc: Document, column: _Column, nominal: _Numbers | None, places: list[str], rows: int, about: str, around: Sequence["Element"]
) -> list[ValueRead]:  # fmt: skip
    """Cut a column into its values."""
    numbers, quantity = column.numbers, column.element
    used = bool(column.role)
    meta = _metadata(doc, quantity, numbers, rows) if used else _Meta()
    nominal = nominal or meta.nominal
    stage = _stage(doc, [quantity, *around]) if used else ""
    methods = [m for m in doc.meant(quantity) if str(m.tag).endswith("}usedMethod")] if used else []
    methods += [m for held in doc.every(quantity, "usedMethods") for m in doc.every(held, "usedMethod")] if used else []
    method = "; ".join(t for t in (doc.named(m) for m in methods) if t)
    doc.take(quantity)

    def of(all_: Sequence[Decimal], n: int) -> Decimal | None:
        return None if not all_ else all_[0] if len(all_) == 1 else all_[n]

    return [
        ValueRead(
            places[n], n + 1, column.name, column.role, numbers.values[n], numbers.unit,
            nominal=of(nominal.values, n) if nominal else None, nominal_unit=nominal.unit if nominal else "",
            expanded_uncertainty=of(numbers.u, n), coverage_factor=of(numbers.k, n),
            coverage_probability_percent=of(numbers.p, n), standard_uncertainty=numbers.standard,
            lower=of(meta.lower, n), upper=of(meta.upper, n), limits=meta.kind,
            stated=meta.stated[n if len(meta.stated) > 1 else 0] if meta.stated else "",
            rule=meta.rule, rule_says=meta.rule_says, stage=stage, method=method, path=doc.path(quantity), about=about,
        )
        for n in range(rows)
    ]  # fmt: skip


@dataclass(slots=True)
class _Meta:
    """What the metadata of a column say about its values."""

    lower: tuple[Decimal, ...] = ()
    upper: tuple[Decimal, ...] = ()
    kind: str = ""
    stated: tuple[str, ...] = ()
    rule: str = ""
    rule_says: str = ""
    nominal: _Numbers | None = None


def _metadata(doc: Document, quantity: "Element", numbers: _Numbers, rows: int) -> _Meta:
    meta, limits = _Meta(), dict[tuple[str, str], tuple[Decimal, ...]]()
    for held in doc.every(quantity, "measurementMetaData"):
        for element in doc.every(held, "metaData"):
            _refuse_not_valid(doc, element)
            stated = _stated(doc, element, rows)
            if stated and meta.stated:
                doc.refuse("states conformity twice", element)
            meta.stated = stated or meta.stated
            rule = [rule_of(doc, r) for r in (*doc.meant(element), element)]
            meta.rule, meta.rule_says = next((r for r in rule if r[0] or r[1]), (meta.rule, meta.rule_says))
            point = "basic_calibrationValue" in doc.types(element)
            for data in doc.every(element, "data"):
                for inner in doc.every(data, "quantity"):
                    _from_metadata(doc, inner, numbers, rows, limits, meta, point=point)
    for kind in ("tolerance", "acceptance"):
        lower, upper = limits.get((kind, "Lower"), ()), limits.get((kind, "Upper"), ())
        if (lower or upper) and not meta.kind:
            meta.lower, meta.upper, meta.kind = lower, upper, kind
    if any(low > high for low, high in zip(_spread(meta.lower, rows), _spread(meta.upper, rows), strict=False)):
        doc.refuse("a lower limit is above its upper limit", quantity)
    return meta


def _spread(all_: tuple[Decimal, ...], rows: int) -> tuple[Decimal, ...]:
    return all_ * rows if len(all_) == 1 else all_


def _from_metadata(
    doc: Document, inner: "Element", numbers: _Numbers, rows: int, limits: dict[tuple[str, str], tuple[Decimal, ...]], meta: _Meta,
    *, point: bool,
) -> None:  # fmt: skip
    """Take in a limit, a nominal value or a calibration point; anything else is left."""
    types = doc.types(inner)
    places = [LIMITS[t] for t in types if t in LIMITS]
    wanted = point or "basic_nominalValue" in types or "basic_calibrationValue" in types
    if not places and not wanted:
        return
    column = _column(doc, inner, "limit" if places else "")
    if column is None:
        return
    if len(column.numbers.values) not in (1, rows):
        doc.refuse(f"has {len(column.numbers.values)} entries for {rows} values; 1 or {rows} belong here", inner)
    if not places:
        meta.nominal = meta.nominal or column.numbers
        return
    moved = [in_unit(v, column.numbers.unit, numbers.unit) for v in column.numbers.values]
    if None in moved or len(places) > 1 or places[0] in limits:
        doc.refuse("is a limit that does not fit its values, or stands twice", inner)
    limits[places[0]] = tuple(m for m in moved if m is not None)


def _refuse_not_valid(doc: Document, element: "Element") -> None:
    for name in ("valid", "validXMLList"):
        held = doc.maybe(element, name)
        if held is not None and any(token not in ("true", "1") for token in doc.tokens(held)):
            doc.refuse("the laboratory marks a value as not valid", held)


def _stated(doc: Document, element: "Element", rows: int) -> tuple[str, ...]:
    found: list[str] = []
    for name in ("conformity", "conformityXMLList"):
        held = doc.maybe(element, name)
        if held is not None:
            found += doc.tokens(held)
            if len(found) not in (1, rows):
                doc.refuse(f"has {len(found)} statements for {rows} values; 1 or {rows} belong here", held)
            if any(word not in STATED for word in found):
                doc.refuse(f"a statement of conformity is none of {', '.join(STATED)}", held)
    return tuple(found)


def rule_of(doc: Document, element: "Element") -> tuple[str, str]:
    """Return the decision rule that a statement names, as refstd names it or '', and in the laboratory's words."""
    convention = doc.maybe_words(element, "convention")
    norms = [doc.words(n) for n in doc.every(element, "norm")]
    says = ", ".join(x for x in (convention, *norms) if x)
    if any("14253-1" in x for x in (convention, *norms)):
        return "iso 14253-1", says
    return "simple" if convention.casefold() in ("simple acceptance", "simple") else "", says


def _stage(doc: Document, nearest_first: Sequence["Element"]) -> str:
    """Return as found, as left or '': the nearest statement of when counts; two that differ at one place are refused."""
    for element in nearest_first:
        conditions = [m for m in doc.meant(element) if str(m.tag).endswith("}influenceCondition")]
        for held in [] if conditions else doc.every(element, "influenceConditions"):
            conditions += doc.every(held, "influenceCondition")
        stages = set()
        for condition in conditions:
            status = doc.maybe_words(condition, "status")
            if status and status not in STAGES:
                doc.refuse(f"'{safe(status)[:40]}' is no status that the standard has", condition)
            stages |= {STAGES[status]} if status else set()
        if len(stages) > 1:
            doc.refuse("does not say which values are as found and which as left", element)
        if stages:
            return stages.pop()
    return ""
