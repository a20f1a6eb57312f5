"""A job by part and hole: what is known of it, what was examined in which lot, what is left, what stands in doubt."""

from collections.abc import Iterator

from refstd.desk.against import against_in
from refstd.desk.job_parts import Progress, progress
from refstd.desk.job_people import JobPerson, job_people_within
from refstd.desk.jobs import JobShown, job_named, lots_of
from refstd.desk.reservations import reservations_in
from refstd.desk.shifts import ShiftShown, shifts_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text
from refstd.rules.parts import Part, in_words

COLUMNS = (
    Column("about", "About", width=18),
    Column("says", "What is on record", width=50),
    Column("happened_at", "When", Kind.INSTANT, width=14),
    Column("person", "By", width=8),
    Column("start_check", "Start check", width=9),
)
NOTES = (
    "What is left stands in no lot. What is in doubt stands only in lots that a finding holds; it counts as not examined until a "
    "decision says otherwise (ISO 15549:2019, clause 10).",
    "A part without holes counts as begun once a lot names it; how much of it was examined, the lots say.",
    "A person stands with what their papers said on the days of their work, as on record now; a check is kept whoever made it, a lot "
    "is signed for only by somebody qualified as the procedure asks.",
)


def job_sheet(lab: Lab, when: When, job: str) -> Sheet:
    """Return a job with its parts, what is known of them, its lots, and what is left or in doubt by part and hole."""
    with lab.look(when) as look:
        shown = job_named(look, job)
        found = progress(look, shown.job_id)
        rows = [(about, says, "", "", "") for about, says in (*_job(shown), *_parts(shown, found))]
        rows += [
            (f"reserved {r.number}", r.in_words(), instant(r.happened_at), r.person, "")
            for r in reservations_in(look) if r.job == shown.number and not r.cancelled
        ]  # fmt: skip
        rows += [
            (f"against advice: {', '.join(a.items)}", f"{a.in_words()}; advised: {'; '.join(a.advised)}", instant(a.happened_at), a.taken_by, "")
            for a in against_in(look, shown.job_id)
        ]  # fmt: skip
        people = job_people_within(look, shown)
        rows += [(f"person {p.person}", p.in_words(), "", p.person, "") for p in people]
        rows += [
            (
                f"lot {x.number}",
                x.examined + (f" ({x.late})" if x.late else ""),
                instant(x.happened_at),
                x.person,
                x.start_check,
            )
            for _, x in lots_of(look, job_id=shown.job_id)
        ]
        handed = shifts_within(look, shown.job_id)
        rows += [("hand-over", h.in_words(), instant(h.happened_at), h.person, "") for h in handed]
        return headed(
            look, "refstd.job/1", f"Job {shown.number}", COLUMNS, rows, scope=[("job", shown.number)], notes=NOTES,
            extra={"parts": _listed(shown.listed), "left": _listed(found.left), "in_doubt": _listed(found.in_doubt), "people": _people(people), "handovers": [_handover(h) for h in handed]},
        )  # fmt: skip


def _listed(parts: tuple[Part, ...]) -> list[dict[str, str]]:
    return [p.as_dict() for p in parts]


def _people(people: tuple[JobPerson, ...]) -> list[dict[str, object]]:
    return [
        {
            "person": p.person, "against_signing": [{"day": day, **r.as_dict()} for day, r in p.against],
            "in_order": [r.as_dict() for r in p.in_order],
        }
        for p in people
    ]  # fmt: skip


def _handover(h: ShiftShown) -> dict[str, object]:
    return {
        "happened_at": instant(h.happened_at), "person": h.person, "to": h.to, "items": list(h.items), "condition": h.condition,
        "closing_checks": [{"setup": w.setup, "check": w.closing_check, "outcome": w.outcome} for w in h.work],
        "impossible": h.impossible, "lots": [x.number for x in h.lots], "open_holds": [f.number for f in h.holds], "note": h.note,
    }  # fmt: skip


def _job(j: JobShown) -> Iterator[tuple[str, str]]:
    yield "state", "open" if j.open else "closed"
    yield "procedure", f"{j.procedure.name}: {j.procedure.title}"
    yield "days", f"{j.starts_on} to {j.ends_on}"
    yield "material", f"{j.material.code} {j.material.name}"
    yield "form", j.form + (f", bore {text(j.bore_diameter_mm)} mm" if j.bore_diameter_mm is not None else "")
    yield "frequency", f"{text(j.frequency_khz)} kHz"
    for about, says in (
        ("customer's reference", j.customer_reference),
        ("target flaw", j.target_flaw),
        ("place", j.place),
    ):
        if says:
            yield about, says
    yield from j.details.stated()


def _parts(j: JobShown, found: Progress) -> Iterator[tuple[str, str]]:
    for part in j.listed:
        yield "part", part.in_words()
    yield "left to examine", in_words(found.left) or "nothing"
    yield "in doubt", in_words(found.in_doubt) or "nothing"
