"""Block B-104 is dropped: the mouth of one notch is peened over, and that notch answers less on every setup."""

from datetime import date

from ..responses import Happening

HAPPENINGS = (Happening("B-104", {"0.5 mm": -1.8}, date(2025, 10, 8)),)
