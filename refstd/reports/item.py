"""The record of one item, in the order in which an auditor asks for it: ISO/IEC 17025:2017, 6.4.13 a to h."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields

from refstd.desk.certificates import ValueShown
from refstd.desk.comparison_record import ComparisonShown
from refstd.desk.findings import FindingShown
from refstd.desk.history import CertificateShown, Event, ItemRecord, record_within
from refstd.desk.items import ItemShown, NotchShown
from refstd.desk.loans import LoanPast, loans_within
from refstd.desk.order_tests import OrderTestShown, figures_in_words
from refstd.desk.receipt import ReceiptShown
from refstd.desk.serviceability import Duty
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.findings import action_in_words, state_of
from refstd.reports.heading import headed, instant, text, verdict_members
from refstd.reports.register import what_it_is


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the record; `clause` is the letter of 6.4.13, or 7.5.1 for the events."""

    clause: str
    what: str
    value: str = ""
    unit: str = ""
    expanded_uncertainty: str = ""
    coverage_factor: str = ""
    limits: str = ""
    source: str = ""
    on: str = ""
    by: str = ""
    entry: str = ""
    record: str = ""
    stands: str = ""


COLUMNS = (
    Column("clause", "Clause", width=8),
    Column("what", "What", width=18),
    Column("value", "Value", width=28),
    Column("unit", "Unit", width=6),
    Column("expanded_uncertainty", "U", Kind.NUMBER, width=6),
    Column("coverage_factor", "k", Kind.NUMBER, width=4),
    Column("limits", "Limits", width=10),
    Column("source", "Limit or interval from", width=14),
    Column("on", "When", width=13),
    Column("by", "By", width=7),
    Column("entry", "Log entry", Kind.NUMBER, width=5),
    Column("record", "Record", width=14),
    Column("stands", "Stands", width=10),
)
assert [c.key for c in COLUMNS] == [f.name for f in fields(Line)]
CLAUSES = {
    "a": "identity, with software and firmware version",
    "b": "maker, type, serial number",
    "c": "verified against what is asked of it",
    "d": "where it is now",
    "e": "calibration: dates, results, adjustments, acceptance criteria, next due date or interval",
    "f": "reference material: papers, results, acceptance criteria, dates, period of validity",
    "g": "maintenance: plan, and what was done",
    "h": "damage, malfunction, modification, repair",
}
JUDGED = "7.8.6"
EVENTS = "7.5.1"
NOTES = (
    *(f"6.4.13 {letter}: {words}." for letter, words in CLAUSES.items()),
    f"{JUDGED}: how each certified value with limits was judged on the day when its paper was filed: the rule and who named it, "
    "the probability of conformity and the risk of a false pass. No rule is applied to a value that was judged before.",
    f"{EVENTS}: every record about the item, when it happened and who recorded it in which log entry.",
    "Values stand as the certificate prints them; U is the expanded uncertainty with its coverage factor k. "
    "Superseded and withdrawn papers stay on record and count no longer.",
    "Clauses of ISO/IEC 17025:2017.",
)
NOTHING = "nothing on record"


def item_sheet(lab: Lab, when: When, asset_no: str) -> Sheet:
    """Return the whole record of an item by the clauses of 6.4.13, then every event."""
    with lab.look(when) as look:
        record = record_within(look, asset_no)
        item = record.item
        loans = [x for x in loans_within(look) if x.asset_no == item.asset_no]
        lines = [*_by_clause(record, loans), *_judged(record), *(_event(e) for e in record.events)]
        rows = [tuple(getattr(line, c.key) for c in COLUMNS) for line in lines]
        scope = [
            ("item", f"{item.asset_no}: {item.name}"),
            ("kind", item.kind),
            ("verdict", record.status.verdict.headline()),
        ]
        return headed(
            look, "refstd.item/1", f"Record of {item.asset_no}", COLUMNS, rows, scope=scope, notes=NOTES,
            extra={"verdict": verdict_members(record.status.verdict)},
        )  # fmt: skip


def _by_clause(record: ItemRecord, loans: list[LoanPast]) -> Iterator[Line]:
    parts = {
        "a": _identity(record),
        "b": _made(record.item),
        "c": _verified(record),
        "d": _where(record.item, loans),
        "e": _calibrated(record),
        "f": _reference(record),
        "g": _maintained(record),
        "h": _wrong(record, loans),
    }
    for letter, lines in parts.items():
        found = list(lines) or [Line("", CLAUSES[letter], NOTHING)]
        for line in found:
            yield Line(f"6.4.13 {letter}", *(getattr(line, f.name) for f in fields(Line)[1:]))


def _identity(record: ItemRecord) -> Iterator[Line]:
    i = record.item
    yield Line("", "asset number", i.asset_no)
    yield Line("", "name", i.name)
    yield Line("", "kind", i.kind)
    yield Line("", "what it is", what_it_is(i))
    yield Line("", "software and firmware version", i.firmware or NOTHING)
    yield Line("", "description", f"revision {i.revision}")
    if i.kind == "instrument":
        source = i.special["display_order_source"] or NOTHING
        yield Line("", "order of rotation and gain", i.special["display_order"], source=source)
        yield from (_order_test(t) for t in record.order_tests)
    if i.owner:
        ours = "may be recalibrated here" if i.ours_to_recalibrate else "not ours to recalibrate: ask the owner"
        back = f"; goes back on {i.return_on}" if i.return_on else ""
        yield Line("", "owner", f"{i.owner}{back}; {ours}" if back or not i.ours_to_recalibrate else i.owner)
    if i.pieces:
        yield Line("", "counted pieces", i.pieces)
    if i.note:
        yield Line("", "note", i.note)


def _order_test(t: OrderTestShown) -> Line:
    told = "; ".join(figures_in_words(t.told()))
    words = f"{t.found}: {t.readings_in_words()}. {told}" + (f" ({t.note})" if t.note else "")
    return Line(
        "", "order test", words, on=instant(t.happened_at), by=t.person, entry=str(t.entry), record=f"log entry {t.entry}",
        stands=f"superseded by {t.superseded_by}" if t.superseded_by else "in force",
    )  # fmt: skip


def _made(i: ItemShown) -> Iterator[Line]:
    yield Line("", "made by", i.made_by or NOTHING)
    yield Line("", "part number (type)", i.part_no or NOTHING)
    yield Line("", "serial number", i.serial_no or NOTHING)


def _verified(record: ItemRecord) -> Iterator[Line]:
    verdict = record.status.verdict
    yield Line("", "verdict", verdict.headline(), stands=str(verdict.standing))
    for r in verdict.reasons:
        yield Line(
            "", f"reason ({r.weight})", f"{r.says}: {r.figure}" if r.figure else r.says, limits=r.limit, source=r.source, record=r.record,
            stands=r.cure,
        )  # fmt: skip
    for c in record.certificates:
        if c.activity != "calibration":
            yield from _paper(c)
    for received in record.receipts:
        yield from _receipt(received)
    for x in record.comparisons:
        yield from _comparison(x)
    for e in _kind(record.events, "check"):
        yield _as_line("response check", e)
    for e in _kind(record.events, "swap test"):
        yield _as_line("swap test", e)


def _receipt(r: ReceiptShown) -> Iterator[Line]:
    record = f"certificate {r.certificate}"
    yield Line(
        "", "receipt inspection", r.headline() + (f"; {r.note}" if r.note else ""), source=r.ordered_as, on=instant(r.happened_at),
        by=r.person, entry=str(r.entry), record=record, stands=r.outcome,
    )  # fmt: skip
    for p in r.points:
        value = text(p.value) if p.value is not None else p.found
        yield Line(
            "",
            p.asked,
            value,
            p.unit if p.value is not None else "",
            limits=p.limits,
            source=p.limit_source,
            record=record,
            stands=p.outcome,
        )


def _comparison(c: ComparisonShown) -> Iterator[Line]:
    record, stands = f"comparison {c.number}", f"corrected by {c.corrected_by}" if c.corrected_by else c.outcome
    yield Line(
        "", "comparison with the primary", f"{c.headline()}; {c.system_in_words()}; {c.next_in_words()}", limits=c.band_in_words(),
        source=c.band_source, on=instant(c.happened_at), by=c.person, entry=str(c.entry), record=record, stands=stands,
    )  # fmt: skip
    for n in c.notches:
        yield Line(
            "", f"notch {n.notch} against the primary", n.says, limits=f"±{text(c.band_db)} dB", source=c.band_source,
            record=record, stands=n.outcome,
        )  # fmt: skip


def _where(i: ItemShown, loans: list[LoanPast]) -> Iterator[Line]:
    yield Line("", "state", f"{i.state}: {i.state_why}", on=instant(i.state_since), stands=i.state)
    yield Line("", "location", i.location or NOTHING)
    for x in loans:
        back = f"returned {instant(x.returned_at)}: {x.condition}" if x.returned_at else f"due back {x.due_back_on}"
        if x.handed_to:
            back = f"handed over to {x.handed_to} {instant(x.handed_at)}: {x.condition}"
        late = f", {x.late_days} days late" if x.late_days else ""
        if x.counted_out:
            late += f"; counted out {x.counted_out}" + (f", in {x.counted_in}" if x.counted_in else "")
        yield Line(
            "", "loan", f"to {x.holder} for job {x.job}, {back}{late}", on=instant(x.since), by=x.holder,
            stands="out" if x.out else "handed over" if x.handed_to else "returned",
        )  # fmt: skip


def _calibrated(record: ItemRecord) -> Iterator[Line]:
    yield from (_duty(d) for d in record.status.duties if d.activity == "calibration")
    for t in record.tolerances:
        yield Line(
            "", f"acceptance criterion, {t.what}", t.rule, limits=t.limits, source=t.source, on=instant(t.happened_at), by=t.person,
            entry=str(t.entry), record=f"log entry {t.entry}", stands="for papers filed from then on",
        )  # fmt: skip
    for c in record.certificates:
        if c.activity == "calibration":
            yield from _paper(c)


def _judged(record: ItemRecord) -> Iterator[Line]:
    """Return the statement of conformity of each value with limits: outcome, rule, risk, limits and their source."""
    judged = [(c, v, v.judged) for c in record.certificates for v in c.values if v.judged is not None]
    if not judged:
        yield Line(JUDGED, "statement of conformity", NOTHING)
    for c, v, kept in judged:
        yield Line(
            JUDGED, f"{_what(v)}, {v.stage}", f"{text(v.value)} {v.unit}: {kept.says}", on=c.performed_on, by=c.laboratory,
            record=f"certificate {c.number}", stands=kept.outcome if c.in_force else _force(c),
        )  # fmt: skip


def _what(v: ValueShown) -> str:
    return f"{v.quantity} of notch {v.notch}" if v.notch else v.quantity


def _reference(record: ItemRecord) -> Iterator[Line]:
    """Return what makes a block a reference: its material with the source, its notches as described, its papers' validity."""
    i = record.item
    if i.kind != "block" or i.material is None:
        return
    m = i.material
    yield Line(
        "", "material", f"{m.name} ({m.family}, {m.magnetic_class})", source=m.source, record=f"material {m.code}"
    )
    if m.conductivity_percent_iacs is not None:
        yield Line(
            "", "conductivity", text(m.conductivity_percent_iacs), "%IACS", source=m.source, record=f"material {m.code}"
        )
    for n in i.notches:
        yield Line("", f"notch {n.label}, as described", _notch(n), record=f"description of {i.asset_no}")
    for d in record.status.duties:
        if d.due_on is not None:
            yield Line("", f"{d.activity} valid to", text(d.due_on), source=d.source, record=d.record)


def _maintained(record: ItemRecord) -> Iterator[Line]:
    yield from (_duty(d) for d in record.status.duties if d.activity != "calibration")
    yield from (_as_line(e.kind, e) for e in _kind(record.events, "schedule", "deferral", "interval"))
    for c in record.certificates:
        if c.adjusted:
            words = c.adjustment or "adjusted"
            yield Line(
                "",
                "adjustment",
                words,
                on=c.performed_on,
                by=c.laboratory,
                record=f"certificate {c.number}",
                stands=_force(c),
            )
    yield from (_as_line("baseline", e) for e in _kind(record.events, "baseline"))


def _wrong(record: ItemRecord, loans: list[LoanPast]) -> Iterator[Line]:
    for f in record.findings:
        yield Line(
            "", f"finding ({f.cause})", f.says, on=instant(f.happened_at), by=f.person, record=f"finding {f.number}", stands=state_of(f)
        )  # fmt: skip
        yield from _apart(f)
        for a in f.actions:
            yield Line(
                "",
                "done about it",
                action_in_words(a),
                on=instant(a.happened_at),
                by=a.person,
                record=f"finding {f.number}",
            )
    yield from (_as_line("event", e) for e in _kind(record.events, "event"))
    yield from (_as_line("taken against advice", e) for e in _kind(record.events, "against advice"))
    yield from (_as_line("loss", e) for e in _kind(record.events, "loss", "found"))
    for e in _kind(record.events, "state"):
        if not (e.says.startswith("in service") and e.says.endswith(": entered")):
            yield _as_line("state", e)
    for e in _kind(record.events, "description", "notch"):
        if "revision 1" not in e.says:
            yield _as_line("modification", e)
    yield from (_as_line("came back not sound", e) for e in _kind(record.events, "return") if "not sound" in e.says)


def _apart(f: FindingShown) -> Iterator[Line]:
    """Return the values of two papers that a finding holds against each other, where they disagree."""
    both = f.papers
    for row in both.rows if both else ():
        if both and row.disagrees:
            yield Line(
                "", f"|E_n| of {row.what}", row.in_words(), limits=both.limit, source=both.source, record=f"finding {f.number}",
                stands=row.outcome,
            )  # fmt: skip


def _duty(d: Duty) -> Line:
    words = f"{d.how_often}; next due {d.due_on}" if d.due_on else d.how_often
    last = f"last done {d.last_done_on}" if d.last_done_on else "never done"
    used = f"; {d.uses.in_words()}" if d.uses else ""
    by = f"; by {d.done_by}" if d.done_by else ""
    return Line(
        "", f"{d.activity} schedule", f"{words}; {last}{used}{by}", source=d.source, record=d.record, stands="in force"
    )


def _paper(c: CertificateShown) -> Iterator[Line]:
    record = f"certificate {c.number}"
    accredited = f" ({c.accreditation})" if c.accreditation else ""
    yield Line(
        "", f"{c.activity} certificate", f"by {c.laboratory}{accredited}" + (f", issued {c.issued_on}" if c.issued_on else ""),
        on=c.performed_on, by=c.laboratory, record=record, stands=_force(c),
    )  # fmt: skip
    rule = c.decision_rule + (f", r = {c.guard_ratio}" if c.guard_ratio else "")
    temperature = f"{c.temperature_c} °C" if c.temperature_c else ""
    paper = f"{c.paper}, SHA-256 {c.paper_sha256}" if c.paper else ""
    for what, value in (
        ("method", c.method), ("place of measurement", c.place), ("temperature", temperature), ("environment", c.environment),
        ("traceability", c.traceability),
        ("adjustment", (c.adjustment or "made") if c.adjusted else ""), ("decision rule", rule), ("result", c.result),
        ("paper", paper),
    ):  # fmt: skip
        if value:
            yield Line("", what, value, record=record)
    yield from (_value(v, record, _force(c)) for v in c.values)


def _value(v: ValueShown, record: str, stands: str) -> Line:
    low, high = text(v.lower_limit), text(v.upper_limit)
    limits = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}" if high else ""
    return Line(
        "", f"{_what(v)}, {v.stage}", text(v.value), v.unit, text(v.expanded_uncertainty), text(v.coverage_factor),
        f"{limits} {v.unit}" if limits else "", v.limit_source, record=record, stands=stands,
    )  # fmt: skip


def _notch(n: NotchShown) -> str:
    sizes = [f"{text(n.depth_mm)} mm deep"]
    for name, value in (
        ("long", n.length_mm),
        ("wide", n.width_mm),
        ("second leg", n.second_leg_mm),
        ("cover", n.cover_mm),
    ):
        if value is not None:
            sizes.append(f"{text(value)} mm {name}")
    return f"{', '.join(sizes)}; {n.process}, {n.site}{', through' if n.through else ''}"


def _force(c: CertificateShown) -> str:
    return "in force" if c.in_force else "superseded or withdrawn"


def _kind(events: Iterable[Event], *kinds: str) -> list[Event]:
    return [e for e in events if e.kind in kinds]


def _as_line(what: str, e: Event) -> Line:
    return Line(
        "", what, e.says, on=instant(e.happened_at), by=e.by, entry=str(e.entry), record=f"log entry {e.entry}",
        stands="superseded" if e.superseded else "",
    )  # fmt: skip


def _event(e: Event) -> Line:
    line = _as_line(e.kind, e)
    return Line(EVENTS, *(getattr(line, f.name) for f in fields(Line)[1:]))
