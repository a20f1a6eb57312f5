"""MIL-STD-1537C, conductivity test for aluminium alloys: how closely conductivity standards are certified, and how they lie.

READ on public pages of the standard (clauses as named). That "certified within" limits the expanded uncertainty of the
certified value is our reading; the pages do not state a coverage factor, and k = 2 is common practice, no source.
"""

# 4.2.1 laboratory standards: ±0.35 %IACS or ±1 % of the value, whichever is LESS, at 20 °C
LABORATORY_IACS, LABORATORY_PERCENT, LABORATORY_CLAUSE = "0.35", "1", "MIL-STD-1537C, 4.2.1"
# 4.2.2 instrument standards: ±0.85 %IACS
INSTRUMENT_IACS, INSTRUMENT_CLAUSE = "0.85", "MIL-STD-1537C, 4.2.2"
# 4.2.1: value %IACS, the limit that follows in %IACS (DERIVED from the two numbers: they cross at 35 %IACS)
LIMITS = [("25", "0.25"), ("30", "0.30"), ("35", "0.35"), ("45", "0.35"), ("62", "0.35")]
# 4.2.1 asks for a standard in each of these ranges, %IACS
RANGES = [("25", "32"), ("32", "38"), ("38", "72")]
