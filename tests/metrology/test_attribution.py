"""The item that moved is named, what cannot be told apart is said to be so, and too little is refused."""

import dataclasses
import math
import random
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refstd.metrology import attribution
from refstd.metrology.attribution import Judgement, Spread, evidence, judge, pooled_spread
from refstd.metrology.incidence import COMMON, Candidate, Deviation, confirmation_checks
from tests.published import attribution as published
from tests.published import gauge_study

NOW = 30.0
KNOWN = Spread(0.3, 200)
Row = tuple[int, str, str, str, float]


def rows(table: Sequence[Row], setups: float) -> list[Deviation]:
    return [Deviation(7.0 * week, i, p, b, "0.5", db, setups) for week, i, p, b, db in table]


def signed(found: tuple[attribution.Evidence, ...]) -> dict[str, float]:
    return {e.candidate.code: math.copysign(e.score, e.effect_db) for e in found}


@pytest.mark.parametrize(("setups", "z"), [(math.inf, published.Z_EXACT), (5, published.Z_OF_5)])
def test_the_evidence_is_that_of_the_reference(setups: float, z: dict[str, float]) -> None:
    found = evidence(rows(published.ROWS, setups), Spread(published.SPREAD_DB, 200), NOW)
    assert signed(found) == pytest.approx(z, abs=6e-5)
    assert [e.candidate for e in found[:1]] == [Candidate("probe", "P2")]


def test_evidence_shares_and_the_effect_are_those_of_the_reference() -> None:
    found = evidence(rows(published.ROWS, 5), Spread(published.SPREAD_DB, 200), NOW)
    share = {e.candidate.code: e.share for e in found}
    for code, expected in published.SHARE_OF_5.items():
        assert share[code] == pytest.approx(expected, abs=5e-4 if expected > 0.1 else 6e-7)
    assert sum(share.values()) == pytest.approx(1)
    assert (found[0].effect_db, found[0].u_effect_db) == pytest.approx(published.EFFECT_OF_P2, abs=6e-7)


def test_items_always_used_together_share_the_evidence_as_in_the_reference() -> None:
    found = evidence(rows(published.TIED_ROWS, math.inf), Spread(published.SPREAD_DB, 200), NOW)
    z, share = signed(found), {e.candidate.code: e.share for e in found}
    assert {code: z[code] for code in published.TIED_Z} == pytest.approx(published.TIED_Z, abs=6e-5)
    assert {c: share[c] for c in published.TIED_SHARE} == pytest.approx(published.TIED_SHARE, abs=6e-5)


def test_a_moved_probe_is_named_and_nothing_else() -> None:
    said = judge(rows(published.ROWS, 5), Spread(0.25, 200), NOW)
    assert [e.candidate for e in said.named] == [Candidate("probe", "P2")]
    assert (said.tied, said.swaps, said.look_at, said.refused) == ((), (), (), "")


def test_below_the_bar_there_is_a_hint_and_no_name() -> None:
    """5.359 with the spread as given is 4.87 with the margin of 1.1."""
    said = judge(rows(published.ROWS, 5), KNOWN, NOW)
    assert said.named == ()
    assert [e.candidate for e in said.look_at] == [Candidate("probe", "P2")]
    assert said.look_at[0].score == pytest.approx(5.35908 / 1.1, abs=1e-4)


def test_tied_suspects_are_not_named_but_get_the_swap_tests_that_split_them() -> None:
    said = judge(rows(published.TIED_ROWS, math.inf), Spread(0.25, 200), NOW)
    notch, probe = Candidate("notch", "B9", "0.5"), Candidate("probe", "P9")
    assert said.named == ()
    assert {e.candidate for e in said.tied} == {notch, probe}
    assert [(s.change, s.probe, s.block, s.holds) for s in said.swaps] == [
        ("cable", "P9", "B9", (notch, probe)),
        ("probe", "P1", "B9", (notch,)),
        ("block", "P9", "B1", (probe,)),
    ]
    assert not said.cannot_tell


def test_with_no_partner_on_hand_it_cannot_tell_and_a_partner_on_the_shelf_cures_it() -> None:
    alone = rows([(w, "I1", "P9", "B9", -1.0) for w in range(4)], math.inf)
    said = judge(alone, Spread(0.25, 200), NOW)
    assert {e.candidate.kind for e in said.tied} == {"instrument", "probe", "notch", "common"}
    assert said.cannot_tell
    helped = judge(alone, Spread(0.25, 200), NOW, [Candidate("block", "B8")])
    assert not helped.cannot_tell
    assert [(s.change, s.block, s.known) for s in helped.swaps] == [("cable", "B9", True), ("block", "B8", False)]


@pytest.mark.parametrize("degrees", [0, 4, 29.4])
def test_too_few_checks_are_refused_with_their_number(degrees: float) -> None:
    said = judge(rows(published.ROWS, 5), Spread(0.01, degrees), NOW)
    assert said == Judgement(refused=f"too few checks: {degrees:.0f} degrees of freedom, 30 needed")


def test_set_ups_that_never_scatter_are_refused_too() -> None:
    spread = pooled_spread([[[-1.0], [-1.0], [-1.0]]] * 40)
    assert "resolution" in judge(rows(published.ROWS, 5), spread, NOW).refused


def fleet(moved: dict[tuple[str, str], float], notches: Sequence[str] = ("0.5",), seed: int = 3) -> list[Deviation]:
    """CONSTRUCTED: 10 weeks, every probe on every block by turns of 3 instruments; `moved` by (kind, code)."""
    dice = np.random.default_rng(seed)
    made = []
    for week in range(10):
        for p in range(4):
            for b in range(3):
                i = (week + p + b) % 3
                together = dice.normal(0, 0.3 * math.sqrt(0.5))
                for notch in notches:
                    own = dice.normal(0, 0.3 * math.sqrt(0.5))
                    codes = [("instrument", f"I{i}"), ("probe", f"P{p}"), ("block", f"B{b}"), ("common", "")]
                    shift = sum(moved.get(c, 0.0) for c in [*codes, ("notch", f"B{b} {notch}")])
                    check = f"C-{week}{p}{b}"
                    made.append(
                        Deviation(7.0 * week, f"I{i}", f"P{p}", f"B{b}", notch, shift + together + own, 5, check=check)
                    )
    return made


THREE = ("0.2", "0.5", "1.0")
CORRELATED = Spread(0.3, 200, 0.5)


@pytest.mark.parametrize(
    ("moved", "expected"),
    [
        (("instrument", "I1"), Candidate("instrument", "I1")),
        (("probe", "P2"), Candidate("probe", "P2")),
        (("block", "B0"), Candidate("block", "B0")),
        (("notch", "B1 0.2"), Candidate("notch", "B1", "0.2")),
        (("common", ""), COMMON),
    ],
)
@pytest.mark.parametrize("db", [-1.2, 1.2])
def test_whatever_moved_is_what_is_named(moved: tuple[str, str], expected: Candidate, db: float) -> None:
    """Planted bug that it caught: the block as a whole was no candidate, and each of its notches was named in turn."""
    said = judge(fleet({moved: db}, THREE), CORRELATED, 70.0)
    assert [e.candidate for e in said.named] == [expected]
    assert said.named[0].effect_db == pytest.approx(db, abs=0.35)


def test_a_steady_fleet_names_nothing() -> None:
    for seed in range(40):
        said = judge(fleet({}, THREE, seed), CORRELATED, 70.0)
        assert (said.named, said.tied) == ((), ())


def test_two_moved_items_are_both_named_the_stronger_first() -> None:
    said = judge(fleet({("probe", "P2"): -2.0, ("notch", "B0 0.5"): 1.5}), KNOWN, 70.0)
    assert [e.candidate for e in said.named] == [Candidate("probe", "P2"), Candidate("notch", "B0", "0.5")]


def test_a_second_name_needs_more_than_a_first() -> None:
    """Planted bug that it caught: the second was named at the bar of the first."""
    readings = fleet({("probe", "P2"): -2.0, ("notch", "B0 0.5"): 0.65})
    said = judge(readings, KNOWN, 70.0)
    second = evidence(readings, Spread(0.3 * attribution.SPREAD_MARGIN, 200), 70.0, (Candidate("probe", "P2"),))[0]
    assert attribution.NAME_AT < second.score < attribution.NAME_AGAIN_AT
    assert [e.candidate for e in said.named] == [Candidate("probe", "P2")]


def test_everything_at_once_suppresses_every_other_name() -> None:
    """Planted bug that it caught: the search went on after COMMON, and the probe was named as well."""
    said = judge(fleet({("common", ""): -0.5, ("probe", "P2"): -0.9}), KNOWN, 70.0)
    assert [e.candidate for e in said.named] == [COMMON]


def test_a_notch_and_its_block_are_one_thing_in_the_hand_and_not_tied() -> None:
    """Planted bug that it caught: they were reported as tied, with no swap test that could split them."""
    steady = [(w, f"I{w % 2}", f"P{w % 3}", f"B{w % 2 + 2}", 0.0) for w in range(12)]
    moved = [(w, f"I{w % 2}", f"P{w % 3}", "B1", -1.0) for w in range(6)]
    other_notch = Deviation(7.0, "I0", "P0", "B1", "1.0", -0.5, math.inf)
    said = judge([*rows([*steady, *moved], math.inf), other_notch], KNOWN, 84.0)
    assert said.evidence[0].share < attribution.SETTLED_SHARE
    assert {e.candidate.thing for e in said.evidence[:2]} == {("block", "B1")}
    assert [e.candidate.thing for e in said.named] == [("block", "B1")]


def test_a_step_of_the_last_weeks_is_measured_over_the_short_window_and_a_lasting_shift_over_the_long() -> None:
    """Planted bug that it caught: both windows took all 26 weeks, and a new step came out a third of its size."""
    week = [(w, f"I{(w + p) % 2}", f"P{p}", f"B{(w // 2 + p) % 3}") for w in range(26) for p in range(3)]
    step = rows([(w, i, p, b, -1.0 if p == "P1" and w >= 19 else 0.0) for w, i, p, b in week], 5)
    lasting = rows([(w, i, p, b, -0.6 if p == "P1" else 0.0) for w, i, p, b in week], 5)
    last = 7.0 * 25
    (of_step, of_lasting) = (judge(readings, KNOWN, last).named[0] for readings in (step, lasting))
    assert (of_step.window_days, of_step.readings) == (56.0, 8)
    assert of_step.effect_db == pytest.approx(-0.875, abs=0.1)
    assert (of_lasting.window_days, of_lasting.readings) == (182.0, 26)


def test_three_notches_of_one_check_are_not_taken_for_three_checks() -> None:
    """The same readings taken as independent give a steady fleet scores √2 too large: names where nothing moved."""
    together, apart = [], []
    for seed in range(40):
        readings = fleet({}, THREE, seed)
        together += [e.score for e in evidence(readings, CORRELATED, 70.0) if e.candidate.kind == "probe"]
        apart += [e.score for e in evidence(readings, KNOWN, 70.0) if e.candidate.kind == "probe"]
    assert np.mean(np.square(apart)) / np.mean(np.square(together)) == pytest.approx(2.0, abs=0.4)


def test_a_single_wild_reading_asks_for_a_repeat_and_names_nothing() -> None:
    readings = fleet({})
    wild = Deviation(70.0, "I0", "P0", "B0", "0.5", -30.0, 5)
    said = judge([*readings, wild], KNOWN, 70.0)
    assert said.repeat == (wild,)
    assert (said.named, said.tied) == ((), ())
    calm = Deviation(71.0, "I0", "P0", "B0", "0.5", 0.1, 5)
    assert judge([*readings, wild, calm], KNOWN, 71.0).repeat == ()


def test_readings_after_now_and_older_than_26_weeks_do_not_count() -> None:
    readings = fleet({})
    later = [Deviation(71.0 + k, "I0", "P0", "B0", "0.5", -3.0, 5) for k in range(9)]
    assert judge([*readings, *later], KNOWN, 70.0) == judge(readings, KNOWN, 70.0)
    assert judge(readings, KNOWN, 63.0 + 182.0) == Judgement()


def test_the_worth_of_a_baseline_bounds_what_a_shift_of_one_pair_can_say() -> None:
    """However many readings, the baseline's own uncertainty s/√n0 stays: with 5 set-ups, 1 dB is 1/(0.3/√5) = 7.45 at most."""
    many = [Deviation(k / 10, "I0", "P0", "B0", "0.5", -1.0, 5) for k in range(500)]
    score = evidence(many, KNOWN, 50.0)[0].score
    assert 0.98 * 7.4536 < score < 7.4536


def test_the_spread_pooled_over_baselines_is_that_of_the_gauge_study() -> None:
    """NIST/SEMATECH e-Handbook 2.6.1: level-2 standard deviation 0.0362 with 50 degrees of freedom (READ)."""
    tables = [[[v] for v in run] for wafer in gauge_study.PROBE_2362.values() for run in (wafer.run_1, wafer.run_2)]
    spread = pooled_spread(tables)
    assert round(spread.sd_db, 4) == gauge_study.BUDGET[1].sd
    assert spread.degrees_of_freedom == gauge_study.BUDGET[1].degrees_of_freedom
    assert spread.shared == 0


def test_the_spread_finds_what_notches_of_one_set_up_share_and_counts_them_for_less() -> None:
    dice = np.random.default_rng(5)
    tables = [dice.normal(0, 0.3, (6, 1)) * 0.8 + dice.normal(0, 0.3, (6, 3)) * 0.6 for _ in range(400)]
    spread = pooled_spread([*tables, [[1.0, 2.0, 3.0]]])
    assert spread.sd_db == pytest.approx(0.3, rel=0.03)
    assert spread.shared == pytest.approx(0.64, abs=0.03)
    assert spread.degrees_of_freedom == pytest.approx(400 * 5 * 3 / (1 + 2 * 0.64**2), rel=0.05)


def test_a_spread_is_no_finer_than_the_last_digit_and_none_at_all_is_still_refused() -> None:
    """Set-ups read to a whole % FSH at 10: u = digit/√12 in reading and baseline (JCGM 100:2008, 4.3.7) is 0.35 dB.

    Planted bug that it caught: a lab that reads so coarsely that most set-ups agree claimed 0.05 dB, and rounding named a probe.
    """
    digit_db = 20 / math.log(10) / 10 * math.sqrt(2 / 12)
    coarse = Spread(0.05, 200).no_finer_than(digit_db)
    assert coarse.sd_db == pytest.approx(0.3546, abs=5e-5)
    assert coarse.by_digit
    assert Spread(0.4, 200).no_finer_than(digit_db) == Spread(0.4, 200)
    assert Spread(0.0, 200).no_finer_than(digit_db).why_not
    one_digit_up = 20 * math.log10(11 / 10)
    moved = [
        dataclasses.replace(r, deviation_db=one_digit_up if Candidate("probe", "P2").took_part(r) else 0.0)
        for r in rows(published.ROWS, 5)
    ]
    assert judge(moved, Spread(0.05, 200), NOW).named
    assert not judge(moved, coarse, NOW).named


def test_degrees_of_freedom_are_what_the_scatter_of_the_variance_says() -> None:
    """Mean and variance of a pooled variance: ν = 2·mean²/variance, whatever the notches share. A fixed seed."""
    dice = np.random.default_rng(6)
    pooled = [
        pooled_spread([dice.normal(0, 0.3, (6, 1)) * 0.8 + dice.normal(0, 0.3, (6, 3)) * 0.6 for _ in range(10)])
        for _ in range(2000)
    ]
    variance = np.array([p.sd_db**2 for p in pooled])
    assert np.mean([p.degrees_of_freedom for p in pooled]) == pytest.approx(
        2 * variance.mean() ** 2 / variance.var(), rel=0.1
    )


@settings(max_examples=40)
@given(st.integers(0, 1000), st.sampled_from(["instrument", "probe", "notch"]))
def test_mirrored_deviations_say_the_mirrored_thing_and_order_says_nothing(seed: int, kind: str) -> None:
    code = {"instrument": "I1", "probe": "P1", "notch": "B1 0.5"}[kind]
    readings = fleet({(kind, code): -0.9}, seed=seed)
    mirrored = [
        Deviation(r.days, r.instrument, r.probe, r.block, r.notch, -r.deviation_db, 5, check=r.check)
        for r in reversed(readings)
    ]
    one, other = evidence(readings, KNOWN, 70.0), evidence(mirrored, KNOWN, 70.0)
    assert [e.candidate for e in one] == [e.candidate for e in other]
    assert [e.effect_db for e in one] == pytest.approx([-e.effect_db for e in other])
    assert [e.score for e in one] == pytest.approx([e.score for e in other])


# Laws of the whole judgement

KINDS = {"instrument": "I1", "probe": "P1", "notch": "B1 0.5", "common": ""}
labs = st.builds(
    lambda seed, kind, db, tie, apart: lab_of(seed, kind, db, tie=tie, apart=apart),
    st.integers(0, 1000),
    st.sampled_from(list(KINDS)),
    st.sampled_from([-2.0, -0.9, -0.45, 0.0, 0.9]),
    st.booleans(),
    st.booleans(),
)


def lab_of(seed: int, kind: str, db: float, *, tie: bool, apart: bool) -> list[Deviation]:
    """A fleet in which something moved by db. tie: P1 reads B2 only and B2 is read by it only; apart: each at its own time."""
    made = fleet({(kind, KINDS[kind]): db}, seed=seed)
    if tie:
        made = [r for r in made if (r.probe == "P1") == (r.block == "B2")]
    return [dataclasses.replace(r, days=r.days + k / 1000) for k, r in enumerate(made)] if apart else made


@settings(max_examples=60)
@given(labs, st.randoms(use_true_random=False))
def test_a_judgement_does_not_depend_on_the_order_of_the_readings(
    readings: list[Deviation], dice: random.Random
) -> None:
    """Bug that it found: of readings at one time the first given led to the swap test that was proposed."""
    shuffled = list(readings)
    dice.shuffle(shuffled)
    said = judge(readings, KNOWN, 70.0)
    assert judge(shuffled, KNOWN, 70.0) == said
    for item in (e.candidate for e in said.evidence):
        assert confirmation_checks(item, shuffled) == confirmation_checks(item, readings)


@settings(max_examples=60)
@given(labs.filter(lambda readings: len({r.days for r in readings}) == len(readings)), st.permutations(range(4)))
def test_a_judgement_does_not_depend_on_what_the_items_are_called(
    readings: list[Deviation], order: Sequence[int]
) -> None:
    """Also where a probe, a block and an instrument bear the same name.

    Planted bug that it caught: what was suspected was looked up by name alone, and a swap test for a namesake was left out.
    """
    name = {str(digit): f"X{k}" for digit, k in enumerate(order)}

    def anew(code: str) -> str:
        return name[code[-1]] if code else ""

    def renamed(item: Candidate) -> Candidate:
        return Candidate(item.kind, anew(item.code), item.notch)

    other = [
        dataclasses.replace(r, instrument=anew(r.instrument), probe=anew(r.probe), block=anew(r.block))
        for r in readings
    ]
    one, two = judge(readings, KNOWN, 70.0), judge(other, KNOWN, 70.0)
    assert [renamed(e.candidate) for e in one.named] == [e.candidate for e in two.named]
    assert {renamed(e.candidate) for e in one.tied} == {e.candidate for e in two.tied}
    assert {renamed(e.candidate) for e in one.look_at} == {e.candidate for e in two.look_at}
    assert [r.days for r in one.repeat] == [r.days for r in two.repeat]
    swaps = [(s.change, anew(s.instrument), anew(s.probe), anew(s.block), s.known) for s in one.swaps]
    assert swaps == [(s.change, s.instrument, s.probe, s.block, s.known) for s in two.swaps]
    score = {e.candidate: e.score for e in two.evidence}
    for e in one.evidence:
        assert score[renamed(e.candidate)] == pytest.approx(e.score, abs=1e-9)


@settings(max_examples=60)
@given(labs, st.sampled_from([0.01, 0.5, 3.0, 1000.0]))
def test_a_judgement_does_not_depend_on_the_unit_of_deviations_and_spread(
    readings: list[Deviation], unit: float
) -> None:
    """Planted bug that it caught: the clip stood at 1.2 dB instead of 4 standard deviations."""
    other = [dataclasses.replace(r, deviation_db=unit * r.deviation_db) for r in readings]
    one, two = judge(readings, KNOWN, 70.0), judge(other, dataclasses.replace(KNOWN, sd_db=unit * KNOWN.sd_db), 70.0)
    assert [e.candidate for e in one.named] == [e.candidate for e in two.named]
    assert {e.candidate for e in one.tied} == {e.candidate for e in two.tied}
    assert {e.candidate for e in one.look_at} == {e.candidate for e in two.look_at}
    assert (one.swaps, len(one.repeat)) == (two.swaps, len(two.repeat))
    of = {e.candidate: e for e in two.evidence}
    for e in one.evidence:
        twin = of[e.candidate]
        assert (twin.score, twin.share, twin.effect_db / unit, twin.u_effect_db / unit) == pytest.approx(
            (e.score, e.share, e.effect_db, e.u_effect_db), rel=1e-6, abs=1e-9
        )


@pytest.mark.parametrize(
    ("db", "setups", "remedy"), [(math.nan, 5, "finite"), (0.1, 0, "set-ups"), (0.1, math.nan, "set-ups")]
)
def test_readings_without_meaning_are_refused_with_a_remedy(db: float, setups: float, remedy: str) -> None:
    with pytest.raises(ValueError, match=remedy):
        judge([Deviation(1.0, "I1", "P1", "B1", "0.5", db, setups)], KNOWN, 2.0)


def test_no_readings_say_nothing() -> None:
    assert judge([], KNOWN, 0.0) == Judgement()
