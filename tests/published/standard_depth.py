"""Standard depth of penetration: published forms, examples and tables.

Each block names its source and status. Exact: δ = 503.292·√(ρ/(f·µr)) m with ρ in Ω m.
"""

# Study guide on electromagnetic testing, p. 77, text to figure 1.8: READ. MS/m, kHz, mm, tolerance mm
STAINLESS_300_SERIES = (1.4, 100.0, 1.35, 0.005)
# Journal article on tube inspection, p. 81, 2.2: "about 1 mm": READ; resistivity 74 µΩ cm MEMORY. µΩ cm, kHz, mm
STAINLESS_316L = (74.0, 200.0, 1.0)

# Private engineer's public page on skin depth at 300 K, two significant figures: READ. Hz for each column.
SKIN_HZ = [1, 60, 400, 1_000, 5_000, 20_000, 200_000]
# name, resistivity Ω m, relative permeability, mm for each frequency; NaN where flagged
NAN = float("nan")
SKIN_MM = [
    ("copper", 1.7e-8, 1, [66, 8.5, 3.3, 2.1, 0.93, 0.46, 0.15]),
    ("aluminium", 2.8e-8, 1, [84, 11, 4.2, 2.7, 1.2, 0.60, 0.19]),
    ("3 % silicon steel", 5e-7, 700, [13, 1.7, 0.67, 0.43, 0.19, NAN, 0.030]),
]
# FLAG: printed 0.95 mm for silicon steel at 20 kHz, a lost zero: 0.095
SKIN_MISPRINT = (5e-7, 700, 20_000, 0.95)

# MIL-STD-1537C 3.7.2, metric form δ mm = 656.5/√(f µr %IACS): READ. FLAG: 660.9 is right (656.5 is 25.85 in).
MIL_STD_1537C_CONSTANT, EXACT_CONSTANT = 656.5, 660.855
# Forms in handbooks, MEMORY: constant mm·√(Hz·%IACS), within 0.15 %
HANDBOOK_CONSTANTS = [660.0, 661.0, 26.0 * 25.4]
# With ρ in µΩ cm, MEMORY: δ mm = 50·√(ρ/(f·µr)) of a national eddy-current manual family, 0.65 % low; δ in = 1.98·√(ρ/(f·µr))
# of handbooks, within 0.15 %
RESISTIVITY_FORM_MM, RESISTIVITY_FORM_IN = 50.0, 1.98
# Same private engineer's page: δ mm = √(2.533e11·ρ/(f·µr)), ρ in Ω m; and as 253303 m/H: READ
ENGINEERS_CONSTANT, ENGINEERS_CONSTANT_M_PER_H = 2.533e11, 253303.0
# MIL-STD-1537C 5.1.4 prints 0.003 in as 0.76 mm, FLAG; 4.1.3 has it right (0.076 mm): READ. inches, misprint, right
INCH_MISPRINT = (0.003, 0.76, 0.076)
# MIL-STD-1537C 4.4.3 example 1: 60 kHz, 32 %IACS, minimum thickness 0.050 in: READ. That is 2.6 δ, not 3 δ.
MINIMUM_THICKNESS = (60.0, 32.0, 0.050, 2.6)
# Same example: the standard then uses 0.050 in × 0.6 = 0.030 in: READ. That is 1.6 δ. kHz, %IACS, inches, δ
REDUCED_THICKNESS = (60.0, 32.0, 0.030, 1.6)

# Report R8418 rev 2 (27 Mar 2002), section 2: frequency in kHz at which δ equals the wall: READ, the stored text is
# scrambled: walls assigned by us from Birmingham wire gauge (MEMORY) and proved by the ratios between rows.
# Conductivities of copper, zirconium, titanium, 304, alloy 600: READ independently (tables 9.1 of the instruction book
# of published/iacs.py). 347 and Ti-6Al-4V inferred from this same table: self-consistency only.
WALL_PERCENT_IACS = [100.0, 3.4, 3.1, 2.5, 2.4, 1.7, 1.0]
WALL_KHZ: dict[float, list[int | None]] = {
    0.018: [21, 614, 674, 836, 871, 1229, 2089],
    0.020: [17, 498, 546, 677, 705, 995, 1692],
    0.022: [14, 411, 451, 559, 583, 823, 1399],
    0.032: [None, 194, 213, 264, 275, 389, 661],
    0.042: [None, 113, 124, None, 160, 226, 384],
    0.058: [None, 59, 65, 80, 84, 118, 201],
}
# FLAG: wall in, %IACS, kHz printed, kHz by formula: a rounding edge (304), and 2024-T4 at 30 %IACS
WALL_FLAGGED = [(0.042, 2.5, 154, 153.50), (0.020, 30.0, 57, 56.4)]

# Public eddy-current education pages, depth and current density: READ. depth/δ, share of the surface printed %, decimals
DENSITY = [(1, 37, 0), (2, 13.5, 1), (3, 5, 0)]
# 5 δ, used as "thickness no longer matters": MEMORY
DENSITY_MEMORY = (5, 0.7, 1)
# Same, phase lag page: READ. Degrees for each δ; depth·1.25 = δ gives about 45° (the page rounds; tolerance 1°)
LAG_PER_DEPTH_DEG, LAG_AT_TARGET_DEG = 57.3, (1 / 1.25, 45.0, 1.0)

# DERIVED. kHz, MS/m, relative permeability, mm
DERIVED = [
    (100.0, 19.1, 1, 0.364169),
    (0.9, 30.6, 1, 3.032761),
    (7.0, 30.6, 1, 1.087453),
    (2000.0, 0.58, 1, 0.467295),
    (100.0, 5.0, 80, 0.079577),
    (60.0, 58.0, 1, 0.269793),
]
# DERIVED. kHz for each column; %IACS -> mm
GRID_KHZ = [10, 60, 100, 200, 500, 1000, 2000]
GRID_MM = {
    100.0: [0.6609, 0.2698, 0.2090, 0.1478, 0.0935, 0.0661, 0.0467],
    43.0: [1.0078, 0.4114, 0.3187, 0.2253, 0.1425, 0.1008, 0.0713],
    33.0: [1.1504, 0.4696, 0.3638, 0.2572, 0.1627, 0.1150, 0.0813],
    30.0: [1.2066, 0.4926, 0.3815, 0.2698, 0.1706, 0.1207, 0.0853],
    2.5: [4.1796, 1.7063, 1.3217, 0.9346, 0.5911, 0.4180, 0.2955],
    1.7: [5.0685, 2.0692, 1.6028, 1.1334, 0.7168, 0.5069, 0.3584],
    1.0: [6.6085, 2.6979, 2.0898, 1.4777, 0.9346, 0.6609, 0.4673],
}

# Frequency of 90° between lift-off and wall signals, thin wall: t = 0.8 δ, kHz = 280/(t²·%IACS), t in mm. READ: study guide
# on electromagnetic testing, p. 107, eq. 5.1. For tubes kHz = 3·ρ/t², ρ in µΩ cm (MEMORY): it is rounded to one digit.
THIN_WALL_DEPTHS, THIN_WALL_CONSTANT, TUBE_CONSTANT = 0.8, 280.0, 3.0

# Study guide on electromagnetic testing, p. 117, eq. 3.7: limit frequency of a solid rod, Hz = 5060/(σ·µr·d²): READ; units
# m/(Ω mm²) and cm MEMORY. It is 2/(π·µ0·σ·d²), where δ = d/√2; exact 5066.
ROD_CONSTANT = 5060.0

# Report R8418, the same table, 2024-T4 at 30 %IACS (READ independently): wall in -> kHz; its 0.020 in cell is flagged above.
# Walls assigned by us, as above.
WALL_2024_T4 = {0.018: 70, 0.022: 47, 0.032: 22, 0.042: 13}

# Instruction book of published/iacs.py, table 9.2, carbon steel: READ. Guide values only: a caution stands under the table.
# steel, resistivity µΩ cm, %IACS, relative permeability, their product; DERIVED: δ mm at 10, 100, 500 kHz,
# from the resistivity
CARBON_STEEL_KHZ = [10, 100, 500]
CARBON_STEEL = [
    ("A106", 16.2, 11, 141, 1551, [0.171, 0.0539, 0.0241]),
    ("A178", 13.6, 13, 166, 2158, [0.144, 0.0456, 0.0204]),
    ("A179", 17.7, 10, 162, 1620, [0.166, 0.0526, 0.0235]),
    ("A214", 14.9, 12, 132, 1584, [0.169, 0.0535, 0.0239]),
    ("A519 grade 1020", 14.9, 12, 109, 1308, [0.186, 0.0588, 0.0263]),
]
