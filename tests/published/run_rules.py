"""Run rules of control charts.

Western Electric set as in NIST/SEMATECH e-Handbook 6.3.2, Nelson set: MEMORY, standard facts. AVERAGE_RUN_WESTERN_ELECTRIC:
Champ and Woodall (1987): MEMORY. AVERAGE_RUN_3_SIGMA: 1/(2·Φ(−3)), recomputed. CASES: CONSTRUCTED, in σ from the centre.
"""

WESTERN_ELECTRIC = {
    1: "1 point beyond 3σ",
    2: "2 of the last 3 beyond 2σ, same side",
    3: "4 of the last 5 beyond 1σ, same side",
    4: "8 in a row on one side",
}
NELSON = {
    1: "1 beyond 3σ",
    2: "9 in a row on one side",
    3: "6 in a row rising or falling",
    4: "14 in a row alternating",
    5: "2 of 3 beyond 2σ, same side",
    6: "4 of 5 beyond 1σ, same side",
    7: "15 in a row within 1σ",
    8: "8 in a row outside 1σ, either side",
}

AVERAGE_RUN_3_SIGMA, AVERAGE_RUN_WESTERN_ELECTRIC = 370.40, 91.75

# values, (rule, point counted from 1) of the first signal of the Western Electric set, None for no signal.
# The third signals on the upper side: two of its three points lie above +2σ.
CASES: list[tuple[list[float], tuple[int, int] | None]] = [
    ([0, 0, 3.01], (1, 3)),
    ([0, 2.1, 0.5, 2.2], (2, 4)),
    ([2.1, -2.1, 2.1], (2, 3)),
    ([1.1, 1.2, -0.2, 1.3, 1.4], (3, 5)),
    ([0.1, 0.2, 0.1, 0.3, 0.1, 0.2, 0.1, 0.2], (4, 8)),
    ([3.0], None),
    ([1.0, 1.0, 1.0, 1.0, 1.0], None),
]
