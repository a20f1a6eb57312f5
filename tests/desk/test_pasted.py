"""Columns pasted from a spreadsheet: taken whole or refused whole, and never read in a way that was not meant."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import BadInput
from refstd.desk.pasted import filling, is_table

LABELS = ("A", "B", "C")


def refused(text: str, at: int = 0, room: int = 2) -> str:
    with pytest.raises(BadInput) as refusal:
        filling(text, LABELS, at, room)
    return " ".join(map(str, refusal.value.problems))


def test_a_column_goes_downwards_and_a_second_one_beside_it() -> None:
    assert filling("0.51\r\n1.02\r\n", LABELS, 1, 2).cells == ((1, 0, "0.51"), (2, 0, "1.02"))
    assert filling("0.51\t0.010\n1.02\t0.012\n1.5\t", LABELS, 0, 2).cells == (
        (0, 0, "0.51"), (0, 1, "0.010"), (1, 0, "1.02"), (1, 1, "0.012"), (2, 0, "1.5"),
    )  # fmt: skip


def test_an_empty_cell_keeps_its_row() -> None:
    """Planted bug it caught: empty lines dropped, so that every figure below moved up one notch."""
    assert filling("0.51\n\n1.5\n", LABELS, 0, 2).cells == ((0, 0, "0.51"), (2, 0, "1.5"))


def test_labels_beside_the_figures_say_which_row_each_belongs_to() -> None:
    """Planted bug it caught: the lines taken in their own order."""
    table = filling("C\t1.5\na\t0.51\n", LABELS, 0, 2)
    assert table.cells == ((2, 0, "1.5"), (0, 0, "0.51"))
    assert table.says == "2 of 3 rows filled, each by its label; 1 stay as they were"
    assert "is there twice" in refused("A\t1.5\na\t0.51\n")


def test_another_count_of_lines_or_columns_is_said() -> None:
    assert "3 lines, but 2 rows from here on" in refused("1.0\n2.0\n3.0\n", at=1)
    assert "3 columns, but 2 from here on" in refused("1.0\t2.0\t3.0\n")
    assert filling("1.0\n", LABELS, 0, 2).says == "1 of 3 rows filled; 2 stay as they were"


def test_a_heading_or_a_unit_among_the_figures_is_refused_with_its_line() -> None:
    assert "line 1: 'depth' is not a plain number" in refused("depth\n0.51\n1.02\n")
    assert "line 2: '0.51 mm' is not a plain number" in refused("0.50\n0.51 mm\n")
    assert "holds no figure" in refused("\n \n")


@pytest.mark.parametrize("column", ["0,512\n1,003", "1,003\n1,51", "1003,5\n1,003", "1,003\n-0,5"])
def test_a_decimal_comma_is_understood_where_no_figure_can_be_meant_otherwise_and_said(column: str) -> None:
    table = filling(column, LABELS, 0, 2)
    assert [figure for _, _, figure in table.cells] == column.replace(",", ".").split("\n")
    assert "decimal commas read as points" in table.says


@pytest.mark.parametrize("column", ["1,003\n2,011", "0.512\n1,003", "0,512\n1.003", "1,234.5\n2", "1,234,567\n0.5"])
def test_a_comma_that_can_be_read_in_two_ways_is_refused(column: str) -> None:
    """Planted bug it caught: commas replaced one figure at a time, so that 1,003 beside 0.512 became 1.003."""
    assert "the decimal sign" in refused(column)


def test_several_commas_in_one_figure_are_no_decimal_comma() -> None:
    assert "'1,234,567' is not a plain number" in refused("0,5\n1,234,567")


FIGURES = st.decimals(min_value="0.001", max_value="99999", places=3).map(lambda d: format(d, "f"))


@given(st.lists(FIGURES, min_size=1, max_size=8), st.booleans())
def test_what_is_taken_is_what_was_copied(column: list[str], with_comma: bool) -> None:
    """In either notation: the same figures, each in its row, or nothing at all."""
    text = "\n".join(f.replace(".", ",") if with_comma else f for f in column)
    try:
        cells = filling(text, [str(n) for n in range(len(column))], 0, 1).cells
    except BadInput:
        assert with_comma
        return
    assert [(n, Decimal(f)) for n, _, f in cells] == list(enumerate(map(Decimal, column)))


def test_one_fields_worth_is_no_table() -> None:
    assert not is_table("0.512")
    assert is_table("0.512\n")
