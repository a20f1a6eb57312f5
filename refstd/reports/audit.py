"""What an audit follows: a job to the papers behind it, decisions by authority, the equipment by material and form."""

from collections import Counter
from collections.abc import Sequence

from refstd.base.errors import NotFound
from refstd.base.text import key, safe
from refstd.desk.decisions import decisions_within
from refstd.desk.serviceability import Status, register_within
from refstd.desk.store import Lab, When
from refstd.desk.traceability import Traced, traced_within
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text
from refstd.reports.reach import checks_in_words

TRACED = (
    Column("day", "Day", Kind.DATE, width=9),
    Column("asset_no", "Asset", width=8),
    Column("item", "What it is", width=14),
    Column("through", "Through", width=14),
    Column("certificate", "Certificate", width=12),
    Column("activity", "Activity", width=9),
    Column("performed_on", "Done on", Kind.DATE, width=9),
    Column("recorded", "On record since", Kind.INSTANT, width=10),
    Column("laboratory", "Laboratory", width=12),
    Column("accreditation", "Accreditation", width=10),
    Column("traceability", "Traceability statement", width=16),
    Column("values", "Values with U and k", width=24),
    Column("paper_sha256", "Paper, SHA-256", width=10),
    Column("open", "Left open", width=12),
    Column("checks", "Checks of that day", width=14),
)
TRACED_NOTES = (
    "One row for each item, each day on which a check of the job was made with it, and each paper that it traced to then: the newest "
    "of each activity that counts and was done by that day. What was corrected or withdrawn since counts no longer.",
    "A secondary block traces through its newest comparison by that day to the certificate that its primary had when it was made.",
    "refstd holds what the papers say. Whether a laboratory's accreditation covered the work, its own scope says.",
)
DECIDED = (
    Column("happened_at", "When", Kind.INSTANT, width=13),
    Column("kind", "Decision", width=12),
    Column("record", "Record", width=9),
    Column("says", "About", width=34),
    Column("person", "By", width=7),
    Column("authority", "Authority", width=12),
    Column("why", "Reason", width=30),
    Column("stands", "Stands", width=12),
)
DECIDED_NOTES = (
    "No decision changes a verdict. What somebody with the authority may do beside it stands here: let a kit go out against advice, "
    "decide and release findings, defer due dates, change intervals; never about their own check.",
)
EQUIPMENT = (
    Column("material", "Material", width=12),
    Column("form", "Form", width=10),
    Column("kind", "Kind", width=9),
    Column("asset_no", "Asset", width=9),
    Column("name", "Name", width=16),
    Column("state", "State", width=11),
    Column("location", "Where, or out to", width=14),
    Column("standing", "Standing", width=10),
    Column("verdict", "Verdict", width=26),
    Column("next_due", "Next due", Kind.DATE, width=9),
)


def traceability_sheet(lab: Lab, when: When, job: str) -> Sheet:
    """Return what a job traces to."""
    with lab.look(when) as look:
        shown, rows = traced_within(look, job)
        scope = [("job", shown.number), ("procedure", shown.procedure.name), ("parts", shown.parts)]
        title = f"What job {shown.number} traces to"
        return headed(
            look, "refstd.traceability/1", title, TRACED, [_traced(r) for r in rows], scope=scope, notes=TRACED_NOTES
        )


def _traced(r: Traced) -> tuple[str, ...]:
    c = r.certificate
    paper = (
        (c.number, c.activity, c.performed_on, instant(c.recorded_at), c.laboratory, c.accreditation, c.traceability)
        if c
        else ("",) * 7
    )
    return (
        r.day, r.item.asset_no, f"{r.item.kind}: {r.item.name}", r.through, *paper, r.uncertainties(), c.paper_sha256 if c else "",
        "; ".join(r.gaps()), checks_in_words(r.checks),
    )  # fmt: skip


def decisions_sheet(lab: Lab, when: When, between: Sequence[str] = ()) -> Sheet:
    """Return the decisions by authority of a period (first day, last day), newest first."""
    since, until = (*between, "", "")[:2]
    with lab.look(when) as look:
        found = decisions_within(look, since, until)
        rows = [
            (instant(d.happened_at), d.kind, d.record[1], d.says, d.person, d.authority, d.why, d.stands) for d in found
        ]
        scope = [("from", since or "the first record"), ("to", until or look.today.isoformat())]
        title = "Decisions by authority: against advice, releases, deferrals, intervals"
        return headed(look, "refstd.decisions/1", title, DECIDED, rows, scope=scope, notes=DECIDED_NOTES)


def equipment_sheet(lab: Lab, when: When, words: Sequence[str] = ()) -> Sheet:
    """Return the equipment by material and form, only that of which each word is material, form, kind, state or standing."""
    with lab.look(when) as look:
        known = register_within(look)
        said = {x for s in known for x in _names(s)}
        for word in words:
            if key(word) not in said:
                raise NotFound(
                    f"no item has '{safe(word)[:40]}' as its material, form, kind, state or standing", "ABOUT",
                    "Name one, such as a material's code, plate, block or quarantined.",
                )  # fmt: skip
        found = [s for s in known if all(key(w) in _names(s) for w in words)]
        rows = sorted((_equipment(s) for s in found), key=lambda r: (not r[0], r[:4]))
        counted = Counter((r[0] or "no material", r[1] or "no form", r[7]) for r in rows)
        scope = [("only", ", ".join(words) or "all")]
        scope += [
            (f"{material}, {form}, {standing}", str(n)) for (material, form, standing), n in sorted(counted.items())
        ]
        title = "Equipment by material and form"
        return headed(look, "refstd.equipment/1", title, EQUIPMENT, rows, scope=scope)


def _names(s: Status) -> set[str]:
    i = s.item
    own = (
        i.form,
        i.kind,
        i.state,
        str(s.verdict.standing),
        *((i.material.code, i.material.name) if i.material else ()),
    )
    return {key(x) for x in own if x}


def _equipment(s: Status) -> tuple[str, ...]:
    i = s.item
    due = min((d.due_on for d in s.duties if d.due_on), default=None)
    where = f"{i.loan.holder}, job {i.loan.job}" if i.loan else i.location
    return (
        i.material.code if i.material else "", i.form, i.kind, i.asset_no, i.name, i.state, where, str(s.verdict.standing),
        s.verdict.headline(), text(due),
    )  # fmt: skip
