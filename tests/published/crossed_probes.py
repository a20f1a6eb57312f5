"""NIST/SEMATECH e-Handbook 2.5.3.1.2: five probes on five wafers, one value each, ohm·cm.

Data and the standard deviations READ: data file MPC5312.DAT and its header. Effects and residual: DERIVED (additive fit).
"""

WAFERS = ["138", "139", "140", "141", "142"]
BY_PROBE = {
    "1": [95.1548, 99.3118, 96.1018, 101.1248, 94.2593],
    "281": [95.1408, 99.3548, 96.0805, 101.0747, 94.2907],
    "283": [95.1493, 99.3211, 96.0417, 101.11, 94.2487],
    "2062": [95.1125, 99.2831, 96.0492, 101.0574, 94.252],
    "2362": [95.0928, 99.306, 96.0357, 101.0602, 94.2148],
}
SD_OVER_PROBES = [0.02643, 0.02612, 0.02826, 0.03038, 0.02711]  # of each wafer
PROBE_EFFECTS = {"1": 0.02136, "281": 0.01916, "283": 0.00502, "2062": -0.01830, "2362": -0.02724}
GRAND_MEAN = 97.16914
WAFER_EFFECTS = {"138": -2.03910, "139": 2.14622, "140": -1.10736, "141": 3.91628, "142": -2.91604}
# of probe 2362 from each wafer's mean, and their standard deviation
DEVIATIONS_2362, SD_OF_2362 = [-0.0372, -0.0094, -0.0261, -0.0252, -0.0383], 0.011699
RESIDUAL_SD, RESIDUAL_DEGREES = 0.0189089, 16
