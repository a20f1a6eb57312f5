"""Which item moved: reference vectors of the evidence for a single suspect.

Source: none published. DERIVED by a separate prototype of generalised least squares, s = 0.3 dB, one window over all rows.
"""

SPREAD_DB = 0.3

# week, instrument, probe, block, deviation dB
ROWS = [
    (0, "I1", "P1", "B1", 0.05),
    (0, "I1", "P2", "B1", -1.02),
    (1, "I2", "P2", "B2", -0.85),
    (1, "I2", "P3", "B2", 0.12),
    (2, "I1", "P2", "B1", -1.15),
    (2, "I2", "P1", "B1", -0.08),
    (3, "I1", "P3", "B2", 0.02),
    (3, "I2", "P2", "B1", -0.93),
]
# z of each candidate, '' for everything at once: baselines taken as exact, then as means of 5 set-ups
Z_EXACT = {
    "B1": -4.6659, "B2": -1.3664, "I1": -3.5, "I2": -2.9, "P1": -0.0707, "P2": -6.5833, "P3": 0.33, "": -4.5255,
}  # fmt: skip
Z_OF_5 = {
    "B1": -3.59257, "B2": -1.34829, "I1": -2.49272, "I2": -2.20996, "P1": -0.05976, "P2": -5.35908, "P3": 0.27889,
    "": -3.62742,
}  # fmt: skip
SHARE_OF_5 = {"P2": 0.999, "": 0.000417, "B1": 0.000368}
EFFECT_OF_P2 = (-0.976923, 0.182293)  # dB, its standard uncertainty

# probe P9 is used on block B9 only, and B9 by P9 only; baselines taken as exact
TIED_ROWS = [
    (0, "I1", "P9", "B9", -0.9),
    (1, "I2", "P9", "B9", -1.1),
    (0, "I1", "P1", "B1", 0.1),
    (1, "I2", "P1", "B1", -0.05),
]
TIED_Z = {"P9": -4.714, "B9": -4.714, "": -3.25, "I2": -2.7106}
TIED_SHARE = {"P9": 0.4991, "B9": 0.4991, "": 0.001467}

# What can be told apart: checks (instrument, probe, block); groups joined by checks; items in the same checks; rank.
# The one instrument took part in all, so it is one with everything at once.
SEPARABLE = [
    ([(1, 1, 1), (1, 2, 1), (1, 1, 2), (1, 2, 2)], [["B1", "B2", "P1", "P2"]], [], 3),
    ([(1, 1, 1), (1, 2, 2)], [["B1", "P1"], ["B2", "P2"]], [("B1", "P1"), ("B2", "P2")], 2),
]
