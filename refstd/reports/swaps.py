"""Swap tests: from which deviation each began, every step with its check, and what the steps say together."""

from refstd.desk.store import Lab, When
from refstd.desk.swaps import SwapShown, swaps_in
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant

COLUMNS = (
    Column("number", "Swap test", width=8),
    Column("check", "Began from check", width=8),
    Column("notch", "Notch", width=8),
    Column("deviation", "Deviation there", width=10),
    Column("least", "Least to be followed", width=10),
    Column("limit_from", "Limits from", width=20),
    Column("suspected", "Suspected", width=18),
    Column("begun_at", "Begun", Kind.INSTANT, width=13),
    Column("begun_by", "By", width=6),
    Column("step", "Step", Kind.NUMBER, width=4),
    Column("exchanged", "Exchanged", width=9),
    Column("instead", "Came in", width=8),
    Column("step_check", "Check", width=8),
    Column("setup", "Setup", width=8),
    Column("result", "The deviation", width=10),
    Column("says", "With figures and limits", width=30),
    Column("person", "By", width=6),
    Column("happened_at", "When", Kind.INSTANT, width=13),
    Column("conclusion", "All steps say", width=24),
    Column("next_step", "Next step", width=20),
)
NOTES = (
    "One thing was exchanged at a time, everything else as it was: the deviation goes with what caused it (common practice, "
    "no source). It rests on one thing having moved.",
    "A swap test advises. It holds nothing, frees nothing and covers no work; its checks are judged by the procedure like a "
    "periodic check.",
    "Steps stand as told on their day. What all steps say is told anew: corrected checks count no longer.",
)


def swaps_sheet(lab: Lab, when: When, number: str = "") -> Sheet:
    """Return every swap test, newest first, or one; one row a step."""
    with lab.look(when) as look:
        found = [s for s in swaps_in(look) if not number or s.number.casefold() == number.casefold()]
        rows = [row for s in found for row in _rows(s)]
        scope = [("swap test", number.upper())] if number else []
        return headed(look, "refstd.swaps/1", "Swap tests", COLUMNS, rows, scope=scope, notes=NOTES)


def _rows(s: SwapShown) -> list[tuple[str, ...]]:
    d = s.deviation
    head = (s.number, s.check, s.notch, d.figure, d.limit, d.source, s.suspected, instant(s.happened_at), s.person)
    tail = (s.headline(), s.ended or ("" if s.void else s.conclusion.cure))
    steps = [
        (
            str(n), x.exchanged, x.instead, x.check, x.setup, x.result if x.counts else f"counts no longer: corrected by {x.corrected_by}",
            x.says, x.person, instant(x.happened_at),
        )
        for n, x in enumerate(s.steps, start=1)
    ]  # fmt: skip
    return [(*head, *step, *tail) for step in steps or [("0", *("",) * 8)]]
