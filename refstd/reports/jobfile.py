"""A job file: all that a job's inspections rested on in one ZIP, which verifies on a machine that has only Python.

Inside: an index page for a browser, the reports as HTML, PDF, text and CSV, the readings as CSV, every attached paper byte for
byte, the checkpoint, a list of SHA-256 sums, and `verify.py`. The same question as at the same instant gives the same bytes.
"""

import hashlib
import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from importlib.resources import files
from pathlib import PurePosixPath

from refstd.base.errors import Refusal, WrongUsage
from refstd.base.text import key
from refstd.desk.certificates import paper_bytes
from refstd.desk.check_facts import checks_of
from refstd.desk.check_record import check_record_within
from refstd.desk.findings import findings_in
from refstd.desk.history import item_record
from refstd.desk.jobs import JobShown, job_named, jobs_in
from refstd.desk.loans import loans_within
from refstd.desk.log import whole_log
from refstd.desk.serviceability import CAUTION
from refstd.desk.store import Lab, When
from refstd.printing import files_of
from refstd.printing.html import page, said
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.check import check_sheet
from refstd.reports.findings import findings_sheet
from refstd.reports.heading import headed, instant, text
from refstd.reports.item import item_sheet
from refstd.reports.job import job_sheet

FORMS = ("html", "pdf", "txt", "csv")
SUMS, CHECKPOINT, LOG = "checksums.txt", "checkpoint.txt", "log.jsonl"
READINGS = (
    Column("check", "Check"), Column("occasion", "Occasion"), Column("read_at", "Read at", Kind.INSTANT),
    Column("job", "Job"), Column("setup", "Setup"), Column("person", "By"), Column("outcome", "Outcome"),
    Column("rotation_deg", "Rotation", Kind.NUMBER, "°"), Column("horizontal_gain_db", "Horizontal gain", Kind.NUMBER, "dB"),
    Column("vertical_gain_db", "Vertical gain", Kind.NUMBER, "dB"), Column("notch", "Notch"),
    Column("depth_mm", "Nominal depth", Kind.NUMBER, "mm"), Column("horizontal", "Horizontal as seen", Kind.NUMBER),
    Column("vertical", "Vertical as seen", Kind.NUMBER), Column("unit", "Unit"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Scope:
    """What a job file is about: its jobs with their checks, findings and items, and the moment that pins every report."""

    jobs: tuple[JobShown, ...]
    checks: tuple[str, ...]
    items: tuple[str, ...]
    findings: tuple[str, ...]
    pinned: When
    sequence: int


def job_file(lab: Lab, when: When, jobs: Sequence[str], *, with_log: bool = False) -> bytes:
    """Return the job file of these jobs as the bytes of a ZIP.

    with_log: also put in every entry of the lab's log, with which `verify.py` computes the chain anew; it names other
    jobs too. Raises NotFound for a job that is not on record, Refusal where somebody records something meanwhile.
    """
    scope = _scope_of(lab, when, jobs)
    sheets = dict(_sheets(lab, scope))
    if any(sheet.log_sequence != scope.sequence for sheet in sheets.values()):
        raise Refusal("something was recorded while the job file was made", "", "Ask for it again.")
    made = {name: _forms(sheet, name) for name, sheet in sheets.items()}
    inside = {file: content for contents in made.values() for file, content in contents.items()}
    inside |= {f"papers/{name}": content for name, content in _papers(lab, scope)}
    first = next(iter(sheets.values()))
    inside[CHECKPOINT] = f"{first.log_sequence}:{first.log_hash}\n".encode()
    if with_log:
        inside[LOG] = "".join(f"{line}\n" for line in whole_log(lab, scope.pinned)).encode()
    inside["verify.py"] = files("refstd.reports").joinpath("jobfile_verify.txt").read_bytes()
    inside["index.html"] = _index(
        first, scope, [(sheets[name], tuple(contents)) for name, contents in made.items()], tuple(inside)
    ).encode()
    inside[SUMS] = "".join(f"{hashlib.sha256(inside[n]).hexdigest()}  {n}\n" for n in sorted(inside)).encode()
    return _zipped(inside, first.as_at)


def jobs_between(lab: Lab, when: When, first: date, last: date) -> tuple[str, ...]:
    """Return the jobs with a day between two days, both counted, by number."""
    if last < first:
        raise WrongUsage("the period ends before it begins", f"{first} to {last}", "Exchange the two days.")
    with lab.look(when) as look:
        return tuple(j.number for j in jobs_in(look) if j.starts_on <= last and j.ends_on >= first)


def _scope_of(lab: Lab, when: When, numbers: Sequence[str]) -> _Scope:
    if when.today is not None:
        raise WrongUsage("a job file is about the records of one instant", "--today", "Use --as-at, or neither.")
    with lab.look(when) as look:
        found = tuple(dict.fromkeys(job_named(look, number) for number in numbers))
        if not found:
            raise Refusal("there is no job to make a file of", "", "Name a job, or a period in which there was one.")
        names = {j.number for j in found}
        checks = [c.number for j in found for c in checks_of(look, job_id=j.job_id)]
        used = [x.asset_no for x in loans_within(look) if x.job in names]
        for number in checks:
            setup = check_record_within(look, number).setup
            used += [setup.instrument, setup.probe, setup.block]
        held = [f.number for f in findings_in(look) if f.check in checks or any(x.job in names for x in f.lots)]
        pinned = When(max(when.now, look.instant), as_at=look.instant)
        return _Scope(found, tuple(checks), tuple(sorted(set(used))), tuple(held), pinned, look.upto)


def _sheets(lab: Lab, scope: _Scope) -> Iterator[tuple[str, Sheet]]:
    for j in scope.jobs:
        yield f"jobs/{j.number}", job_sheet(lab, scope.pinned, j.number)
    yield "readings", _readings_sheet(lab, scope)
    for number in scope.checks:
        yield f"checks/{number}", check_sheet(lab, scope.pinned, number)
    for asset_no in scope.items:
        yield f"items/{asset_no}", item_sheet(lab, scope.pinned, asset_no)
    whole = findings_sheet(lab, scope.pinned)
    about = [row for row in whole.rows if row[0] in scope.findings]
    yield "findings", replace(whole, title="Findings on these jobs", rows=tuple(about), extra={})


def _readings_sheet(lab: Lab, scope: _Scope) -> Sheet:
    with lab.look(scope.pinned) as look:
        rows = []
        for number in scope.checks:
            c = check_record_within(look, number)
            v, r = c.verdict, c.readings
            first = (v.number, v.occasion, instant(v.happened_at), v.job, c.setup.number, v.person, v.outcome)
            display = (text(r.rotation_deg), text(r.horizontal_gain_db), text(r.vertical_gain_db))
            for x in r.readings:
                seen = (text(x.horizontal), f"≥ {text(r.full_screen)}" if x.full_screen else text(x.vertical))
                rows.append((*first, *display, x.notch, text(x.depth_mm), *seen, r.unit))
        notes = (
            "Readings as seen on the screen; '≥' is full screen or more. What follows from them is on each check's page.",
        )
        return headed(look, "refstd.readings/1", "Readings of these jobs", READINGS, rows, notes=notes)


def _papers(lab: Lab, scope: _Scope) -> Iterator[tuple[str, bytes]]:
    """Yield each attached paper of the items once, by a name that begins with its item and hash."""
    for asset_no in scope.items:
        for c in item_record(lab, asset_no, scope.pinned).certificates:
            if c.paper_sha256:
                name, content = paper_bytes(lab, c.paper_sha256, scope.pinned)
                plain = "".join(
                    x if x.isascii() and (x.isalnum() or x in ".-_") else "_" for x in PurePosixPath(name).name
                )
                yield f"{asset_no}-{c.paper_sha256[:12]}-{plain[-60:]}", content


def _forms(sheet: Sheet, name: str) -> dict[str, bytes]:
    return {file: content for form in FORMS for file, content in files_of(sheet, f"{name}.{form}").items()}


def _shown_as(file: str) -> str:
    """Return how the index page calls a file: its form, of a volume with its number."""
    stem, _, form = file.rpartition(".")
    volume = re.search(r"-([0-9]+of[0-9]+)$", stem)
    return f"{form} {volume[1]}" if volume and form == "pdf" else form


def _index(first: Sheet, scope: _Scope, sheets: Sequence[tuple[Sheet, Sequence[str]]], names: Sequence[str]) -> str:
    """Return the page that opens in a browser: what is inside, and what checking it proves. No script, nothing fetched."""
    jobs = ", ".join(j.number for j in scope.jobs)
    rows = "\n".join(
        f"<tr><td>{said(sheet.title)}</td><td>{len(sheet.rows)}</td><td>"
        + " ".join(f'<a href="{said(file)}">{said(_shown_as(file))}</a>' for file in made)
        + "</td></tr>"
        for sheet, made in sheets
    )
    papers = "\n".join(f'<li><a href="{said(n)}">{said(n[7:])}</a></li>' for n in names if n.startswith("papers/"))
    chain = _WITH_LOG if LOG in names else _WITHOUT_LOG
    body = f"""<h1>Job file {said(jobs)}</h1>
<p>{said(first.lab)}<br>as at {said(first.as_at)}, day {said(first.day)}, rules version {said(first.rules_version)}</p>
<p><strong>{said(CAUTION)}</strong></p>
<h2>Reports</h2>
<table><thead><tr><th>Report</th><th>Rows</th><th>As</th></tr></thead>
{rows}
</table>
<h2>Papers</h2>
<ul>{papers or "<li>no paper is attached to the certificates of these items</li>"}</ul>
<h2>Checking this file</h2>
<p>Unpack it and run <code>python3 verify.py</code> in its folder; nothing else is needed. Checkpoint of the lab's log:
<code>{first.log_sequence}:{said(first.log_hash)}</code></p>
<p>{said(_PROVES)} {said(chain)}</p>"""
    return page(f"Job file {jobs}", body)


_PROVES = (
    "It says whether every file here is the one that the list of sums names. Whoever writes both anew is not found by that: compare "
    "the SHA-256 of the ZIP with the one in the lab's log (`refstd verify --paper FILE`, if it was issued), or with one that was told another way. "
    "Nothing proves that what was typed was true."
)
_WITH_LOG = (
    "The whole log is inside: its chain is computed anew and must end in the checkpoint. Compare the checkpoint with one kept elsewhere; "
    "without that, a log written anew as a whole is not found."
)
_WITHOUT_LOG = (
    "The log itself is not inside, since it names other jobs too: that the records follow from it is shown by `refstd verify --deep "
    "--checkpoint` at the lab, or by a job file made with the whole log."
)


def _zipped(inside: dict[str, bytes], as_at: str) -> bytes:
    moment = as_at.replace("Z", "")
    stamp = (max(1980, int(moment[:4])), int(moment[5:7]), int(moment[8:10]), int(moment[11:13]), int(moment[14:16]), 0)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as packed:
        for name in sorted(inside, key=lambda n: (n != "index.html", key(n))):
            entry = zipfile.ZipInfo(name, stamp)
            entry.compress_type, entry.create_system, entry.external_attr = zipfile.ZIP_DEFLATED, 3, 0o644 << 16
            packed.writestr(entry, inside[name])
    return out.getvalue()
