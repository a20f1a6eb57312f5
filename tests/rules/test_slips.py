"""Slips of the pen: exchanged notches, a slipped decimal point, a copied set."""

from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.slips import likely_slips
from tests.rules.occasions import readings

REFERENCE = readings("check C-0001", n05="40", n1="80", n15="95")


def said(**seen: str) -> list[tuple[str, str]]:
    new = readings("these readings", **seen)  # type: ignore[arg-type]
    return [(s.notch, s.says) for s in likely_slips(new, REFERENCE, REFERENCE)]


def test_a_slipped_decimal_point_is_pointed_out_at_its_notch() -> None:
    assert said(n05="39", n1="8.1", n15="94")[0] == ("1.0 mm", "0.10 times the value in check C-0001: decimal point?")
    assert ("0.5 mm", "10.00 times the value in check C-0001: decimal point?") in said(n05="400", n1="80", n15="94")


def test_two_notches_read_the_other_way_round_are_pointed_out() -> None:
    assert said(n05="41", n1="94", n15="79") == [
        ("1.5 mm", "notches 1.0 mm and 1.5 mm answer the other way round: exchanged?")
    ]


def test_a_set_that_repeats_every_digit_of_the_last_is_pointed_out() -> None:
    assert said(n05="40", n1="80", n15="95") == [("", "every value is the same as in check C-0001: copied?")]
    assert said(n05="40", n1="80", n15="95.0") == []  # another digit was read


def test_one_equal_reading_alone_is_no_copy() -> None:
    assert said(n1="80") == []


def test_a_factor_that_the_gain_explains_is_no_slip() -> None:
    """20 dB more gain is ten times the height (20·log10(10) = 20 dB, READ)."""
    new = readings("new", n1="80", gains=("40", "60"))
    past = readings("past", n1="8", gains=("40", "40"))
    assert likely_slips(new, past, past) == ()
    assert len(likely_slips(readings("new", n1="80", gains=("40", "40")), past, past)) == 1


@given(st.floats(0.3, 3.0))
def test_an_ageing_probe_is_no_slip(scale: float) -> None:
    """All notches up or down together by less than five times. Planted: the factor lowered to 3; a change of 0.3 was marked."""
    assert said(n05=f"{40 * scale:.2f}", n1=f"{80 * scale:.2f}", n15=f"{95.1 * scale:.2f}") == []


def test_off_the_screen_is_neither_factor_nor_order() -> None:
    assert said(n05="40.1", n1="80.1", n15="full screen") == []
