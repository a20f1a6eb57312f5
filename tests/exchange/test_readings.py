"""The readings file: settings once or on every row, sets in order, full screen, and every problem with its row and column."""

import pytest

from refstd.base.errors import BadInput
from refstd.exchange.readings import COLUMNS, readings_from

GIVEN = {"setup": "S-0001", "job": "J-1"}
HEADING = "occasion,rotation_deg,horizontal_gain_db,vertical_gain_db,nulled,phase_set,notch,horizontal,vertical\n"


def problems(text: str) -> list[str]:
    """Return the problems of a file that must be refused."""
    with pytest.raises(BadInput) as refused:
        readings_from("r.csv", text.encode(), GIVEN)
    return [f"{p.where}: {p.wrong}" for p in refused.value.problems]


def test_settings_may_stand_in_the_first_row_alone_and_keep_their_digits() -> None:
    text = HEADING + "start,30.50,40.0,50,yes,no,1.0 mm,-18,80.0\n,,,,,,0.5 mm,-12,40\n"
    [only] = readings_from("r.csv", text.encode(), GIVEN)
    assert (str(only.check.rotation_deg), str(only.check.horizontal_gain_db)) == ("30.50", "40.0")
    assert (only.check.nulled, only.check.phase_set) == (True, False)
    assert [(r.notch, str(r.horizontal), str(r.vertical)) for r in only.readings] == [
        ("1.0 mm", "-18", "80.0"), ("0.5 mm", "-12", "40"),
    ]  # fmt: skip


def test_sets_come_in_their_order_each_with_its_own_settings() -> None:
    heading = "set,happened_at," + HEADING
    text = (
        heading + "2,2031-03-14T09:20,set-up,31,40,50,yes,yes,a,1,2\n1,2031-03-14T09:10,set-up,30,40,50,yes,yes,a,3,4\n"
    )
    first, second = readings_from("r.csv", text.encode(), GIVEN)
    assert (str(first.check.rotation_deg), first.check.happened_at) == ("30", "2031-03-14T09:10")
    assert (str(second.check.rotation_deg), str(second.readings[0].vertical)) == ("31", "2")


@pytest.mark.parametrize("written", ["FS", "fs", "≥FS", ">= FS"])
def test_at_least_full_screen_is_written_fs(written: str) -> None:
    [only] = readings_from("r.csv", (HEADING + f"start,30,40,50,yes,yes,a,,{written}\n").encode(), GIVEN)
    assert (only.readings[0].full_screen, only.readings[0].vertical) == (True, None)


def test_another_setting_further_down_in_the_same_set_is_refused() -> None:
    """Planted bug that this caught: the last row's gain taken for all rows of the set."""
    text = HEADING + "start,30,40,50,yes,yes,a,1,2\nstart,30,40,56,yes,yes,b,1,2\n"
    assert problems(text) == ["r.csv, row 3, vertical_gain_db: is 56, and 50 further up in the same set"]


def test_every_problem_is_listed_together() -> None:
    text = HEADING + "begin,400,40,50,perhaps,yes,a,1,2\n,,,,,,,x,2\n"
    found = problems(text)
    assert any(p.startswith("r.csv, row 2, occasion: 'begin' is not allowed") for p in found)
    assert "r.csv, row 2, rotation_deg: 400 is above 360" in found
    assert "r.csv, row 2, nulled: 'perhaps' is neither yes nor no" in found
    assert "r.csv, row 3, notch: is empty" in found
    assert "r.csv, row 3, horizontal: 'x' is not a plain number" in found


def test_settings_that_are_missing_are_asked_for() -> None:
    assert problems("occasion,notch,vertical\nstart,a,2\n") == [
        f"r.csv, row 2, {name}: is missing"
        for name in ("rotation_deg", "horizontal_gain_db", "vertical_gain_db", "nulled", "phase_set")
    ]


def test_sets_are_counted_from_1_without_a_gap() -> None:
    heading = "set," + HEADING
    row = ",start,30,40,50,yes,yes,a,1,2\n"
    assert problems(heading + "1" + row + "3" + row) == ["r.csv, row 3, set: set 2 is missing"]
    assert problems(heading + "0" + row) == ["r.csv, row 2, set: '0' is not a set's number"]
    assert "two" in problems(heading + "two" + row)[0]


def test_the_columns_are_those_that_are_documented() -> None:
    import refstd.exchange.readings as module

    assert module.__doc__ is not None
    for column in COLUMNS:
        assert column in module.__doc__
