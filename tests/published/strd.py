"""NIST Statistical Reference Datasets: linear regression (Norris) and analysis of variance, certified values.

READ: the data files ship with scipy (stats/tests/data, nist_linregress and nist_anova), certified values in their headers.
Of the analysis of variance refstd uses the residual standard deviation and its degrees of freedom only, to pool baselines;
it has no F test. Longley, Pontius, Filip and Wampler need least squares with several columns, which refstd does not have: a
trend is one straight line, and the evidence for a suspect is one column at a time. So nothing here tests them.
"""

X = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4]
X += [0.6, 775.5, 666.9, 338, 447.5, 11.6, 556, 228.1, 995.8, 887.6, 120.2, 0.3]
X += [0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5]
Y = [0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3]
Y += [0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998, 888.8, 119.6, 0.3]
Y += [0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2]
INTERCEPT, U_INTERCEPT = -0.262323073774029, 0.232818234301152
SLOPE, U_SLOPE = 1.00211681802045, 0.429796848199937e-3
RESIDUAL_SD, DEGREES_OF_FREEDOM = 0.884796396144373, 34

# name, groups, residual standard deviation, degrees of freedom, digits that binary fractions of such data leave it
SI_RSTV = [
    [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
]
AT_WT_AG = [
    [
        107.8681568, 107.8681465, 107.8681572, 107.8681785, 107.8681446, 107.8681903, 107.8681526, 107.8681494,
        107.8681616, 107.8681587, 107.8681519, 107.8681486, 107.8681419, 107.8681569, 107.8681508, 107.8681672,
        107.8681385, 107.8681518, 107.8681662, 107.8681424, 107.8681360, 107.8681333, 107.8681610, 107.8681477,
    ],
    [
        107.8681079, 107.8681344, 107.8681513, 107.8681197, 107.8681604, 107.8681385, 107.8681642, 107.8681365,
        107.8681151, 107.8681082, 107.8681517, 107.8681448, 107.8681198, 107.8681482, 107.8681334, 107.8681609,
        107.8681101, 107.8681512, 107.8681469, 107.8681360, 107.8681254, 107.8681261, 107.8681450, 107.8681368,
    ],
]  # fmt: skip
_LEVELS = [0.4, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5]  # means of the nine groups of the simulated sets


def _simulated(above: float, count: int) -> list[list[float]]:
    return [[above + m, *[round(above + m + d, 1) for d in [-0.1, 0.1] * (count // 2)]] for m in _LEVELS]


ANALYSIS_OF_VARIANCE = [
    ("SiRstv", SI_RSTV, 1.04076068334656e-01, 20, 13),
    ("AtmWtAg", AT_WT_AG, 1.51048314446410e-05, 46, 10),
    ("SmLs01", _simulated(1, 21), 0.1, 180, 14),
    ("SmLs02", _simulated(1, 201), 0.1, 1800, 14),
    ("SmLs04", _simulated(1e6, 21), 0.1, 180, 10),
    ("SmLs07", _simulated(1e12, 21), 0.1, 180, 4),
]
