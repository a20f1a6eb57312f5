"""NIST Statistical Reference Datasets, univariate: certified mean, standard deviation and lag-1 autocorrelation.

Data READ in a statistics program's public repository, NumAcc1 and NumAcc4 in several public test suites (READ-2nd); NumAcc2
and NumAcc3 MEMORY, by the rule of NumAcc4. Certified values: standard deviations and Michelso's autocorrelation READ-2nd;
means and the other autocorrelations MEMORY, recomputed to the digits that the tolerance states.
Lottery and Lew are left out: their data were not copied.
"""

MICHELSO = [
    299.85, 299.74, 299.9, 300.07, 299.93, 299.85, 299.95, 299.98, 299.98, 299.88, 300, 299.98, 299.93, 299.65,
    299.76, 299.81, 300, 300, 299.96, 299.96, 299.96, 299.94, 299.96, 299.94, 299.88, 299.8, 299.85, 299.88, 299.9,
    299.84, 299.83, 299.79, 299.81, 299.88, 299.88, 299.83, 299.8, 299.79, 299.76, 299.8, 299.88, 299.88, 299.88,
    299.86, 299.72, 299.72, 299.62, 299.86, 299.97, 299.95, 299.88, 299.91, 299.85, 299.87, 299.84, 299.84, 299.85,
    299.84, 299.84, 299.84, 299.89, 299.81, 299.81, 299.82, 299.8, 299.77, 299.76, 299.74, 299.75, 299.76, 299.91,
    299.92, 299.89, 299.86, 299.88, 299.72, 299.84, 299.85, 299.85, 299.78, 299.89, 299.84, 299.78, 299.81, 299.76,
    299.81, 299.79, 299.81, 299.82, 299.85, 299.87, 299.87, 299.81, 299.74, 299.81, 299.94, 299.95, 299.8, 299.81,
    299.87,
]  # fmt: skip
MAVRO = [
    2.0018, 2.0017, 2.0018, 2.0019, 2.0018, 2.0017, 2.0015, 2.0014, 2.0015, 2.0015, 2.0017, 2.0018, 2.0018, 2.0019,
    2.0019, 2.0021, 2.002, 2.0016, 2.0014, 2.0013, 2.0013, 2.0015, 2.0015, 2.0016, 2.0015, 2.0014, 2.0013, 2.0014,
    2.0015, 2.0014, 2.0015, 2.0016, 2.0015, 2.0016, 2.0019, 2.002, 2.002, 2.0021, 2.0022, 2.0023, 2.0024, 2.0025,
    2.0027, 2.0026, 2.0026, 2.0026, 2.0027, 2.0026, 2.0025, 2.0024,
]  # fmt: skip
NUM_ACC_1 = [10000001.0, 10000003.0, 10000002.0]
NUM_ACC_2 = [1.2] + [1.1, 1.3] * 500
NUM_ACC_3 = [1000000.2] + [1000000.1, 1000000.3] * 500
NUM_ACC_4 = [10000000.2] + [10000000.1, 10000000.3] * 500

# name, data, mean, standard deviation, lag-1 autocorrelation, relative tolerance of the standard deviation.
# Trap: the two-pass standard deviation of NumAcc4 is 0.10000000055879 in binary floating point: correct to 1e-8 only.
CERTIFIED = [
    ("Michelso", MICHELSO, 299.852400000000, 0.0790105478190518, 0.535199668621283, 1e-11),
    ("Mavro", MAVRO, 2.00185600000000, 0.000429123454003053, 0.937989183438248, 1e-11),
    ("NumAcc1", NUM_ACC_1, 10000002.0, 1.0, -0.5, 1e-14),
    ("NumAcc2", NUM_ACC_2, 1.2, 0.1, -0.999, 1e-12),
    ("NumAcc3", NUM_ACC_3, 1000000.2, 0.1, -0.999, 1e-8),
    ("NumAcc4", NUM_ACC_4, 10000000.2, 0.1, -0.999, 1e-8),
]
