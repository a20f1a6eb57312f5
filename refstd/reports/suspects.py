"""What moved: the items that the evidence over the whole lab names or ties, and how much better they explain it than others."""

from refstd.base.quantity import Unit, derived
from refstd.desk.store import Lab, When
from refstd.desk.suspects import Evidence, Suspect, Suspects, suspects_within
from refstd.metrology.attribution import FEWEST_DEGREES, NAME_AGAIN_AT, NAME_AT, SPREAD_MARGIN
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed
from refstd.rules.suspects import ENOUGH, METHOD, SOURCE, in_words, score_in_words, spread_in_words, swap_in_words

COLUMNS = (
    Column("about", "About", width=12),
    Column("role", "Role", width=9),
    Column("kind", "Kind", width=8),
    Column("item", "Item", width=8),
    Column("notch", "Notch", width=8),
    Column("effect_db", "Effect", Kind.NUMBER, "dB", 7),
    Column("u_effect_db", "u(effect)", Kind.NUMBER, "dB", 7),
    Column("newest_db", "Newest readings, median", Kind.NUMBER, "dB", 8),
    Column("readings", "Readings", Kind.NUMBER, width=7),
    Column("weeks", "Weeks", Kind.NUMBER, width=5),
    Column("score", "Score", Kind.NUMBER, width=6),
    Column("bar", "Named from score", Kind.NUMBER, width=6),
    Column("evidence_share", "Evidence share", Kind.NUMBER, "%", 8),
    Column("next_step", "Next step", width=22),
    Column("record", "Read from", width=14),
)


def suspects_sheet(lab: Lab, when: When) -> Sheet:
    """Return what is named or tied, each followed by the next best candidates; a hint below the bar is in no report."""
    with lab.look(when) as look:
        found = suspects_within(look)
        rows = [row for n, s in enumerate(found.found) for row in _rows(s, n, found)]
        return headed(look, "refstd.suspects/1", "What moved", COLUMNS, rows, notes=_notes(found))


def _rows(s: Suspect, place: int, found: Suspects) -> list[tuple[str, ...]]:
    own = in_words(s.candidate)
    checks = sorted({r.check for r in s.readings})
    record = f"checks {checks[0]} to {checks[-1]}" if len(checks) > 1 else f"check {checks[0]}" if checks else ""
    bar = f"{NAME_AGAIN_AT if place and found.judgement.named else NAME_AT:g}"
    newest = _db(s.newest[0])
    role = "before" if s.before else "tied" if s.tied_with else "named"
    rows = [_row(own, role, s.evidence, newest, bar, _next(s, found), record)]
    if s.before:
        return rows
    if s.tied_with and place > len(found.judgement.named):
        return rows  # the ranking stands under the first of the tied ones
    tied = {s.candidate, *s.tied_with}
    return rows + [_row(own, "next best", e, "", bar, "", "") for e in s.ranking if e.candidate not in tied]


def _row(about: str, role: str, e: Evidence, newest: str, bar: str, step: str, record: str) -> tuple[str, ...]:
    return (
        about, role, e.candidate.kind, e.candidate.code, e.candidate.notch, _db(e.effect_db), _bare(derived(e.u_effect_db, Unit.DB)),
        newest, str(e.readings), f"{e.window_days / 7:.0f}", f"{e.score:.2f}", bar, f"{100 * e.share:.1f}", step, record,
    )  # fmt: skip


def _next(s: Suspect, found: Suspects) -> str:
    if s.before:
        return f"named before {s.before}, not checked enough since: make a start check and compare, or the swap test"
    if s.tied_with:
        swaps = "; ".join(swap_in_words(w) for w in found.judgement.swaps)
        return (
            f"make the swap test: {swaps}" if swaps else "bring in a partner under suspicion nowhere, with a baseline"
        )
    again = " and ".join(f"{r.instrument}, {r.probe}, {r.block}" for r in s.confirm)
    return f"confirm it: check {again} again, set up anew; then decide" if again else "confirm it with two partners"


def _notes(found: Suspects) -> tuple[str, ...]:
    j, spread = found.judgement, found.spread
    notes = [METHOD, f"Source: {SOURCE}."]
    if j.refused:
        notes.append(
            f"Nothing can be said: {j.refused}. Freeze baselines of 5 independent set-ups or more; {FEWEST_DEGREES} degrees of freedom "
            "in all are needed."
        )
        return tuple(notes)
    notes.append(
        f"Spread of one reading between independent set-ups, pooled over this lab's baselines: {spread_in_words(spread)}, "
        f"{spread.degrees_of_freedom:.0f} degrees of freedom, taken × {SPREAD_MARGIN:g}; {len(found.readings)} readings."
    )
    if not found.found:
        notes.append("Nothing is named: no item explains the recent deviations well enough.")
    notes.append(
        "Effect: if this item alone had moved, with its standard uncertainty. Evidence share: among all candidates when it was "
        "named, under the assumption that one thing moved; it is no probability of a fault."
    )
    notes += [f"{in_words(s.candidate)}: {score_in_words(s)}." for s in found.found]
    if any(s.before for s in found.found):
        notes.append(f"What was named before something broke the record stands with its figures from then {ENOUGH}.")
    notes.append(
        "Named is not rejected: confirm it with two partners independent of one another before anything is decided."
    )
    return tuple(notes)


def _db(value: float) -> str:
    return _bare(derived(value, Unit.DB, sign=True))


def _bare(shown: str) -> str:
    return shown.removesuffix(Unit.DB).rstrip()
