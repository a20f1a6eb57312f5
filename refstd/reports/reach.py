"""A look-back that begins with an item or with a job: what an item had a part in, and what a job rested on."""

from collections.abc import Iterator, Sequence

from refstd.desk.reach import CheckMade, ItemsWork, Paper, RestedOn, rested_within, what_is, work_within
from refstd.desk.store import Lab, Look, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant

WORK = (
    Column("what", "What", width=11),
    Column("number", "Number", width=12),
    Column("happened_at", "When", Kind.INSTANT, width=14),
    Column("job", "Job", width=10),
    Column("setup", "Setup", width=9),
    Column("says", "What is on record", width=50),
)
WORK_NOTES = (
    "Both ends of the period count. A lot stands here when the item belonged to the kit of its start check or of a check compared "
    "with that: which of two cables was in use between checks is not on record, so each counts.",
    "Certificates: those done in the period, and before them the newest of each activity, which was in force when it began.",
    "This says where the item was used. What is in doubt, a finding says: `refstd lookback FINDING`.",
)
BASIS = (
    Column("day", "Day", Kind.DATE, width=9),
    Column("asset_no", "Asset", width=10),
    Column("item", "What it is", width=22),
    Column("certificates", "Certificate of that day", width=34),
    Column("checks", "Checks of that day", width=40),
)
BASIS_NOTES = (
    "One row for each item and each day on which a check of the job was made with it. The certificate is the newest of each activity "
    "that was done by that day; one that was corrected or withdrawn since then stands here no longer.",
)


def lookback_sheet(lab: Lab, when: When, about: Sequence[str]) -> Sheet:
    """Return the look-back from an item (with the days of a period) or from a job."""
    number, since, until = (*about, "", "")[:3]
    with lab.look(when) as look:
        return _of_job(look, number) if what_is(look, number) == "job" else _of_item(look, number, since, until)


def item_work_sheet(lab: Lab, when: When, asset_no: str, since: str = "", until: str = "") -> Sheet:
    """Return what an item had a part in, in a period."""
    with lab.look(when) as look:
        return _of_item(look, asset_no, since, until)


def job_basis_sheet(lab: Lab, when: When, job: str) -> Sheet:
    """Return what a job rested on."""
    with lab.look(when) as look:
        return _of_job(look, job)


def _of_item(look: Look, number: str, since: str, until: str) -> Sheet:
    work = work_within(look, number, since, until)
    asset_no = work.item.asset_no
    scope = [("item", f"{asset_no} {work.item.name}"), ("from", instant(work.since) or "the first record")]
    scope += [("to", instant(work.until)), ("jobs", ", ".join(j.number for j in work.jobs) or "none")]
    return headed(
        look, "refstd.item_work/1", f"What {asset_no} had a part in", WORK, list(work_rows(work)), scope=scope, notes=WORK_NOTES
    )  # fmt: skip


def work_rows(work: ItemsWork) -> Iterator[tuple[str, ...]]:
    """Yield what an item had a part in: lots, jobs, checks, certificates, findings, each oldest first."""
    for x in work.lots:
        says = f"{x.examined}, under start check {x.start_check}, by {x.person}"
        yield "lot", x.number, instant(x.happened_at), x.job, "", says
    for j in work.jobs:
        yield "job", j.number, "", j.number, "", f"{j.procedure.name}; {j.parts}"
    for c in work.checks:
        yield "check", c.number, instant(c.happened_at), c.job, c.setup, f"{c.occasion}: {c.outcome}"
    for p in work.certificates:
        yield "certificate", p.number, "", "", "", f"{p.activity} of {p.performed_on} by {p.laboratory}"
    for f in work.findings:
        state = "released" if f.released else "open"
        yield "finding", f.number, instant(f.happened_at), "", "", f"{state}: {f.says}"


def _of_job(look: Look, number: str) -> Sheet:
    found = rested_within(look, number)
    scope = [("job", found.job.number), ("procedure", found.job.procedure.name), ("parts", found.job.parts)]
    scope += [("lots", "; ".join(f"{x.number} ({x.examined})" for x in found.lots) or "none")]
    rows = [basis_row(r) for r in found.rows]
    title = f"What job {found.job.number} rested on"
    return headed(look, "refstd.job_basis/1", title, BASIS, rows, scope=scope, notes=BASIS_NOTES)


def basis_row(r: RestedOn) -> tuple[str, ...]:
    """Return an item of a job on one day as cells."""
    return r.day, r.item.asset_no, f"{r.item.kind}: {r.item.name}", papers_in_words(r.papers), checks_in_words(r.checks)


def papers_in_words(papers: Sequence[Paper]) -> str:
    """Return the papers of a day in one line."""
    said = (f"{p.activity} {p.number} of {p.performed_on} by {p.laboratory}" for p in papers)
    return "; ".join(said) or "none on record for that day"


def checks_in_words(checks: Sequence[CheckMade]) -> str:
    """Return the checks of a day in one line."""
    return "; ".join(f"{c.number} {c.occasion}: {c.outcome}" for c in checks)
