"""Numbers as people write them: the digits stay, and what is no plain number is refused."""

import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import Problem
from refstd.base.quantity import DERIVED_DECIMALS, Unit, decimal_as_written, derived, plain
from refstd.base.text import safe

digits = st.text("0123456789", min_size=1, max_size=12)
written = st.builds(
    lambda sign, whole, part: sign + whole + (f".{part}" if part else ""),
    st.sampled_from(["", "-"]), digits, st.one_of(st.just(""), digits),
)  # fmt: skip


@given(written)
def test_a_number_keeps_the_digits_that_were_written(form: str) -> None:
    """0.500 is not 0.5: the zeros say how fine it was measured. Caught: `normalize()`; a float on the way."""
    value = decimal_as_written(form, "depth_mm")
    assert isinstance(value, Decimal)
    sign, whole = ("-", form[1:]) if form.startswith("-") else ("", form)
    head, point, tail = whole.partition(".")
    assert plain(value) == sign + (head.lstrip("0") or "0") + point + tail


@given(written)
def test_a_sign_or_blanks_around_it_change_nothing(form: str) -> None:
    value = decimal_as_written(form, "x")
    assert decimal_as_written(f"  {form} ", "x") == value
    if not form.startswith("-"):
        assert decimal_as_written(f"+{form}", "x") == value


@pytest.mark.parametrize(
    "form",
    [
        "", " ", "NaN", "nan", "sNaN", "inf", "-Infinity", "1,5", "1.000,5", "1_000", "1 000", "1\u00a0000", "١٢", "１２", "1e3", "1E+1000000",
        "0x10", ".5", "5.", "+-1", "--1", "−5", "1.2.3", "1" * 13, "0." + "1" * 13, "½", "abc", "1\x00", "5 mm", "5%", "\x1b[2J",
        "1\n2", "1" * 100_000,
    ],
)  # fmt: skip
def test_what_is_no_plain_number_is_refused_with_a_remedy(form: str) -> None:
    """Caught: `Decimal(text)` alone, which takes NaN, 1_000, 1e400 and Arabic-Indic digits."""
    problem = decimal_as_written(form, "row 3, depth_mm")
    assert isinstance(problem, Problem)
    assert problem.where == "row 3, depth_mm"
    assert problem.remedy
    assert safe(str(problem)) == str(problem), "an error message carries no control character to the terminal"
    assert len(str(problem)) < 200


def test_a_decimal_comma_is_pointed_out() -> None:
    assert (
        str(decimal_as_written("1,5", "depth_mm"))
        == "depth_mm: '1,5' is not a plain number. Write a point, not a comma."
    )


def test_bounds_are_inclusive() -> None:
    """Caught: `<=` for `<`."""
    for form in ("0", "0.000", "10", "10.00"):
        assert isinstance(decimal_as_written(form, "x", low="0", high="10"), Decimal)
    assert str(decimal_as_written("-0.001", "x", low="0")) == "x: -0.001 is below 0. Give a number from 0 up."
    assert str(decimal_as_written("10.001", "x", high="10")) == "x: 10.001 is above 10. Give a number up to 10."


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (-2.5, Unit.DB, "−2.50 dB"), (0.125, Unit.DB, "0.12 dB"), (0.135, Unit.DB, "0.14 dB"), (-0.004, Unit.DB, "0.00 dB"),
        (Decimal("0.5"), Unit.MM, "0.500 mm"), (3, Unit.DEGREE, "3.0°"), (4.0, Unit.RATIO, "4.00"), (1e20, Unit.KHZ, "100000000000000000000.00 kHz"),
        (np.float64(-2.5), Unit.DB, "−2.50 dB"),
    ],
)  # fmt: skip
def test_a_derived_quantity_is_rounded_half_to_even_and_bears_its_unit(value: float, unit: Unit, shown: str) -> None:
    """Caught: ROUND_HALF_UP. Found so, not planted: a numpy number was a fault."""
    assert derived(value, unit) == shown


def test_a_signed_quantity_shows_its_sign_but_zero_has_none_below() -> None:
    assert derived(2.5, Unit.DB, sign=True) == "+2.50 dB"
    assert derived(-0.001, Unit.DB, sign=True) == "+0.00 dB"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, Decimal("NaN")])
def test_a_quantity_that_is_no_number_is_never_shown(value: float) -> None:
    """Found so, not planted: 'NaN dB' would have been printed."""
    with pytest.raises(ValueError, match="not a finite number"):
        derived(value, Unit.DB)


@given(st.floats(-1e9, 1e9), st.sampled_from(list(Unit)))
def test_a_derived_quantity_is_within_half_a_step_of_its_value(value: float, unit: Unit) -> None:
    shown = Decimal(derived(value, unit).removesuffix(str(unit)).strip().replace("−", "-"))
    assert abs(shown - Decimal(repr(value))) <= Decimal(5).scaleb(-DERIVED_DECIMALS[unit] - 1)


def test_every_unit_has_its_decimals() -> None:
    assert set(DERIVED_DECIMALS) == set(Unit)
