"""Conductivity and the International Annealed Copper Standard.

DEFINITION: ASTM E1004, scope 1.4: READ. COPPER_RESISTIVITY: IEC 60028:1925 through a note on it: READ (secondary; the
text itself not read). MASS_RESISTIVITY: encyclopaedia article on the standard, density from a copper trade body's table:
READ. CONVERSION, IRON: public eddy-current education pages, formula page on the conversion: READ. ET_TABLES: tables 5.1 of
a programmed instruction book on electromagnetic testing: READ.
"""

DEFINITION = (100.0, 58.0)  # %IACS, MS/m at 20 °C
COPPER_RESISTIVITY = 1.7241  # µΩ cm at 100 %IACS
MASS_RESISTIVITY, DENSITY = 0.15328, 8.89  # ohm (metre, gram); g/cm³
CONVERSION = 172.41  # %IACS = 172.41/ρ, ρ in µΩ cm
IRON = (10.44, 18.0)  # MS/m, %IACS (approx.)

# metal, MS/m, %IACS, resistivity µΩ cm
ET_TABLES = [
    ("aluminium 99.99", 37.67, 64.94, 2.65),
    ("bronze", 25.52, 44, 3.92),
    ("cadmium", 14.62, 25.2, 6.84),
    ("cobalt", 16.01, 27.6, 6.25),
    ("copper", 58, 100, 1.72),
    ("gold", 40.60, 70, 2.46),
    ("iron ingot 99.9", 9.05, 15.6, 11.05),
    ("magnesium", 22.39, 38.6, 4.47),
    ("molybdenum", 19.14, 33, 5.22),
    ("steel, high alloy", 1.68, 2.9, 59.45),
    ("tin", 8.70, 15, 11.49),
    ("tungsten", 18.21, 31.4, 5.49),
    ("zinc", 16.24, 28, 6.16),
    ("antimony", 2.55, 4.4, 39.18),
    ("chromium", 5.10, 8.8, 19.59),
    ("iron", 10.44, 18, 9.58),
    ("nickel", 14.62, 25.2, 6.84),
    ("selenium", 8.35, 14.4, 11.97),
    ("silver-tin solder", 9.63, 16.6, 10.39),
    ("tin foil", 2.44, 4.2, 41.05),
]
# FLAG: a digit error in that table; 61 %IACS is 35.38 MS/m, and 2.83 µΩ cm agrees with that
ET_TABLES_MISPRINT = ("aluminium, pure", 33.38, 61, 2.83)

# The first average of that standard in the US, given up in 1913 for MASS_RESISTIVITY (same article): READ. It is not 58 MS/m.
FIRST_MASS_RESISTIVITY = 0.15292

# Same instruction book, table 9.1, %IACS of engineering alloys: READ. Ti-6Al-4V: its cell is cut off; 1.0 inferred (report
# R8418). Brass is 70-30.
ENGINEERING_ALLOYS = {
    "6061-T6": 42.0, "7075-T6": 32.0, "2024-T4": 30.0, "magnesium": 37.0, "brass": 28.0, "phosphor bronze": 11.0,
    "titanium, pure": 3.1, "zirconium": 3.4, "zirconium alloy 2": 2.4, "304": 2.5, "alloy 600": 1.7, "Ni-Cu alloy": 3.6,
}  # fmt: skip
BETWEEN_SOURCES = 1.0  # %IACS by which sources differ for one alloy: 32 and 33 for 7075-T6, 42 and 43 for 6061-T6

# FLAG: a copper design guide gives the reference temperature as 200 °C (392 °F) instead of 20 °C: READ
REFERENCE_TEMPERATURE_MISPRINT_C = 200

# Aluminium Association, typical physical properties: %IACS (equal volume), resistivity in Ω circular-mil/ft at 68 °F: READ
# (7xxx in a public reprint, the rest on a stockist's page)
OHM_CMIL_FT_AT_100_PERCENT = 10.371
ALUMINIUM_ASSOCIATION = [
    ("1100", 59, 18), ("1350", 62, 17), ("2024-O", 50, 21), ("2024-T3, T4", 30, 35), ("2024-T6", 38, 27),
    ("3003", 48, 22), ("3004", 41, 25), ("3005", 45, 23), ("5005", 52, 20), ("5050", 50, 21), ("5052", 35, 30),
    ("5056", 28, 37), ("5182", 28, 37), ("6061-O", 47, 22), ("6061-T4", 40, 26), ("6061-T6", 43, 24),
    ("7075-T6", 33, 31), ("7178-T6", 31, 33), ("7475-T61", 35, 30), ("7475-T76", 40, 26), ("7475-T7351", 42, 25),
]  # fmt: skip
# FLAG: printed 26, the formula gives 26.6; inside the rounding of 39
ALUMINIUM_ASSOCIATION_FLAGGED = ("7175-T74", 39, 26, 26.6)
