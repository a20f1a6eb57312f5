"""What the screens say about suspects: named, tied, hinted at, refused; never more than the evidence says."""

import math
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from refstd.desk.suspects import Suspects
from refstd.metrology.attribution import Judgement, Spread, judge
from refstd.metrology.incidence import Candidate, Deviation
from refstd.rules.suspects import suspects_of
from refstd.tui import suspectwords
from refstd.tui.widgets.rows import Row
from tests.published import attribution as published

ZONE = ZoneInfo("Europe/Dublin")
NOW = 20_500.0
SPREAD = Spread(0.25, 200)


def said(rows: list[tuple[int, str, str, str, float]], setups: float = 5, spread: Spread = SPREAD) -> Suspects:
    readings = tuple(
        Deviation(NOW - 28 + 7.0 * week, i, p, b, "0.5 mm", db, setups, "", f"C-{n:04d}")
        for n, (week, i, p, b, db) in enumerate(rows)
    )
    judgement = judge(readings, spread, NOW)
    return Suspects(judgement, suspects_of(judgement, readings, NOW, spread), spread, readings)


def cells(rows: list[Row]) -> list[str]:
    return [row.cells[0] for row in rows]


def test_a_named_probe_is_the_only_row_and_says_how_much_how_sure_and_what_next() -> None:
    """Effect and uncertainty of the reference vector (tests/published/attribution.py, DERIVED by a separate prototype),
    with its spread taken 1.1 times as the method does: −0.98 dB ± 0.18 · 1.1 · 0.25/0.3 = 0.17 dB."""
    rows = suspectwords.suspect_rows(said(published.ROWS), {})
    assert cells(rows) == ["Named: moved, whatever it is used with (1)", "probe P2"]
    assert rows[1].cells[1] == "−0.98 ± 0.17"
    assert rows[1].opens == ("suspect", "probe/P2/")
    assert "confirm it with two partners independent of one another" in rows[1].about
    assert "named from score 5" in rows[1].about


def test_tied_items_are_never_named_alone() -> None:
    """Planted bug that it caught: the row of a tied item told to confirm it, as if it had been named."""
    found = said([(w, i, p, b, 1.6 * db) for w, i, p, b, db in published.TIED_ROWS], math.inf)
    rows = suspectwords.suspect_rows(found, {})
    assert cells(rows)[1:] == ["block B9, notch 0.5 mm", "probe P9"] or set(cells(rows)[1:]) == {
        "block B9, notch 0.5 mm", "probe P9",
    }  # fmt: skip
    assert "cannot tell which" in rows[0].cells[0]
    for row, other in zip(rows[1:], ("P9", "B9"), strict=True):
        assert row.cells[-1] == "swap test"
        assert other in row.about
        assert "cannot tell it from" in row.about
        assert "confirm" not in row.about
    (home, _) = suspectwords.home_rows(found)
    assert home.cells[0] == "moved?"


def test_a_hint_below_the_bar_is_quiet_and_opens_nothing() -> None:
    found = said(published.ROWS, spread=Spread(0.3, 200))
    rows = suspectwords.suspect_rows(found, {})
    assert [row.tone for row in rows] == ["head", "quiet"]
    assert rows[1].opens is None
    assert "without standing" in rows[0].cells[0]
    (home,) = suspectwords.home_rows(found)
    assert home.cells == ("0", "items moved", "none is named")


def test_what_cannot_be_judged_says_why_and_what_would_help() -> None:
    found = said(published.ROWS, spread=Spread(0.3, 12))
    (home,) = suspectwords.home_rows(found)
    assert "12 degrees of freedom" in home.cells[2]
    assert "freeze baselines of 5 set-ups or more" in home.about
    assert suspectwords.suspect_rows(found, {}) == []


def test_a_single_reading_far_off_is_to_be_repeated_and_no_name() -> None:
    steady = [(w, f"I{w % 2}", f"P{w % 3}", f"B{w % 2}", 0.0) for w in range(4)]
    found = said([*steady, (4, "I1", "P1", "B1", 1.4)])
    rows = suspectwords.suspect_rows(found, {})
    assert cells(rows) == ["Single readings far off: repeat them first (1)", "B1, notch 0.5 mm"]
    assert rows[1].opens == ("check", "C-0004")


def test_readings_far_off_of_what_is_named_are_not_asked_for_again() -> None:
    found = said(published.ROWS, spread=Spread(0.15, 200))
    assert found.judgement.repeat
    assert found.unexplained == ()


def test_each_page_about_a_suspect_can_be_read_down_to_its_checks() -> None:
    found = said(published.ROWS)
    (suspect,) = found.found
    readings = suspectwords.reading_rows(suspect, ZONE)
    assert [row.opens for row in readings] == [("check", n) for n in ("C-0007", "C-0004", "C-0002", "C-0001")]
    assert readings[0].cells[2] == "I2 B1"
    candidates = suspectwords.candidate_rows(suspect)
    assert candidates[0].cells[0] == "» probe P2"
    assert len(candidates) == 6
    text = suspectwords.evidence_text(suspect, found, "of its 2 charts: 2 stepped")
    for words in ("no probability of a fault", "no published source", "200 degrees of freedom", "taken × 1.1"):
        assert words in text, words
    steps = suspectwords.step_rows(suspect, found, ZONE)
    assert [row.cells[0] for row in steps] == ["check 1", "check 2", "then"]


def test_the_shares_say_what_they_are_shared_among_and_what_is_not_shown() -> None:
    """Shares add up to 1 by their definition, so what is not shown is the rest; a later name is asked without the earlier.

    Planted bug that it caught: a tied item was told as asked after nothing, though another had been named before it.
    """
    found = said(published.ROWS)
    (suspect,) = found.found
    shown = [replace(e, share=0.1) for e in suspect.ranking]
    (rest,) = suspectwords.shares_words(replace(suspect, ranking=tuple(shown)), found)
    assert "the best 6 candidates; all others together hold 40.0 %" in rest
    later = replace(suspect, evidence=replace(suspect.evidence, candidate=Candidate("block", "B9", "0.5 mm")))
    both = replace(found.judgement, named=(suspect.evidence, later.evidence))
    assert "asked after probe P2" in suspectwords.shares_words(later, replace(found, judgement=both))[0]
    tied = replace(later, tied_with=(Candidate("probe", "P9"),))
    assert "asked after probe P2" in suspectwords.shares_words(tied, found)[0]


def test_the_score_says_when_it_counted_readings_as_less_than_they_are() -> None:
    """The effect is of the readings as they are; only the score is held back by the clip."""
    found = said([(w, i, p, b, 3 * db) for w, i, p, b, db in published.ROWS])
    (suspect,) = found.found
    assert suspect.further == 4
    assert suspect.evidence.effect_db == pytest.approx(3 * published.EFFECT_OF_P2[0], abs=2e-6)
    assert "4 of 4 lie further off" in suspectwords.evidence_text(suspect, found, "")


def test_everything_at_once_asks_for_no_partner() -> None:
    found = said(published.ROWS)
    common = replace(found.found[0], evidence=replace(found.found[0].evidence, candidate=Candidate("common")))
    assert "what all checks share" in suspectwords.moved_words(common)
    assert "judge nothing else until then" in suspectwords.next_words(common)


def test_no_readings_are_told_apart_from_nothing_named() -> None:
    empty = Suspects(Judgement(), (), SPREAD, ())
    assert "make periodic checks" in suspectwords.stands_words(empty)
