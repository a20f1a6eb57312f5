"""ISO 14253-1, decision rules for verifying conformity.

MEMORY: since the 2017 edition the guard band is 1.65·u (95 % one-sided); earlier editions use the whole U.
CONSTRUCTED: the cases, specification 9.90 to 10.10, U 0.02 (k = 2).
"""

LOWER, UPPER, U = 9.90, 10.10, 0.02
# by the whole U: value, is conformity proven (True), non-conformity proven (False) or neither (None)
WHOLE_U = [(9.95, True), (9.91, None), (9.89, None), (9.87, False), (9.92, True), (9.88, None)]
# by 1.65·u = 0.0165
EDITION_2017 = [(9.95, True), (9.917, True), (9.916, None), (9.91, None), (9.89, None), (9.884, None), (9.883, False)]
