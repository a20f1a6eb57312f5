"""Two certificates that a finding holds against each other: each value of both, E_n, and the usual causes as questions."""

from refstd.base.errors import NotFound
from refstd.base.text import safe
from refstd.desk.agreement import Agreement, BothPapers, PaperSide
from refstd.desk.findings import FindingShown, finding_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text

COLUMNS = (
    Column("what", "What", width=14),
    Column("earlier_value", "Earlier", Kind.NUMBER, width=8),
    Column("earlier_expanded_uncertainty", "U", Kind.NUMBER, width=6),
    Column("earlier_coverage_factor", "k", Kind.NUMBER, width=4),
    Column("earlier_unit", "Unit", width=5),
    Column("earlier_stage", "Stage", width=8),
    Column("later_value", "Later", Kind.NUMBER, width=8),
    Column("later_expanded_uncertainty", "U", Kind.NUMBER, width=6),
    Column("later_coverage_factor", "k", Kind.NUMBER, width=4),
    Column("later_unit", "Unit", width=5),
    Column("later_stage", "Stage", width=8),
    Column("e_n", "|E_n|", Kind.NUMBER, width=6),
    Column("limit", "Limit", Kind.NUMBER, width=5),
    Column("zeta", "|ζ|", Kind.NUMBER, width=6),
    Column("outcome", "Outcome", width=10),
    Column("notes", "To be known", width=24),
)


def papers_sheet(lab: Lab, when: When, number: str) -> Sheet:
    """Return both papers of a finding side by side, or refuse where it is not about two papers."""
    with lab.look(when) as look:
        found = finding_within(look, number)
        if found.papers is None:
            raise NotFound(
                f"finding {found.number} is not about two certificates", safe(number), "See `refstd list findings`."
            )
        both = found.papers
        notes = (
            f"|E_n| up to {both.limit} is agreement ({both.source}); both U are brought to k = 2. "
            "|ζ| asks for a warning from 2 and an action from 3 (ISO 13528:2015, 9.6).",
            "Both take the two measurements as independent: from one laboratory by one method they come out too small.",
            *(f"{q.asks}" + (f" On record: {q.on_record}." if q.on_record else "") for q in both.questions),
        )  # fmt: skip
        return headed(
            look, "refstd.papers/1", f"Finding {found.number}: {found.cause}", COLUMNS, [_row(a, both) for a in both.rows],
            scope=_scope(found, both), notes=notes, extra={"papers": papers_members(both)},
        )  # fmt: skip


def papers_members(both: BothPapers) -> dict[str, object]:
    """Return two papers as JSON has them."""
    return {
        "item": both.asset_no, "earlier": _side(both.earlier), "later": _side(both.later), "limit": both.limit, "source": both.source,
        "rows": [dict(zip((c.key for c in COLUMNS), _row(a, both), strict=True)) for a in both.rows],
        "questions": [{"asks": q.asks, "on_record": q.on_record} for q in both.questions],
    }  # fmt: skip


def side_in_words(p: PaperSide) -> str:
    """Return what a paper says of how it was measured, in a line."""
    parts = [
        f"{p.number} of {p.performed_on}", p.laboratory, p.method, p.place, f"{p.temperature_c} °C" if p.temperature_c else "",
        p.environment, p.traceability, "" if p.in_force else "superseded or withdrawn",
    ]  # fmt: skip
    return "; ".join(x for x in parts if x)


def _scope(f: FindingShown, both: BothPapers) -> list[tuple[str, str]]:
    return [
        ("item", both.asset_no), ("found", f.says), ("opened", f"{instant(f.happened_at)} by {f.person}"),
        ("earlier certificate", side_in_words(both.earlier)), ("later certificate", side_in_words(both.later)),
    ]  # fmt: skip


def _side(p: PaperSide) -> dict[str, object]:
    return {name: getattr(p, name) for name in p.__slots__}


def _row(a: Agreement, both: BothPapers) -> tuple[str, ...]:
    sides: list[str] = []
    for v in (a.earlier, a.later):
        sides += [text(v.value), text(v.expanded_uncertainty), text(v.coverage_factor), v.unit, v.stage]
    zeta = "" if a.zeta is None else f"{abs(a.zeta):.2f}"
    notes = "; ".join((*([a.why_not] if a.why_not else []), *a.notes))
    return a.what, *sides, a.figure(), both.limit if a.e_n is not None else "", zeta, a.outcome, notes
