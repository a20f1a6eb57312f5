"""Aluminium and temperature.

COEFFICIENTS: industrial power engineering handbook, p. 970: READ (scan partly garbled; the five values fit one line).
ALLOYS: CRC handbook, resistivity of aluminium-copper and aluminium-magnesium alloys at 273, 293, 300 K: READ.
AL_1050_O: ASM handbook vol. 2: READ. AT_32: DERIVED.
"""

# %IACS at 20 °C, temperature coefficient of resistivity at 20 °C per K
COEFFICIENTS = [(61, 4.03e-3), (60, 3.96e-3), (55, 3.63e-3), (50, 3.30e-3), (48, 3.168e-3)]

# resistivity in 1e-8 Ω m at 273, 293 and 300 K
ALLOYS = [
    ("Al-1Cu", 2.51, 2.74, 2.82),
    ("Al-5Cu", 2.88, 3.10, 3.18),
    ("Al-10Cu", 3.36, 3.59, 3.67),
    ("Al-1Mg", 2.96, 3.18, 3.26),
    ("Al-5Mg", 5.05, 5.28, 5.36),
    ("Al-10Mg", 7.52, 7.76, 7.85),
]
AL_1050_O = (28.1, 0.1)  # nΩ m at 20 °C; nΩ m per K as printed, one digit

# CRC handbook, wire table: resistivity µΩ cm at 0, 20, 25 and 100 °C: READ. The aluminium coefficient is not copper's or brass's.
CRC_CELSIUS = (0.0, 20.0, 25.0, 100.0)
CRC_ALUMINIUM = (2.417, 2.650, 2.709, 3.56)
CRC_BRASS_70_30 = (5.87, 6.08, 6.13, 6.91)
COPPER_COEFFICIENT = 3.93e-3  # per °C at 20 °C, at 100 %IACS: READ (trade body's table; industrial power handbook)

AT_32 = (32.0, -0.068, -0.128)  # %IACS; its change in %IACS per K; what the pure metal's 0.4 % per K would make of it
