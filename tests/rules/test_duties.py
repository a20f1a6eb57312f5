"""Duties by date and by use, deferred and on the shelf: how each stands, and what the verdict says of it."""

from bisect import bisect_left
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.rules.due import Uses
from refstd.rules.duties import OUT_OF_USE, Duty, PutOff, duty_reasons, duty_state

DONE = date(2031, 1, 10)
DUE = date(2032, 1, 10)
SOON = 30
CALIBRATION = Duty("calibration", DUE, DONE, "12 months", "written practice 4.2", "certificate K-1")
PUT_OFF = PutOff(date(2032, 2, 10), "QUINN", "the laboratory has no place before", "deferral, log entry 7")


def at(days: int) -> date:
    """Return the day so many days after the due date."""
    return DUE + timedelta(days=days)


def by_use(made: int, allowed: int = 10, days: int = 100) -> Duty:
    """Return a calibration by use alone."""
    return replace(CALIBRATION, due_on=None, every=f"{allowed} checks", uses=Uses(made, allowed, "checks", days))


def says(duty: Duty, today: date, state: str = "in service") -> list[tuple[str, Weight]]:
    return [(r.says, r.weight) for r in duty_reasons("B-1", state, duty, today, SOON)]


@given(st.integers(1, 400), st.integers(1, 12), st.lists(st.integers(0, 500), max_size=20).map(sorted))
def test_by_date_and_by_use_whichever_comes_first(interval: int, allowed: int, used_on: list[int]) -> None:
    """The day on which it is first overdue is the earlier of the two, each counted here for itself, day by day.

    Planted: the later of the two; and 'used up' one use too late.
    """

    def overdue(day: int) -> bool:
        made = bisect_left(used_on, day + 1)
        duty = replace(CALIBRATION, due_on=DONE + timedelta(days=interval), uses=Uses(made, allowed, "checks", day))
        return duty_state(duty, DONE + timedelta(days=day), 0) == "overdue"

    last_use = used_on[allowed - 1] if len(used_on) >= allowed else None
    expected = min(interval + 1, last_use if last_use is not None else interval + 1)
    assert next(day for day in range(600) if overdue(day)) == expected


@given(st.integers(-700, 700), st.integers(1, 400), st.integers(0, 60))
def test_a_deferral_never_lengthens_past_its_end(today: int, length: int, soon: int) -> None:
    """After the end it is overdue as without it; before, never worse than without; and never beyond the end.

    Planted: the end of a deferral left out of the question which one holds.
    """
    put_off = replace(CALIBRATION, put_off=replace(PUT_OFF, until=at(length)))
    states = ["overdue", "due soon", "deferred", "not due"]
    with_it, without = (states.index(duty_state(d, at(today), soon)) for d in (put_off, CALIBRATION))
    if today > length:
        assert with_it == without == states.index("overdue")
    else:
        assert states[with_it] != "overdue"
        assert with_it >= without or states[with_it] == "deferred"
    assert (put_off.valid_to(at(today)) or DUE) <= max(DUE, at(length))


def test_a_deferral_is_told_with_who_and_why_and_after_its_end_it_is_overdue_as_ever() -> None:
    duty = replace(CALIBRATION, put_off=PUT_OFF)
    told = ("calibration of B-1 is deferred to 2032-02-10 by QUINN: the laboratory has no place before", Weight.ADVISES)
    assert says(duty, at(-100)) == [told]
    assert says(duty, at(10)) == [
        told, ("calibration of B-1 is due on 2032-02-10, which is as far as it was deferred (due 2032-01-10)", Weight.ADVISES),
    ]  # fmt: skip
    assert duty_state(duty, at(31), SOON) == "due soon"
    assert says(duty, at(32)) == [
        ("calibration of B-1 is overdue since 2032-01-10, deferred to 2032-02-10, which has passed", Weight.STOPS)
    ]


@pytest.mark.parametrize(
    ("made", "days", "state"),
    [
        (0, 100, "not due"), (7, 100, "not due"), (8, 100, "due soon"),  # at 8 in 100 days the last two take 25
        (9, 900, "not due"), (10, 100, "overdue"), (11, 100, "overdue"),
    ],
)  # fmt: skip
def test_the_last_use_allowed_uses_it_up_and_soon_is_told_by_the_pace(made: int, days: int, state: str) -> None:
    assert duty_state(by_use(made, days=days), DONE + timedelta(days=days), SOON) == state


def test_used_up_is_told_with_the_count_and_a_deferral_does_not_touch_it() -> None:
    duty = replace(CALIBRATION, uses=Uses(10, 10, "checks", 100), put_off=PUT_OFF)
    assert says(duty, at(-200))[1:] == [("calibration of B-1 is overdue by use: 10 of 10 checks used", Weight.STOPS)]
    assert duty_state(duty, at(-200), SOON) == "overdue"


def test_what_is_owed_once_is_never_due_again() -> None:
    once = replace(CALIBRATION, due_on=None, every="once")
    assert duty_state(once, date(2099, 1, 1), SOON) == "not due"
    assert says(once, date(2099, 1, 1)) == []
    never = replace(once, last_done_on=None)
    (reason,) = duty_reasons("B-1", "in service", never, DONE, SOON)
    assert (reason.weight, reason.limit) == (Weight.STOPS, "once")


@pytest.mark.parametrize("state", OUT_OF_USE)
def test_what_nobody_works_with_is_not_late_but_due_before_it_is_used_again(state: str) -> None:
    assert duty_state(CALIBRATION, at(1), SOON, state) == "before use"
    assert says(CALIBRATION, at(1), state) == [
        ("calibration of B-1 lapsed on 2032-01-10 and is to be done before use", Weight.STOPS)
    ]
    asked_for = "before use" if state == "calibrate before use" else "not due"
    assert duty_state(CALIBRATION, at(-5), SOON, state) == asked_for
    assert says(CALIBRATION, at(-5), state) == []
    verification = replace(CALIBRATION, activity="verification")
    assert duty_state(verification, at(-5), SOON, state) == "not due"
