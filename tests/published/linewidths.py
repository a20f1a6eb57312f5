"""NIST/SEMATECH e-Handbook 2.3.6.7 and 2.3.7.1: calibration of an instrument by a straight line, and its control.

Data READ: the handbook's data files CALIBRATIONLINE.DAT and LINEWID.DAT. Residual standard deviation and its degrees of
freedom MEMORY; the other results DERIVED.
"""

# linewidths, µm: reference and measured, four repeats of ten
REFERENCE = [6.19, 9.17, 1.99, 7.77, 4.0, 10.77, 4.78, 2.99, 6.98, 9.98] * 4
MEASURED = [
    6.31, 9.27, 2.21, 8.0, 4.27, 10.93, 4.95, 3.24, 7.14, 10.23, 6.27, 9.21, 2.19, 7.81, 4.15, 10.73, 4.87, 3.17,
    7.07, 10.02, 6.31, 9.34, 2.22, 7.95, 4.15, 10.92, 5.0, 3.21, 7.18, 10.07, 6.28, 9.23, 2.2, 7.84, 4.15, 10.89, 5.0,
    3.21, 7.2, 10.17,
]  # fmt: skip
RESIDUAL_SD, DEGREES_OF_FREEDOM = 0.06203, 38
# intercept, its u, slope, its u, residual standard deviation, correlation of intercept and slope
FULL_PRECISION = (0.23576229, 0.02430034, 0.98703771, 0.00344058, 0.06203196, -0.914927)

# days 1 to 6: measured at three positions, of these references
CONTROL_REFERENCE = [0.76, 3.29, 8.89]
CONTROL_MEASURED = [
    [1.12, 3.49, 9.11],
    [0.99, 3.53, 8.89],
    [1.05, 3.46, 9.02],
    [0.76, 3.75, 9.3],
    [0.96, 3.53, 9.05],
    [1.03, 3.52, 9.02],
]
# (measured − intercept)/slope − reference
CONTROL_VALUES = [
    [0.1358, 0.0070, 0.1008],
    [0.0041, 0.0475, -0.1221],
    [0.0649, -0.0234, 0.0096],
    [-0.2289, 0.2704, 0.2933],
    [-0.0263, 0.0475, 0.0400],
    [0.0447, 0.0374, 0.0096],
]
T, CONTROL_LIMIT = 2.50461, 0.15741  # t(1 − 0.05/6; 38), and t·s/slope
DAYS_OUT = [4]  # at all three positions: calibrate again
