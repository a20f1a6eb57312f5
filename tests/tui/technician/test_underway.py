"""What is typed for a notch, understood or refused in words."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import Problem
from refstd.desk.checks import ReadingDraft
from refstd.tui.technician.underway import BOTH, reading_of

VERTICAL = "vertical peak to peak"
figures = st.decimals(-200, 200, places=1).map(lambda d: format(d, "f"))


@given(figures, figures)
def test_two_numbers_are_horizontal_and_vertical_with_their_digits_as_written(across: str, up: str) -> None:
    read = reading_of("1.0 mm", f" {across}  {up} ", BOTH)
    assert isinstance(read, ReadingDraft)
    assert (str(read.horizontal), str(read.vertical)) == (str(Decimal(across)), str(Decimal(up)))


@given(figures)
def test_one_number_is_the_vertical_part_and_never_half_of_a_pair(figure: str) -> None:
    alone = reading_of("1.0 mm", figure, VERTICAL)
    assert isinstance(alone, ReadingDraft)
    assert alone.horizontal is None
    assert isinstance(reading_of("1.0 mm", figure, BOTH), Problem)
    assert isinstance(reading_of("1.0 mm", f"{figure} {figure}", VERTICAL), Problem)


@pytest.mark.parametrize("sign", ["f", "F", ">", "≥", " f "])
def test_full_screen_has_no_figure(sign: str) -> None:
    read = reading_of("1.0 mm", sign, BOTH)
    assert isinstance(read, ReadingDraft)
    assert (read.full_screen, read.horizontal, read.vertical) == (True, None, None)


def test_nothing_typed_is_a_notch_that_was_not_read() -> None:
    assert reading_of("1.0 mm", "  ", BOTH) is None


@pytest.mark.parametrize("text", ["-20,95", "95,5", "1e2", "f 20", ">100", "ninety", "-20 95 3"])
def test_what_cannot_be_understood_says_how_to_write_it(text: str) -> None:
    problem = reading_of("1.0 mm", text, VERTICAL if text == "95,5" else BOTH)
    assert isinstance(problem, Problem)
    assert problem.remedy
