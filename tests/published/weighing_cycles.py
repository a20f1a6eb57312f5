"""Weighing cycles that cancel linear drift.

Source: OIML R 111-1:2004, annex C, C.4.3 (cycles ABBA and ABA, with the difference of an ABA cycle
ΔI = I_t1 − (I_r1 + I_r2)/2), from MEMORY: the text was not at hand. The numbers are worked from that formula by hand.
"""

# reference, test, reference, difference (any unit)
ABA = [(10.0, 10.5, 11.0, 0.0), (10.0, 12.0, 11.0, 1.5), (0.2, -0.3, -0.2, -0.3), (5.0, 5.0, 5.0, 0.0)]
# one run of alternating readings, reference first and last; each test against its neighbours, and their mean
RUN = ([0.0, 1.5, 1.0, 2.7, 2.0], [1.0, 1.2], 1.1)
