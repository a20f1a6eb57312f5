"""Which stretch a paper that found an item out of tolerance leaves in doubt, against a look at every day one by one."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.asfound import FoundValue
from refstd.rules.certified import CertifiedPoint
from refstd.rules.lookback import PaperSaid, out_of_tolerance

FIRST = date(2031, 1, 1)
IN, OUT = Decimal("0.50"), Decimal("0.60")


def value(notch: str, figure: Decimal) -> FoundValue:
    lower, upper = Decimal("0.45"), Decimal("0.55")
    return FoundValue(
        CertifiedPoint(notch, "depth", figure, "mm", None, None, lower, upper, "drawing 7", "", None, "a paper")
    )


def paper(
    number: int, day: int, found: dict[str, Decimal], left: dict[str, Decimal], whole: bool | None = None
) -> PaperSaid:
    def values(said: dict[str, Decimal]) -> tuple[FoundValue, ...]:
        return tuple(value(n, f) for n, f in said.items())

    return PaperSaid(number, f"certificate K{number}", FIRST + timedelta(days=day), values(found), values(left), whole)


SAID = st.dictionaries(st.sampled_from(["a", "b", ""]), st.sampled_from([IN, OUT]), max_size=3)
HISTORY = st.lists(st.tuples(SAID, SAID, st.sampled_from([None, None, True, False])), min_size=1, max_size=7)


def shows_right(p: PaperSaid, thing: str | None) -> bool:
    """Return whether a paper says that a thing, or for None the whole item, was right when it left the laboratory."""
    about = {v.point.notch: v.point.value for v in p.left}
    if p.whole is False:
        return False
    if thing is not None:
        return about.get(thing) == IN
    return OUT not in about.values() and (p.whole is True or bool(about))


@given(HISTORY)
def test_a_day_is_in_doubt_when_no_paper_between_it_and_the_failure_left_the_same_thing_right(
    history: list[tuple[dict[str, Decimal], dict[str, Decimal], bool | None]],
) -> None:
    """Papers lie ten days apart; each fifth day between them is asked for each thing that was out, by itself.

    Planted bug it caught: with two notches out, the one that was right again first ended the stretch of both.
    """
    papers = [paper(n, 10 * n, *said) for n, said in enumerate(history)]
    for n, failed in enumerate(papers):
        wrong: list[str | None] = [v.point.notch for v in failed.found if v.point.value == OUT]
        wrong += [None] if failed.whole is False else []
        told = out_of_tolerance(papers, n)
        assert (told is None) is (not wrong)
        if told is None:
            continue
        for gap in range(-1, len(papers)):  # the stretch of work after paper `gap`, before the next one
            between = range(gap + 1, n) if gap < n else range(n, gap + 1)
            doubted = any(all(not shows_right(papers[i], thing) for i in between) for thing in wrong)
            if gap < n:
                before_since = told.since is not None and papers.index(told.since) > gap
                assert doubted is not before_since
            else:
                assert doubted is (told.until is None or papers.index(told.until) > gap)
        of_item = None in wrong or "" in wrong
        assert told.notches == (() if of_item else tuple(w for w in wrong if w))


def test_a_value_kept_as_not_conforming_counts_as_out_though_it_is_inside_its_limits() -> None:
    """A guard band can fail what simple comparison would pass; what was kept when it was filed stands."""
    guarded = FoundValue(value("a", Decimal("0.54")).point, kept="conditional fail")
    found = PaperSaid(1, "certificate K1", FIRST, (guarded,), (guarded,))
    told = out_of_tolerance([found], 1)
    assert told is not None
    assert (told.since, told.until, told.notches) == (None, None, ("a",))
