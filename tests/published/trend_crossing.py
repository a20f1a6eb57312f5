"""A straight line in time and the time at which it reaches a limit: reference vectors.

Source: none published. DERIVED by a separate prototype of the interval of a ratio of two estimates (Fieller 1954, MEMORY).
"""

TIMES = [0, 4, 8, 12, 16, 20, 24, 28, 32, 36]  # weeks
FALLING = [0.05, -0.12, -0.35, -0.42, -0.81, -0.77, -1.15, -1.30, -1.42, -1.83]  # dB
LIMIT = -2.5
INTERCEPT, SLOPE, RESIDUAL_SD = 0.0858181818, -0.0498787879, 0.0902362220
AT, EARLIEST, LATEST, ACT_BEFORE = 51.8420413, 48.1384513, 56.4499615, 47.3863680
# the same values by the median of all slopes (Theil 1950, Sen 1968): slope, intercept, 95 % of the slope, crossing. DERIVED;
# the slope is that of many pairs, −0.05 dB a week exactly
MEDIAN_SLOPE, MEDIAN_INTERCEPT, MEDIAN_SLOPE_95, MEDIAN_AT = -0.05, 0.11, (-0.0566666667, -0.041), 52.2
FLAT = [0.1, -0.2, 0.15, -0.05, 0, -0.1, 0.2, -0.15, 0.05, -0.1]  # no significant slope: no date
