"""The coil integral against finite elements, measurement, 25-digit arithmetic and image coils."""

import cmath
import math
from typing import Any

import numpy as np
import pytest
from scipy.special import ellipe, ellipk, j1

from refstd.eddy.coil import Coil, impedance_change_ohm, inductance_in_air_h
from refstd.eddy.penetration import frequency_khz
from tests.published import coil_over_half_space as published

MU_0 = 4e-7 * math.pi


@pytest.mark.parametrize("case", published.HALF_SPACE)
def test_the_integral_agrees_with_25_digit_arithmetic(case: tuple[Any, ...]) -> None:
    size, lift_off, khz, sigma, mu_r, resistance, reactance, inductance = case
    change = impedance_change_ohm(Coil(*size), lift_off, khz, sigma, mu_r)
    assert change.real == pytest.approx(resistance, rel=1e-8)
    assert change.imag == pytest.approx(reactance, rel=1e-8)
    assert inductance_in_air_h(Coil(*size)) == pytest.approx(inductance, rel=2e-7)


def test_inductance_agrees_with_finite_elements_and_within_two_percent_with_the_measured_coils() -> None:
    first, second = Coil(*published.COIL_1), Coil(*published.COIL_2)
    assert inductance_in_air_h(first) == pytest.approx(published.COIL_1_ELEMENTS_H, rel=1e-3)
    assert inductance_in_air_h(first) == pytest.approx(published.COIL_1_MEASURED_H, rel=0.02)
    assert inductance_in_air_h(second) == pytest.approx(published.COIL_2_MEASURED_H, rel=0.01)


def test_a_coil_on_aluminium_agrees_with_finite_elements() -> None:
    lift_off, khz, sigma, inductance, resistance = published.ON_PLATE
    coil = Coil(*published.COIL_1)
    change = impedance_change_ohm(coil, lift_off, khz, sigma)
    assert change.real == pytest.approx(resistance, rel=1e-3)
    on_plate = inductance_in_air_h(coil) + change.imag / (2e3 * math.pi * khz)
    assert on_plate == pytest.approx(inductance, rel=5e-4)


@pytest.mark.parametrize("size", [(1.0, 2.0, 1.5, 100), (0.0, 2.0, 1.0, 10), (6.15, 12.4, 6.15, 3790)])
@pytest.mark.parametrize("lift_off_radii", [0.0, 0.1, 50.0])
def test_the_fixed_nodes_agree_with_the_formula_as_printed_on_many_nodes(
    size: tuple[float, float, float, float], lift_off_radii: float
) -> None:
    """Caught: a sign lost in the real form of the reflection, and panels that end at 20 in place of 120."""
    coil, gap = Coil(*size), lift_off_radii * size[1]
    for khz, sigma, mu_r in ((0.1, 0.3, 1.0), (5000.0, 63.0, 1.0), (50.0, 5.0, 100.0), (300.0, 19.1, 1.0)):
        expected = formula_ohm(coil, gap, khz, sigma, mu_r)
        found = impedance_change_ohm(coil, gap, khz, sigma, mu_r)
        assert abs(found - expected) < 1e-6 * abs(expected)


def formula_ohm(coil: Coil, lift_off_mm: float, khz: float, sigma: float, mu_r: float) -> complex:
    """ΔZ of Dodd and Deeds (MEMORY), complex as it is printed, on 1,500 nodes; the winding's integral by quadrature too."""
    r1, r2, h, gap = (1e-3 * v for v in (coil.inner_radius_mm, coil.outer_radius_mm, coil.height_mm, lift_off_mm))
    node, share = np.polynomial.legendre.leggauss(24)
    edges = np.concatenate(([0.0], np.geomspace(1e-3, 2.0, 15), np.geomspace(2.0, 300.0, 50)[1:]))[:, None]
    half, middle = np.diff(edges, axis=0) / 2, (edges[:-1] + edges[1:]) / 2
    kappa, weight = (middle + half * node).ravel() / r2, (half * share).ravel() / r2
    t, w = np.polynomial.legendre.leggauss(200)
    wide = kappa * (r2 - r1) / 2
    at = kappa[:, None] * (r1 + r2) / 2 + wide[:, None] * t
    winding = (w * at * j1(at)).sum(axis=1) * wide / kappa**3
    omega = 2e3 * math.pi * khz
    gamma = np.sqrt(kappa**2 + 1j * omega * MU_0 * mu_r * sigma * 1e6)
    reach = (np.exp(-kappa * gap) - np.exp(-kappa * (gap + h))) ** 2
    integral = (weight * winding**2 * reach * (mu_r * kappa - gamma) / (mu_r * kappa + gamma)).sum()
    return complex(1j * omega * math.pi * MU_0 * (coil.turns / ((r2 - r1) * h)) ** 2 * integral)


def image_inductance_h(coil: Coil, lift_off_mm: float) -> float:
    """Mutual inductance with the mirrored coil, from circular filaments and elliptic integrals: another method."""
    x, w = np.polynomial.legendre.leggauss(12)
    r1, r2, h, gap = (1e-3 * v for v in (coil.inner_radius_mm, coil.outer_radius_mm, coil.height_mm, lift_off_mm))
    radius, height = (r1 + r2) / 2 + (r2 - r1) / 2 * x, gap + h / 2 + h / 2 * x
    a, b = radius[:, None, None, None], radius[None, :, None, None]
    apart = height[None, None, :, None] + height[None, None, None, :]
    m = 4 * a * b / ((a + b) ** 2 + apart**2)
    k = np.sqrt(m)
    mutual = MU_0 * np.sqrt(a * b) * ((2 / k - k) * ellipk(m) - 2 / k * ellipe(m))
    weights = np.einsum("i,j,k,l->ijkl", w, w, w, w) / 16
    return float(coil.turns**2 * (weights * mutual).sum())


@pytest.mark.parametrize("size", [published.COIL_1, (1.0, 2.0, 1.5, 100)])
def test_a_perfect_conductor_mirrors_the_coil(size: tuple[float, float, float, float]) -> None:
    coil, khz = Coil(*size), 1000.0
    change = impedance_change_ohm(coil, 0.88, khz, 1e9)
    assert change.imag / (2e3 * math.pi * khz) == pytest.approx(-image_inductance_h(coil, 0.88), rel=2e-4)


def test_a_magnetic_part_at_rest_mirrors_the_coil_with_the_other_sign() -> None:
    coil, khz, mu_r = Coil(*published.COIL_1), 1e-6, 50.0
    change = impedance_change_ohm(coil, 0.88, khz, 1e-3, mu_r)
    expected = (mu_r - 1) / (mu_r + 1) * image_inductance_h(coil, 0.88)
    assert change.imag / (2e3 * math.pi * khz) == pytest.approx(expected, rel=1e-6)


def test_in_a_thin_skin_lift_off_and_conductivity_part_at_135_degrees() -> None:
    """DERIVED: surface impedance goes as (1 + j)/√σ and lift-off is reactive; mean radius 200 standard depths."""
    coil, sigma = Coil(1.0, 2.0, 1.5, 100), 19.1
    khz = frequency_khz(1.5 / 200, sigma)
    here = impedance_change_ohm(coil, 0.2, khz, sigma)
    along_lift_off = impedance_change_ohm(coil, 0.2001, khz, sigma) - here
    along_sigma = impedance_change_ohm(coil, 0.2, khz, sigma * 1.001) - here
    assert math.degrees(cmath.phase(along_lift_off)) == pytest.approx(90, abs=1)
    assert abs(math.degrees(cmath.phase(along_sigma / along_lift_off))) == pytest.approx(135, abs=1)


def test_metal_adds_resistance_and_takes_inductance_away_unless_it_is_magnetic() -> None:
    coil = Coil(1.0, 2.0, 1.5, 100)
    changes = impedance_change_ohm(coil, np.array([0.0, 0.5, 5.0]), 100.0, 19.1)
    assert isinstance(changes, np.ndarray)
    assert (changes.real > 0).all()
    assert (changes.imag < 0).all()
    assert (np.diff(np.abs(changes)) < 0).all()
    assert impedance_change_ohm(coil, 0.2, 0.1, 5.0, 80.0).imag > 0


def test_arrays_broadcast_and_scalars_are_plain() -> None:
    coil = Coil(1.0, 2.0, 1.5, 100)
    grid = impedance_change_ohm(coil, np.zeros((3, 1)), np.array([50.0, 100.0]), 19.1)
    assert isinstance(grid, np.ndarray)
    assert grid.shape == (3, 2)
    single = impedance_change_ohm(coil, 0.0, 100.0, 19.1)
    assert type(single) is complex
    assert grid[2, 1] == pytest.approx(single, rel=1e-12)


@pytest.mark.parametrize(
    ("size", "remedy"),
    [((2.0, 1.0, 1.0, 10), "Exchange"), ((-1.0, 1.0, 1.0, 10), "mm"), ((1.0, 2.0, 0.0, 10), "height")],
)
def test_a_coil_that_cannot_be_is_refused(size: tuple[float, float, float, float], remedy: str) -> None:
    with pytest.raises(ValueError, match=remedy):
        Coil(*size)


@pytest.mark.parametrize(
    ("lift_off", "khz", "sigma", "remedy"),
    [(-0.1, 100.0, 19.1, "lift-off"), (0.1, 0.0, 19.1, "frequency"), (0.1, 100.0, -1.0, "material's record")],
)
def test_conditions_outside_the_domain_are_refused(lift_off: float, khz: float, sigma: float, remedy: str) -> None:
    with pytest.raises(ValueError, match=remedy):
        impedance_change_ohm(Coil(1, 2, 1, 10), lift_off, khz, sigma)
