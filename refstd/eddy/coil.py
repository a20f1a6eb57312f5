"""Calculate what a flat metal surface does to an air-core coil: advice about set-up, never a reason to accept or reject.

Calculated for an air-core coil of the stated size above a flat, thick part. Ferrite or shielded cores, bridges,
transmit–receive and differential probes, edges and curves within about two outer radii differ. No figure from here enters
a verdict, a certificate or a correction; the written procedure governs. With a relative permeability above 1 the figure may
be wrong by a large factor.

Dodd and Deeds 1968 (MEMORY; re-derived), e^(+jωt), so inductive reactance is +j. With n = N/((r2 − r1)h) turns per area,
χ(x) = ∫ t J1(t) dt from 0 to x, J = χ(κ r2) − χ(κ r1), γ² = κ² + jωµ0µrσ, and integrals over κ from 0 to ∞:

    L0 = 2π µ0 n² ∫ J²/κ⁶ (κh + e^(−κh) − 1) dκ
    ΔZ = jωπ µ0 n² ∫ J²/κ⁶ (e^(−κl) − e^(−κ(l+h)))² (µrκ − γ)/(µrκ + γ) dκ
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import overload

import numpy as np

from refstd.base.domain import Array, finite, not_negative, positive, same_shape
from refstd.eddy.penetration import MU_0

BASIS = "calculated, not measured"

# Panels in κ·r2: geometric where the field of a far surface lives, then linear. The tail beyond falls as κ^-4.
_PANELS = (0.0, *np.geomspace(0.05, 1.5, 3), *np.linspace(1.5, 120.0, 10)[1:])  # 12 panels
_NODES_PER_PANEL = 24
_AT_ONCE = (
    32  # points: their arrays of all nodes stay in cache, and below the size that is fetched anew from the system
)


@dataclass(frozen=True, slots=True)
class Coil:
    """An air-core coil of rectangular winding cross-section: radii and height in mm, number of turns."""

    inner_radius_mm: float
    outer_radius_mm: float
    height_mm: float
    turns: float

    def __post_init__(self) -> None:
        not_negative("inner radius", self.inner_radius_mm, "Give mm.")
        positive("height", self.height_mm, "Give the height of the winding in mm.")
        positive("turns", self.turns, "Give the number of turns.")
        finite("outer radius", self.outer_radius_mm, "Give mm.")
        if not self.outer_radius_mm > self.inner_radius_mm:
            raise ValueError("The outer radius must be above the inner one. Exchange them.")

    @property
    def mean_radius_mm(self) -> float:
        return (self.inner_radius_mm + self.outer_radius_mm) / 2


@lru_cache(maxsize=64)
def _quadrature(coil: Coil) -> tuple[Array, Array]:
    """Return nodes κ (1/m) and weights times n²·J²/κ⁶ of the coil: 288 fixed Gauss–Legendre nodes."""
    from scipy.special import j0, j1, struve

    r1, r2, h = (1e-3 * mm for mm in (coil.inner_radius_mm, coil.outer_radius_mm, coil.height_mm))
    x, w = np.polynomial.legendre.leggauss(_NODES_PER_PANEL)
    edges = np.array(_PANELS)
    half, middle = np.diff(edges)[:, None] / 2, (edges[:-1] + edges[1:])[:, None] / 2
    kappa, weight = (middle + half * x).ravel() / r2, (half * w).ravel() / r2

    def chi(z: Array) -> Array:
        exact = math.pi * z / 2 * (j1(z) * struve(0, z) - j0(z) * struve(1, z))
        return np.where(z < 0.02, z**3 / 6 - z**5 / 80, exact)

    density = coil.turns / ((r2 - r1) * h)
    winding = density * (chi(kappa * r2) - chi(kappa * r1)) / kappa**3
    return kappa, weight * winding**2


def inductance_in_air_h(coil: Coil) -> float:
    """Return the coil's inductance far from metal, H, of an ideal rectangular winding; a real one differs by about 2 %."""
    kappa, weight = _quadrature(coil)
    kh = kappa * coil.height_mm * 1e-3
    # κh + e^(−κh) − 1 loses its digits below 10^-4; there it is (κh)²/2 − (κh)³/6
    stored = np.where(kh < 1e-4, kh**2 / 2 - kh**3 / 6, kh + np.expm1(-kh))
    r1, r2, h = (1e-3 * mm for mm in (coil.inner_radius_mm, coil.outer_radius_mm, coil.height_mm))
    # Beyond the last node J² averages κ(r1 + r2)/π
    last, density = _PANELS[-1] / r2, coil.turns / ((r2 - r1) * h)
    tail = density**2 * (r1 + r2) / math.pi * (h / (3 * last**3) - 1 / (4 * last**4))
    return float(2 * math.pi * MU_0 * ((weight * stored).sum() + tail))


@overload
def impedance_change_ohm(
    coil: Coil, lift_off_mm: float, frequency_khz: float, ms_per_m: float, relative_permeability: float = 1.0
) -> complex: ...
@overload
def impedance_change_ohm(
    coil: Coil,
    lift_off_mm: float | Array,
    frequency_khz: float | Array,
    ms_per_m: float | Array,
    relative_permeability: float | Array = 1.0,
) -> complex | Array: ...
def impedance_change_ohm(
    coil: Coil,
    lift_off_mm: float | Array,
    frequency_khz: float | Array,
    ms_per_m: float | Array,
    relative_permeability: float | Array = 1.0,
) -> complex | Array:
    """Return by how much the coil's impedance changes from air to a thick flat part, Ω.

    lift_off_mm: bottom of the winding to the surface, 0 or more; the others above 0; all broadcast together. Relative
    error of the integral below 10^-6 from 100 Hz to 5 MHz, up to a lift-off of 50 outer radii; below 10^-4 where the
    winding is thinner than a fifth of its radius and lies on the metal.
    """
    lift_off, khz, sigma, mu_r = np.broadcast_arrays(
        not_negative("lift-off", lift_off_mm, "Give mm from winding to surface."),
        positive("frequency", frequency_khz, "Give kHz, above 0."),
        positive("conductivity in MS/m", ms_per_m, "Take it from the material's record."),
        positive("relative permeability", relative_permeability, "Give 1 for non-magnetic metal."),
    )
    omega = 2e3 * math.pi * khz
    points = (lift_off.ravel() * 1e-3, (omega * MU_0 * mu_r * sigma * 1e6).ravel(), mu_r.ravel())
    parts = [_reflected(coil, *(x[i : i + _AT_ONCE, None] for x in points)) for i in range(0, khz.size, _AT_ONCE)]
    integral = np.concatenate(parts).reshape(khz.shape)
    result: complex | Array = same_shape(1j * omega * math.pi * MU_0 * integral)
    return result


def _reflected(coil: Coil, gap: Array, loss: Array, mu: Array) -> Array:
    """Return the integral of ΔZ over κ for a column of points; gap in m, loss ωµ0µrσ in 1/m².

    Real arithmetic, three times as fast: with γ = p + jq, p² − q² = κ² and 2pq = loss, so that
    (µκ − γ)/(µκ + γ) = ((µ² − 1)κ² − 2q² − 2jµκq)/((µκ + p)² + q²), which loses no digits where γ ≈ κ.
    """
    kappa, weight = _quadrature(coil)
    weight = weight * np.expm1(-kappa * coil.height_mm * 1e-3) ** 2
    squared = kappa**2
    p = np.sqrt((np.sqrt(squared**2 + loss**2) + squared) / 2)
    q = loss / (2 * p)
    muk = mu * kappa
    reach = np.exp(-2 * kappa * gap) / ((muk + p) ** 2 + q**2)
    real = (reach * ((mu**2 - 1) * squared - 2 * q**2)) @ weight
    return np.asarray(real - 2j * ((reach * muk * q) @ weight))
