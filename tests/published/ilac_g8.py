"""ILAC-G8:09/2019, guidelines on decision rules, 4.2.3: guard band w = r·U, U = 2u, normal distribution.

Rows r = 0 and r = 1 and the non-binary form: READ-2nd (public decision-rule pages that quote it); other rows MEMORY.
NON_BINARY numbers: READ on such a page; CONSTRUCTED cases are marked. Risks at the acceptance limit, Φ(−2r): DERIVED.
"""

# r, stated specific risk (upper bound) of a false pass, risk at the acceptance limit
GUARD_BANDS = [
    (3.0, 1e-6, 9.9e-10),
    (1.5, 0.0016, 0.001350),
    (1.0, 0.025, 0.02275),
    (0.83, 0.05, 0.04846),
    (0.0, 0.5 + 1e-12, 0.5),
]
UNCRITICAL = (-1.0, 0.02275)  # r, risk of a false reject at the acceptance limit

# Limit ±0.003 mm, U 0.0010 mm, r = 1: value, outcome. That page calls both conditional cases non-conforming: a house rule.
LIMIT, U = 0.003, 0.0010
NON_BINARY = [
    (0.0017, "pass"),
    (0.0025, "conditional pass"),
    (0.002, "pass"),  # CONSTRUCTED: on the acceptance limit
    (-0.003, "conditional pass"),  # CONSTRUCTED
    (0.0035, "conditional fail"),  # CONSTRUCTED
    (-0.0041, "fail"),  # CONSTRUCTED
]
