"""Instrument I-302 comes back from repair and answers more on every notch; its certificate does not show it."""

from collections.abc import Iterator
from datetime import date

from refstd.desk.states import set_state

from ..evidence import HALLWAY, file_paper
from ..responses import Happening
from ..telling import Event, Telling, at

_BACK = date(2025, 9, 12)
HAPPENINGS = (Happening("I-302", {"": 1.4}, _BACK),)


def events() -> Iterator[Event]:
    """Yield the repair."""
    yield Event(at(date(2025, 8, 18), "08:40"), _goes)
    yield Event(at(_BACK, "15:00"), _comes_back)
    yield Event(at(date(2025, 9, 15), "08:30"), _in_service)


def _goes(telling: Telling) -> None:
    telling.absent.add("I-302")
    telling.do(set_state, "I-302", "in repair", "input amplifier noisy", location="supplier one", by="ORLA")


def _comes_back(telling: Telling) -> None:
    why = "input amplifier exchanged; calibration certificate to be filed"
    telling.do(set_state, "I-302", "calibrate before use", why, location="instrument room", by="ORLA")


def _in_service(telling: Telling) -> None:
    values = [
        ("", "gain error at 40 dB", "as left", "0.06", "dB", "0.10", "2.00", "-0.5", "0.5"),
        ("", "frequency error", "as left", "0.004", "%", "0.010", "2.00", "-0.1", "0.1"),
    ]
    fields = {
        "number": "HM-25-302R", "laboratory": HALLWAY, "accreditation": "own scheme, scope 21",
        "method": "gain behind the input, frequency and noise by signal generator", "decision_rule": "guard band", "guard_ratio": "1",
        "traceability": "signal generator SG-2, certificate SG-2/25",
    }  # fmt: skip
    file_paper(telling, "I-302", "calibration", date(2025, 9, 11), fields, values, "test specification TS-7, table 2")
    telling.do(set_state, "I-302", "in service", "certificate HM-25-302R filed", by="ORLA")
    telling.absent.discard("I-302")
