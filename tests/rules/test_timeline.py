"""A job's checks and lots in time: no lot between two checks that count is missed, and none outside passes as covered."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.timeline import (
    TimedCheck,
    TimedLot,
    freed_by,
    last_good,
    lot_objection,
    lots_in_doubt,
    lots_uncovered,
    newest_of,
    open_start,
)

DAY = datetime(2031, 3, 14, 8, tzinfo=UTC)
GOOD, BAD, OPEN = "acceptable", "not acceptable", "not conclusive"


def at(minutes: int) -> datetime:
    return DAY + timedelta(minutes=minutes)


def check(number: int, occasion: str, outcome: str, minutes: int, **more: Any) -> TimedCheck:
    return TimedCheck(number, f"C-{number}", occasion, outcome, at(minutes), **more)


def lot(number: int, minutes: int, start: int = 1) -> TimedLot:
    return TimedLot(number, f"L-{number}", at(minutes), start)


START = check(1, "start", GOOD, 0)


def test_a_failed_check_leaves_in_doubt_what_was_examined_since_the_last_acceptable_one() -> None:
    """ISO 15549:2019, clause 10 (READ)."""
    checks = (START, check(2, "interim", GOOD, 60, start_id=1), check(3, "interim", BAD, 120, start_id=1))
    lots = (lot(1, 30), lot(2, 90), lot(3, 130))
    assert [x.id for x in lots_in_doubt(checks, (), lots, 1, at(120))] == [2, 3]


def test_lots_follow_a_start_check_through_its_corrections() -> None:
    checks = (START, check(2, "start", GOOD, 0, supersedes_id=1), check(3, "interim", BAD, 60, start_id=2))
    assert [x.id for x in lots_in_doubt(checks, (), (lot(1, 30, start=1), lot(2, 40, start=2)), 2, at(60))] == [1, 2]


def test_a_start_corrected_to_not_acceptable_covers_nothing() -> None:
    checks = (START, check(2, "start", BAD, 0, supersedes_id=1))
    assert newest_of(checks, 1) == checks[1]
    assert last_good(checks, (), 1) is None
    assert open_start(checks) is None
    assert [x.id for x in lots_uncovered(checks, (), (lot(1, 30),), 1)] == [1]
    assert lot_objection(checks, (), 1, at(40))[0] == "this is not an acceptable start check of the job"


def test_the_first_set_of_a_repeat_is_not_a_failed_check() -> None:
    checks = (START, check(2, "interim", BAD, 60, start_id=1), check(3, "interim", GOOD, 61, start_id=1, repeats_id=2))
    assert open_start(checks) == START
    assert lots_uncovered(checks, (), (lot(1, 30),), 1) == ()


@pytest.mark.parametrize(
    ("more", "minutes", "says"),
    [
        ((), -5, "before the start check C-1"),
        ((check(2, "interim", BAD, 60, start_id=1),), 61, "check C-2 was not acceptable before"),
        ((check(2, "start", BAD, 60),), 61, "check C-2 was not acceptable before"),
        ((check(2, "end", GOOD, 60, start_id=1),), 61, "end check C-2 had closed the work"),
        ((check(2, "start", GOOD, 60),), 61, "start check C-2 was made before"),
    ],
)
def test_parts_are_logged_only_under_the_start_that_stood_when_they_were_examined(
    more: tuple[TimedCheck, ...], minutes: int, says: str
) -> None:
    objection, remedy = lot_objection((START, *more), (), 1, at(minutes))
    assert says in objection
    assert remedy
    assert lot_objection((START, *more), (), 1, at(30)) == ("", "")


@pytest.mark.parametrize("last", [check(2, "end", GOOD, 60, start_id=1), check(2, "interim", BAD, 60, start_id=1)])
def test_an_end_check_or_a_failed_one_leaves_no_start_to_compare_with(last: TimedCheck) -> None:
    assert open_start((START, last)) is None
    assert open_start((START, last, check(3, "start", GOOD, 90))).id == 3  # type: ignore[union-attr]


@given(
    st.lists(st.tuples(st.integers(1, 500), st.sampled_from([GOOD, BAD, OPEN])), max_size=8, unique_by=lambda c: c[0]),
    st.lists(st.integers(1, 500), max_size=12),
)
def test_what_is_covered_is_what_lies_before_the_last_acceptable_check_and_what_is_in_doubt_what_lies_after_it(
    follow_ups: list[tuple[int, str]], examined: list[int]
) -> None:
    """Against a brute-force look at every lot. Planted bug it caught: an upper bound at the failure's instant."""
    checks = (
        START,
        *(check(i, "interim", outcome, m, start_id=1) for i, (m, outcome) in enumerate(follow_ups, start=2)),
    )
    lots = tuple(lot(i, m) for i, m in enumerate(examined, start=1))
    good = [0, *(m for m, outcome in follow_ups if outcome == GOOD)]
    assert {x.id for x in lots_uncovered(checks, (), lots, 1)} == {x.id for x in lots if x.examined_at >= at(max(good))}
    for failed in (m for m, outcome in follow_ups if outcome == BAD):
        last = max(g for g in good if g < failed)
        doubted = {x.id for x in lots_in_doubt(checks, (), lots, 1, at(failed))}
        assert doubted == {x.id for x in lots if x.examined_at >= at(last)}


FAILED = check(2, "interim", BAD, 60, start_id=1)


@pytest.mark.parametrize(
    ("later", "procedure", "frees"),
    [
        ([check(3, "start", GOOD, 90)], 1, "C-3"),
        ([check(3, "start", GOOD, 90)], 2, ""),  # another procedure may ask for less
        ([check(3, "periodic", GOOD, 90)], 1, ""),
        ([check(3, "receipt", GOOD, 90)], 1, ""),
        ([check(3, "interim", GOOD, 90, start_id=1)], 1, ""),
        ([check(3, "start", BAD, 90)], 1, ""),
        ([check(3, "start", OPEN, 90)], 1, ""),
        ([check(3, "start", GOOD, 50)], 1, ""),  # entered later, made before the failure
        ([check(3, "start", BAD, 90), check(4, "start", GOOD, 90, supersedes_id=3)], 1, ""),  # a correction
        ([check(3, "start", GOOD, 90), check(4, "start", BAD, 90, supersedes_id=3)], 1, ""),  # superseded
        ([check(3, "start", GOOD, 90), check(4, "start", BAD, 90, supersedes_id=3), check(5, "start", GOOD, 99)], 1, "C-5"),
        ([check(3, "interim", GOOD, 60, start_id=1, supersedes_id=2)], 1, ""),  # the failed check itself corrected
    ],
)  # fmt: skip
def test_only_a_later_acceptable_start_check_under_the_same_procedure_frees_a_setup(
    later: list[TimedCheck], procedure: int, frees: str
) -> None:
    """Common practice, no source. Planted: each condition left out in turn; a row of this table failed each time."""
    checks = ((START, 1), (FAILED, 1), *((c, procedure) for c in later))
    freed = freed_by(checks, FAILED.id)
    assert (freed.number if freed else "") == frees


def test_a_hold_made_by_hand_is_freed_by_no_check() -> None:
    checks = ((START, 1), (FAILED, 1), (check(3, "start", GOOD, 90), 1))
    assert freed_by(checks, None) is None
    assert freed_by(checks, FAILED.id) == checks[2][0]
