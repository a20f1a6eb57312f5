"""Recalibration intervals by the exponential reliability model (the classical one of NCSLI RP-1, MEMORY).

DERIVED: exact by algebra, interval factor = ln(target)/ln(observed).
"""

# observed share, target share, factor
FACTORS = [
    (0.75, 0.85, 0.5649),
    (0.75, 0.95, 0.1783),
    (0.80, 0.85, 0.7283),
    (0.80, 0.95, 0.2299),
    (0.90, 0.85, 1.5425),
    (0.90, 0.95, 0.4868),
    (0.95, 0.85, 3.1684),
    (0.95, 0.95, 1.0),
    (0.98, 0.85, 8.0444),
    (0.98, 0.95, 2.5389),
]
# months, observed, target, months proposed
EXAMPLES = [(12, 0.90, 0.85, 18.51), (12, 0.90, 0.95, 5.84)]

# Clopper–Pearson limits of a share: (found, of, two-sided confidence, lower, upper).
# The first: NIST/SEMATECH e-Handbook 7.2.4.1, exact 90 % limits of 4 in 20 (MEMORY); the others DERIVED, by scipy's beta
# distribution, where ours uses the inverse of the incomplete beta function.
SHARES = [
    (4, 20, 0.90, 0.071354, 0.401029),
    (15, 20, 0.95, 0.5090, 0.9134),
    (18, 20, 0.95, 0.6830, 0.9877),
    (20, 20, 0.95, 0.8316, 1.0),
    (30, 30, 0.95, 0.8843, 1.0),
    (45, 50, 0.95, 0.7819, 0.9667),
    (40, 50, 0.95, 0.6628, 0.8997),
]
# The staircase, ILAC-G24:2022 / OIML D 10:2022, 6.2 (MEMORY): longer within 80 % of the largest permissible error, shorter
# outside it, else as it is. We ask for three in a row. (in tolerance, share of the tolerance) oldest first, the step.
STAIRCASE = [
    ([(True, 0.1), (True, 0.8), (True, 0.5)], "lengthen"),
    ([(True, 0.1), (True, 0.81), (True, 0.5)], "keep"),
    ([(True, 0.1), (True, 0.5)], "keep"),
    ([(True, 0.1), (True, 0.1), (True, 0.95)], "keep"),
    ([(True, 0.1), (True, 0.1), (True, 0.1), (False, 1.2)], "shorten"),
    ([(False, 1.2), (True, 0.1), (True, 0.1), (True, 0.1)], "lengthen"),
    ([(False, 1.01)], "shorten"),
]
