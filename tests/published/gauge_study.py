"""NIST/SEMATECH e-Handbook 2.6.1 and 2.4, gauge study of a resistivity probe: repeatability, day and run levels.

MEASURED: READ, the handbook's data file MPC266C.DAT. BUDGET: READ, MPC266D.DAT. Result of the budget: MEMORY.
"""

from typing import NamedTuple


class Wafer(NamedTuple):
    """Six daily means and their six-reading standard deviations, for two runs a month apart; ohm·cm."""

    run_1: list[float]
    s_1: list[float]
    run_2: list[float]
    s_2: list[float]


class Level(NamedTuple):
    """A line of the printed budget."""

    sd: float
    weight: float
    degrees_of_freedom: int


PROBE_2362 = {
    138: Wafer(
        [95.1162, 95.0569, 95.0598, 95.1487, 95.0743, 95.101], [0.048, 0.0577, 0.0516, 0.0386, 0.0256, 0.042],
        [95.1687, 95.1564, 95.1354, 95.0422, 95.1354, 95.1075], [0.0785, 0.043, 0.0983, 0.0773, 0.0587, 0.0776],
    ),
    139: Wafer(
        [99.2939, 99.3234, 99.2748, 99.3512, 99.235, 99.3574], [0.0818, 0.0723, 0.0756, 0.0475, 0.0517, 0.0485],
        [99.3408, 99.3116, 99.3241, 99.2991, 99.3049, 99.2782], [0.1279, 0.1131, 0.0519, 0.0903, 0.0783, 0.0718],
    ),
    140: Wafer(
        [96.0771, 95.9976, 96.0148, 96.0397, 96.0407, 96.0445], [0.1024, 0.0943, 0.0622, 0.0702, 0.0627, 0.0622],
        [96.0793, 96.1115, 96.0803, 96.0411, 96.0988, 96.0482], [0.0996, 0.0533, 0.0364, 0.0768, 0.1042, 0.0868],
    ),
    141: Wafer(
        [101.0471, 101.0224, 101.0702, 101.0904, 101.0626, 101.0686], [0.032, 0.102, 0.058, 0.1049, 0.0702, 0.0661],
        [101.1353, 101.1201, 101.0946, 100.9977, 101.0963, 101.03], [0.0585, 0.0868, 0.0855, 0.0645, 0.0638, 0.0549],
    ),
    142: Wafer(
        [94.2437, 94.2115, 94.2348, 94.2124, 94.2214, 94.1651], [0.0503, 0.0919, 0.0282, 0.0513, 0.0627, 0.101],
        [94.2052, 94.2824, 94.2396, 94.2087, 94.2937, 94.233], [0.0813, 0.0605, 0.0882, 0.0702, 0.0591, 0.0556],
    ),
}  # fmt: skip

BUDGET = [Level(0.0710, 0, 300), Level(0.0362, 5 / 6, 50), Level(0.0197, 1, 5), Level(0.0161, 0.1, 9)]
# FLAG: recomputed from these data the first is 0.072867, not the printed 0.0710 (its weight is 0, so it does no harm)
LEVEL_1_RECOMPUTED = 0.072867
LEVEL_3_RECOMPUTED = 0.019645  # DERIVED: printed 0.0197, so one unit of the last digit apart
# u, effective degrees of freedom, expanded uncertainty as printed (MEMORY); at full precision (DERIVED)
COMBINED, DEGREES_OF_FREEDOM, EXPANDED = 0.039, 42, 0.078
FULL_PRECISION = (0.038808, 41.97, 2.0181, 0.0783)  # u, degrees of freedom, t, U
