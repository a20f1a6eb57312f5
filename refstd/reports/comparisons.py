"""Comparisons of secondary blocks with their primaries: every notch as it was told on its day."""

from refstd.desk.comparison_record import ComparisonShown, comparisons_in
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text

COLUMNS = (
    Column("number", "Comparison", width=9),
    Column("secondary", "Secondary", width=9),
    Column("primary", "Primary", width=9),
    Column("happened_at", "When", Kind.INSTANT, width=13),
    Column("person", "By", width=6),
    Column("outcome", "Outcome", width=14),
    Column("notch", "Notch", width=8),
    Column("ratio_db", "Amplitude, secondary against primary", Kind.NUMBER, "dB", 9),
    Column("phase_deg", "Phase, secondary against primary", Kind.NUMBER, "°", 9),
    Column("moved_db", "Primary moved", Kind.NUMBER, "dB", 8),
    Column("band", "Band, with its source", width=18),
    Column("notch_outcome", "Notch", width=12),
    Column("says", "With U, limit and source", width=36),
    Column("system", "System and settings", width=26),
    Column("next_due", "Next due", Kind.DATE, width=9),
    Column("evidence", "Evidence or finding", width=10),
    Column("stands", "Stands", width=12),
)
NOTES = (
    "Each scan of the secondary is held against the mean of the primary's scans before and after it, in dB and degrees; a "
    "drift that runs straight in time falls out (weighing cycle ABA, OIML R 111-1:2004, C.4, from memory).",
    "U is k = 2, from one step of the last digit (JCGM 100:2008, F.2.2.1) and the noise on record. What is not conclusive is "
    "kept and counts as no comparison.",
)


def comparisons_sheet(lab: Lab, when: When, number: str = "") -> Sheet:
    """Return every comparison, newest first, or one, or those of one block; one row a notch."""
    asked = number.casefold()
    with lab.look(when) as look:
        found = [
            c for c in comparisons_in(look)
            if not number or asked in (c.number.casefold(), c.primary.casefold(), c.secondary.casefold())
        ]  # fmt: skip
        rows = [row for c in found for row in _rows(c)]
        scope = [("comparison or block", number.upper())] if number else []
        return headed(look, "refstd.comparisons/1", "Comparisons of blocks", COLUMNS, rows, scope=scope, notes=NOTES)


def _rows(c: ComparisonShown) -> list[tuple[str, ...]]:
    stands = (
        f"corrected by {c.corrected_by}" if c.corrected_by else f"corrects {c.corrects}: {c.why}" if c.corrects else ""
    )
    return [
        (
            c.number, c.secondary, c.primary, instant(c.happened_at), c.person, c.outcome, n.notch, text(n.ratio_db),
            text(n.phase_deg), text(n.moved_db), c.band_in_words(), n.outcome, n.says, c.system_in_words(), text(c.next_due),
            c.finding or c.certificate, stands,
        )
        for n in c.notches
    ]  # fmt: skip
