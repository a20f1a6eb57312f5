"""The kit of job J-25-09 comes back six days late; it is checked on receipt and found as it was."""

from collections.abc import Iterator
from datetime import date
from functools import partial

from refstd.desk.findings import FindingDraft, act_on, open_finding

from ..responses import chance, standardized
from ..setups import BY_NUMBER
from ..telling import Event, Telling, at, draft
from ..work import Work, bring_kit, day_of, open_job, shut, take_kit

_WORK = Work(
    "J-25-09", "S-0008", "WREN", "TI-6AL-4V", "engine mount fitting 0313", date(2025, 9, 30), 2,
    zones=("lug", "lug radius", "foot", "foot radius"),
)  # fmt: skip
_BACK = date(2025, 10, 7)


def events() -> Iterator[Event]:
    """Yield the job and its end."""
    yield Event(at(_WORK.starts_on, "07:30"), partial(open_job, _WORK))
    yield Event(at(_WORK.starts_on, "07:50"), partial(take_kit, _WORK))
    yield from day_of(_WORK, 0)
    yield from day_of(_WORK, 1)
    yield Event(at(_BACK, "15:00"), partial(bring_kit, _WORK))
    yield Event(at(_BACK, "15:20"), _ask)
    yield Event(at(date(2025, 10, 8), "09:40"), _check_and_release)
    yield Event(at(date(2025, 10, 8), "10:30"), partial(shut, _WORK, "all parts examined; kit came back late"))


def _ask(telling: Telling) -> None:
    says = "kit of J-25-09 came back six days late; nobody can say where P-208 was"
    number = telling.do(open_finding, draft(FindingDraft, cause="late return", says=says, item="P-208"), by="ORLA")
    telling.findings.append(number)


def _check_and_release(telling: Telling) -> None:
    setup = BY_NUMBER["S-0008"]
    shown = standardized(setup, telling.day, chance(setup, telling.dice), telling.happenings)
    check = telling.check(setup, "receipt", shown, by="TAM", procedure=setup.procedure)
    number = telling.findings[-1]
    telling.do(act_on, number, "note", f"receipt check {check.number} acceptable", by="ORLA")
    telling.do(act_on, number, "release", "checked on receipt, sound", by="GRETA")
