"""What becomes of a machine-readable certificate: which item, which notch each value belongs to, what stands against filing.

A value's notch comes from what the custodian says now, from what was said before for this laboratory and item, or from a
label that is the same in both; never from its place in a table. Nothing is written before `file_plan`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import get_args

from refstd.base.errors import BadInput, NotFound, Problem, Refusal
from refstd.base.quantity import Unit, plain, with_unit
from refstd.base.text import key, safe
from refstd.desk.certificate_entry import FAR_FROM_NOMINAL
from refstd.desk.certificates import CertificateDraft, Paper, ValueDraft, standing_certificates
from refstd.desk.entry import draft_or_refuse, read_draft
from refstd.desk.items import ItemShown, NotchShown
from refstd.desk.name_mapping import LEFT_OUT, WHOLE_ITEM, Name, file_with_names, names_known
from refstd.desk.store import Lab, When
from refstd.exchange.dcc import Understood
from refstd.exchange.dcc_item import item_of
from refstd.exchange.dcc_results import ERROR, MEASURED, ValueRead
from refstd.exchange.dcc_units import in_unit

QUANTITIES = ("depth", "length", "width", "conductivity")  # what a word in a column's name is taken for
UNITS = get_args(ValueDraft.model_fields["unit"].annotation)
NOMINALS_ALIKE = Decimal("0.02")  # ours: 0.508 and 0.5 mm are one notch, 0.5 and 0.6 mm are two
COLUMN = "column "  # in front of a column's name, so that it is no place's


@dataclass(frozen=True, slots=True)
class Line:
    """A value of the certificate and what becomes of it.

    `their` is the name by which its place is mapped, '' where the table names none and the mapping cannot be kept;
    `means` is a notch's label, WHOLE_ITEM or LEFT_OUT, '' while nobody has said; `how` says how that is known.
    """

    read: ValueRead
    their: str
    shown: str
    means: str
    how: str
    quantity: str
    stage: str

    @property
    def notch(self) -> str:
        return "" if self.means in (WHOLE_ITEM, LEFT_OUT) else self.means


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be filed. `stops` must be empty before it can be; `watch` is worth a look and stops nothing."""

    understood: Understood
    item: ItemShown
    found_by: str
    lines: tuple[Line, ...]
    not_taken: tuple[str, ...]
    draft: CertificateDraft
    values: tuple[ValueDraft, ...]
    names: tuple[Name, ...]
    supersedes: str
    why: str
    watch: tuple[str, ...]
    stops: tuple[Problem, ...]


def plan_import(
    lab: Lab,
    when: When,
    understood: Understood,
    *,
    item: str = "",
    places: Mapping[str, str] | None = None,
    quantities: Mapping[str, str] | None = None,
    take: Sequence[str] = (),
) -> Plan:
    """Return what would be filed, or refuse: no item or the wrong one, nothing to file.

    `places` maps the laboratory's names to a notch, WHOLE_ITEM or LEFT_OUT; `quantities` maps its columns to quantities;
    `take` names columns to be taken as the measured values, where the file does not say which are.
    """
    with lab.look(when) as look:
        chosen, on_paper, found_by, doubts = item_of(look, understood, item)
        known = names_known(look, chosen.equipment_id, understood.laboratory)
        standing = [c.number for c in standing_certificates(look, chosen.equipment_id)]
    said = {key(their): _meaning(chosen, their, means) for their, means in (places or {}).items()}
    called = {key(column): quantity for column, quantity in (quantities or {}).items()}
    read = [v for p in understood.parts for v in p.values if v.item == on_paper]
    taken, not_taken = _taken(read, chosen, {key(t) for t in take}, understood)
    tables = _tables(taken)
    lines = tuple(_line(v, tables[v.path], chosen, known, said, called) for v in taken)
    _refuse_unused(said, called, lines, understood)
    supersedes = next((n for n in standing if understood.replaces and key(n) == key(understood.replaces)), "")
    draft, watch = _certificate(understood, chosen, on_paper, lines)
    values, stops = _values(understood, chosen, lines)
    stops += _never_left(lines)
    if key(understood.number) in map(key, standing) and key(supersedes) != key(understood.number):
        wrong = f"certificate {understood.number} of {chosen.asset_no} is on record already"
        stops.append(Problem("certificate number", wrong, "There is nothing to import."))
    if understood.replaces and not supersedes:
        watch.append(f"it has {understood.change} certificate {understood.replaces}, which is not in force for {chosen.asset_no}")  # fmt: skip
    watch = [*doubts, *watch, *_watch(understood, chosen, lines)]
    names = tuple(dict.fromkeys(_names(lines, said, called)))
    why = f"{understood.change} by the laboratory: {understood.number} in place of {supersedes}" if supersedes else ""
    return Plan(understood, chosen, found_by, lines, not_taken, draft, values, names, supersedes, why, tuple(watch), tuple(stops))  # fmt: skip


def file_plan(lab: Lab, plan: Plan, *, by: str, now: datetime, operation: str = "") -> None:
    """File the certificate with its XML as paper, byte for byte, and keep the mapping; one act, or nothing."""
    if plan.stops:
        raise BadInput(plan.understood.file, plan.stops)
    paper = Paper(plan.understood.file, plan.understood.content, "text/xml")
    file_with_names(
        lab, plan.draft, plan.values, paper, plan.names, supersedes=plan.supersedes, why=plan.why, by=by, now=now, operation=operation
    )  # fmt: skip


# The values


def _taken(
    read: Sequence[ValueRead], chosen: ItemShown, named_columns: set[str], understood: Understood
) -> tuple[list[ValueRead], tuple[str, ...]]:
    """Return the values to file, and the columns that are not: of a block the measured ones, else errors before them."""
    tables: dict[str, list[ValueRead]] = {}
    for value in read:
        tables.setdefault(value.path.rpartition("/")[0], []).append(value)
    taken: list[ValueRead] = []
    for table in tables.values():
        by_name = [v for v in table if key(v.column) in named_columns]
        errors = [v for v in table if v.role == ERROR and chosen.kind != "block"]
        taken += by_name or errors or [v for v in table if v.role == MEASURED]
    used = {id(v) for v in taken}
    columns = dict.fromkeys((v.column, v.role) for v in read if id(v) not in used)
    not_taken = tuple(f"column '{safe(c)}': {f'{r} value' if r else 'the file does not say what it means'}" for c, r in columns)  # fmt: skip
    unknown = named_columns - {key(v.column) for v in read}
    if unknown or not taken:
        there = ", ".join(dict.fromkeys(f"'{safe(v.column)}'" for v in read)) or "none"
        wrong = f"there is no column '{safe(min(unknown))}'" if unknown else "no column of it is said to hold the measured value"  # fmt: skip
        raise Refusal(wrong, understood.file, f"Its columns: {there}. Name the one to take with --take, or file the certificate by hand.")  # fmt: skip
    return taken, not_taken


def _meaning(chosen: ItemShown, their: str, means: str) -> str:
    """Return what somebody said a name means, as the register writes it, or refuse."""
    labels = {key(n.label): n.label for n in chosen.notches}
    found = labels.get(key(means)) or next((w for w in (WHOLE_ITEM, LEFT_OUT) if key(w) == key(means)), "")
    if not found:
        known = ", ".join(labels.values()) or "none"
        raise NotFound(
            f"{chosen.asset_no} has no notch '{safe(means)[:40]}'", safe(their), f"Its notches: {known}; or say {WHOLE_ITEM}, or {LEFT_OUT}."
        )  # fmt: skip
    return found


@dataclass(frozen=True, slots=True)
class _Table:
    """What is asked of a column of values for each of them: how many they are, and whether their nominals name them."""

    rows: int
    by_nominal: bool


def _tables(taken: Sequence[ValueRead]) -> dict[str, _Table]:
    """Return the columns of what is taken, by path."""
    by_path: dict[str, list[ValueRead]] = {}
    for value in taken:
        by_path.setdefault(value.path, []).append(value)
    return {
        path: _Table(len(column), len({v.nominal for v in column if v.nominal is not None}) == len(column))
        for path, column in by_path.items()
    }


def _line(
    value: ValueRead, table: _Table, chosen: ItemShown, known: Mapping[str, Name], said: Mapping[str, str],
    called: Mapping[str, str],
) -> Line:  # fmt: skip
    their, shown = _their_name(value, table)
    label = next((n.label for n in chosen.notches if key(n.label) == key(their)), "") if their else ""
    before = known.get(key(their)) if their else None
    if key(shown) in said:
        means, how = said[key(shown)], "as you said"
    elif before is not None:
        means, how = before.notch or before.says, "remembered"
    elif label:
        means, how = label, "the same label"
    elif not chosen.notches:
        means, how = WHOLE_ITEM, "the item has no notches"
    else:
        means, how = "", ""
    remembered = known.get(key(COLUMN + value.column))
    quantity = called.get(key(value.column)) or (remembered.says if remembered else "") or _quantity(value)
    if means == WHOLE_ITEM and not (called.get(key(value.column)) or remembered):
        quantity = _whole_quantity(value, shown, table)
    return Line(value, their, shown, means, how, quantity, value.stage or "as left")


def _their_name(value: ValueRead, table: _Table) -> tuple[str, str]:
    """Return the name by which a place can be remembered, and how it is shown: its name, else its nominal, else its row."""
    if value.place:
        return value.place, value.place
    if value.nominal is not None and table.by_nominal:
        name = with_unit(plain(value.nominal), value.nominal_unit)
        return name, name
    return "", f"row {value.row}"


def _quantity(value: ValueRead) -> str:
    """Return the quantity that a column's name says, else its table's and result's name; '' where none does, or two do."""
    for text in (value.column, value.about):
        found = [q for q in QUANTITIES if q in key(text).split()]
        if found:
            return found[0] if len(found) == 1 else ""
    return ""


def _whole_quantity(value: ValueRead, shown: str, table: _Table) -> str:
    """Return a name for a value of the whole item that tells it from the others of its column."""
    name = _quantity(value) or value.column or value.about
    if table.rows == 1:
        return name
    return f"{name} at {shown}" if not value.place and value.nominal is not None else f"{name}, {shown}"


def _refuse_unused(said: Mapping[str, str], called: Mapping[str, str], lines: Sequence[Line], understood: Understood) -> None:  # fmt: skip
    unused = {*said} - {key(x.shown) for x in lines} | {*called} - {key(x.read.column) for x in lines}
    if unused:
        there = ", ".join(dict.fromkeys(f"'{safe(x.shown)}'" for x in lines))
        raise NotFound(
            f"the certificate has no place or column '{safe(min(unused))}'", understood.file, f"Its places: {there}. Columns: {', '.join(dict.fromkeys(x.read.column for x in lines))}."
        )  # fmt: skip


def _names(lines: Sequence[Line], said: Mapping[str, str], called: Mapping[str, str]) -> list[Name]:
    """Return the meanings that were said now and can be found again by name."""
    places = [
        Name(x.their, x.notch, "" if x.notch else x.means) for x in lines if x.their and key(x.their) in said
    ]  # fmt: skip
    columns = [Name(COLUMN + x.read.column, "", x.quantity) for x in lines if key(x.read.column) in called]
    return [*places, *columns]


# What is filed


def _certificate(
    understood: Understood, chosen: ItemShown, on_paper: int, lines: Sequence[Line]
) -> tuple[CertificateDraft, list[str]]:
    parts = [p for p in understood.parts if on_paper in p.items]
    used = [x for x in lines if x.means != LEFT_OUT]
    rule, watch = _rule(used)
    stages = {x.read.stage for x in used if x.read.stage}
    conditions = [f"performed at: {understood.performed_at}", *(c for p in parts for c in p.conditions)]
    temperatures = {p.temperature_c for p in parts}
    temperature = temperatures.pop() if len(temperatures) == 1 else None
    fields: dict[str, object] = {
        "asset_no": chosen.asset_no, "activity": "calibration", "number": understood.number, "laboratory": understood.laboratory,
        "accreditation": understood.accreditation, "performed_on": understood.performed_on, "issued_on": understood.issued_on,
        "method": "; ".join(dict.fromkeys(m for p in parts for m in p.methods)), "temperature_c": temperature,
        "environment": "; ".join(dict.fromkeys(conditions)),
        "traceability": "; ".join(dict.fromkeys(s for p in parts for s in p.standards)),
        "adjusted": "yes" if stages else "no",
        "adjustment": "values before or after an adjustment or repair, as the certificate states" if stages else "",
        "decision_rule": rule,
    }  # fmt: skip
    return draft_or_refuse(CertificateDraft, fields, understood.file), watch


def _rule(used: Sequence[Line]) -> tuple[str, list[str]]:
    """Return the decision rule that the certificate names for all its limits alike, '' otherwise, and what to watch."""
    limited = [x.read for x in used if x.read.limits]
    says = ", ".join(dict.fromkeys(v.rule_says for v in limited if v.rule_says))
    rules = {v.rule for v in limited}
    if len(rules) != 1 or not (rule := rules.pop()):
        return "", [
            f"the decision rule '{safe(says)}' is not one that refstd takes over; none is named"
        ] if says else []
    if rule == "iso 14253-1" and any(v.limits == "acceptance" for v in limited):
        return "", [
            "its acceptance limits have a guard band in them already; its rule ISO 14253-1 is not applied again"
        ]
    if rule == "iso 14253-1" and any(None in (x.read.expanded_uncertainty, x.read.coverage_factor) for x in used):
        return "", ["it names ISO 14253-1 without U and k for every value; no rule is named"]
    return rule, []


def _values(understood: Understood, chosen: ItemShown, lines: Sequence[Line]) -> tuple[tuple[ValueDraft, ...], list[Problem]]:  # fmt: skip
    drafts: list[ValueDraft] = []
    stops: list[Problem] = []
    notches = {n.label: n for n in chosen.notches}
    seen: dict[tuple[str, str, str], str] = {}
    for line in lines:
        where = safe(line.shown)
        if not line.means:
            stops.append(Problem(where, f"nobody has said which notch of {chosen.asset_no} it is", "Say which: on screen with m, by command with --map."))  # fmt: skip
        if line.means in ("", LEFT_OUT):
            continue
        if not line.quantity:
            stops.append(Problem(where, f"column '{safe(line.read.column)}' does not say which quantity it holds", "Say which: on screen with u, by command with --quantity."))  # fmt: skip
            continue
        value = line.read
        if value.unit not in UNITS:
            stops.append(Problem(where, f"certified values in {value.unit} are not kept", f"Kept are {', '.join(UNITS)}; say that it is left out."))  # fmt: skip
            continue
        meant = (line.notch, key(line.quantity), line.stage)
        if meant in seen:
            stops.append(
                Problem(
                    where,
                    f"means the same as {seen[meant]}: {line.quantity} {line.stage} of {line.means}",
                    "Map one of them otherwise, or leave one out.",
                )
            )
        seen[meant] = where
        if line.notch and line.quantity == "depth" and not _nominals_alike(value, notches[line.notch]):
            paper, ours = with_unit(plain(value.nominal or Decimal()), value.nominal_unit), f"{plain(notches[line.notch].depth_mm)} mm"  # fmt: skip
            stops.append(Problem(where, f"its nominal depth is {paper}, that of notch {line.notch} {ours}", "Map it to another notch, or correct the notch's description."))  # fmt: skip
        draft, problems = read_draft(ValueDraft, _value_fields(understood, line), where)
        stops += problems
        drafts += [draft] if draft is not None else []
    if not drafts and not stops:
        stops.append(Problem(understood.file, "every value is left out", "File the certificate by hand, without values."))  # fmt: skip
    return tuple(drafts), stops


def _never_left(lines: Sequence[Line]) -> list[Problem]:
    """Stop values as found before an adjustment or repair where none says how the place was left after it."""
    used = [x for x in lines if x.means not in ("", LEFT_OUT)]
    left = {(x.means, key(x.quantity)) for x in used if x.stage == "as left"}
    wrong = "is as found, before an adjustment or repair, and nothing says how it was left"
    remedy = "Ask the laboratory for the value as left, or say that it is left out."
    return [Problem(safe(x.shown), wrong, remedy) for x in used if (x.means, key(x.quantity)) not in left]


def _value_fields(understood: Understood, line: Line) -> dict[str, object]:
    v = line.read
    stated = f"; the laboratory states {v.stated}" if v.stated else ""
    return {
        "notch": line.notch, "quantity": line.quantity, "stage": line.stage, "value": v.value, "unit": str(v.unit),
        "expanded_uncertainty": v.expanded_uncertainty, "coverage_factor": v.coverage_factor,
        "coverage_probability_percent": v.coverage_probability_percent, "method": v.method, "lower_limit": v.lower,
        "upper_limit": v.upper, "limit_source": f"{v.limits} limits of certificate {understood.number}{stated}" if v.limits else "",
    }  # fmt: skip


def _nominals_alike(value: ValueRead, notch: NotchShown) -> bool:
    nominal = None if value.nominal is None else in_unit(value.nominal, value.nominal_unit, Unit.MM)
    return nominal is None or abs(nominal - notch.depth_mm) <= NOMINALS_ALIKE * notch.depth_mm


def _watch(understood: Understood, chosen: ItemShown, lines: Sequence[Line]) -> list[str]:
    """Return what is worth a look before filing."""
    found = [understood.signed] if understood.signed else []
    notches = {n.label: n for n in chosen.notches}
    for line in lines:
        v = line.read
        if line.means == LEFT_OUT:
            found.append(f"{safe(line.shown)} is left out, {line.how}")
            continue
        outside = (v.lower is not None and v.value < v.lower) or (v.upper is not None and v.value > v.upper)
        if v.limits and v.stated in ("pass", "fail") and outside is (v.stated == "pass"):
            side = "outside" if outside else "inside"
            found.append(f"{safe(line.shown)}: the laboratory states {v.stated}, and the value is {side} its {v.limits} limits")  # fmt: skip
        measured = in_unit(v.value, v.unit, Unit.MM)
        if line.notch and line.quantity == "depth" and measured is not None:
            nominal = notches[line.notch].depth_mm
            if abs(measured - nominal) > FAR_FROM_NOMINAL * nominal:
                found.append(f"{safe(line.shown)}: {plain(measured)} mm is far from the {plain(nominal)} mm of notch {line.notch}; is it the right one?")  # fmt: skip
        if v.standard_uncertainty:
            found.append(
                f"{safe(line.shown)}: its uncertainty is stated as standard uncertainty; filed as U with k = 1"
            )
        elif v.expanded_uncertainty is not None and v.coverage_factor is None:
            found.append(f"{safe(line.shown)}: U is stated without k; it is filed so")
    return list(dict.fromkeys(found))
