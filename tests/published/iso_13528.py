"""E_n and zeta scores, ISO 13528 and ISO/IEC 17043; worked listing of the NIST Dataplot reference, gear diameters.

READ: data file GEAR.DAT (first batch here) and both published listings. Trap: the zeta listing is cut, not rounded, to
three decimals. CONSTRUCTED: the 3-4-5 triangle. MEMORY: the clauses, E_n 9.7 and zeta 9.6 of ISO 13528:2015.
"""

BATCH_1 = [1.006, 0.996, 0.998, 1.0, 0.992, 0.993, 1.002, 0.999, 0.994, 1.0]
REFERENCE, U_REFERENCE, U_BATCH_1 = 1.0, 0.0062789, 0.00435  # standard uncertainties
ZETA_FIRST_5 = [0.785, -0.523, -0.261, 0.000, -1.047]
E_N_FIRST_4 = [0.393, -0.262, -0.131, 0.000]  # with U = 2 u on both sides
# value, U, reference, U of the reference, E_n
TRIANGLE = [(10.05, 0.04, 10.00, 0.03, 1.0), (10.06, 0.04, 10.00, 0.03, 1.2)]
