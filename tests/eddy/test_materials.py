"""Conductivity, against the copper standard's definition and handbook values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.eddy import materials
from sample_db.materials import MATERIALS
from tests.published import aluminium_temperature, iacs


def resistivity(ms_per_m: float) -> float:
    """µΩ cm."""
    return 100 / ms_per_m


def test_100_percent_iacs_is_the_definition() -> None:
    percent, sigma = iacs.DEFINITION
    assert materials.ms_per_m(percent) == pytest.approx(sigma, rel=1e-12)
    assert materials.percent_iacs(sigma) == pytest.approx(percent, rel=1e-12)


def test_the_copper_standards_resistivities_agree() -> None:
    assert resistivity(materials.ms_per_m(100.0)) == pytest.approx(iacs.COPPER_RESISTIVITY, abs=5.1e-5)
    by_mass = iacs.MASS_RESISTIVITY / iacs.DENSITY * 100  # Ω g/m² over g/cm³ gives µΩ m
    assert resistivity(materials.ms_per_m(100.0)) == pytest.approx(by_mass, rel=1e-4)
    given_up = iacs.FIRST_MASS_RESISTIVITY / iacs.DENSITY * 100
    assert resistivity(materials.ms_per_m(100.0)) != pytest.approx(given_up, rel=1e-3)


def test_two_sources_differ_by_at_most_one_percent_iacs_for_one_alloy() -> None:
    both = {alloy: percent for alloy, percent, _ in iacs.ALUMINIUM_ASSOCIATION if alloy in iacs.ENGINEERING_ALLOYS}
    assert sorted(both) == ["6061-T6", "7075-T6"]
    for alloy, percent in both.items():
        assert iacs.ENGINEERING_ALLOYS[alloy] == pytest.approx(percent, abs=iacs.BETWEEN_SOURCES)
        assert iacs.ENGINEERING_ALLOYS[alloy] != percent


@pytest.mark.parametrize(
    ("code", "published"),
    [
        ("AL-7075-T6", "7075-T6"), ("AL-2024-T3", "2024-T4"), ("AL-6061-T6", "6061-T6"), ("TI-PURE", "titanium, pure"),
        ("SS-304", "304"), ("BRASS-70", "brass"), ("MG", "magnesium"),
    ],
)  # fmt: skip
def test_the_sample_labs_materials_have_published_conductivities(code: str, published: str) -> None:
    """Aluminium from the other source, to within what the two differ by; it gives 2024-T3 and T4 as one."""
    ours = {row[0]: float(row[4]) for row in MATERIALS if row[4]}
    within = iacs.BETWEEN_SOURCES if code.startswith("AL-") else 0.0
    assert ours[code] == pytest.approx(iacs.ENGINEERING_ALLOYS[published], abs=within)


@pytest.mark.parametrize(("metal", "sigma", "percent", "rho"), iacs.ET_TABLES)
def test_the_instruction_books_table_agrees_within_its_printed_digits(
    metal: str, sigma: float, percent: float, rho: float
) -> None:
    assert materials.ms_per_m(percent) == pytest.approx(sigma, abs=0.011 + 0.58 * 0.005)
    assert iacs.CONVERSION / rho == pytest.approx(percent, rel=0.003 + 0.005 / rho)
    low, high = percent - 0.5, percent + 0.5
    assert low <= materials.percent_iacs(sigma) <= high


def test_the_misprinted_row_for_pure_aluminium_is_off_by_a_digit() -> None:
    _, printed, percent, rho = iacs.ET_TABLES_MISPRINT
    assert materials.ms_per_m(percent) == pytest.approx(printed + 2.0, abs=0.01)
    assert resistivity(materials.ms_per_m(percent)) == pytest.approx(rho, abs=5.1e-3)
    assert resistivity(printed) != pytest.approx(rho, abs=0.1)


@pytest.mark.parametrize(("alloy", "percent", "printed"), iacs.ALUMINIUM_ASSOCIATION)
def test_the_aluminium_associations_resistivities_agree_to_the_printed_integer(
    alloy: str, percent: float, printed: int
) -> None:
    assert round(ohm_cmil_ft(percent)) == printed


def test_the_flagged_alloy_rounds_otherwise_but_within_its_printed_conductivity() -> None:
    _, percent, printed, right = iacs.ALUMINIUM_ASSOCIATION_FLAGGED
    assert ohm_cmil_ft(percent) == pytest.approx(right, abs=0.05)
    assert round(ohm_cmil_ft(percent)) != printed
    assert ohm_cmil_ft(percent + 0.5) < printed + 0.5


def ohm_cmil_ft(percent: float) -> float:
    """A circular mil is the area of a circle of 0.001 in; 1 µΩ cm is 6.0153 Ω circular-mil/ft."""
    of_copper = resistivity(materials.ms_per_m(100.0)) * 6.0153
    assert of_copper == pytest.approx(iacs.OHM_CMIL_FT_AT_100_PERCENT, abs=1e-3)
    return resistivity(materials.ms_per_m(percent)) * 6.0153


def test_iron_is_about_18_percent() -> None:
    sigma, percent = iacs.IRON
    assert materials.percent_iacs(sigma) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize(("percent", "alpha"), aluminium_temperature.COEFFICIENTS)
def test_the_temperature_coefficient_is_tied_to_the_conductivity(percent: float, alpha: float) -> None:
    """One kelvin above 20 °C: σ20 = σT·(1 + α20), within the handbook's printed digits."""
    at_20 = materials.ms_per_m(percent)
    warm = at_20 / (1 + alpha)
    assert materials.conductivity_at_20_c(warm, 21.0) == pytest.approx(at_20, rel=6e-6)


@pytest.mark.parametrize(("alloy", "at_0", "at_20", "at_27"), aluminium_temperature.ALLOYS)
def test_alloys_come_back_to_their_handbook_value_at_20_degrees(
    alloy: str, at_0: float, at_20: float, at_27: float
) -> None:
    for rho, celsius in ((at_0, -0.15), (at_27, 26.85)):
        found = resistivity(materials.conductivity_at_20_c(resistivity(rho), celsius))
        assert found == pytest.approx(at_20, abs=0.02)


@pytest.mark.parametrize(
    ("celsius", "rho"), list(zip(aluminium_temperature.CRC_CELSIUS, aluminium_temperature.CRC_ALUMINIUM, strict=True))
)
def test_pure_aluminium_comes_back_to_its_value_at_20_degrees(celsius: float, rho: float) -> None:
    at_20 = aluminium_temperature.CRC_ALUMINIUM[1]
    assert resistivity(materials.conductivity_at_20_c(resistivity(rho), celsius)) == pytest.approx(at_20, abs=0.01)


def test_the_coefficient_is_aluminiums_and_neither_brasss_nor_coppers() -> None:
    """Brass lies among the aluminium alloys in conductivity, so it cannot be refused; its value then does not come back."""
    _, at_20, _, at_100 = aluminium_temperature.CRC_BRASS_70_30
    brought_back = resistivity(materials.conductivity_at_20_c(resistivity(at_100), 100.0))
    assert brought_back != pytest.approx(at_20, abs=0.03)
    per_percent = aluminium_temperature.COEFFICIENTS[0][1] / aluminium_temperature.COEFFICIENTS[0][0]
    assert pytest.approx(per_percent, rel=0.1) != aluminium_temperature.COPPER_COEFFICIENT / 100


def test_1050_o_changes_by_the_printed_slope() -> None:
    rho, slope = aluminium_temperature.AL_1050_O
    warm = materials.conductivity_at_20_c(1000 / rho, 30.0)
    assert (rho - 1000 / warm) / 10 == pytest.approx(slope, abs=0.05)


def test_a_32_percent_alloy_is_not_corrected_by_the_pure_metals_coefficient() -> None:
    percent, per_kelvin, too_much = aluminium_temperature.AT_32
    warm = materials.ms_per_m(percent + 3 * per_kelvin)
    corrected = materials.percent_iacs(materials.conductivity_at_20_c(warm, 23.0))
    assert corrected == pytest.approx(percent, abs=0.003)
    assert corrected != pytest.approx(percent + 3 * (per_kelvin - too_much), abs=0.1)


def test_the_reference_temperature_is_20_not_the_misprinted_200_degrees() -> None:
    assert materials.conductivity_at_20_c(18.56, 20.0) == 18.56
    with pytest.raises(ValueError, match="nearer to 20"):
        materials.conductivity_at_20_c(18.56, float(iacs.REFERENCE_TEMPERATURE_MISPRINT_C))


@given(st.floats(0.1, 110))
def test_converting_there_and_back_is_the_identity(percent: float) -> None:
    assert materials.percent_iacs(materials.ms_per_m(percent)) == pytest.approx(percent, rel=1e-12)


def test_arrays_keep_their_shape_and_scalars_are_plain() -> None:
    assert materials.ms_per_m(np.array([[100.0, 50.0]])).tolist() == [[58.0, 29.0]]
    assert type(materials.ms_per_m(30)) is float
    assert materials.conductivity_at_20_c(np.full(3, 20.0), np.full(3, 22.0)).shape == (3,)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_conductivity_must_be_above_zero(bad: float) -> None:
    for convert in (materials.ms_per_m, materials.percent_iacs):
        with pytest.raises(ValueError, match="conductivity"):
            convert(bad)


def test_copper_is_not_corrected_as_aluminium() -> None:
    with pytest.raises(ValueError, match="Aluminium alloys"):
        materials.conductivity_at_20_c(58.0, 25.0)
