"""NIST Statistical Reference Datasets, linear regression, dataset Norris: certified values.

READ: the data file ships with scipy (stats/tests/data/nist_linregress/Norris.dat), certified values in its header.
"""

X = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4]
X += [0.6, 775.5, 666.9, 338, 447.5, 11.6, 556, 228.1, 995.8, 887.6, 120.2, 0.3]
X += [0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5]
Y = [0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3]
Y += [0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998, 888.8, 119.6, 0.3]
Y += [0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2]
INTERCEPT, U_INTERCEPT = -0.262323073774029, 0.232818234301152
SLOPE, U_SLOPE = 1.00211681802045, 0.429796848199937e-3
RESIDUAL_SD, DEGREES_OF_FREEDOM = 0.884796396144373, 34
