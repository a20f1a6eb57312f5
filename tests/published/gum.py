"""JCGM 100:2008 (GUM, Guide to the expression of uncertainty in measurement).

H.3 data and printed figures: READ as quoted in a public GUM library's examples; the Guide's own text was not at hand.
G.4.1 and table G.2: MEMORY, recomputed to all printed digits. FULL_PRECISION: DERIVED.
"""

# H.3 thermometer: reading °C, correction °C, about 20 °C
H3_T = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
H3_B = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
H3_T0 = 20.0
H3_INTERCEPT, H3_U_INTERCEPT, H3_SLOPE, H3_U_SLOPE = -0.1712, 0.0029, 0.00218, 0.00067
H3_CORRELATION, H3_SD, H3_B30, H3_U_B30, H3_DEGREES_OF_FREEDOM = -0.930, 0.0035, -0.1494, 0.0041, 9
H3_FULL_PRECISION = (-0.17120379, 0.00287760, 0.00218270, 0.00066794, -0.9304296, 0.00349756, -0.14937681, 0.00413860)
H3_U_SINGLE_30 = 0.005419  # DERIVED: of one new reading; the printed u is that of the fitted line
H3_CENTRED = (-0.16245455, 0.00105456)  # DERIVED: intercept and its u about the mean reading, correlation 0
# H.3.6: a common systematic u added to every correction leaves the slope's u, widens the intercept's
H3_COMMON_U, H3_U_INTERCEPT_COMMON, H3_DOF_COMMON = 0.005, 0.00576893, 145.38

# H.2 resistance R and reactance X of a circuit element, simultaneous readings: V, A, rad; READ as H.3 is
H2_V = [5.007, 4.994, 5.005, 4.990, 4.999]
H2_I = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
H2_PHASE = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]
H2_R, H2_U_R, H2_X, H2_U_X, H2_Z, H2_U_Z, H2_CORRELATION_R_X = 127.732, 0.071, 219.847, 0.295, 254.260, 0.236, -0.588
# DERIVED. Trap: u(X) is 0.296 at full precision, printed 0.295
H2_FULL_PRECISION = (127.73217, 0.07107, 219.84651, 0.29558, 254.25970, 0.23634, -0.58843)

# H.1 end gauge, nm: combined standard uncertainty, t for 99 %, expanded uncertainty; READ as H.3 is
H1_COMBINED, H1_T99, H1_U99 = 32, 2.92, 93
# its components with their degrees of freedom: standard, difference, expansion, temperature; the printed nu_eff is truncated
H1_COMPONENTS, H1_COMPONENTS_DOF, H1_DOF = [25, 9.7, 2.9, 16.6], [18, 25.6, 50, 2], 16
# the difference again, from repeats, random and systematic part of the comparator; printed u and degrees of freedom
H1_DIFFERENCE, H1_DIFFERENCE_DOF, H1_U_DIFFERENCE = [5.8, 3.9, 6.7], [24, 5, 8], 9.7
H1_NU_DIFFERENCE = 25.447  # DERIVED; printed 25.6, from unrounded parts

# G.4.1: relative components %, repeats; combined %, effective degrees of freedom, t95, U95 %
G41_U, G41_REPEATS = [0.25, 0.57, 0.82], [10, 5, 15]
G41_COMBINED, G41_DOF, G41_T95, G41_U95 = 1.03, 19.0, 2.09, 2.2

# Table G.2: degrees of freedom -> t for each probability
G2_P = [0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973]
G2 = {
    1: [1.84, 6.31, 12.71, 13.97, 63.66, 235.78],
    2: [1.32, 2.92, 4.30, 4.53, 9.92, 19.21],
    3: [1.20, 2.35, 3.18, 3.31, 5.84, 9.22],
    4: [1.14, 2.13, 2.78, 2.87, 4.60, 6.62],
    5: [1.11, 2.02, 2.57, 2.65, 4.03, 5.51],
    6: [1.09, 1.94, 2.45, 2.52, 3.71, 4.90],
    7: [1.08, 1.89, 2.36, 2.43, 3.50, 4.53],
    8: [1.07, 1.86, 2.31, 2.37, 3.36, 4.28],
    9: [1.06, 1.83, 2.26, 2.32, 3.25, 4.09],
    10: [1.05, 1.81, 2.23, 2.28, 3.17, 3.96],
    12: [1.04, 1.78, 2.18, 2.23, 3.05, 3.76],
    15: [1.03, 1.75, 2.13, 2.18, 2.95, 3.59],
    16: [1.03, 1.75, 2.12, 2.17, 2.92, 3.54],
    20: [1.03, 1.72, 2.09, 2.13, 2.85, 3.42],
    25: [1.02, 1.71, 2.06, 2.11, 2.79, 3.33],
    30: [1.02, 1.70, 2.04, 2.09, 2.75, 3.27],
    50: [1.01, 1.68, 2.01, 2.05, 2.68, 3.16],
    100: [1.005, 1.660, 1.984, 2.025, 2.626, 3.077],
}
