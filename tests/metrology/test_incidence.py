"""What checks can tell apart, and the further check that would."""

import pytest

from refstd.metrology.incidence import (
    COMMON,
    Candidate,
    Deviation,
    Separable,
    candidates,
    confirmation_checks,
    incidence,
    separable,
    swap_tests,
)
from tests.published import attribution as published


def made(days: float, instrument: str, probe: str, block: str, notch: str = "0.5") -> Deviation:
    return Deviation(days, instrument, probe, block, notch, 0.0, 5)


@pytest.mark.parametrize(("checks", "groups", "alike", "rank"), published.SEPARABLE)
def test_what_checks_can_tell_apart_is_that_of_the_reference(
    checks: list[tuple[int, int, int]], groups: list[list[str]], alike: list[tuple[str, str]], rank: int
) -> None:
    found = separable([made(0, f"I{i}", f"P{p}", f"B{b}") for i, p, b in checks])
    assert [[c.code for c in group] for group in found.groups] == groups
    assert [tuple(c.code for c in same) for same in found.alike] == alike
    assert found.always == (Candidate("instrument", "I1"),)
    assert found.rank == rank


def test_a_late_check_joins_groups_that_were_apart() -> None:
    checks = [made(0, "I1", "P1", "B1"), made(0, "I1", "P2", "B2"), made(0, "I1", "P3", "B3")]
    assert len(separable(checks).groups) == 3
    assert len(separable([*checks, made(1, "I1", "P1", "B3")]).groups) == 2
    assert separable([]) == Separable((), (), (), 0)


def test_a_block_is_a_candidate_of_its_own_only_where_more_than_one_notch_was_read() -> None:
    one, two = made(0, "I1", "P1", "B1"), made(0, "I1", "P1", "B1", "1.0")
    assert Candidate("block", "B1") not in candidates([one, one])
    assert Candidate("block", "B1") in candidates([one, two])
    assert COMMON in candidates([one])


def test_incidence_agrees_with_each_candidates_own_answer() -> None:
    checks = [made(0, "I1", "P1", "B1"), made(0, "I2", "P1", "B1", "1.0"), made(0, "I1", "B1", "P1")]
    items = candidates(checks)
    assert incidence(items, checks).tolist() == [[item.took_part(c) for item in items] for c in checks]


def test_a_swap_prefers_a_known_baseline_then_what_was_used_last() -> None:
    checks = [
        made(0, "I1", "P1", "B1"),
        made(1, "I1", "P3", "B2"),
        made(2, "I1", "P2", "B2"),
        made(3, "I1", "P1", "B9"),
        made(4, "I1", "P9", "B9"),
    ]
    tied = [Candidate("probe", "P9"), Candidate("notch", "B9", "0.5")]
    by_change = {s.change: s for s in swap_tests(tied, checks)}
    assert (by_change["probe"].probe, by_change["probe"].known) == ("P1", True)
    assert (by_change["block"].block, by_change["block"].known) == ("B2", False)
    assert "instrument" not in by_change  # another instrument keeps both suspects


def test_a_tied_instrument_is_split_from_everything_at_once_by_another_instrument() -> None:
    checks = [made(0, "I1", "P1", "B1"), made(1, "I1", "P2", "B2")]
    tied = [Candidate("instrument", "I1"), COMMON]
    assert [s.change for s in swap_tests(tied, checks)] == ["cable"]
    swaps = swap_tests(tied, checks, [Candidate("instrument", "I7")])
    assert [(s.change, s.instrument, s.holds) for s in swaps[1:]] == [("instrument", "I7", (COMMON,))]


def test_two_tied_probes_are_split_by_one_of_them_on_another_block() -> None:
    checks = [made(0, "I1", "P1", "B1"), made(1, "I1", "P2", "B1"), made(2, "I1", "P3", "B2")]
    tied = [Candidate("probe", "P1"), Candidate("probe", "P2")]
    assert [(s.change, s.probe, s.block) for s in swap_tests(tied, checks)[1:]] == [("block", "P2", "B2")]


def test_two_tied_notches_of_different_blocks_need_no_cable() -> None:
    checks = [made(0, "I1", "P1", "B1"), made(1, "I1", "P1", "B2"), made(2, "I1", "P3", "B2")]
    tied = [Candidate("notch", "B1", "0.5"), Candidate("notch", "B2", "0.5")]
    swaps = swap_tests(tied, checks)
    assert "cable" not in [s.change for s in swaps]
    assert all(len(s.holds) == 1 for s in swaps)
    assert swap_tests([], checks) == ()


def test_a_named_item_is_confirmed_with_two_partners_independent_of_one_another() -> None:
    checks = [
        made(0, "I1", "P1", "B2"),
        made(1, "I2", "P1", "B3"),
        made(2, "I1", "P1", "B1"),
        made(3, "I2", "P2", "B1"),
    ]
    probe = confirmation_checks(Candidate("probe", "P1"), checks)
    assert [(c.instrument, c.block) for c in probe] == [("I1", "B1"), ("I2", "B3")]
    notch = confirmation_checks(Candidate("notch", "B1", "0.5"), checks)
    assert [(c.instrument, c.probe) for c in notch] == [("I2", "P2"), ("I1", "P1")]
    assert len(confirmation_checks(Candidate("block", "B3"), checks)) == 1
    assert confirmation_checks(Candidate("probe", "P9"), checks) == ()
