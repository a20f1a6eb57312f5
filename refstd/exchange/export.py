"""Writing the register and its records as CSV files: what an import reads, and beside it what can only be read.

Files of `kinds.py` hold what an import into a new store reads back: the current descriptions, the certificates and
schedules in force, the qualifications and tests of vision that stand, the order tests that say an instrument's order, the procedures in force, the open jobs, the
reservations that stand. Beside them stand, for reading: `judged.csv`
(how each certified value was judged on the day of its filing; an import files papers anew), `closed_jobs.csv`,
`baselines.csv`, `checks.csv`, `events.csv`, `readings.csv`, `swaps.csv`, the receipts and comparisons of `inspections.py`, `loans.csv`, `against_advice.csv`, `handovers.csv`, `losses.csv`, `past_reservations.csv`, `lots.csv`, `findings.csv`,
`interval_reviews.csv`, `log.csv`. Attached papers and earlier revisions are not among them: a backup has everything.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from refstd.base.quantity import plain
from refstd.base.text import safe
from refstd.desk.against import AgainstShown, against_in
from refstd.desk.baselines import shown_baseline
from refstd.desk.certified import JudgedKept, judged_in
from refstd.desk.check_record import CheckRecord, check_record_within
from refstd.desk.checks import checks_of
from refstd.desk.comparison_record import comparisons_in
from refstd.desk.event_record import event_rows
from refstd.desk.findings import findings_in
from refstd.desk.history import certificates_within
from refstd.desk.intervals import reviews_in
from refstd.desk.items import ItemShown, items
from refstd.desk.job_parts import DetailsShown
from refstd.desk.jobs import JobShown, jobs_in, lots_of, materials_in
from refstd.desk.loans import loans_within
from refstd.desk.lost import LossShown, losses_in
from refstd.desk.order_tests import OrderTestShown, order_tests_in
from refstd.desk.people import grants_in, people_in
from refstd.desk.procedures import ProcedureShown, procedures_in
from refstd.desk.qualifications import qualifications_in, vision_tests_in
from refstd.desk.receipt import receipts_in
from refstd.desk.requirements import ASKED
from refstd.desk.reservations import past_reservations, standing_reservations
from refstd.desk.schedules import schedules_in
from refstd.desk.setups import SetupShown, setups_in
from refstd.desk.shifts import shifts_within
from refstd.desk.swaps import SwapShown, swaps_in
from refstd.desk.tolerances import tolerances_in
from refstd.exchange.inspections import inspection_files
from refstd.exchange.kinds import KINDS
from refstd.printing.csv import guarded
from refstd.printing.json import as_number
from refstd.register.checks import Setup
from refstd.register.columns import instant_text
from refstd.register.lab import Lab, Look, When
from refstd.register.log import HASHED, entries

Cells = Mapping[str, object]


def export_register(lab: Lab, when: When) -> dict[str, bytes]:
    """Return every file of an export by its name, all from one look."""
    with lab.look(when) as look:
        files = {kind: list(rows) for kind, rows in _register(look).items()}
        written = {KINDS[kind].file: _csv(KINDS[kind].columns, rows) for kind, rows in files.items()}
        for name, columns, rows in _records(look):
            written[f"{name}.csv"] = _csv(columns, rows)
        return written


def _csv(columns: Sequence[str], rows: Iterable[Cells]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])
    return out.getvalue().encode("utf-8")


def _cell(value: object) -> str:
    """Return a value as a cell: numbers as written, yes and no, ISO dates, instants in UTC; text guarded against formulas."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return instant_text(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return plain(value)
    text = safe(value)
    return text if as_number(text) is not None else guarded(text)


def _fields(source: object, kind: str, **more: object) -> Cells:
    """Return the cells of a record: each column from the attribute of its name, unless it is given."""
    return {c: more[c] if c in more else getattr(source, c, None) for c in KINDS[kind].columns}


def _register(look: Look) -> dict[str, Iterable[Cells]]:
    registered = items(look).values()
    procedures = procedures_in(look)
    open_jobs = jobs_in(look, only_open=True)
    papers = [(i, c) for i in registered for c in certificates_within(look, i.equipment_id) if c.in_force]
    return {
        "materials": [_fields(m, "materials") for m in materials_in(look)],
        "people": [_fields(p, "people") for p in people_in(look)],
        "authorities": [_fields(g, "authorities") for g in grants_in(look)],
        "qualifications": [
            _fields(q, "qualifications") for q in reversed(qualifications_in(look)) if not q.superseded_by
        ],
        "vision_tests": [_fields(v, "vision_tests") for v in reversed(vision_tests_in(look)) if not v.superseded_by],
        **{f"{_PLURALS[kind]}": [_item(i, _PLURALS[kind]) for i in registered if i.kind == kind] for kind in _PLURALS},
        "notches": [_fields(n, "notches", asset_no=i.asset_no) for i in registered for n in i.notches],
        "order_tests": [_order_test(t) for t in order_tests_in(look) if not t.superseded_by],
        "schedules": [_fields(s, "schedules") for s in schedules_in(look)],
        "tolerances": [_fields(t, "tolerances") for t in tolerances_in(look)],
        "certificates": [_fields(c, "certificates", asset_no=i.asset_no) for i, c in papers],
        "values": [
            _fields(v, "values", asset_no=i.asset_no, certificate=c.number) for i, c in papers for v in c.values
        ],
        "procedures": [
            _fields(p, "procedures", approved_on_paper_by=p.approved_by, editorial=False) for p in procedures
        ],
        "limits": [_fields(x, "limits", procedure=p.code) for p in procedures for x in p.limits],
        "targets": [_fields(t, "targets", procedure=p.code) for p in procedures for t in p.targets],
        "named": [_fields(n, "named", procedure=p.code) for p in procedures for n in p.named],
        "families": [_fields(f, "families", procedure=p.code) for p in procedures for f in p.accepted],
        **{name: [_fields(x, name, procedure=p.code) for p in procedures for x in _asked(p, name)] for name in ASKED},
        "jobs": [_job(j) for j in open_jobs],
        "job_details": [
            _fields(j.details, "job_details", job=j.number) for j in open_jobs if j.details != DetailsShown()
        ],
        "setups": [_setup(s) for s in setups_in(look)],
        "reservations": [
            {**_fields(r, "reservations"), **({"kind": ""} if r.item else {})} for r in standing_reservations(look)
        ],
    }


def _asked(p: ProcedureShown, name: str) -> tuple[object, ...]:
    """Return what a procedure asks for under a file's name; one thing or several."""
    found = getattr(p.asks, name.removesuffix("_asked"))
    return found if isinstance(found, tuple) else (found,) if found is not None else ()


_PLURALS = {"block": "blocks", "probe": "probes", "instrument": "instruments", "accessory": "accessories"}


def _item(item: ItemShown, kind: str) -> Cells:
    material = {"material": item.material.code} if item.material else {}
    return _fields(item, kind, **item.special, **material)


def _order_test(test: OrderTestShown) -> Cells:
    names = ("rotation_deg", "horizontal", "vertical")
    seen = {
        f"{n}_{name}": v
        for n, row in (("first", test.first), ("second", test.second))
        for name, v in zip(names, row, strict=True)
    }
    gains = {"horizontal_gain_db": test.gains_db[0], "vertical_gain_db": test.gains_db[1]}
    return _fields(test, "order_tests", **seen, **gains, read_by=test.person)


def _job(job: JobShown) -> Cells:
    return _fields(job, "jobs", procedure=job.procedure.code, material=job.material.code)


def _setup(setup: SetupShown) -> Cells:
    return _fields(setup, "setups", **dict(setup.conditions))


def _records(look: Look) -> Iterator[tuple[str, tuple[str, ...], list[Cells]]]:
    """Yield what can only be read: (file, columns, rows)."""
    judged = tuple(f.name for f in fields(JudgedKept))
    yield "judged", *_columns_of([_attributes(x, judged) for x in judged_in(look)], judged)
    yield "closed_jobs", KINDS["jobs"].columns, [_job(j) for j in jobs_in(look) if not j.open]
    yield "baselines", *_columns_of([_baseline(look, s) for s in setups_in(look)], _BASELINE)
    checks = [check_record_within(look, row.number) for row in checks_of(look)]
    yield "checks", *_columns_of([_check(c) for c in checks], _CHECK)
    yield "readings", *_columns_of([r for c in checks for r in _readings(c)], _READING)
    yield "swaps", *_columns_of([r for s in swaps_in(look) for r in _swap(s)], _SWAP)
    receipts = (r for i in items(look).values() for r in receipts_in(look, i.equipment_id))
    yield from inspection_files(receipts, reversed(comparisons_in(look)))
    yield "events", *_columns_of([_attributes(x, _EVENT) for x in event_rows(look)], _EVENT)
    yield "loans", *_columns_of([_attributes(x, _LOAN) for x in loans_within(look)], _LOAN)
    yield "against_advice", *_columns_of([_decided(x) for x in against_in(look)], _DECIDED)
    yield "losses", *_columns_of([_loss(x) for x in losses_in(look)], _LOSS)
    yield "past_reservations", *_columns_of([_attributes(x, _RESERVED) for x in past_reservations(look)], _RESERVED)
    yield "handovers", *_columns_of([_attributes(x, _HANDOVER) for x in shifts_within(look)], _HANDOVER)
    yield "lots", *_columns_of([_attributes(x, _LOT) for _, x in lots_of(look)], _LOT)
    yield "findings", *_columns_of([f for x in findings_in(look) for f in _finding(x)], _FINDING)
    yield "interval_reviews", *_columns_of([_attributes(x, _REVIEW) for x in reviews_in(look)], _REVIEW)
    log = [{name: entry[name] for name in _LOG} for entry in entries(look.session.connection(), upto=look.upto)]
    yield "log", *_columns_of(log, _LOG)


_BASELINE = ("setup", "person", "approved_by", "happened_at", "checks", "why")
_CHECK = (
    "number", "happened_at", "recorded_at", "occasion", "setup", "job", "procedure", "person", "rotation_deg", "horizontal_gain_db",
    "vertical_gain_db", "nulled", "phase_set", "noise", "block_temperature_c", "part_temperature_c", "cable", "adapter", "remedy", "note", "start_check",
    "repeats", "corrects", "second_person", "why", "sheet", "sheet_sha256", "late", "outcome", "headline", "covers", "finding", "rules_version",
)  # fmt: skip
_READING = (
    "check", "notch", "depth_mm", "horizontal", "vertical", "unit", "full_screen", "certified_depth", "certified_unit", "certificate",
)  # fmt: skip
_SWAP = (
    "number", "from_check", "notch", "begun_at", "begun_by", "why", "suspected", "exchanged", "instead", "check", "setup", "result",
    "says", "person", "happened_at", "corrected_by",
)  # fmt: skip
_EVENT = (
    "asset_no", "ref", "event", "tape", "tape_thickness_mm", "happened_at", "recorded_at", "person", "note", "corrects", "withdrawn", "why",
)  # fmt: skip
_LOAN = (
    "asset_no",
    "holder",
    "job",
    "since",
    "due_back_on",
    "returned_at",
    "handed_to",
    "handed_at",
    "condition",
    "counted_out",
    "counted_in",
    "late_days",
)
_DECIDED = ("job", "items", "decided_by", "authority", "taken_by", "why", "advised", "happened_at")
_LOSS = (
    "asset_no", "finding", "happened_at", "person", "last_seen", "says", "told", "found_at", "found_by", "place", "condition", "sound",
)  # fmt: skip
_RESERVED = ("number", "job", "kind", "item", "starts_on", "ends_on", "person", "happened_at", "note", "cancelled")
_HANDOVER = (
    "job",
    "happened_at",
    "person",
    "to",
    "condition",
    "closed_by",
    "impossible",
    "lots_since",
    "open_holds",
    "note",
)
_LOT = ("number", "job", "start_check", "person", "examined", "happened_at", "late")
_FINDING = (
    "number",
    "cause",
    "says",
    "person",
    "check",
    "happened_at",
    "certificate",
    "earlier_certificate",
    "holds",
    "action",
    "action_by",
    "action_says",
    "action_at",
)
_REVIEW = (
    "asset_no", "activity", "method", "interval_before", "interval_proposed", "taken", "person", "why", "rests_on", "happened_at",
)  # fmt: skip
_LOG = (*HASHED, "hash")


def _columns_of(rows: Iterable[Cells | None], columns: tuple[str, ...]) -> tuple[tuple[str, ...], list[Cells]]:
    return columns, [row for row in rows if row is not None]


def _attributes(source: object, columns: tuple[str, ...]) -> Cells:
    return {column: getattr(source, column) for column in columns}


def _baseline(look: Look, setup: SetupShown) -> Cells | None:
    found = shown_baseline(look, look.session.get_one(Setup, setup.setup_id))
    return {**_attributes(found, _BASELINE), "checks": " ".join(found.checks)} if found else None


def _check(c: CheckRecord) -> Cells:
    own: dict[str, Any] = {name: getattr(c, name) for name in _CHECK if hasattr(c, name)}
    verdict = {name: getattr(c.verdict, name) for name in _CHECK if hasattr(c.verdict, name)}
    display = {name: getattr(c.readings, name) for name in _CHECK if hasattr(c.readings, name)}
    return {**display, **verdict, **own, "setup": c.setup.number, "headline": c.verdict.headline()}


def _readings(c: CheckRecord) -> Iterator[Cells]:
    certified = {d.notch: d for d in c.depths}
    for r in c.readings.readings:
        d = certified.get(r.notch)
        yield {
            "check": c.verdict.number, "notch": r.notch, "depth_mm": r.depth_mm, "horizontal": r.horizontal, "vertical": r.vertical,
            "unit": c.readings.unit, "full_screen": r.full_screen, "certified_depth": d.value if d else None,
            "certified_unit": d.unit if d else "", "certificate": d.certificate if d else "",
        }  # fmt: skip


def _swap(s: SwapShown) -> Iterator[Cells]:
    """Yield a swap test as one row for each step as it was told, or one row before the first."""
    first = {
        "number": s.number, "from_check": s.check, "notch": s.notch, "begun_at": s.happened_at, "begun_by": s.person, "why": s.why,
        "suspected": s.suspected,
    }  # fmt: skip
    for step in s.steps:
        yield {**first, **_attributes(step, _SWAP[7:])}
    if not s.steps:
        yield first


def _decided(x: AgainstShown) -> Cells:
    return {**_attributes(x, _DECIDED), "items": " ".join(x.items), "advised": "; ".join(x.advised)}


def _loss(x: LossShown) -> Cells:
    return {**_attributes(x, _LOSS), "told": "; ".join(f"{instant_text(at)} {by}: {told}" for at, by, told in x.told)}


def _finding(finding: Any) -> Iterator[Cells]:
    """Yield a finding as one row for each thing done about it, or one row when nothing was."""
    first = {**_attributes(finding, _FINDING[:7]), "holds": finding.holds_and_freed()}
    first["earlier_certificate"] = finding.papers.earlier.number if finding.papers else ""
    for a in finding.actions:
        yield {**first, "action": a.kind, "action_by": a.person, "action_says": a.says, "action_at": a.happened_at}
    if not finding.actions:
        yield first
