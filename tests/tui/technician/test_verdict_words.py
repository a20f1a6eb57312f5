"""Invariant 4 on the technician's screens: what stands there is the desk's verdict, word for word."""

from pathlib import Path

import pytest

from refstd.desk import checks, serviceability, store
from refstd.desk.homes import technician_home
from tests import thin_thread
from tests.tui.driving import Driver, driven
from tests.tui.technician.floor import KIT, NOW, ONE_O_CLOCK, last_check, read, to_notches

TALL = (100, 150)  # narrow enough for no picture beside the words, high enough for all of them
READINGS = {
    "acceptable": ("-20 93", "-18 79", "-12 40"),
    "not acceptable": ("-20 76", "-18 64", "-12 32"),
    "not conclusive": ("f", "-18 80", "-12 40"),
}
SIGNS = {"acceptable": "✓", "not acceptable": "✗", "not conclusive": "?"}


async def verdict_on(d: Driver, outcome: str) -> checks.CheckVerdict:
    """Make an interim check with that outcome, unfold its kept limits, and return what the desk kept."""
    await to_notches(d)
    await read(d, *READINGS[outcome])
    await d.keys("y", "k")
    kept = last_check(d.app.lab)
    assert kept.outcome == outcome
    return kept


@pytest.mark.parametrize("outcome", READINGS)
async def test_the_verdict_screen_says_what_the_desk_kept_word_for_word(started: Path, outcome: str) -> None:
    """Planted bugs caught: a reason shown by its sentence alone (`says` in place of `in_words()`); a headline made here."""
    async with driven(started, "TESS", now=ONE_O_CLOCK, size=TALL) as d:
        kept = await verdict_on(d, outcome)
        said = d.flat
        assert f"{SIGNS[outcome]} {outcome.upper()} interim check {kept.number}" in said
        for words in (kept.headline(), *kept.do, *(r.in_words() for r in (*kept.reasons, *kept.condition))):
            assert words in said
        for words in (kept.covers, kept.tell, kept.finding, *kept.held):
            assert words in said
        assert serviceability.CAUTION in said


@pytest.mark.parametrize("outcome", READINGS)
async def test_what_decides_stands_before_what_was_kept(started: Path, outcome: str) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK, size=TALL) as d:
        kept = await verdict_on(d, outcome)
        weights = [str(r.weight) for r in kept.reasons]
        places = {w: [d.flat.index(r.in_words()) for r in kept.reasons if str(r.weight) == w] for w in set(weights)}
        before = [max(places[w]) for w in ("stops", "undecided") if w in places]
        after = [min(places[w]) for w in ("supports",) if w in places]
        assert not (before and after) or max(before) < min(after)


async def test_home_shows_each_items_headline_and_the_last_check_word_for_word(started: Path) -> None:
    """Planted bug caught: an item's standing shown without what it leaves out."""
    lab = store.open_store(started)
    thin_thread.check(lab, "interim", 0.8, minutes=45)
    expected = [s.verdict.headline() for s in serviceability.status(lab, KIT, NOW)]
    (job,) = technician_home(lab, "TESS", NOW).jobs
    lab.close()
    assert any("limited use, without setup" in words for words in expected)
    async with driven(started, "TESS", now=ONE_O_CLOCK, size=TALL) as d:
        for words in (*expected, job.last_check, job.last_outcome, job.next_check):
            assert words in d.flat


async def test_home_says_by_when_the_next_check_is_due_and_when_that_is_past(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        assert "next check by 2031-03-14 16:00, in 3 h (procedure PR-1 issue B, 6.2)" in d.flat
    async with driven(started, "TESS", now=thin_thread.at(241)) as d:
        assert "overdue since 2031-03-14 16:00, for 1 min: check before anything more is examined" in d.flat
