"""What moved, as rows and as text: by how much, over how many readings, how good the evidence is, and what to do next."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from refstd.base.quantity import Unit, derived
from refstd.desk.drift import NotchDrift, at_day
from refstd.desk.suspects import (
    ENOUGH,
    FEWEST_DEGREES,
    LOOK_AT,
    METHOD,
    NAME_AGAIN_AT,
    NAME_AT,
    SOURCE,
    SPREAD_MARGIN,
    Candidate,
    Deviation,
    Evidence,
    Suspect,
    Suspects,
    effect_in_words,
    in_words,
    score_in_words,
    spread_in_words,
    swap_in_words,
)
from refstd.tui.widgets.rows import Col, Row, heading

SUSPECT_COLUMNS = (
    Col("what moved", 25), Col("effect ± u, dB", 14, right=True), Col("newest", 6, right=True), Col("readings", 11),
    Col("score", 5, right=True), Col("next"),
)  # fmt: skip
CANDIDATE_COLUMNS = (
    Col("candidate", 27), Col("score", 5, right=True), Col("evidence share", 14, right=True), Col("effect ± u, dB", 14, right=True),
    Col("readings"),
)  # fmt: skip
READING_COLUMNS = (
    Col("check", 8), Col("done", 10), Col("used with", 18), Col("notch", 13), Col("deviation", 9, right=True), Col("in the score"),
)  # fmt: skip
STEP_COLUMNS = (Col("step", 8), Col("what to do"))
BARS = f"named from score {NAME_AT:g}, a second one from {NAME_AGAIN_AT:g}"


def key_of(candidate: Candidate) -> str:
    """Return what a candidate is opened by."""
    return "/".join((candidate.kind, candidate.code, candidate.notch))


def called(candidate: Candidate) -> str:
    """Return a candidate with what kind of thing it is."""
    if candidate.kind == "common":
        return in_words(candidate)
    return f"{candidate.thing[0]} {in_words(candidate)}"


def over_words(e: Evidence) -> str:
    """Return over how many readings and weeks, in full."""
    return f"{e.readings} readings in {e.window_days / 7:.0f} weeks"


def newest_words(s: Suspect) -> str:
    """Return where it is by now: the median of its newest readings."""
    value, count = s.newest
    return f"its newest {count} readings lie at {derived(value, Unit.DB, sign=True)} (median)"


def next_words(s: Suspect) -> str:
    """Return what to do next, in full."""
    if s.before:
        return f"named before {s.before}, not checked enough since: make a start check and compare, or the swap test; it stands {ENOUGH}"
    if s.tied_with:
        others = ", ".join(called(c) for c in s.tied_with)
        return f"the checks so far cannot tell it from {others}: make the swap test"
    if s.candidate.kind == "common":
        return "look at what all checks share, check again, and judge nothing else until then"
    return "confirm it with two partners independent of one another; then decide"


def short_words(s: Suspect) -> str:
    """Return by how much one moved and what to do, as a list of items shows it beside the item's number."""
    notch = f"notch {s.candidate.notch} " if s.candidate.notch else ""
    tied = " or ".join(in_words(c) for c in s.tied_with)
    step = f"or {tied}: swap test" if tied else "confirm it"
    if s.before:
        step = f"before {s.before}; not checked enough since"
    return f"{notch}{effect_in_words(s.evidence)}: {step}"


def moved_words(s: Suspect) -> str:
    """Return one suspect in one line, as homes show it."""
    tied = " or ".join(called(c) for c in s.tied_with)
    name = f"{called(s.candidate)} (or {tied})" if tied else called(s.candidate)
    before = f", before {s.before}; not checked enough since" if s.before else ""
    return f"{name}: {effect_in_words(s.evidence)}, {over_words(s.evidence)}{before}"


def charts_words(own: Sequence[NotchDrift], zone: ZoneInfo) -> str:
    """Return what the charts of its series show: how many stepped and when, rise or fall, or lie beyond since a repair.

    Steps on days far apart are no one step.
    """
    stepped = [d for d in own if d.drift.amplitude.stepped is not None]
    days = sorted(f"{_moment(stepped_day(d), zone):%Y-%m-%d}" for d in stepped)
    found = [
        _counted(
            len(stepped), "stepped", f" ({days[0]}{f' to {days[-1]}' if days[-1] != days[0] else ''})" if days else ""
        )
    ]
    slopes = ("rising", "falling")
    found += [_counted(sum(way in d.drift.amplitude.flags for d in own), way) for way in slopes]
    rest = [d for d in own if d.drift.amplitude.flags == ("beyond the limits",)]
    breaks = dict.fromkeys(_break_words(d, zone) for d in rest)
    found.append(_counted(len(rest), "beyond the limits", next(iter(breaks)) if len(breaks) == 1 else ""))
    return f"of its {len(own)} charts: {', '.join(w for w in found if w) or 'nothing stands out'}"


def _counted(count: int, what: str, more: str = "") -> str:
    return f"{count} {what}{more}" if count else ""


def _break_words(d: NotchDrift, zone: ZoneInfo) -> str:
    broken = [e for e in d.events if e.breaks]
    return f" since {broken[-1].in_words()}, {broken[-1].happened_at.astimezone(zone):%Y-%m-%d}" if broken else ""


def stepped_day(d: NotchDrift) -> float:
    """Return the day of the first value after a step, as days are counted."""
    course = d.drift.amplitude
    return float(course.days[course.stepped or 0])


def suspect_about(s: Suspect, charts: str = "") -> str:
    """Return one suspect in full."""
    lines = [
        f"{moved_words(s)}; {newest_words(s)}" + (f"; {charts}" if charts else ""),
        f"score {s.evidence.score:.1f} ({BARS}), evidence share {share_words(s.evidence)}",
        f"next: {next_words(s)}. Enter shows the evidence.",
    ]
    return "\n".join(lines)


def share_words(e: Evidence) -> str:
    """Return an evidence share; it compares candidates and is no probability of a fault."""
    if e.share < 0.0005:
        return "below 0.1 %"
    return derived(100 * e.share, Unit.PERCENT)


def suspect_rows(found: Suspects, charts: Mapping[Candidate, str]) -> list[Row]:
    """Return what is named, what is tied, the hint without standing, and single readings to repeat, under headings."""
    named = [s for s in found.found if not s.tied_with and not s.before]
    tied = [s for s in found.found if s.tied_with and not s.before]
    before = [s for s in found.found if s.before]
    rows: list[Row] = []
    if named:
        rows += [
            heading(f"Named: moved, whatever it is used with ({len(named)})"),
            *(_row(s, "confirm it", charts) for s in named),
        ]
    if tied:
        rows += [heading(f"One of these moved; the checks so far cannot tell which ({len(tied)})")]
        rows += [_row(s, "swap test", charts) for s in tied]
    if before:
        rows += [heading(f"Named before something broke the record, not checked enough since ({len(before)})")]
        rows += [_row(s, "check it", charts) for s in before]
    if found.judgement.look_at:
        rows += [
            heading(f"Look at this: a hint from score {LOOK_AT:g}, without standing; no state and no report carries it")
        ]
        rows += [
            Row(
                (called(e.candidate), _effect(e), "", _over(e), f"{e.score:.1f}", "look at it"), None,
                f"{called(e.candidate)}: look at this. {effect_in_words(e)}, {over_words(e)}, score {e.score:.1f}; {BARS}. "
                "In a fifth to a half of labs in which nothing moves, something gets this far.", "quiet",
            )
            for e in found.judgement.look_at
        ]  # fmt: skip
    if found.unexplained:
        rows += [heading(f"Single readings far off: repeat them first ({len(found.unexplained)})")]
        rows += [
            Row(
                (f"{r.block}, notch {r.notch}", f"{r.instrument} {r.probe}", _bare(r.deviation_db), r.check, "", "repeat it"),
                ("check", r.check), f"check {r.check}: notch {r.notch} of {r.block} with {r.probe} on {r.instrument} lies at "
                f"{derived(r.deviation_db, Unit.DB, sign=True)}. One reading alone names nothing: repeat the check. Enter opens it.", "warn",
            )
            for r in found.unexplained
        ]  # fmt: skip
    return rows


def home_rows(found: Suspects) -> list[Row]:
    """Return what the auditor's home says: each item named or tied, or that there is none, or why it cannot be told."""
    rows = [
        Row(("moved?" if s.tied_with or s.before else "moved", called(s.candidate), _found_words(s)),
            ("suspect", key_of(s.candidate)), suspect_about(s), "bad")
        for s in found.found
    ]  # fmt: skip
    if rows:
        return rows
    refused = found.judgement.refused
    what, which = ("moved: cannot be told yet", refused) if refused else ("items moved", "none is named")
    return [Row(("—" if refused else "0", what, which), ("page", "suspects"), stands_words(found))]


def _found_words(s: Suspect) -> str:
    words = f"{effect_in_words(s.evidence)}, {over_words(s.evidence)}"
    return f"not checked enough since {s.before}; before it {words}" if s.before else words


def suspect_series_row(s: Suspect) -> Row:
    """Return one suspect under the columns of the drift list."""
    newest = derived(s.newest[0], Unit.DB, sign=True)
    e = s.evidence
    return Row(
        ("moved?" if s.before else "moved", in_words(s.candidate), s.candidate.notch, newest, "",
         f"! before {s.before}" if s.before else f"! score {e.score:.1f}: evidence"),
        ("suspect", key_of(s.candidate)), suspect_about(s), "bad",
    )  # fmt: skip


def _row(s: Suspect, step: str, charts: Mapping[Candidate, str]) -> Row:
    e = s.evidence
    return Row(
        (called(s.candidate), _effect(e), _bare(s.newest[0]), _over(e), f"{e.score:.1f}", step),
        ("suspect", key_of(s.candidate)), suspect_about(s, charts.get(s.candidate, "")), "bad",
    )  # fmt: skip


def _effect(e: Evidence) -> str:
    return f"{_bare(e.effect_db)} ± {derived(e.u_effect_db, Unit.DB).removesuffix(Unit.DB).rstrip()}"


def _bare(value: float) -> str:
    return derived(value, Unit.DB, sign=True).removesuffix(Unit.DB).rstrip()


def _over(e: Evidence) -> str:
    return f"{e.readings} in {e.window_days / 7:.0f} wk"


def stands_words(found: Suspects) -> str:
    """Return how the question stands: what could be judged, and by what spread; or why nothing can and what would help."""
    j, s = found.judgement, found.spread
    if j.refused:
        return (
            f"Nothing can be said yet about which item moved: {j.refused}. It takes the lab's own spread between independent "
            f"set-ups: freeze baselines of 5 set-ups or more on each setup in use (a baseline of n set-ups gives at most n − 1 "
            f"degrees of freedom a notch; {FEWEST_DEGREES} in all are needed). Charts of single setups are under Drift."
        )
    spread = (
        f"spread {spread_in_words(s)} between set-ups ({s.degrees_of_freedom:.0f} degrees of freedom, "
        f"× {SPREAD_MARGIN:g}), {len(found.readings)} readings"
    )
    if not found.readings:
        return "No check of the last half year can be compared with a baseline, so nothing is asked yet: make periodic checks."
    return f"Which single item, if it alone had moved, explains the recent deviations? {BARS}; {spread}."


def evidence_text(s: Suspect, found: Suspects, charts: str) -> str:
    """Return the evidence about one suspect with the method and every figure's source."""
    e, spread = s.evidence, found.spread
    lines = [
        METHOD,
        "",
        f"effect: {effect_in_words(e)} (standard uncertainty), over {over_words(e)}",
        f"now: {newest_words(s)}; {charts} (section 5)",
        f"{score_in_words(s)}; {BARS}",
        f"evidence share: {share_words(e)} among all candidates (section 2); no probability of a fault",
        *shares_words(s, found),
        f"spread of one reading: {spread_in_words(spread)} between independent set-ups, pooled over this lab's baselines, "
        f"{spread.degrees_of_freedom:.0f} degrees of freedom; taken × {SPREAD_MARGIN:g} (the method of each chart, m, has its own set-ups)",
        f"source of method and bar: {SOURCE}",
        "",
        f"next: {next_words(s)}",
    ]
    return "\n".join(lines)


def shares_words(s: Suspect, found: Suspects) -> list[str]:
    """Return what the shares of section 2 are shared among: after which names, and how much the candidates not shown hold."""
    named = [e.candidate for e in found.judgement.named]
    earlier = named[: named.index(s.candidate)] if s.candidate in named else named if s.tied_with else []
    lines = []
    if earlier and not s.before:
        lines.append(
            f"  asked after {', '.join(called(c) for c in earlier)}: what that explains was taken out first, and the shares "
            "are shared anew among all others"
        )
    shown = f"the best {len(s.ranking)} candidates; all others together hold"
    rest = 100 * max(1 - sum(e.share for e in s.ranking), 0.0)
    rest_words = "below 0.1 %" if rest < 0.05 else derived(rest, Unit.PERCENT)
    lines.append(
        f"  section 2 shows {shown} {rest_words}. A candidate that is not named has the share that it would have if it "
        "alone had moved: that says how well it explains the readings beside the others, not that it moved a little"
    )
    return lines


def candidate_rows(s: Suspect) -> tuple[Row, ...]:
    """Return the best candidates when this one was named, best first."""
    rows = []
    for e in s.ranking:
        own = e.candidate == s.candidate
        words = called(e.candidate)
        about = f"{words}: score {e.score:.2f}, evidence share {share_words(e)}, {effect_in_words(e)} if it alone had moved, {over_words(e)}"
        rows.append(
            Row(
                (f"{'» ' if own else '  '}{words}", f"{e.score:.1f}", share_words(e), _effect(e), _over(e)), None, about,
                "bad" if own else "",
            )
        )  # fmt: skip
    return tuple(rows)


def reading_rows(s: Suspect, zone: ZoneInfo) -> tuple[Row, ...]:
    """Return the readings behind the evidence, newest first."""
    rows = []
    for r in reversed(s.readings):
        shown = derived(r.deviation_db, Unit.DB, sign=True)
        whole = abs(r.deviation_db) <= s.counted_db
        counts = (
            "in full"
            if whole
            else f"as {derived(s.counted_db if r.deviation_db > 0 else -s.counted_db, Unit.DB, sign=True)}"
        )
        about = (
            f"check {r.check} of {_moment(r.days, zone):%Y-%m-%d %H:%M}: {r.instrument}, {r.probe}, {r.block}, notch {r.notch}: {shown} from the "
            f"mean of {r.baseline_setups:.0f} set-ups; counts {counts}. Enter opens the check."
        )
        cells = (r.check, f"{_moment(r.days, zone):%Y-%m-%d}", _others(s.candidate, r), r.notch, shown, counts)
        rows.append(Row(cells, ("check", r.check), about))
    return tuple(rows)


def step_rows(s: Suspect, found: Suspects, zone: ZoneInfo) -> tuple[Row, ...]:
    """Return what to do next: the checks that confirm it, or the swaps that tell tied items apart."""
    rows = []
    if s.before:
        return (Row(("now", next_words(s)), None, next_words(s), "warn"),)
    if s.tied_with:
        for n, swap in enumerate(found.judgement.swaps, start=1):
            says = swap_in_words(swap)
            rows.append(Row((f"swap {n}", says), None, says))
        if found.judgement.cannot_tell:
            says = "nothing on hand splits them: bring in a partner that is under suspicion nowhere, with a baseline of its own"
            rows.append(Row(("note", says), None, says, "warn"))
        return tuple(rows)
    for n, r in enumerate(s.confirm, start=1):
        says = f"check {r.instrument}, {r.probe}, {r.block} again, balanced and set up anew; it read {derived(r.deviation_db, Unit.DB, sign=True)} at notch {r.notch} on {_moment(r.days, zone):%Y-%m-%d}"
        about = f"{says} (check {r.check}). If both partners show the change, it is confirmed; if one does not, it is not this item alone. Enter opens that check."
        rows.append(Row((f"check {n}", says), ("check", r.check), about))
    if len(s.confirm) < 2:
        says = "only one partner is on record: make a baseline with a second, independent one, or its confirmation rests on one"
        rows.append(Row(("note", says), None, says, "warn"))
    says = "confirmed: open a finding on it and decide (state, repair, new baseline). Not confirmed: leave it as it is; the evidence is asked anew with every check."
    rows.append(Row(("then", says), None, says))
    return tuple(rows)


def _others(candidate: Candidate, r: Deviation) -> str:
    kind = candidate.thing[0]
    return " ".join(getattr(r, k) for k in ("instrument", "probe", "block") if k != kind)


def _moment(days: float, zone: ZoneInfo) -> datetime:
    return at_day(days).astimezone(zone)
