"""Amplitude ratios and decibels, dB = 20·log10(A/A0).

Source: public encyclopaedia table of decibels (amplitude column): READ. An instrument application note's worked cases
(ratio 3, 3 dB, −14 dB): READ. DRIFT_LIMITS: DERIVED from the definition.
"""

# dB, amplitude ratio as printed (READ)
TABLE = [(1, 1.122), (3, 1.413), (6, 1.995), (10, 3.162), (20, 10.0), (40, 100.0)]
TABLE_DOWN = [(-1, 0.891), (-3, 0.708), (-6, 0.501), (-10, 0.316), (-20, 0.1)]
# amplitude ratio, dB, tolerance dB (READ)
WORKED = [(3, 9.5, 0.05), (1.4125, 3.0, 0.001), (0.2, -14.0, 0.025)]
# amplitude ratio, dB (DERIVED)
DRIFT_LIMITS = [
    (0.7943, -2.0),
    (1.2589, 2.0),
    (0.8913, -1.0),
    (0.7079, -3.0),
    (0.5012, -6.0),
    (0.90, -0.915),
    (1.10, 0.828),
    (0.80, -1.938),
    (1.20, 1.584),
    (0.95, -0.446),
]
