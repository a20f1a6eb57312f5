"""The written procedures of the invented lab: limits of every kind, each in its own unit, each with its paragraph.

Figures are the lab's own. Their manner follows what public manuals state: one notch set to a target, lift-off horizontal,
a drift allowance against the start check, signal to noise on the smallest notch.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

AMPLITUDE, PHASE, NOISE = "amplitude", "phase", "signal to noise"


@dataclass(frozen=True, slots=True)
class Written:
    """A procedure as it is filed: fields of the draft, then (quantity, against, notch, lower, upper, unit, paragraph),
    (notch, value, unit, paragraph), (kind, part number, standing, paragraph), (part family, block family, paragraph), and by
    the name of its file (`desk/requirements.py`) what else it asks for."""

    fields: dict[str, str]
    limits: tuple[tuple[str, str, str, str, str, str, str], ...]
    targets: tuple[tuple[str, str, str, str], ...]
    named: tuple[tuple[str, str, str, str], ...] = ()
    accepted: tuple[tuple[str, str, str], ...] = ()
    asked: Mapping[str, tuple[dict[str, str], ...]] = field(default_factory=dict)


_WHO_EXAMINES = {
    "qualification_asked": ({"method": "ET", "level": "2", "paragraph": "paragraph 2.1"},),
    "vision_asked": ({"kind": "near vision", "every_months": "12", "paragraph": "paragraph 2.2"},),
}

PROCEDURES = (
    Written(
        {
            "code": "ET-AL-01", "issue": "C", "title": "Surface cracks in aluminium plate, pencil probe", "form": "plate",
            "lowest_khz": "100", "highest_khz": "500", "frequency_paragraph": "paragraph 4.2", "check_every_hours": "12",
            "check_paragraph": "paragraph 7.1", "conductivity_band_percent_iacs": "5",
            "conductivity_paragraph": "paragraph 3.3", "tell": "the shift lead and the responsible level 3",
        },
        (
            (AMPLITUDE, "target", "", "-5", "5", "% FSH", "paragraph 6.3"),
            (AMPLITUDE, "start check", "", "-10", "10", "%", "paragraph 7.2"),
            (PHASE, "start check", "", "-5", "5", "°", "paragraph 7.3"),
            (NOISE, "none", "0.5 mm", "3", "", "ratio", "paragraph 6.5"),
        ),
        (("1.0 mm", "60", "% FSH", "paragraph 6.3"),),
        (),
        (("brass", "aluminium alloy", "paragraph 3.4"),),
        _WHO_EXAMINES,
    ),
    Written(
        {
            "code": "ET-TI-01", "issue": "B", "title": "Surface cracks in titanium, pencil probe", "form": "plate",
            "lowest_khz": "1000", "highest_khz": "3000", "frequency_paragraph": "paragraph 4.2", "check_every_hours": "4",
            "check_paragraph": "paragraph 7.1", "tell": "the shift lead",
        },
        (
            (AMPLITUDE, "target", "", "-0.8", "0.8", "dB", "paragraph 6.4"),
            (AMPLITUDE, "start check", "", "-1.5", "1.5", "dB", "paragraph 7.2"),
            (NOISE, "none", "0.5 mm", "10", "", "dB", "paragraph 6.6"),
        ),
        (("0.5 mm", "50", "% FSH", "paragraph 6.4"),),
    ),
    Written(
        {
            "code": "ET-ED-01", "issue": "A", "title": "Edges and lands in aluminium, pencil probe", "form": "edge",
            "lowest_khz": "100", "highest_khz": "500", "frequency_paragraph": "paragraph 4.1", "check_every_hours": "4",
            "check_paragraph": "paragraph 8.1", "tell": "the shift lead",
        },
        (
            (AMPLITUDE, "target", "1.0 mm", "-0.5", "0.5", "div", "paragraph 6.2"),
            (AMPLITUDE, "start check", "", "-0.7", "0.7", "div", "paragraph 8.2"),
        ),
        (("1.0 mm", "5", "div", "paragraph 6.2"),),
    ),
    Written(
        {
            "code": "ET-BH-01", "issue": "D", "title": "Bolt holes in aluminium, rotating probe", "form": "bore",
            "lowest_khz": "200", "highest_khz": "500", "frequency_paragraph": "paragraph 4.3", "check_every_hours": "4",
            "check_paragraph": "paragraph 8.1", "tell": "the shift lead and the responsible level 3",
        },
        (
            (AMPLITUDE, "target", "1.0 mm wall", "-8", "8", "%", "paragraph 6.5"),
            (AMPLITUDE, "start check", "", "-15", "15", "%", "paragraph 8.2"),
            (AMPLITUDE, "none", "0.5 mm wall", "20", "", "% FSH", "paragraph 6.6"),
            (NOISE, "none", "0.5 mm wall", "3", "", "ratio", "paragraph 6.7"),
        ),
        (("1.0 mm wall", "70", "% FSH", "paragraph 6.5"),),
        (
            ("probe", "S2-R48", "named", "paragraph 3.2"),
            ("probe", "S2-R64", "named", "paragraph 3.2"),
            ("probe", "S2-R95", "named", "paragraph 3.2"),
            ("probe", "S2-R127", "alternate", "paragraph 3.2, note 1"),
        ),
    ),
    Written(
        {
            "code": "ET-BH-02", "issue": "B", "title": "Bolt holes in aluminium, by hand", "form": "bore",
            "lowest_khz": "100", "highest_khz": "500", "frequency_paragraph": "paragraph 4.1", "check_every_hours": "2",
            "check_paragraph": "paragraph 7.1", "tell": "the shift lead",
        },
        (
            (AMPLITUDE, "target", "1.0 mm wall", "-0.4", "0.4", "div", "paragraph 6.3"),
            (AMPLITUDE, "none", "0.5 mm wall", "1.5", "6", "div", "paragraph 6.4"),
            (AMPLITUDE, "start check", "", "-1.5", "1.5", "dB", "paragraph 7.2"),
        ),
        (("1.0 mm wall", "6", "div", "paragraph 6.3"),),
    ),
    Written(
        {
            "code": "ET-WE-01", "issue": "B", "title": "Ferritic welds, coated or bare, cross-axis probe", "form": "weld",
            "lowest_khz": "50", "highest_khz": "300", "frequency_paragraph": "paragraph 5.1", "check_every_hours": "4",
            "check_paragraph": "paragraph 9.1", "tell": "the welding engineer",
        },
        (
            (AMPLITUDE, "target", "1.0 mm", "-0.5", "0.5", "div", "paragraph 7.2"),
            (AMPLITUDE, "start check", "", "-2", "2", "dB", "paragraph 9.2"),
            (PHASE, "start check", "", "-10", "10", "°", "paragraph 9.3"),
            (NOISE, "none", "0.5 mm", "2", "", "ratio", "paragraph 7.4"),
        ),
        (("1.0 mm", "5", "div", "paragraph 7.2"),),
    ),
    Written(
        {
            "code": "ET-SS-01", "issue": "A", "title": "Surface cracks in stainless plate", "form": "plate",
            "lowest_khz": "500", "highest_khz": "3000", "frequency_paragraph": "paragraph 4.2", "needs_baseline": "yes",
            "baseline_paragraph": "paragraph 5.4", "baseline_setups": "5", "conductivity_band_percent_iacs": "1",
            "conductivity_paragraph": "paragraph 3.2", "tell": "the responsible level 3",
        },
        (
            (AMPLITUDE, "baseline", "", "-3", "3", "dB", "paragraph 6.4"),
            (AMPLITUDE, "start check", "", "-10", "10", "%", "paragraph 7.1"),
            (PHASE, "baseline", "", "-8", "8", "°", "paragraph 6.5"),
        ),
        (("1.0 mm", "60", "% FSH", "paragraph 6.3"),),
    ),
    Written(
        {
            "code": "ET-CS-01", "issue": "A", "title": "Surface cracks in carbon steel plate, spot probe", "form": "plate",
            "lowest_khz": "50", "highest_khz": "200", "frequency_paragraph": "paragraph 4.1", "check_every_hours": "4",
            "check_paragraph": "paragraph 7.1", "tell": "the shift lead",
        },
        (
            (AMPLITUDE, "target", "", "-5", "5", "% FSH", "paragraph 6.2"),
            (AMPLITUDE, "start check", "", "-12", "12", "%", "paragraph 7.2"),
        ),
        (("1.0 mm", "50", "% FSH", "paragraph 6.2"),),
    ),
)  # fmt: skip
