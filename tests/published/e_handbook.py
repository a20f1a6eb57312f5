"""NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189), the worked pages named at each block.

The live pages could not be read. READ-2nd: seen in a third-party text that quotes the page. MEMORY: recalled, taken as
published because a recomputation gives it digit for digit. DERIVED: recomputed by us.
"""

# 6.3.2.2 individuals chart. Data MEMORY, results READ-2nd, printed with d2 = 1.128 (the exact d2 gives 55.8024, 45.8176)
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
FLOW_D2, FLOW_CENTRE, FLOW_LOWER, FLOW_UPPER = 1.128, 50.81, 45.8159, 55.8041
FLOW_EXACT_D2 = (45.8176, 55.8024)  # DERIVED

# 6.3.2.1 constants of control charts for moving ranges of two: d2 = 2/√π, and 3/d2; the tables print 1.128 and 2.660 (MEMORY).
# The rest of the tables (d2 to 10, d3, c4, A2, A3, B3, B4, D3, D4) is not used by refstd, so nothing here tests it.
D2_OF_2, E2_OF_2, E2_PRINTED = 1.1284, 2.6587, 2.660

# 6.3.2.4 EWMA, READ-2nd. Trap: the printed lower limit 47.4115 comes from the truncated factor 0.4201; at full precision
# it is 47.41157, so limits agree to 1e-4 at best.
EWMA_DATA = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5]
EWMA_DATA += [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
EWMA_WEIGHT, EWMA_TARGET, EWMA_SD, EWMA_WIDTH = 0.3, 50.0, 2.0539, 3.0
EWMA_0 = 50.00
EWMA = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
EWMA += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]
EWMA_LOWER, EWMA_UPPER = 47.4115, 52.5884
EWMA_UPPER_BY_COUNT = {1: 51.8485, 2: 52.2564, 3: 52.4314, 4: 52.5127, 5: 52.5516, 6: 52.5705, 14: 52.5884}  # DERIVED

# 6.3.2.3 CUSUM. Data READ-2nd; slack, decision limit and first signal MEMORY; sums DERIVED to 2 decimals.
# Trap: the printed decision limit 4.1959 is slack·2·ln(1/0.00135); the usual form with beta gives 3.7493. It is an input.
CUSUM_DATA = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
CUSUM_DATA += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
CUSUM_TARGET, CUSUM_SLACK, CUSUM_DECISION = 325.0, 0.3175, 4.1959
CUSUM_HIGH = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04]
CUSUM_LOW = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0]
CUSUM_FIRST_SIGNAL = 14  # counted from 1; 14 to 20 signal high, none low

# 7.2.6.3: count, 95 % prediction factor t·√(1 + 1/n) (DERIVED)
PREDICTION_FACTOR_95 = {10: 2.3726, 20: 2.1447, 25: 2.1048, 30: 2.0790}
