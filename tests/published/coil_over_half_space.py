"""An air-core coil above a flat metal part.

TEAM_15: TEAM Workshop Problem 15, parts 1 and 2, from an open-data copy; the independent three-dimensional finite
element figures from a general-purpose solver's public write-up: READ. The ideal rectangular winding reads about 2 % above
the measured inductance; the finite elements agree with the ideal winding.
HALF_SPACE: DERIVED, the same formula in 25-digit arithmetic.
"""

# inner, outer radius mm, height mm, turns
COIL_1, COIL_2 = (6.15, 12.4, 6.15, 3790), (9.34, 18.4, 9.00, 408)
COIL_1_MEASURED_H, COIL_1_ELEMENTS_H, COIL_2_MEASURED_H = 0.2218, 0.2259, 3.96e-3
# coil 1 on 12.22 mm of unflawed aluminium: lift-off mm, kHz, MS/m; inductance H and resistance Ω by finite elements
ON_PLATE = (0.88, 0.9, 30.6, 0.17863, 120.67)

# coil, lift-off mm, kHz, MS/m, relative permeability, resistance Ω, reactance Ω, inductance in air H
HALF_SPACE = [
    (COIL_1, 0.88, 0.9, 30.6, 1.0, 120.614425, -267.663222, 0.22598789),
    (COIL_2, 2.03, 7.0, 30.6, 1.0, 5.61318551, -50.3271035, 0.003985159),
    ((1.0, 2.0, 1.5, 100), 0.20, 100.0, 19.1, 1.0, 0.792130259, -2.54020391, 2.1894305e-5),
    ((1.0, 2.0, 1.5, 100), 0.20, 1000.0, 0.58, 1.0, 9.67650803, -17.8243483, 2.1894305e-5),
    ((1.0, 2.0, 1.5, 100), 0.20, 50.0, 5.00, 80.0, 0.39763088, 1.29810364, 2.1894305e-5),
    ((0.5, 1.0, 0.75, 100), 0.20, 500.0, 19.1, 1.0, 1.2458472, -4.81548464, 1.0947152e-5),
]
