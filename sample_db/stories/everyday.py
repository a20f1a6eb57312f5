"""The everyday ends: states, failed checks and what followed, corrections, and how the lab stands on the story day's eve."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import partial

from refstd.desk.certificates import withdraw_certificate
from refstd.desk.checks import correct_check
from refstd.desk.findings import act_on, findings
from refstd.desk.procedure_acts import act_on_procedure
from refstd.desk.states import set_state
from refstd.desk.store import When

from ..equipment import BLOCKS
from ..evidence import WORKSHOP, block_paper, file_paper
from ..opening import enter_block, file_written
from ..procedures import PROCEDURES
from ..responses import as_shown, chance, standardized
from ..setups import BY_NUMBER
from ..telling import Event, Telling, at, readings_of
from ..work import Work, bring_kit, day_of, follow_up, follow_up_shown, lot_of, open_job, shut, start_of, take_kit

_REPEATED = Work("J-24-10", "S-0001", "TAM", "AL-7075-T6", "flap hinge fairing: holes 1-24", date(2024, 10, 29), 1)
_FAILED = Work("J-25-12", "S-0010", "WREN", "AL-7075-T6", "landing gear beam: holes 25-36", date(2025, 2, 4), 2, "9.5")
_HELD = Work(
    "J-26-03", "S-0009", "WREN", "AL-7075-T6", "lower spar cap: holes 97-144", date(2026, 3, 5), 9, "6.4",
    details=(("bores", "48"), ("bore_depth_mm", "12"), ("target_length_mm", "1.0"), ("target_depth_mm", "0.5")),
)  # fmt: skip
_IN_HAND = Work("J-26-04", "S-0001", "TAM", "AL-7075-T6", "wing skin panel 15: holes 1-160", date(2026, 3, 8), 3)
_TO_MATCH = Work(
    "J-26-05", "S-0001", "WREN", "AL-2024-T3", "fuselage frame 20, zone web", date(2026, 3, 10), 4,
    details=(
        ("heat_treatment", "T3"), ("part_conductivity_percent_iacs", "30.4"), ("coating_mm", "0.08"), ("shims", "0.05 + 0.03 mm"),
        ("area_length_mm", "1200"), ("area_width_mm", "180"), ("target_length_mm", "3.0"), ("target_depth_mm", "0.5"),
    ),
)  # fmt: skip

# day, clock, item, state, why, where, by
STATES = (
    (
        date(2024, 3, 7),
        "14:00",
        "B-101",
        "reference only",
        "primary: for comparisons only",
        "standards cabinet",
        "ORLA",
    ),
    (date(2025, 5, 20), "10:10", "P-238", "retired", "cable cut, not worth the repair", "scrap", "ORLA"),
    (date(2025, 9, 2), "09:30", "P-232", "stored", "no work for this diameter", "store room", "ORLA"),
    (date(2026, 1, 15), "14:20", "P-217", "quarantined", "face chipped, seen while taping", "quarantine shelf", "WREN"),
    (date(2026, 2, 2), "09:10", "I-306", "in repair", "screen flickers", "supplier one", "ORLA"),
    (
        date(2026, 2, 23),
        "11:20",
        "B-119",
        "away at laboratory",
        "customer asks for new values",
        "Hallway Metrology",
        "ORLA",
    ),
)


def events() -> Iterator[Event]:
    """Yield what happens beside the five stories."""
    for day, clock, item, state, why, where, by in STATES:
        yield Event(at(day, clock), partial(_state, item, state, why, where, by))
    yield Event(at(date(2024, 6, 18), "10:00"), _corrected_certificate)
    yield Event(at(date(2024, 6, 19), "09:30"), partial(_decide, "each check was judged on responses; none on a depth"))
    yield Event(at(date(2024, 6, 19), "09:40"), partial(_release, "labels of B-103 compared with the corrected paper"))
    yield Event(at(date(2024, 8, 20), "10:00"), _filed_for_the_wrong_block)
    yield Event(at(date(2024, 8, 21), "09:00"), _withdrawn)
    yield Event(at(date(2025, 2, 10), "09:00"), _next_issue)
    yield Event(at(date(2025, 6, 10), "10:30"), _corrected_check)
    yield from _repeated_after_a_remedy()
    yield from _failed_and_decided()
    arrived = next(row for row in BLOCKS if row[0] == "B-116")
    yield Event(at(date(2026, 2, 27), "13:30"), partial(enter_block, arrived))
    yield from _eve()


def _state(item: str, state: str, why: str, where: str, by: str, telling: Telling) -> None:
    telling.do(set_state, item, state, why, location=where, by=by)


def _corrected_certificate(telling: Telling) -> None:
    """The laboratory sends a corrected certificate of B-103; the first stays on record."""
    row = next(r for r in BLOCKS if r[0] == "B-103")
    why = "the laboratory corrected the certificate: two notches were exchanged"
    block_paper(row, date(2023, 6, 6), 0, telling, supersedes="HM-23-1030", why=why)
    telling.findings.append(findings(telling.lab, When(telling.now))[-1].number)


def _filed_for_the_wrong_block(telling: Telling) -> None:
    fields = {
        "number": "CMP-24-1121X",
        "laboratory": WORKSHOP,
        "method": "response compared with the primary",
        "result": "sound",
    }
    file_paper(telling, "B-112", "comparison", date(2024, 8, 19), fields, [], "")


def _withdrawn(telling: Telling) -> None:
    telling.do(
        withdraw_certificate, "B-112", "CMP-24-1121X", "filed for the wrong block; it belongs to B-111", by="ORLA"
    )


def _next_issue(telling: Telling) -> None:
    written = PROCEDURES[0]
    file_written(
        replace(written, fields=written.fields | {"issue": "D", "editorial": "yes"}), telling,
        "paragraph 7.3 reworded; no limit changed", on_paper="",
    )  # fmt: skip
    telling.do(act_on_procedure, "ET-AL-01", "reviewed", "compared paragraph by paragraph", by="IVO")
    telling.do(act_on_procedure, "ET-AL-01", "approved", "wording only", by="GRETA")


def _corrected_check(telling: Telling) -> None:
    """WREN types two digits the wrong way round; corrected with IVO as second person."""
    setup = BY_NUMBER["S-0001"]
    shown = standardized(setup, telling.day, chance(setup, telling.dice), telling.happenings)
    notch, horizontal, vertical = shown.readings[-1]
    slipped = (*shown.readings[:-1], (notch, horizontal, vertical[::-1] if vertical[0] != "0" else vertical))
    check = telling.check(setup, "periodic", replace(shown, readings=slipped), by="WREN", procedure=setup.procedure)
    why = f"digits of notch {notch} typed the wrong way round"
    telling.do(correct_check, check.number, readings_of(shown), why, "IVO", by="WREN")


def _repeated_after_a_remedy() -> Iterator[Event]:
    """An interim check fails, the tape is renewed, the one repeat is acceptable."""
    work, day = _REPEATED, _REPEATED.starts_on
    yield Event(at(day, "07:30"), partial(open_job, work))
    yield Event(at(day, "07:50"), partial(take_kit, work))
    yield Event(at(day, "08:20"), partial(start_of, work))
    yield Event(at(day, "11:00"), partial(lot_of, work, "holes 1-12", ""))
    yield Event(at(day, "12:00"), partial(_repeat, work))
    yield Event(at(day, "13:30"), partial(_gain_was_turned, work))
    yield Event(at(day, "13:45"), partial(follow_up, work, "operator"))
    yield Event(at(day, "15:00"), partial(lot_of, work, "holes 13-24", ""))
    yield Event(at(day, "16:00"), partial(follow_up, work, "end"))
    yield Event(at(day, "16:30"), partial(bring_kit, work))
    yield Event(at(date(2024, 10, 30), "09:00"), partial(shut, work, "all parts examined"))


def _repeat(work: Work, telling: Telling) -> None:
    first, second = follow_up_shown(work, telling, -1.9), follow_up_shown(work, telling)
    telling.check(
        BY_NUMBER[work.setup], "interim", first, by=work.person, job=work.number, repeat=second, remedy="tape renewed"
    )


def _gain_was_turned(work: Work, telling: Telling) -> None:
    """The gain stands 2 dB higher than at the start: nothing can be said until it is put back."""
    setup = BY_NUMBER[work.setup]
    _, start, occasion = telling.starts[work.number]
    shown = as_shown(setup, telling.day, occasion, telling.happenings, float(start.vertical_gain_db) + 2)
    telling.check(setup, "operator", shown, by=work.person, job=work.number, expect="not conclusive")


def _failed_and_decided() -> Iterator[Event]:
    """An interim check fails; the lot is examined again after a new start; decided and released by the level 3."""
    work, first, second = _FAILED, date(2025, 2, 4), date(2025, 2, 5)
    yield Event(at(first, "07:30"), partial(open_job, work))
    yield Event(at(first, "07:50"), partial(take_kit, work))
    yield Event(at(first, "08:20"), partial(start_of, work))
    yield Event(at(first, "11:00"), partial(lot_of, work, "holes 25-30", ""))
    yield Event(at(first, "12:00"), partial(_fails, work, -2.6))
    yield Event(
        at(first, "13:30"), partial(_decide, "drive connector loose; re-examine holes 25 to 30 after a new start")
    )
    yield from day_of(work, 1, ("holes 25-30", "holes 31-36"))
    yield Event(at(second, "16:20"), partial(bring_kit, work))
    yield Event(
        at(date(2025, 2, 6), "09:30"),
        partial(_release, "holes 25 to 30 examined again under the start check of 5 February"),
    )
    yield Event(at(date(2025, 2, 6), "10:00"), partial(shut, work, "all parts examined"))


def _fails(work: Work, extra_db: float, telling: Telling) -> None:
    shown = follow_up_shown(work, telling, extra_db)
    check = telling.check(
        BY_NUMBER[work.setup], "interim", shown, by=work.person, job=work.number, expect="not acceptable"
    )
    telling.findings.append(check.finding)


def _decide(says: str, telling: Telling) -> None:
    telling.do(act_on, telling.findings[-1], "disposition", says, by="GRETA")


def _release(says: str, telling: Telling) -> None:
    telling.do(act_on, telling.findings[-1], "release", says, by="GRETA")


def _eve() -> Iterator[Event]:
    """How the lab comes to stand as it does: a failed check on Friday, a kit in hand on Sunday, a job to be matched."""
    friday, sunday = date(2026, 3, 6), date(2026, 3, 8)
    yield Event(at(_HELD.starts_on, "07:30"), partial(open_job, _HELD))
    yield Event(at(_HELD.starts_on, "07:50"), partial(take_kit, _HELD))
    yield from day_of(_HELD, 0, ("holes 97-108", "holes 109-120"))
    yield Event(at(friday, "08:20"), partial(start_of, _HELD))
    yield Event(at(friday, "10:10"), partial(lot_of, _HELD, "holes 121-126", ""))
    yield Event(at(friday, "11:30"), partial(follow_up, _HELD, "interim"))
    yield Event(at(friday, "13:20"), partial(lot_of, _HELD, "holes 127-132", ""))
    yield Event(at(friday, "14:30"), partial(lot_of, _HELD, "holes 133-138", ""))
    yield Event(at(friday, "15:10"), partial(_fails, _HELD, -2.6))
    yield Event(at(friday, "15:40"), partial(bring_kit, _HELD))
    yield Event(at(friday, "16:30"), partial(open_job, _TO_MATCH))
    yield Event(at(sunday, "20:30"), partial(open_job, _IN_HAND))
    yield Event(at(sunday, "20:50"), partial(take_kit, _IN_HAND))
    yield Event(at(sunday, "21:30"), partial(start_of, _IN_HAND))
    yield Event(at(sunday, "23:10"), partial(lot_of, _IN_HAND, "holes 1-60", ""))
