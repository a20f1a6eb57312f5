"""The table of units: held to the units' definitions, and to another reader of D-SI where that is installed."""

import importlib
import warnings
from decimal import Decimal

import pytest

from refstd.exchange.dcc_units import D_SI, in_unit, shown, unit_read

# SI brochure, 9th edition, table 7 (prefixes) and 2.3.4 (Celsius), written out as factors to the unit of ours.
FACTORS = {
    r"\metre": ("mm", "1000"), r"\milli\metre": ("mm", "1"), r"\micro\metre": ("µm", "1"), r"\nano\metre": ("µm", "0.001"),
    r"\hertz": ("kHz", "0.001"), r"\kilo\hertz": ("kHz", "1"), r"\mega\hertz": ("kHz", "1000"),
    r"\siemens\metre\tothe{-1}": ("MS/m", "0.000001"), r"\mega\siemens\metre\tothe{-1}": ("MS/m", "1"),
    r"\siemens\per\metre": ("MS/m", "0.000001"), r"\mega\siemens\per\metre": ("MS/m", "1"),
    r"\percent": ("%", "1"), r"\decibel": ("dB", "1"), r"\degree": ("°", "1"), r"\degreecelsius": ("°C", "1"),
    r"\kelvin": ("K", "1"), r"\volt": ("V", "1"), r"\ohm": ("Ω", "1"), r"\one": ("1", "1"),
}  # fmt: skip
CANONICAL = {
    "mm": r"\milli\metre",
    "µm": r"\micro\metre",
    "kHz": r"\kilo\hertz",
    "MS/m": r"\mega\siemens\metre\tothe{-1}",
}


def test_the_table_is_closed_and_its_powers_are_the_prefixes() -> None:
    assert set(D_SI) == set(FACTORS)
    for written, (unit, factor) in FACTORS.items():
        assert (str(D_SI[written].unit), D_SI[written].ours(Decimal(1))) == (unit, Decimal(factor)), written


def test_another_reader_of_the_units_agrees() -> None:
    """The institute's own parser, where it is installed: each unit is valid to it, and its factors are ours."""
    if importlib.util.find_spec("dsi_unit") is None:
        pytest.skip("needs dsiUnits, another reader of D-SI units: pip install 'refstd[dev]'")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of \per, which files have
        unit_of = importlib.import_module("dsi_unit").DsiUnit
        for written, known in D_SI.items():
            assert unit_of(written).valid or r"\per" in written, written
            if str(known.unit) in CANONICAL:
                factor = unit_of(CANONICAL[str(known.unit)]).get_scale_factor(unit_of(written))
                assert factor == pytest.approx(float(known.ours(Decimal(1)))), written
        assert not unit_of(r"\inch").valid


def test_only_the_point_moves() -> None:
    assert format(D_SI[r"\metre"].ours(Decimal("0.000500")), "f") == "0.500"
    assert format(D_SI[r"\hertz"].ours(Decimal("200000")), "f") == "200.000"
    assert unit_read(r"\degreeCelsius") == unit_read(r"\degreecelsius")
    assert unit_read("mm") is None


def test_kelvin_and_celsius_are_shown_both_and_other_kinds_do_not_mix() -> None:
    assert shown(Decimal("293.05"), "K") == "293.05 K (19.90 °C)"
    assert shown(Decimal("0.20"), "1") == "0.20 (20 %)"
    assert in_unit(Decimal("20.4"), "°C", "K") == Decimal("293.55")
    assert in_unit(Decimal("504"), "µm", "mm") == Decimal("0.504")
    assert in_unit(Decimal(3), "dB", "%") is None
    assert in_unit(Decimal(3), "K", "mm") is None
