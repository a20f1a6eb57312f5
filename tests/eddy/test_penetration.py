"""Depth of penetration, against published tables; their misprints must not pass."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.eddy import penetration
from refstd.eddy.materials import ms_per_m
from tests.published import standard_depth as published

INCH_MM = 25.4


def depth_mm(rho_ohm_m: float, mu_r: float, hertz: float) -> float:
    return penetration.standard_depth_mm(hertz / 1000, 1e-6 / rho_ohm_m, mu_r)


def test_300_series_stainless_is_the_study_guides_example() -> None:
    sigma, khz, printed, within = published.STAINLESS_300_SERIES
    assert penetration.standard_depth_mm(khz, sigma) == pytest.approx(printed, abs=within)


def test_316l_at_200_khz_is_about_a_millimetre() -> None:
    rho, khz, printed = published.STAINLESS_316L
    assert penetration.standard_depth_mm(khz, 100 / rho) == pytest.approx(printed, rel=0.1)


@pytest.mark.parametrize(("metal", "rho", "mu_r", "row"), published.SKIN_MM)
def test_the_skin_depth_table_agrees_to_its_two_figures(metal: str, rho: float, mu_r: float, row: list[float]) -> None:
    for hertz, printed in zip(published.SKIN_HZ, row, strict=True):
        if not math.isnan(printed):
            unit = 10 ** (math.floor(math.log10(printed)) - 1)
            assert depth_mm(rho, mu_r, hertz) == pytest.approx(printed, abs=0.51 * unit)


def test_the_misprinted_silicon_steel_depth_is_ten_times_too_large() -> None:
    rho, mu_r, hertz, misprint = published.SKIN_MISPRINT
    assert depth_mm(rho, mu_r, hertz) == pytest.approx(misprint / 10, rel=0.01)


def cells() -> list[tuple[float, float, float]]:
    table = published.WALL_KHZ.items()
    rows = [(wall, p, k) for wall, row in table for p, k in zip(published.WALL_PERCENT_IACS, row, strict=True)]
    return [(wall, percent, khz) for wall, percent, khz in rows if khz is not None]


@pytest.mark.parametrize(("wall_in", "percent", "khz"), cells())
def test_the_wall_table_agrees_to_its_printed_kilohertz(wall_in: float, percent: float, khz: float) -> None:
    assert round(penetration.frequency_khz(wall_in * INCH_MM, ms_per_m(percent))) == khz


@pytest.mark.parametrize(("wall_in", "percent", "printed", "right"), published.WALL_FLAGGED)
def test_the_flagged_cells_of_the_wall_table_do_not_round_to_what_is_printed(
    wall_in: float, percent: float, printed: float, right: float
) -> None:
    found = penetration.frequency_khz(wall_in * INCH_MM, ms_per_m(percent))
    assert found == pytest.approx(right, abs=0.06)
    assert found < printed - 0.49


@pytest.mark.parametrize("constant", published.HANDBOOK_CONSTANTS)
def test_the_handbooks_short_forms_agree_within_their_rounding(constant: float) -> None:
    assert constant / math.sqrt(60_000 * 32) == pytest.approx(
        penetration.standard_depth_mm(60.0, ms_per_m(32.0)), rel=1.5e-3
    )


def test_the_forms_by_resistivity_agree_within_their_rounding() -> None:
    exact = depth_mm(1e-8, 1, 1.0)  # 1 µΩ cm, 1 Hz
    assert published.RESISTIVITY_FORM_MM / exact - 1 == pytest.approx(-0.0065, abs=1e-4)
    assert exact == pytest.approx(published.RESISTIVITY_FORM_IN * INCH_MM, rel=1.5e-3)


@pytest.mark.parametrize(("wall_in", "khz"), published.WALL_2024_T4.items())
def test_the_wall_table_agrees_for_2024_t4_too(wall_in: float, khz: int) -> None:
    assert round(penetration.frequency_khz(wall_in * INCH_MM, ms_per_m(30.0))) == khz


def test_the_thin_wall_rules_are_the_frequency_at_which_the_wall_is_0_8_depths() -> None:
    exact = penetration.frequency_khz(1 / published.THIN_WALL_DEPTHS, ms_per_m(1.0))  # 1 mm, 1 %IACS
    assert exact == pytest.approx(published.THIN_WALL_CONSTANT, abs=0.6)
    by_resistivity = penetration.frequency_khz(1 / published.THIN_WALL_DEPTHS, 100.0)  # 1 mm, 1 µΩ cm
    assert by_resistivity != pytest.approx(published.TUBE_CONSTANT, rel=0.01)


@pytest.mark.parametrize(("steel", "rho", "percent", "mu_r", "product", "row"), published.CARBON_STEEL)
def test_carbon_steels_products_and_depths_agree(
    steel: str, rho: float, percent: float, mu_r: float, product: float, row: list[float]
) -> None:
    assert percent * mu_r == product
    assert 100 / ms_per_m(percent) == pytest.approx(rho, rel=0.5 / percent)
    khz = np.array(published.CARBON_STEEL_KHZ, float)
    found = penetration.standard_depth_mm(khz, np.full(3, 100 / rho), mu_r)
    assert found[0] == pytest.approx(row[0], abs=5.1e-4)
    assert found[1:] == pytest.approx(row[1:], abs=5.1e-5)


def test_the_military_standards_metric_constant_is_two_thirds_of_a_percent_low() -> None:
    exact = penetration.standard_depth_mm(1e-3, ms_per_m(1.0))
    assert exact == pytest.approx(published.EXACT_CONSTANT, abs=1e-3)
    assert published.MIL_STD_1537C_CONSTANT / exact - 1 == pytest.approx(-0.0066, abs=1e-4)


def test_the_engineers_constants_agree_to_their_printed_digits() -> None:
    rho, hertz = 2.8e-8, 400.0
    exact = depth_mm(rho, 1, hertz)
    assert math.sqrt(published.ENGINEERS_CONSTANT * rho / hertz) == pytest.approx(exact, rel=1e-4)
    assert 1e3 * math.sqrt(published.ENGINEERS_CONSTANT_M_PER_H * rho / hertz) == pytest.approx(exact, rel=1e-6)


def test_the_rods_limit_frequency_is_the_one_at_which_the_depth_is_the_diameter_over_root_2() -> None:
    """The printed constant is rounded; a depth of half the diameter in its place would be twice too high."""
    hertz = 1e3 * penetration.frequency_khz(10 / math.sqrt(2), 1.0)  # diameter 1 cm, 1 MS/m
    assert hertz == pytest.approx(published.ROD_CONSTANT, rel=1.5e-3)
    assert hertz != pytest.approx(published.ROD_CONSTANT, rel=1e-3)


def test_the_military_standards_reduced_thickness_is_1_6_depths() -> None:
    khz, percent, inches, depths = published.REDUCED_THICKNESS
    assert round(depths * penetration.standard_depth_mm(khz, ms_per_m(percent)) / INCH_MM, 3) == inches


def test_the_military_standards_minimum_thickness_is_2_6_depths() -> None:
    khz, percent, inches, depths = published.MINIMUM_THICKNESS
    delta_in = penetration.standard_depth_mm(khz, ms_per_m(percent)) / INCH_MM
    assert round(depths * delta_in, 2) == inches
    assert round(3 * delta_in, 2) > inches


def test_the_misprinted_inch_conversion_is_ten_times_too_large() -> None:
    inches, misprint, right = published.INCH_MISPRINT
    assert inches * INCH_MM == pytest.approx(right, abs=5e-4)
    assert misprint == pytest.approx(10 * inches * INCH_MM, rel=0.01)


@pytest.mark.parametrize(("khz", "sigma", "mu_r", "mm"), published.DERIVED)
def test_depths_are_the_reference_figures(khz: float, sigma: float, mu_r: float, mm: float) -> None:
    assert penetration.standard_depth_mm(khz, sigma, mu_r) == pytest.approx(mm, abs=6e-7)


@pytest.mark.parametrize(("percent", "row"), published.GRID_MM.items())
def test_depths_are_those_of_the_grid_of_alloys(percent: float, row: list[float]) -> None:
    found = penetration.standard_depth_mm(np.array(published.GRID_KHZ, float), np.full(7, ms_per_m(percent)))
    assert found == pytest.approx(row, abs=5.1e-5)


@pytest.mark.parametrize(("depths", "percent", "decimals"), [*published.DENSITY, published.DENSITY_MEMORY])
def test_density_falls_as_published(depths: float, percent: float, decimals: int) -> None:
    assert round(100 * penetration.density_fraction(depths, 1.0), decimals) == percent


def test_phase_lags_as_published() -> None:
    assert penetration.phase_lag_deg(1.0, 1.0) == pytest.approx(published.LAG_PER_DEPTH_DEG, abs=0.005)
    depth, lag, within = published.LAG_AT_TARGET_DEG
    assert penetration.phase_lag_deg(depth, 1.0) == pytest.approx(lag, abs=within)


@given(st.floats(0.01, 10_000), st.floats(0.1, 64), st.floats(1, 1000))
def test_frequency_and_depth_are_inverse(khz: float, sigma: float, mu_r: float) -> None:
    depth = penetration.standard_depth_mm(khz, sigma, mu_r)
    assert penetration.frequency_khz(depth, sigma, mu_r) == pytest.approx(khz, rel=1e-9)


def test_values_and_arrays_broadcast_and_scalars_are_plain() -> None:
    assert type(penetration.standard_depth_mm(100, 19.1)) is float
    assert penetration.density_fraction(np.array([0.0, 1.0]), np.array([1.0, 1.0]))[0] == 1


@pytest.mark.parametrize(
    ("khz", "sigma", "mu_r", "remedy"),
    [
        (0.0, 19.1, 1.0, "kHz"),
        (-5.0, 19.1, 1.0, "kHz"),
        (100.0, 0.0, 1.0, "material's record"),
        (100.0, 19.1, 0.0, "non-magnetic"),
        (100.0, 19.1, 0.5, "non-magnetic"),
        (float("nan"), 19.1, 1.0, "kHz"),
    ],
)
def test_a_depth_outside_its_domain_is_refused_with_a_remedy(
    khz: float, sigma: float, mu_r: float, remedy: str
) -> None:
    with pytest.raises(ValueError, match=remedy):
        penetration.standard_depth_mm(khz, sigma, mu_r)


def test_depth_below_the_surface_is_not_negative() -> None:
    with pytest.raises(ValueError, match="below the surface"):
        penetration.density_fraction(-0.1, 1.0)
