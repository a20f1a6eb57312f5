"""What changes when the block's conductivity is not the part's: the balance point, and at most how much of a notch's amplitude.

Advice about set-up, calculated for an absolute air-core coil on flat, thick, non-magnetic metal (`coil.py`). It corrects
nothing and decides nothing.
"""

import math
from functools import lru_cache

import numpy as np

from refstd.base.domain import positive
from refstd.eddy.coil import Coil, impedance_change_ohm

# At most so much does ln |ΔZ| of a notch change with ln σ: in general, and where the coil's mean radius is above 4 standard
# depths. Our own computation for long notches of 0.2 to 1 mm under coils of 0.75, 1.5 and 3.75 mm mean radius; no published
# source.
STEEPEST, STEEPEST_OF_WIDE_COILS, WIDE_DEPTHS = 0.71, 0.42, 4.0
_FARTHEST_RADII = 50.0


@lru_cache(maxsize=256)
def lift_off_alike_mm(coil: Coil, gap_mm: float, khz: float, block_ms_per_m: float, part_ms_per_m: float) -> float:
    """Return how many mm of lift-off on the block move the balance point as far as going from block to part does.

    gap_mm: winding to metal with the probe set down, 0 or more; frequency in kHz, conductivities in MS/m, above 0. inf
    where the move is larger than taking the probe off. ValueError outside the domain.
    """
    here = impedance_change_ohm(coil, gap_mm, khz, block_ms_per_m)
    move = abs(impedance_change_ohm(coil, gap_mm, khz, part_ms_per_m) - here)
    near, far = 0.0, _FARTHEST_RADII * coil.outer_radius_mm
    if move >= abs(impedance_change_ohm(coil, gap_mm + far, khz, block_ms_per_m) - here):
        return math.inf
    for _ in range(6):  # 32 times finer each: to a billionth of the widest bracket
        lifted = np.linspace(near, far, 33)
        moved = np.abs(impedance_change_ohm(coil, gap_mm + lifted, khz, block_ms_per_m) - here)
        at = max(1, int(np.searchsorted(moved, move)))
        near, far = float(lifted[at - 1]), float(lifted[at])
    return (near + far) / 2


def amplitude_bound_db(block_ms_per_m: float, part_ms_per_m: float, mean_radius_in_depths: float) -> float:
    """Return the dB within which a long notch's amplitude stays when the conductivity goes from block to part.

    mean_radius_in_depths: mean radius of the coil over the standard depth, the smaller one of block and part. All above 0.
    """
    positive("conductivity in MS/m", np.array([block_ms_per_m, part_ms_per_m]), "Take it from the material's record.")
    positive("mean radius over depth", mean_radius_in_depths, "Give the coil's mean radius over the standard depth.")
    steepest = STEEPEST_OF_WIDE_COILS if mean_radius_in_depths > WIDE_DEPTHS else STEEPEST
    return 20 * steepest * abs(math.log10(part_ms_per_m / block_ms_per_m))
