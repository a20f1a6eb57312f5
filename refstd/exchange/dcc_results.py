"""The results of a Digital Calibration Certificate: its tables, column by column, into values with all that belongs to each.

A column's meaning comes from its refType alone, never from its place. Limits, calibration points and the laboratory's own
statements stand in a column's metadata, and are read as such, never as results.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from refstd.base.text import safe
from refstd.exchange.dcc_document import SI, Document
from refstd.exchange.dcc_numbers import FORMS, Numbers, numbers_in, spread
from refstd.exchange.dcc_units import in_unit

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
    item: int = 0  # the place of the item that it belongs to, among those that the certificate names
    about: str = ""  # what the result's name and its table's name say, for the quantity


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of a table before it is cut into rows."""

    element: "Element"
    name: str
    role: str
    numbers: Numbers


def values_in(doc: Document, result: "Element", stages: Sequence["Element"]) -> list[ValueRead]:
    """Return the values of one `result`. `stages` are the elements around it that may name the item, or as found or as left."""
    name = doc.named(result)
    around = [result, *stages]
    return [v for data in doc.every(result, "data") for v in _tables(doc, data, name, around)]


def _tables(doc: Document, parent: "Element", about: str, around: Sequence["Element"]) -> list[ValueRead]:
    """Return the values of a `data` or `list`: its own quantities are one table, each list within it another one."""
    quantities, found = doc.every(parent, "quantity"), []
    lists = [q for q in quantities if any(doc.every(q, form, SI) for form in FORMS[1:]) or doc.every(q, "charsXMLList")]
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
    doc.count_values(rows * len(columns), parent)
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
    forms = [f for f in FORMS if doc.every(quantity, f, SI)]
    if len(forms) > 1:
        doc.refuse("holds its value in two forms, and nothing says which counts", quantity)
    if not forms:
        if role:
            doc.refuse(f"is the {role} value, written in a form that refstd does not read", quantity)
        return None
    numbers = numbers_in(doc, doc.one(quantity, forms[0], SI), needed=bool(role))
    if numbers is None:
        return None
    return _Column(quantity, doc.named(quantity), role, numbers)


def _values(
    doc: Document, column: _Column, nominal: Numbers | None, places: list[str], rows: int, about: str, around: Sequence["Element"]
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
    path, item = doc.path(quantity), _item(doc, [quantity, *around])

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
            rule=meta.rule, rule_says=meta.rule_says, stage=stage, method=method, path=path, item=item, about=about,
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
    nominal: Numbers | None = None


def _metadata(doc: Document, quantity: "Element", numbers: Numbers, rows: int) -> _Meta:
    meta, limits = _Meta(kind=_kind_of_limits(doc, quantity)), dict[str, tuple[Decimal, ...]]()
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
    meta.lower, meta.upper = limits.get("Lower", ()), limits.get("Upper", ())
    if any(low > high for low, high in zip(spread(meta.lower, rows), spread(meta.upper, rows), strict=False)):
        doc.refuse("a lower limit is above its upper limit", quantity)
    return meta


def _kind_of_limits(doc: Document, quantity: "Element") -> str:
    """Return which limits of a column count: tolerance before acceptance, unless that loses a side; the others are left."""
    sides: dict[str, set[str]] = {"tolerance": set(), "acceptance": set()}
    for held in doc.every(quantity, "measurementMetaData"):
        for inner in held.iterfind("{*}metaData/{*}data/{*}quantity"):
            for kind, side in (LIMITS[t] for t in doc.types(inner) if t in LIMITS):
                sides[kind].add(side)
    if sides["tolerance"] and sides["acceptance"] - sides["tolerance"]:
        wrong = "has limits of two kinds, one side each, and nothing says whether they count together"
        doc.refuse(wrong, quantity)
    return next((kind for kind, there in sides.items() if there), "")


def _from_metadata(
    doc: Document, inner: "Element", numbers: Numbers, rows: int, limits: dict[str, tuple[Decimal, ...]], meta: _Meta, *, point: bool
) -> None:  # fmt: skip
    """Take in a limit, a nominal value or a calibration point; anything else is left."""
    types = doc.types(inner)
    places = [LIMITS[t] for t in types if t in LIMITS]
    if places and all(kind != meta.kind for kind, _ in places):
        return
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
    if None in moved or len(places) > 1 or places[0][1] in limits:
        doc.refuse("is a limit that does not fit its values, or stands twice", inner)
    limits[places[0][1]] = tuple(m for m in moved if m is not None)


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


def _item(doc: Document, nearest_first: Sequence["Element"]) -> int:
    """Return the place of the item that values belong to: the nearest statement counts; several or none is refused."""
    for element in nearest_first:
        named = {doc.items[m] for m in doc.meant(element) if m in doc.items}
        if len(named) > 1:
            wrong = f"names {len(named)} items, and nothing says to which of them each value belongs"
            doc.refuse(wrong, element)
        if named:
            return named.pop()
    if len(doc.items) > 1:
        doc.refuse("does not say which of the items it belongs to", nearest_first[0])
    return 0
