"""The countdown to the next check: the words, and the side of the instant on which they stand."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.countdown import counted_down, how_long

DUE = datetime(2031, 3, 14, 10, 40, tzinfo=UTC)


@pytest.mark.parametrize(
    ("minutes", "says"),
    [
        (-12, "by 10:40, in 12 min"), (0, "by 10:40, in 0 min"), (-60, "by 10:40, in 1 h"), (-65, "by 10:40, in 1 h 5 min"),
        (65, "overdue since 10:40, for 1 h 5 min"), (2 * 1440 + 240, "overdue since 10:40, for 2 d 4 h"),
    ],
)  # fmt: skip
def test_the_countdown_says_when_and_how_long(minutes: int, says: str) -> None:
    assert counted_down(DUE, DUE + timedelta(minutes=minutes), "10:40")[0] == says


@given(st.integers(-100_000, 100_000))
def test_it_is_overdue_from_the_first_second_after_and_never_before(seconds: int) -> None:
    assert counted_down(DUE, DUE + timedelta(seconds=seconds), "10:40")[1] == (seconds > 0)


@given(st.integers(0, 1439))
def test_within_a_day_the_words_are_the_minutes(minutes: int) -> None:
    words = how_long(timedelta(minutes=minutes)).split()
    units = {"h": 60, "min": 1}
    assert sum(int(n) * units[u] for n, u in zip(words[::2], words[1::2], strict=True)) == minutes
