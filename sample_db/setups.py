"""The setups of the invented lab: what is combined with what, under which conditions, and how each answers when sound."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class SetUp:
    """A setup and its sound answers. `gain_db` is the vertical gain at which the target notch reaches its target;
    the horizontal gain lies `spread_db` below it. `law` names the depth law of the responses."""

    number: str
    instrument: str
    probe: str
    block: str
    procedure: str
    frequency_khz: str
    measure: str
    unit: str
    notches: tuple[str, ...]  # deepest first, as they are read
    target: str
    full: float  # the target response, in the unit
    gain_db: float
    spread_db: float
    rotation_deg: float
    law: str
    noise: str
    first_set_up: date
    cable: str = ""
    every_days: int = 14
    phase_reference: str = "lift-off"
    covering: str = ""
    scan: str = "manual"
    rpm: str = ""
    screen: str = "impedance plane"
    pass_hz: tuple[str, str] = ("", "")  # high-pass, low-pass

    @property
    def members(self) -> tuple[str, ...]:
        return tuple(n for n in (self.instrument, self.probe, self.block, self.cable) if n)


PLANE, VERTICAL = "horizontal and vertical", "vertical from balance"
SWING, AMPLITUDE = "vertical peak to peak", "amplitude peak to peak"
_WALL = ("1.0 mm wall", "0.8 mm corner", "0.5 mm wall")
_FINE = ("1.0 mm", "0.5 mm", "0.2 mm")
_FOUR = ("2.0 mm", "1.5 mm", "1.0 mm", "0.5 mm")

SETUPS = (
    SetUp("S-0001", "I-301", "P-201", "B-102", "ET-AL-01", "200", PLANE, "% FSH", _FINE, "1.0 mm", 60, 52, 8, 31, "100 kHz", "2.0", date(2024, 3, 18), "K-401"),
    SetUp("S-0002", "I-302", "P-201", "B-102", "ET-AL-01", "200", PLANE, "% FSH", _FINE, "1.0 mm", 60, 54, 8, 28, "100 kHz", "2.0", date(2024, 3, 18), "K-402"),
    SetUp("S-0003", "I-301", "P-202", "B-103", "ET-AL-01", "200", PLANE, "% FSH", _FOUR, "1.0 mm", 60, 51, 6, 33, "100 kHz", "2.5", date(2024, 3, 19), "K-401"),
    SetUp("S-0004", "I-301", "P-203", "B-104", "ET-AL-01", "200", PLANE, "% FSH", _FOUR, "1.0 mm", 60, 53, 8, 35, "100 kHz", "2.0", date(2024, 3, 19), "K-401", covering="tape 0.1 mm"),
    SetUp("S-0005", "I-303", "P-202", "B-102", "ET-AL-01", "200", PLANE, "% FSH", _FINE, "1.0 mm", 60, 47, 6, 40, "100 kHz", "2.0", date(2024, 3, 20), "K-402"),
    SetUp("S-0006", "I-303", "P-204", "B-104", "ET-AL-01", "200", PLANE, "% FSH", _FOUR, "1.0 mm", 60, 48, 8, 41, "100 kHz", "2.5", date(2024, 3, 20), "K-402", covering="tape 0.1 mm"),
    SetUp("S-0007", "I-302", "P-207", "B-106", "ET-TI-01", "2000", VERTICAL, "% FSH", _FINE, "0.5 mm", 50, 60, 10, 22, "500 kHz", "2.0", date(2024, 3, 21), "K-402"),
    SetUp("S-0008", "I-303", "P-208", "B-106", "ET-TI-01", "2000", VERTICAL, "% FSH", _FINE, "0.5 mm", 50, 57, 10, 25, "500 kHz", "2.0", date(2024, 3, 21), "K-403"),
    SetUp("S-0009", "I-303", "P-220", "B-111", "ET-BH-01", "300", SWING, "% FSH", _WALL, "1.0 mm wall", 70, 44, 4, 120, "100 kHz", "4.0", date(2024, 3, 25), "D-421", scan="rotating", rpm="1500", pass_hz=("80", "400")),
    SetUp("S-0010", "I-304", "P-222", "B-112", "ET-BH-01", "300", AMPLITUDE, "% FSH", _WALL, "1.0 mm wall", 70, 45, 4, 118, "100 kHz", "4.0", date(2024, 3, 25), "D-422", scan="rotating", rpm="1500", screen="sweep", pass_hz=("80", "400")),
    SetUp("S-0011", "I-305", "P-227", "B-110", "ET-BH-02", "200", PLANE, "div", _WALL, "1.0 mm wall", 6, 58, 0, 15, "100 kHz", "0.2", date(2024, 3, 26), "K-403"),
    SetUp("S-0012", "I-308", "P-234", "B-114", "ET-WE-01", "100", PLANE, "div", ("2.0 mm", "1.0 mm", "0.5 mm"), "1.0 mm", 5, 40, 0, 90, "100 kHz", "0.3", date(2024, 3, 26), "K-404", phase_reference="1.0 mm", covering="shim 0.5 mm"),
    SetUp("S-0013", "I-305", "P-211", "B-105", "ET-ED-01", "200", PLANE, "div", ("2.0 mm", "1.0 mm", "0.5 mm"), "1.0 mm", 5, 55, 6, 18, "100 kHz", "0.2", date(2024, 3, 27), "K-403"),
    SetUp("S-0014", "I-307", "P-209", "B-108", "ET-SS-01", "1000", PLANE, "% FSH", _FINE, "1.0 mm", 60, 56, 8, 38, "500 kHz", "2.0", date(2024, 4, 8), "K-403"),
    SetUp("S-0015", "I-304", "P-215", "B-109", "ET-CS-01", "100", VERTICAL, "% FSH", ("3.0 mm", "2.0 mm", "1.0 mm", "0.5 mm"), "1.0 mm", 50, 39, 6, 12, "100 kHz", "2.5", date(2024, 4, 9), "K-403", covering="tape 0.1 mm"),
    SetUp("S-0016", "I-307", "P-205", "B-103", "ET-AL-01", "200", PLANE, "% FSH", _FOUR, "1.0 mm", 60, 49, 6, 37, "100 kHz", "2.0", date(2025, 1, 13), "K-401"),
)  # fmt: skip

BY_NUMBER = {s.number: s for s in SETUPS}
