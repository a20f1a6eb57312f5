"""Which kits suit a job, which items do not, why, and what would cure it."""

from refstd.base.quantity import plain
from refstd.base.reason import Weight
from refstd.desk.jobs import JobShown, job_named
from refstd.desk.kits import METHOD, Match, kits_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Sheet
from refstd.reports.heading import NO_REASON, REASON_COLUMNS, headed, reason_cells, verdict_members

COLUMNS = (
    Column("place", "Place", width=6),
    Column("subject", "Kit or item", width=18),
    Column("fits", "Suits", width=5),
    Column("verdict", "Verdict", width=20),
    *REASON_COLUMNS,
)
MOST_KITS = 50
NOTES = (
    "What the procedure names by part number comes first; then hard conditions; then advice. A verdict is on the equipment, "
    "'suits' is on the equipment for this job.",
    "Kits stand best first: named by the procedure, then with a baseline, then with the fewest cautions, the fewest cables "
    "and adapters, and the block nearest to the part in conductivity (of ferrous blocks those of the part's own material). "
    f"The best kit of each block stands before the others; at most {MOST_KITS} are shown.",
    *(f"Explanations, calculated and not measured. {line}" if n == 0 else line for n, line in enumerate(METHOD)),
)


def match_sheet(lab: Lab, when: When, job: str) -> Sheet:
    """Return the kits that suit a job and the items that do not, one row a reason."""
    with lab.look(when) as look:
        shown = job_named(look, job)
        kits, rejected = kits_within(look, shown, most=MOST_KITS)
        rows = [row for place, m in enumerate(kits, start=1) for row in _rows(str(place), m)]
        rows += [row for m in rejected for row in _rows("", m)]
        return headed(
            look, "refstd.match/1", f"Equipment for job {shown.number}", COLUMNS, rows, scope=_scope(shown), notes=NOTES,
            extra={"kits": [_members(m) for m in kits], "rejected": [_members(m) for m in rejected]},
        )  # fmt: skip


def _scope(job: JobShown) -> list[tuple[str, str]]:
    bore = f", bore {plain(job.bore_diameter_mm)} mm" if job.bore_diameter_mm is not None else ""
    return [
        ("job", job.number),
        ("procedure", job.procedure.name),
        ("part", f"{job.material.name} ({job.material.family}), {job.form}{bore}"),
        ("frequency", f"{plain(job.frequency_khz)} kHz"),
        ("days", f"{job.starts_on} to {job.ends_on}"),
    ]


def _rows(place: str, m: Match) -> list[tuple[str, ...]]:
    first = (place, m.subject, "yes" if m.fits else "no", m.verdict.headline())
    advice = [r for r in m.explained if r.weight is Weight.ADVISES]
    return [(*first, *reason_cells(r)) for r in (*m.reasons, *advice)] or [(*first, *NO_REASON)]


def _members(m: Match) -> dict[str, object]:
    return {
        "asset_nos": list(m.asset_nos), "named": m.named, **verdict_members(m.verdict, m.reasons),
        "explained": [r.as_dict() for r in m.explained],
    }  # fmt: skip
