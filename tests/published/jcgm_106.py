"""JCGM 106:2012, the role of measurement uncertainty in conformity assessment, clause 7 examples.

MEMORY, recomputed to all printed digits. FULL_PRECISION: DERIVED. PART_PROBABILITIES are the printed parts of the last.
"""

# estimate, standard uncertainty, lower limit, upper limit, printed probability of conformity, full precision
PROBABILITIES = [
    (-5.47, 0.05, None, -5.40, 0.92, 0.919243),  # breakdown voltage
    (507.8, 8.6, 490, None, 0.98, 0.980763),  # burst strength
    (13.6, 1.8, 12.5, 16.3, 0.66, 0.662630),  # viscosity, 0.93 − 0.27
]
