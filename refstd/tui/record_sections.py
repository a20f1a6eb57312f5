"""The sections of an item's record as text and rows: verdict, description, notches, certificates, what is due and so on."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from refstd.base.quantity import plain, with_unit
from refstd.desk.charts import DriftBoard
from refstd.desk.checks import CheckVerdict
from refstd.desk.duties import DueRow
from refstd.desk.entry import fields_of
from refstd.desk.equipment import AccessoryDraft, BlockDraft, InstrumentDraft, ItemDraft, ProbeDraft
from refstd.desk.events import EventShown, event_in_words
from refstd.desk.findings import FindingShown
from refstd.desk.history import CertificateShown, Event, ItemRecord
from refstd.desk.items import ItemShown, NotchShown
from refstd.desk.loans import LoanPast
from refstd.desk.order_tests import figures_in_words
from refstd.desk.owners import ReturnDue
from refstd.desk.qualifications import LAPSED, PersonDue
from refstd.desk.serviceability import CertifiedPoint
from refstd.desk.tolerances import ToleranceShown
from refstd.tui.driftwords import DRIFT_COLUMNS, drift_rows
from refstd.tui.sections import Section, fact_lines
from refstd.tui.suspectwords import suspect_series_row
from refstd.tui.widgets.rows import Col, Row

Local = Callable[[datetime], str]
LAST_EVENTS = 5  # of an item, shown with its description; the history has all
DRAFTS: dict[str, type[ItemDraft]] = {
    "block": BlockDraft,
    "probe": ProbeDraft,
    "instrument": InstrumentDraft,
    "accessory": AccessoryDraft,
}


@dataclass(frozen=True, slots=True)
class Everything:
    """What the record page asked for."""

    record: ItemRecord
    due: tuple[DueRow, ...]
    loans: tuple[LoanPast, ...]
    checks: tuple[CheckVerdict, ...]
    drift: DriftBoard | None = None


def sections_of(found: Everything, local: Local, zone: ZoneInfo) -> tuple[Section, ...]:
    """Return the sections in the order of their keys."""
    record = found.record
    item, points = record.item, record.status.points
    return (
        Section("verdict", standing=record.status.verdict),
        Section("description", text=_description(item, points, record, local)),
        Section("notches", _NOTCH, tuple(_notch_row(n, points, record.tolerances) for n in item.notches), "this item has no notches"),
        Section("certificates", _CERTIFICATE, tuple(_certificate_row(c) for c in reversed(record.certificates)), "no certificate is filed"),
        Section("due", _DUE, due_rows(found.due), "no schedule is set: nothing says when this item is due"),
        Section("loans", _LOAN, loan_rows(reversed_loans(found.loans), local), "never checked out"),
        Section("checks", CHECK_COLUMNS, check_rows(found.checks, local), "no response check on record"),
        Section("findings", FINDING_COLUMNS, finding_rows(record.findings, local), "no finding on record"),
        Section("history", _EVENT, tuple(_event_row(e, local, item.asset_no) for e in reversed(record.events)), "nothing on record"),
        Section("drift", DRIFT_COLUMNS, _drift(found, zone), "in no setup with a baseline, so drift cannot be told"),
    )  # fmt: skip


def _drift(found: Everything, zone: ZoneInfo) -> tuple[Row, ...]:
    """Return what the evidence says about the item, then the series that it takes part in, what stands out first."""
    if found.drift is None:
        return ()
    named = found.drift.suspects.about(found.record.item.asset_no)
    series = sorted(found.drift.drift, key=lambda d: not d.flags)
    return (*(suspect_series_row(s) for s in named), *drift_rows(series, zone))


def described(item: ItemShown) -> dict[str, str]:
    """Return an item's description as the fields of its form, in text."""
    found = {}
    for field in fields_of(DRAFTS[item.kind]):
        if field.key == "material":
            found[field.key] = item.material.code if item.material else ""
            continue
        value = item.special[field.key] if field.key in item.special else getattr(item, field.key)
        found[field.key] = text_of(value)
    return found


def notch_described(notch: NotchShown) -> dict[str, str]:
    """Return a notch as the fields of its form, in text."""
    names = ("label", "site", "process", "depth_mm", "length_mm", "width_mm", "second_leg_mm", "cover_mm", "through")
    return {name: text_of(getattr(notch, name)) for name in names}


def text_of(value: object) -> str:
    """Return a field's value as somebody would type it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return plain(value) if isinstance(value, Decimal) else str(value)


def _description(item: ItemShown, points: Sequence[CertifiedPoint], record: ItemRecord, local: Local) -> str:
    since = local(item.state_since)
    lines = [f"{item.kind}, revision {item.revision} of the description"]
    lines.append(f"state: {item.state} since {since}" + (f", {item.location}" if item.location else ""))
    lines.append(f"reason: {item.state_why}")
    if item.loan:
        lines.append(
            f"out to {item.loan.holder} for job {item.loan.job} since {local(item.loan.since)}, due back {item.loan.due_back_on}"
        )
    lines.append("")
    values = described(item)
    fields = [f for f in fields_of(DRAFTS[item.kind]) if f.key not in ("state", "location")]
    lines += [f"{f.title}: {values[f.key]}" for f in fields if values[f.key]]
    empty = [f.title for f in fields if not values[f.key]]
    lines += [f"not given: {', '.join(empty)}"] if empty else []
    for t in record.order_tests:
        lines.append(f"order test {local(t.happened_at)} by {t.person}: {t.found}; {t.readings_in_words()}")
        lines += [f"  {words}" for words in figures_in_words(t.told())]
        lines += [f"  {t.note}"] if t.note else []
        lines += [f"  SUPERSEDED by {t.superseded_by}"] if t.superseded_by else []
    if item.material:
        m = item.material
        iacs = f", {plain(m.conductivity_percent_iacs)} %IACS" if m.conductivity_percent_iacs is not None else ""
        lines.append(f"material {m.code}: {m.name}, {m.family}, {m.magnetic_class}{iacs} ({m.source})")
    if record.happened:
        told = record.happened[-LAST_EVENTS:]
        lines += ["", "what happened to it" + (", the last of it" if len(record.happened) > len(told) else "") + ":"]
        lines += [f"  {local(e.happened_at)} {event_words(e)}" for e in reversed(told)]
    whole = [p for p in points if not p.notch]
    if whole:
        lines += ["", "certified values of the whole item:", *(f"  {point_words(p)}" for p in whole)]
    allowed = [t for t in record.tolerances if not t.notch]
    if allowed:
        lines += [
            "",
            "tolerances of the whole item, for papers filed from now on:",
            *(f"  {t.in_words()}" for t in allowed),
        ]
    if record.setups:
        lines += ["", "setups that use it:", *(f"  {s.in_words()}" for s in record.setups)]
    return "\n".join(lines)


def event_words(e: EventShown) -> str:
    """Return an event of an item in full: tape, note, person, and that the record breaks there."""
    note = f" ({e.note})" if e.note else ""
    return f"{event_in_words(e.event, e.tape, e.tape_thickness_mm)}{note}, {e.person}, log entry {e.entry}" + (
        "; the record breaks here" if e.breaks else ""
    )


def measured(value: Decimal, unit: str, u: Decimal | None, k: Decimal | None) -> str:
    """Return a value with its expanded uncertainty and coverage factor, or that they are not given."""
    shown = with_unit(plain(value), unit)
    if u is None:
        return f"{shown}, U not given"
    return f"{shown}, U {with_unit(plain(u), unit)}, k {plain(k) if k is not None else 'not given'}"


def limits_words(lower: Decimal | None, upper: Decimal | None, unit: str, source: str) -> str:
    """Return the limits of a certified value with their source."""
    if lower is None and upper is None:
        return "no limit stated"
    low = plain(lower) if lower is not None else ""
    high = plain(upper) if upper is not None else ""
    both = f"{low} to {high}" if low and high else (f"at least {low}" if low else f"at most {high}")
    return with_unit(both, unit) + (f" ({source})" if source else "")


def point_words(p: CertifiedPoint) -> str:
    """Return a certified value in force in one line."""
    rule = p.decision_rule or "no decision rule"
    return f"{p.quantity} {measured(p.value, p.unit, p.expanded_uncertainty, p.coverage_factor)}; limits {limits_words(p.lower, p.upper, p.unit, p.limit_source)}; {rule}; {p.record}"


_NOTCH = (
    Col("notch", 12),
    Col("site", 11),
    Col("nominal", 8, right=True),
    Col("certified depth, U, k", 28),
    Col("limits"),
)


def _notch_row(n: NotchShown, points: Sequence[CertifiedPoint], tolerances: Sequence[ToleranceShown]) -> Row:
    own = [p for p in points if p.notch == n.label]
    depth = next((p for p in own if p.is_depth), None)
    certified = (
        measured(depth.value, depth.unit, depth.expanded_uncertainty, depth.coverage_factor) if depth else "none"
    )
    limits = limits_words(depth.lower, depth.upper, depth.unit, depth.limit_source) if depth else ""
    sizes = [
        f"{words} {plain(v)} mm"
        for words, v in (
            ("nominal depth", n.depth_mm), ("length", n.length_mm), ("width", n.width_mm), ("second leg", n.second_leg_mm),
            ("cover", n.cover_mm),
        )
        if v is not None
    ]  # fmt: skip
    about = [f"{n.label}: {n.process}, {n.site}, {', '.join(sizes)}" + (", through slot" if n.through else "")]
    about += [point_words(p) for p in own] or ["no certified value on record"]
    about += [
        f"tolerance: {t.in_words()}; set by {t.person}, log entry {t.entry}" for t in tolerances if t.notch == n.label
    ]
    return Row((n.label, n.site, f"{plain(n.depth_mm)} mm", certified, limits), about="\n".join(about))


_CERTIFICATE = (Col("activity", 12), Col("number", 16), Col("done on", 10), Col("laboratory"), Col("standing", 24))


def _certificate_row(c: CertificateShown) -> Row:
    standing = "in force" if c.in_force else "superseded or withdrawn"
    rule = f"decision rule {c.decision_rule}" if c.decision_rule else "no decision rule"
    about = f"{c.activity} {c.number} of {c.performed_on} by {c.laboratory}; {rule}; {len(c.values)} values (Enter shows them)"
    return Row(
        (c.activity, c.number, c.performed_on, c.laboratory, standing), ("certificate", c.number), about,
        "" if c.in_force else "quiet",
    )  # fmt: skip


def certificate_facts(c: CertificateShown) -> str:
    """Return what a certificate says about itself, one fact a line."""
    return fact_lines(
        ("activity", c.activity), ("number", c.number), ("laboratory", c.laboratory), ("accreditation", c.accreditation),
        ("done on", c.performed_on), ("issued on", c.issued_on), ("method", c.method), ("place", c.place),
        ("temperature", f"{c.temperature_c} °C" if c.temperature_c else ""), ("environment", c.environment),
        ("traceability", c.traceability),
        ("adjusted", "yes" if c.adjusted else "no"), ("adjustment", c.adjustment), ("decision rule", c.decision_rule or "none"),
        ("guard band ratio", c.guard_ratio), ("result", c.result), ("paper", c.paper or "none attached"),
        ("paper, SHA-256", c.paper_sha256),
    )  # fmt: skip


_DUE = (Col("activity", 12), Col("state", 11), Col("due on", 10), Col("days", 14), Col("every"))


def due_day(row: DueRow) -> str:
    """Return the last day of validity, the end of a deferral where one holds."""
    return str(row.deferred_to or row.due_on or "—")


def when_due(row: DueRow) -> str:
    """Return a duty against today in words: by use where it has no date or is used up before it."""
    if row.uses and (row.days is None or (row.state in ("overdue", "due soon") and row.first_on == row.used_up_about)):
        return row.uses
    if row.days is None:
        return row.state
    return days_in_words(row.days)


def days_in_words(days: int) -> str:
    """Return how many days are left to a last day, or how many it is past."""
    if days < 0:
        return f"{-days} day{'s' if days != -1 else ''} late"
    return "today" if days == 0 else f"in {days} day{'s' if days != 1 else ''}"


def due_tone(row: DueRow) -> str:
    """Return how loudly a due row is shown; the words carry the meaning."""
    return {"overdue": "bad", "never done": "bad", "due soon": "warn", "before use": "warn", "deferred": "warn"}.get(
        row.state, ""
    )


def due_words(row: DueRow) -> str:
    """Return a duty in full: interval, its source, and the record it counts from."""
    last = f", last done {row.last_done_on}" if row.last_done_on else ""
    due = f", due on {row.due_on}" if row.due_on else ""
    due += f", deferred to {row.deferred_to} by {row.deferral}" if row.deferred_to else ""
    used = f", {row.uses}" if row.uses else ""
    used += f", used up about {row.used_up_about} at this pace" if row.uses and row.used_up_about else ""
    by = f", done by {row.done_by}" if row.done_by else ""
    return f"{row.asset_no} {row.activity}: {row.state}{due}{used}{last}; {row.how_often} ({row.source}){by} [{row.record}]"


def person_due_row(p: PersonDue, columns: int) -> Row:
    """Return what a person owes as a row of a list of what is due: 4 columns as on the custodian's home, or 6."""
    o = p.owed
    day = str(o.due_on or "—")
    left = o.state if p.days is None else days_in_words(p.days)
    last = f", last {o.last_done_on}" if o.last_done_on else ""
    about = f"{p.person} {p.name}: {o.what}, {o.state}, {left}{last} ({o.source}) [{o.record}]"
    about += "\nchecks are kept, but no lot that asks for it can be signed" if o.state in LAPSED else ""
    cells: tuple[str, ...] = (p.person, o.short, o.state, day, left, o.source)
    if columns == 4:
        cells = (p.person, o.state, f"{o.what}: {left} ({o.source})", day)
    tone = "bad" if o.state in LAPSED else "warn" if o.state == "due soon" else ""
    return Row(cells, ("person", p.person), about, tone)


def return_row(r: ReturnDue, columns: int) -> Row:
    """Return an item that goes back to its owner as a row of a list of what is due: 4 columns, or 6."""
    left = days_in_words(r.days)
    cells: tuple[str, ...] = (r.asset_no, "return", r.state, str(r.return_on), left, f"to {r.owner}")
    if columns == 4:
        cells = (r.asset_no, r.state, f"{r.activity}: {left}", str(r.return_on))
    tone = {"overdue": "bad", "due soon": "warn"}.get(r.state, "")
    return Row(cells, ("item", r.asset_no), r.in_words(), tone)


def due_rows(rows: Sequence[DueRow]) -> tuple[Row, ...]:
    """Return the duties of one item."""
    return tuple(
        Row((r.activity, r.state, due_day(r), when_due(r), f"{r.every} ({r.source})"), ("duty", r.activity), due_words(r), due_tone(r))
        for r in rows
    )  # fmt: skip


_LOAN = (Col("out since", 16), Col("holder", 10), Col("job", 14), Col("due back", 10), Col("returned"))


def reversed_loans(loans: Sequence[LoanPast]) -> tuple[LoanPast, ...]:
    """Return loans newest first."""
    return tuple(reversed(loans))


def loan_rows(loans: Sequence[LoanPast], local: Local) -> tuple[Row, ...]:
    """Return loans of one item."""
    rows = []
    for x in loans:
        late = f", {x.late_days} day{'s' if x.late_days != 1 else ''} late" if x.late_days else ""
        back = x.until(local) + late
        about = f"{x.asset_no} out to {x.holder} for job {x.job}, due back {x.due_back_on}, {back}" + (
            f": {x.condition}" if x.condition else ""
        )
        rows.append(
            Row(
                (local(x.since), x.holder, x.job, x.due_back_on, back),
                ("job", x.job),
                about,
                "warn" if x.late_days else "",
            )
        )
    return tuple(rows)


CHECK_COLUMNS = (Col("check", 8), Col("done", 16), Col("occasion", 9), Col("setup", 8), Col("outcome"))


def check_rows(checks: Sequence[CheckVerdict], local: Local) -> tuple[Row, ...]:
    """Return kept checks with their headline."""
    tones = {"not acceptable": "bad", "not conclusive": "warn"}
    return tuple(
        Row(
            (c.number, local(c.happened_at), c.occasion, c.setup, c.headline()), ("check", c.number),
            "\n".join(x for x in (f"{c.number} {c.headline()}", c.covers_now, c.late) if x), tones.get(c.outcome, ""),
        )
        for c in checks
    )  # fmt: skip


FINDING_COLUMNS = (Col("finding", 8), Col("opened", 16), Col("state", 9), Col("holds", 16), Col("says"))


def finding_rows(findings: Sequence[FindingShown], local: Local) -> tuple[Row, ...]:
    """Return findings with what they hold."""
    rows = []
    for f in findings:
        holds = f.holds_and_freed()
        state = "released" if f.released else "open"
        about = f"{f.number} {f.cause}: {f.says}\nholds {holds}" + (" (released)" if f.released else "")
        rows.append(
            Row((f.number, local(f.happened_at), state, holds, f.says), ("finding", f.number), about, "quiet" if f.released else "bad")
        )  # fmt: skip
    return tuple(rows)


_EVENT = (Col("happened", 16), Col("kind", 11), Col("what"), Col("by", 8), Col("entry", 6, right=True))


def _event_row(e: Event, local: Local, asset_no: str) -> Row:
    superseded = " (superseded)" if e.superseded else ""
    about = f"{e.kind}: {e.says}{superseded}\nhappened {local(e.happened_at)}, recorded {local(e.recorded_at)} by {e.by}, log entry {e.entry}"
    return Row(
        (local(e.happened_at), e.kind, e.says + superseded, e.by, e.ref if e.kind == "event" else str(e.entry)),
        ("event", f"{e.ref} {asset_no}") if e.kind == "event" else None,
        about,
        "quiet" if superseded else "",
    )
