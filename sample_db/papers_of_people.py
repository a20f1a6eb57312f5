"""Qualifications and tests of vision of the invented lab: as they stood when the register was opened, and each year's test."""

from collections.abc import Iterator
from datetime import date, timedelta
from functools import partial

from dateutil.relativedelta import relativedelta

from refstd.desk.qualifications import QualificationDraft, VisionDraft, record_qualification, record_vision

from .people import COLOUR_TESTED, METHOD, NEAR_VISION, PRACTICE, QUALIFICATIONS, SCHEME
from .telling import Event, Telling, at, draft


def papers_on_opening(telling: Telling) -> None:
    """Record what each of the people held when the register was opened."""
    for person, level, number, authorised_on, expires_on in QUALIFICATIONS:
        held = draft(
            QualificationDraft, person=person, method=METHOD, level=level, scheme=SCHEME, certificate_no=number,
            authorised_on=authorised_on, expires_on=expires_on,
        )  # fmt: skip
        telling.do(record_qualification, held, by="ORLA")
    for person, days in NEAR_VISION:
        _tested(person, days[0], telling)
        colour = draft(
            VisionDraft, person=person, kind="colour", tested_on=COLOUR_TESTED, passed="yes", result="all plates read",
            expires_on=_last_day(COLOUR_TESTED, years=5), practice=f"{PRACTICE}, paragraph 3.3",
        )  # fmt: skip
        telling.do(record_vision, colour, by="ORLA")


def yearly_tests() -> Iterator[Event]:
    """Yield the tests of near vision of the years after, each recorded on its day."""
    for person, days in NEAR_VISION:
        for day in days[1:]:
            yield Event(at(date.fromisoformat(day), "08:10"), partial(_tested, person, day))


def _tested(person: str, day: str, telling: Telling) -> None:
    seen = draft(
        VisionDraft, person=person, kind="near vision", tested_on=day, passed="yes", result="smallest line read at 40 cm",
        expires_on=_last_day(day, years=1), practice=f"{PRACTICE}, paragraph 3.2",
    )  # fmt: skip
    telling.do(record_vision, seen, by="ORLA")


def _last_day(tested: str, years: int) -> str:
    return str(date.fromisoformat(tested) + relativedelta(years=years) - timedelta(days=1))
