"""Say how deep eddy currents reach: standard depth, the frequency for it, phase lag and density below the surface.

Plane-wave values on a flat, thick, homogeneous part. A finite coil penetrates less, and none of this is a limit of
detection. With a relative permeability above 1 the figure may be wrong by a large factor: permeability, residual
magnetism and surface layers are unknown. The written procedure governs.
"""

import math

import numpy as np

from refstd.base.domain import Array, Numbers, not_negative, positive, same_shape

MU_0 = 4e-7 * math.pi  # H/m


def _product(ms_per_m: Numbers, relative_permeability: float | Array) -> Array:
    """π·µ0·µr·σ in SI units."""
    mu_r = positive("relative permeability", relative_permeability, "Give 1 for non-magnetic metal.")
    if not (mu_r >= 0.99).all():
        raise ValueError("relative permeability is 1 for non-magnetic metal and above 1 for ferrous. Give 1 or more.")
    sigma = positive("conductivity in MS/m", ms_per_m, "Take it from the material's record.")
    return np.asarray(math.pi * MU_0 * mu_r * sigma * 1e6)


def standard_depth_mm(frequency_khz: Numbers, ms_per_m: Numbers, relative_permeability: float | Array = 1.0) -> Numbers:
    """Return the standard depth of penetration, mm: where a plane wave's density is 1/e of that at the surface.

    δ = 1/√(π f µ0 µr σ). All above 0.
    """
    hertz = positive("frequency", frequency_khz, "Give kHz, above 0.") * 1e3
    result: Numbers = same_shape(1e3 / np.sqrt(_product(ms_per_m, relative_permeability) * hertz))
    return result


def frequency_khz(standard_depth_mm: Numbers, ms_per_m: Numbers, relative_permeability: float | Array = 1.0) -> Numbers:
    """Return the frequency, kHz, at which the standard depth of penetration is `standard_depth_mm`. All above 0."""
    depth = positive("standard depth", standard_depth_mm, "Give mm, above 0.") * 1e-3
    result: Numbers = same_shape(1e-3 / (_product(ms_per_m, relative_permeability) * depth**2))
    return result


def phase_lag_deg(depth_mm: Numbers, standard_depth_mm: Numbers) -> Numbers:
    """Return by how many degrees the currents at a depth lag those at the surface: x/δ rad, 57.3° for each δ."""
    result: Numbers = same_shape(np.degrees(_ratio(depth_mm, standard_depth_mm)))
    return result


def density_fraction(depth_mm: Numbers, standard_depth_mm: Numbers) -> Numbers:
    """Return the current density at a depth as a share of that at the surface, exp(−x/δ): 1 at the surface."""
    result: Numbers = same_shape(np.exp(-_ratio(depth_mm, standard_depth_mm)))
    return result


def _ratio(depth_mm: Numbers, standard_depth_mm: Numbers) -> Array:
    deep = not_negative("depth", depth_mm, "Give mm below the surface.")
    return np.asarray(deep / positive("standard depth", standard_depth_mm, "Give mm, above 0."))
