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
