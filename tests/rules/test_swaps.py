"""Which thing moved, by exchanging one at a time: the deviation stays or goes, and nothing innocent is left alone.

Exchanging one thing at a time is common practice, no source: the truth of these tests is made here, not read anywhere.
What chance allows is held against published quantiles.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.metrology.attribution import Spread
from refstd.rules.swaps import (
    ORDER,
    Conclusion,
    Exchanged,
    Result,
    Seen,
    answer,
    chance_db,
    conclude,
    first_reason,
    notch_like,
    seen_of,
)
from tests.published.e_handbook import PREDICTION_FACTOR_95
from tests.published.gum import G2, G2_P
from tests.rules.occasions import readings

NAMES: dict[Exchanged, str] = {
    "cable": "cable A-1",
    "probe": "P-1",
    "block": "notch 0.5 mm of B-1",
    "instrument": "I-1",
}
SPREAD = Spread(0.2, 40)
KINDS = st.sampled_from(ORDER)
Steps = list[tuple[Exchanged, Result]]


def off(db: float | None, setups: int = 5, why_not: str = "", record: str = "check C-1, notch 0.5 mm") -> Seen:
    return Seen(record, db, setups, why_not, "read it" if why_not else "")


def result(first: float, step: float, spread: Spread = SPREAD, setups: int = 5) -> Result:
    return answer(off(first, setups), off(step, setups), spread)[0]


def told(*steps: tuple[Exchanged, Result], suspected: tuple[Exchanged, ...] = ORDER) -> Conclusion:
    return conclude(NAMES, suspected, steps)


# What chance allows


@pytest.mark.parametrize("degrees", [5, 9, 10, 30])
def test_chance_is_students_t_for_the_spreads_own_degrees_of_freedom(degrees: int) -> None:
    """JCGM 100:2008 table G.2 (MEMORY), the column for 95 %; with a baseline without error nothing else is left.

    Planted bug it caught: the normal quantile 1.96 in place of t.
    """
    assert chance_db(Spread(1.0, degrees), 10**9) == pytest.approx(G2[degrees][G2_P.index(0.95)], abs=0.006)


@pytest.mark.parametrize(("n", "factor"), PREDICTION_FACTOR_95.items())
def test_chance_widens_with_the_baselines_own_error(n: int, factor: float) -> None:
    """Prediction interval of one further value, t(n − 1)·√(1 + 1/n): e-Handbook 7.2.6.3, factors DERIVED.

    Planted bug it caught: √(1/n) in place of √(1 + 1/n).
    """
    assert chance_db(Spread(1.0, n - 1), n) == pytest.approx(factor, abs=5e-5)


def test_a_spread_without_degrees_of_freedom_is_refused() -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        chance_db(Spread(0.2, 0), 5)


# Where a test may start


def test_a_deviation_that_could_be_taken_for_chance_starts_no_test() -> None:
    """Planted bug it caught: half of what is needed, at which a deviation that stays is called gone in half of all steps."""
    needed = 2 * chance_db(SPREAD, 5)
    assert first_reason(off(-needed * 1.01), SPREAD).weight is Weight.SUPPORTS
    small = first_reason(off(needed * 0.99), SPREAD)
    assert (small.weight, small.limit) == (Weight.STOPS, f"at least ±{needed:.2f} dB")
    assert "NIST/SEMATECH e-Handbook 7.2.6.3" in small.source
    assert small.cure


@pytest.mark.parametrize("spread", [Spread(0.0, 40), Spread(0.2, 0)])
def test_without_a_spread_no_test_starts(spread: Spread) -> None:
    assert "spread" in first_reason(off(-2.0), spread).says
    assert first_reason(off(-2.0), spread).weight is Weight.STOPS


# What one step says


@pytest.mark.parametrize(
    ("step", "expected"),
    [(-2.0, "stayed"), (-1.01, "stayed"), (-0.99, "cannot tell"), (-0.5, "cannot tell"), (-0.43, "went"), (0.0, "went"),
     (0.43, "went"), (0.5, "cannot tell"), (2.0, "cannot tell"), (-4.0, "stayed"), (-4.01, "cannot tell")],
)  # fmt: skip
def test_a_step_says_stayed_went_or_cannot_tell(step: float, expected: Result) -> None:
    """t(40) = 2.02 (table G.2 MEMORY), so chance allows 2.02·0.2·√1.2 = 0.44 dB. Planted: the sign of the step left out."""
    assert result(-2.0, step) == expected
    assert result(2.0, -step) == expected


def test_what_something_else_put_in_adds_to_the_deviation_is_not_taken_for_the_first_one() -> None:
    """An exchanged probe that is itself off would clear the guilty one. Planted bug it caught: no upper end to 'stayed'."""
    found, reason = answer(off(-2.0), off(-9.0), SPREAD)
    assert (found, reason.says, bool(reason.cure)) == ("cannot tell", "cannot tell, more than twice what it was:", True)


def test_a_small_baseline_of_the_step_leaves_no_room_for_both_answers() -> None:
    """With two set-ups and few degrees of freedom chance reaches past the middle: what lies there is told neither way."""
    wide = Spread(0.2, 3)
    assert chance_db(wide, 2) == pytest.approx(0.78, abs=0.005)
    assert {answer(off(-1.2, 9), off(d, 2), wide)[0] for d in (-0.5, -0.6, -0.7)} == {"cannot tell"}
    assert answer(off(-1.2, 9), off(-0.4, 2), wide)[0] == "went"
    assert answer(off(-0.7, 9), off(0.0, 2), wide)[0] == "cannot tell"


def test_nothing_seen_is_cannot_tell_with_the_cure() -> None:
    found, reason = answer(off(-2.0), off(None, why_not="was not read"), SPREAD)
    assert (found, reason.says, reason.cure) == ("cannot tell", "cannot tell: this notch was not read", "read it")


def test_every_answer_shows_figures_limits_and_their_source() -> None:
    for step in (-2.0, -0.7, 0.0):
        reason = answer(off(-2.0), off(step, record="check C-2, notch 0.5 mm"), SPREAD)[1]
        assert "dB now, −2.00 dB before" in reason.figure
        assert reason.limit == "went within ±0.44 dB, stayed from −1.00 dB to −4.00 dB"
        assert "0.20 dB, 40 degrees of freedom" in reason.source
        assert reason.record == "check C-2, notch 0.5 mm; check C-1, notch 0.5 mm"


def test_what_was_seen_is_the_deviation_from_the_mean_of_the_baseline() -> None:
    """20·lg(72/80) = −0.92 dB (the definition of the decibel)."""
    baseline = (readings("check C-1", n1="80"), readings("check C-2", n1="80"))
    now = readings("check C-3", n1="72")
    assert seen_of(now, "1.0 mm", baseline).deviation_db == pytest.approx(20 * math.log10(72 / 80))
    assert seen_of(now, "0.5 mm", baseline).why_not == "was not read"
    assert seen_of(now, "1.0 mm", ()).why_not == "has no baseline"
    assert seen_of(replace(now, nulled=False), "1.0 mm", baseline).why_not == "was not balanced and set up anew"
    assert "noise" in seen_of(readings("check C-3", n1="72", noise="20"), "1.0 mm", baseline).why_not


# What the steps say together

# Of what 95 % allow; it would go wrong at the ends first.
CHANCE = st.sampled_from([-0.999, -0.5, 0.0, 0.5, 0.999]) | st.floats(-0.999, 0.999)
TRUTH = st.tuples(
    KINDS, st.sampled_from([-1.0, 1.0]), st.sampled_from([5.0, 6.0]) | st.floats(5.0, 40.0), st.lists(CHANCE, min_size=5, max_size=5),
    st.permutations(ORDER), st.integers(30, 300), st.integers(3, 12),
)  # fmt: skip


def made(
    culprit: Exchanged, db: float, first: Seen, order: list[Exchanged], chance: list[float], spread: Spread
) -> Steps:
    """Return the results of exchanging each thing once, in this order, when one of them has moved."""
    return [
        (kind, answer(first, off((0.0 if kind == culprit else db) + e, first.setups), spread)[0])
        for kind, e in zip(order, chance, strict=False)
    ]


@given(TRUTH, st.integers(0, 4))
@settings(max_examples=500)
def test_one_thing_that_moved_is_never_cleared_and_no_innocent_is_left_alone(
    truth: tuple[Exchanged, float, float, list[float], list[Exchanged], int, int], steps: int
) -> None:
    """One of four moved by five spreads or more, each reading within what 95 % allow: whatever was exchanged so far.

    Planted bug it caught: 'went' out to half the first deviation.
    """
    culprit, sign, size, chance, order, degrees, setups = truth
    spread = Spread(0.2, degrees)
    db = sign * size * spread.sd_db
    chance = [c * chance_db(spread, setups) for c in chance]
    first = off(db + chance[-1], setups)
    if first_reason(first, spread).weight is Weight.STOPS:
        return
    made_so_far = made(culprit, db, first, order[:steps], chance, spread)
    found = told(*made_so_far)
    assert culprit in found.left
    if found.settled:
        assert found.left == (culprit,)
        assert NAMES[culprit] in found.says
    turned = replace(first, deviation_db=-(first.deviation_db or 0.0))
    mirrored = made(culprit, -db, turned, order[:steps], [-c for c in chance], spread)
    assert mirrored == made_so_far


@given(TRUTH)
def test_names_change_nothing_but_the_words(
    truth: tuple[Exchanged, float, float, list[float], list[Exchanged], int, int],
) -> None:
    culprit, sign, size, chance, order, degrees, setups = truth
    spread = Spread(0.2, degrees)
    first = off(sign * size * 0.2, setups)
    steps = made(culprit, sign * size * 0.2, first, order, [c * 0.2 for c in chance], spread)
    renamed = {kind: f"<{kind}>" for kind in ORDER}
    one, other = conclude(NAMES, ORDER, steps), conclude(renamed, ORDER, steps)
    assert (one.left, one.settled, one.cure) == (other.left, other.settled, other.cure)
    for kind in ORDER:
        other = replace(other, says=other.says.replace(renamed[kind], NAMES[kind]))
    assert one.says == other.says


def test_with_normal_chance_hardly_ever_an_innocent_is_named() -> None:
    """Four thousand labs in which one thing moved by six spreads: our own computation; 2.5 % a step is what 95 % leaves."""
    chance = np.random.default_rng(7)
    wrong = named = 0
    for _ in range(4000):
        culprit = ORDER[int(chance.integers(4))]
        e = chance.normal(0.0, 0.2 * math.sqrt(1.2), 5).tolist()
        first = off(-1.2 + e[4])
        if first_reason(first, SPREAD).weight is Weight.STOPS:
            continue
        found = told(*made(culprit, -1.2, first, list(ORDER), e, SPREAD))
        named += found.settled and found.left == (culprit,)
        wrong += found.settled and found.left != (culprit,)
    assert named > 3000
    assert wrong < 40


def test_what_the_deviation_went_with_is_left_and_asks_to_be_put_back() -> None:
    found = told(("cable", "stayed"), ("probe", "went"))
    assert found.says == "the deviation went with the probe: P-1 is left"
    assert found.cure.startswith("put the first probe back: the deviation must come back")


def test_a_connection_that_was_made_anew_is_said_as_long_as_the_cable_was_not_exchanged() -> None:
    assert "or its connection to the cable" in told(("probe", "went")).says
    assert "connection" not in told(("block", "went")).says


@pytest.mark.parametrize(
    ("went", "says"),
    [
        (("cable", "probe"), "the connector between them may be the cause"),
        (("cable", "instrument"), "the connector between them may be the cause"),
        (("probe", "block"), "one thing alone does not explain that; it may have gone by itself"),
        (ORDER, "one thing alone does not explain that; it may have gone by itself"),
    ],
)
def test_a_contradiction_is_said_and_nothing_is_settled(went: tuple[Exchanged, ...], says: str) -> None:
    """Planted bug it caught: the first that it went with was named."""
    found = told(*((k, "went") for k in went))
    assert says in found.says
    assert (found.settled, found.left) == (False, went)
    assert found.cure.startswith("make the first check again")


def test_a_thing_with_which_it_stayed_and_went_is_a_contradiction_too() -> None:
    """Exchanging until the wanted answer comes is no way: both answers stand. Planted bug it caught: the newest counted."""
    found = told(("probe", "stayed"), ("probe", "went"))
    assert "stayed and went with another probe" in found.says
    assert (found.settled, found.left) == (False, ("probe",))


def test_what_stayed_with_everything_names_nothing() -> None:
    found = told(*((k, "stayed") for k in ORDER))
    assert (found.left, found.settled) == ((), False)
    assert "what all checks share" in found.says
    assert "two things at once" in found.says


def test_what_was_not_exchanged_is_named_when_the_suspects_are_cleared() -> None:
    """The evidence had left out the instrument, and wrongly so."""
    found = told(("probe", "stayed"), ("block", "stayed"), suspected=("probe", "block"))
    assert "cable A-1 or I-1, not exchanged" in found.says
    one = told(("probe", "stayed"), suspected=("probe", "block"))
    assert (one.left, one.settled) == (("block",), False)
    assert "by exclusion: it was not exchanged itself, nor was cable A-1, I-1" in one.says


def test_a_step_that_could_not_tell_clears_nothing() -> None:
    """Planted bug it caught: a thing with 'cannot tell' counted as cleared."""
    assert told(("probe", "cannot tell")).left == ORDER
    assert told(("probe", "cannot tell"), ("probe", "stayed")).left == ("cable", "block", "instrument")


def test_another_block_is_read_on_the_notch_of_the_same_label_else_the_nearest_in_depth() -> None:
    there = [("1.0 mm", 1.0), ("0.4 mm", 0.4), ("0.6 mm", 0.6)]
    assert notch_like(("1.0 MM", 0.5), there) == "1.0 mm"
    assert notch_like(("0.55", 0.55), there) == "0.6 mm"
    assert notch_like(("0.5", 0.5), []) == ""
