"""A comparison with the primary is about to lapse, and a calibration was forgotten."""

from datetime import date

# item and activity → the last day on which a renewal is still made
NOT_RENEWED_AFTER = {
    ("I-305", "calibration"): date(2025, 3, 1),
    ("B-105", "comparison"): date(2025, 3, 31),
}
