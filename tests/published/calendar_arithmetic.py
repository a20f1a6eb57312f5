"""Dates plus months and years.

DOCUMENTED: dateutil's documentation, relativedelta examples: READ. OWN: CONSTRUCTED, checked against the same library.
SKIPPING: RFC 5545 3.3.10, an instance on a day that the month lacks is skipped: READ-2nd, quoted in dateutil's rrule.
"""

# anchor, months, result
DOCUMENTED = [
    ("2003-01-27", 1, "2003-02-27"),
    ("2003-01-31", 1, "2003-02-28"),
    ("2003-01-31", 2, "2003-03-31"),
    ("2000-02-28", 12, "2001-02-28"),
    ("2000-02-29", 12, "2001-02-28"),
    ("1999-02-28", 12, "2000-02-28"),
    ("1999-03-01", 12, "2000-03-01"),
    ("2001-02-28", -12, "2000-02-28"),
    ("2001-03-01", -12, "2000-03-01"),
]
OWN = [
    ("2000-02-29", 48, "2004-02-29"),
    ("2024-02-29", 12, "2025-02-28"),
    ("2024-01-31", 1, "2024-02-29"),
    ("2023-08-31", 6, "2024-02-29"),
    ("2024-08-31", -6, "2024-02-29"),
    ("2023-12-31", 2, "2024-02-29"),
]
# anchor, first and second step in months, result by adding again (the wrong way), result from the anchor
ADDED_AGAIN = [
    ("2003-01-31", 1, 1, "2003-03-28", "2003-03-31"),
    ("2024-02-29", 12, 36, "2028-02-28", "2028-02-29"),
]
# first day, recurrence rule, days it gives
SKIPPING = [
    ("2014-12-31", "FREQ=MONTHLY;COUNT=4", ["2014-12-31", "2015-01-31", "2015-03-31", "2015-05-31"]),
    ("2024-02-29", "FREQ=YEARLY;COUNT=3", ["2024-02-29", "2028-02-29", "2032-02-29"]),
]
