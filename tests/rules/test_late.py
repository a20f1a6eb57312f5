"""Readings entered later: how late they are told to be, and when the kit cannot have been there."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.late import Out, custody_objection, days_late, late_in_words

DAY = datetime(2031, 3, 14, 8, tzinfo=UTC)


def at(hours: int) -> datetime:
    return DAY + timedelta(hours=hours)


@pytest.mark.parametrize(
    ("read", "recorded", "by", "says"),
    [
        ("2031-03-14", "2031-03-14", "", ""),
        ("2031-03-14", "2031-03-14", "ORLA", "entered by ORLA"),
        ("2031-03-14", "2031-03-15", "", "recorded 1 day late"),
        ("2031-02-28", "2031-03-07", "ORLA", "recorded 7 days late by ORLA"),
    ],
)
def test_a_record_says_how_many_days_late_it_is_and_who_entered_it(
    read: str, recorded: str, by: str, says: str
) -> None:
    assert late_in_words(days_late(date.fromisoformat(read), date.fromisoformat(recorded)), by) == says


@pytest.mark.parametrize(
    ("outs", "hours", "says"),
    [
        ([], 5, None),  # read where it is kept
        ([Out("P-1", "J-1", at(1), None)], 5, None),
        ([Out("P-1", "J-1", at(1), None)], 0, "P-1 was checked out for job J-1 only later"),
        ([Out("P-1", "J-1", at(1), at(3))], 5, "P-1 was not out for job J-1 then"),
        ([Out("P-1", "J-1", at(1), at(3)), Out("P-1", "J-1", at(8), None)], 5, "P-1 was not out for job J-1 then"),
        ([Out("P-1", "J-2", at(1), None)], 5, "P-1 was out for job J-2 then"),
        ([Out("P-1", "J-2", at(1), at(3))], 5, None),
    ],
)
def test_what_was_not_yet_out_back_again_or_out_for_another_job_was_not_read(
    outs: list[Out], hours: int, says: str | None
) -> None:
    found = custody_objection(outs, "J-1", at(hours))
    assert (found[0] if found else None) == says


stays = st.lists(
    st.tuples(st.integers(0, 50), st.integers(1, 9), st.sampled_from(("J-1", "J-2"))),
    max_size=5,
    unique_by=lambda s: s[0],
)


@given(stays, st.integers(0, 70))
def test_a_reading_while_the_item_is_out_for_the_job_is_never_objected_to_and_one_while_it_is_elsewhere_always(
    drawn: list[tuple[int, int, str]], hours: int
) -> None:
    outs, free = [], -1
    for since, length, job in sorted(drawn):
        if since > free:
            outs.append(Out("P-1", job, at(since), at(since + length)))
            free = since + length
    inside = [o for o in outs if o.since <= at(hours) <= (o.until or at(99))]
    objection = custody_objection(outs, "J-1", at(hours))
    if inside:
        assert (objection is None) == (inside[0].job == "J-1")
    else:
        assert (objection is None) == all(o.job != "J-1" for o in outs)
