"""The everyday work of two years: a periodic check of every setup each fortnight, and the jobs with their kits."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial

from refstd.desk.job_parts import DetailsDraft, named_parts
from refstd.desk.jobs import JobDraft, enter_job
from refstd.desk.lots import close_job

from .evidence import STORY_DAY
from .responses import Shown, as_shown, chance, chance_again, standardized
from .setups import BY_NUMBER, SETUPS, SetUp
from .telling import Event, Telling, at, draft

TECHNICIANS = ("TAM", "WREN", "IVO")
_CHECK_DAYS = (0, 3, 4)  # Monday, Thursday, Friday; jobs are on Tuesdays and Wednesdays


@dataclass(frozen=True, slots=True)
class Work:
    """A job that runs as jobs should: each day start, lot, interim, lot, end; the kit is back on the last day."""

    number: str
    setup: str
    person: str
    material: str
    parts: str
    starts_on: date
    days: int
    bore_mm: str = ""
    zones: tuple[str, ...] = ()  # one a lot; without, the job's holes are shared out among the lots
    details: tuple[tuple[str, str], ...] = ()

    def lot(self, place: int) -> tuple[str, str]:
        """Return what the lot of this place examines: parts, and the zone."""
        [part, *_] = named_parts(self.parts, self.number)
        if self.zones or not part.holes:
            return part.place, self.zones[place] if self.zones else ""
        size = -(-len(part.holes) // (2 * self.days))
        return replace(part, holes=part.holes[place * size : (place + 1) * size]).in_words(), ""


WORK = (
    Work("J-24-01", "S-0001", "TAM", "AL-7075-T6", "wing skin panel 11: holes 1-160", date(2024, 4, 9), 2),
    Work("J-24-02", "S-0009", "WREN", "AL-7075-T6", "lower spar cap: holes 1-48", date(2024, 5, 14), 2, "6.4"),
    Work("J-24-03", "S-0007", "IVO", "TI-6AL-4V", "engine mount fitting 0311", date(2024, 6, 11), 1, zones=("lug", "foot")),
    Work("J-24-04", "S-0012", "TAM", "CS-1020", "crane jib", date(2024, 7, 9), 2,
         zones=("welds W1 and W2", "welds W3 to W5", "welds W6 and W7", "welds W8 and W9")),
    Work("J-24-05", "S-0003", "WREN", "AL-2024-T3", "fuselage frame 18, zone web", date(2024, 8, 13), 1),
    Work("J-24-06", "S-0010", "TAM", "AL-7075-T6", "landing gear beam: holes 1-12", date(2024, 9, 10), 2, "9.5"),
    Work("J-24-07", "S-0014", "IVO", "SS-304", "pressure vessel shell, zone sector 3", date(2024, 10, 15), 2),
    Work("J-24-08", "S-0004", "WREN", "AL-2024-T3", "wing skin panel 12, zone doubler edge", date(2024, 11, 12), 1),
    Work("J-24-09", "S-0015", "TAM", "CS-1020", "bridge bearing plate 4", date(2024, 12, 10), 1, zones=("north half", "south half")),
    Work("J-25-01", "S-0001", "WREN", "AL-7075-T6", "wing skin panel 13: holes 1-160", date(2025, 1, 21), 2),
    Work("J-25-02", "S-0009", "TAM", "AL-7075-T6", "lower spar cap: holes 49-96", date(2025, 2, 18), 2, "6.4"),
    Work("J-25-03", "S-0011", "IVO", "AL-7075-T6", "hinge bracket: holes 1-6", date(2025, 3, 18), 1, "4.8"),
    Work("J-25-04", "S-0008", "WREN", "TI-6AL-4V", "engine mount fitting 0312", date(2025, 4, 15), 1, zones=("lug", "foot")),
    Work("J-25-05", "S-0012", "TAM", "CS-1020", "crane jib", date(2025, 5, 13), 2,
         zones=("welds W10 to W12", "welds W13 to W15", "welds W16 to W18", "welds W19 to W21")),
    Work("J-25-06", "S-0016", "IVO", "AL-7075-T6", "seat track 3, zone left", date(2025, 6, 17), 1),
    Work("J-25-07", "S-0005", "TAM", "AL-2024-T3", "fuselage frame 19, zone web", date(2025, 7, 15), 2),
    Work("J-25-08", "S-0010", "WREN", "AL-7075-T6", "landing gear beam: holes 13-24", date(2025, 8, 12), 2, "9.5"),
    Work("J-25-10", "S-0014", "IVO", "SS-304", "pressure vessel shell, zone sector 4", date(2025, 11, 18), 1),
    Work("J-25-11", "S-0015", "TAM", "CS-1020", "bridge bearing plate 5", date(2025, 12, 9), 1, zones=("north half", "south half")),
    Work("J-26-01", "S-0001", "WREN", "AL-7075-T6", "wing skin panel 14: holes 1-160", date(2026, 1, 20), 2),
    Work("J-26-02", "S-0012", "IVO", "CS-1020", "crane jib", date(2026, 2, 10), 1, zones=("welds W22 to W26", "welds W27 to W30")),
)  # fmt: skip


def periodic_checks() -> Iterator[Event]:
    """Yield a check of each setup every fortnight from its baseline to the day before the story day."""
    for place, setup in enumerate(SETUPS):
        day = setup.first_set_up + timedelta(days=14)
        while day.weekday() != _CHECK_DAYS[place % 3]:
            day += timedelta(days=1)
        count = 0
        while day < STORY_DAY:
            if not (day.month == 12 and day.day > 22):
                clock = f"{9 + place // 4:02d}:{13 * (place % 4) + 3:02d}"
                yield Event(at(day, clock), partial(_periodic, setup, TECHNICIANS[(place + count) % 3]))
            day, count = day + timedelta(days=setup.every_days), count + 1


def _periodic(setup: SetUp, person: str, telling: Telling) -> None:
    if telling.absent & set(setup.members):
        return
    shown = standardized(setup, telling.day, chance(setup, telling.dice), telling.happenings)
    telling.check(setup, "periodic", shown, by=person, procedure=setup.procedure)


def jobs_done() -> Iterator[Event]:
    """Yield the jobs that ran as jobs should."""
    for work in WORK:
        yield Event(at(work.starts_on, "07:30"), partial(open_job, work))
        yield Event(at(work.starts_on, "07:50"), partial(take_kit, work))
        for number in range(work.days):
            yield from day_of(work, number)
        last = work.starts_on + timedelta(days=work.days - 1)
        yield Event(at(last, "16:40"), partial(bring_kit, work))
        yield Event(
            at(last + timedelta(days=1), "09:00"), partial(shut, work, "all parts examined, record sheets filed")
        )


def day_of(work: Work, number: int, lots: tuple[str, str] | None = None) -> Iterator[Event]:
    """Yield a day of a job, counted from 0: start check, lot, interim check, lot, end check."""
    first, second = ((x, "") for x in lots) if lots else (work.lot(2 * number), work.lot(2 * number + 1))
    day = work.starts_on + timedelta(days=number)
    yield Event(at(day, "08:20"), partial(start_of, work))
    yield Event(at(day, "11:40"), partial(lot_of, work, *first))
    yield Event(at(day, "12:00"), partial(follow_up, work, "interim"))
    yield Event(at(day, "15:40"), partial(lot_of, work, *second))
    yield Event(at(day, "16:00"), partial(follow_up, work, "end"))


def open_job(work: Work, telling: Telling) -> None:
    """Open the job under its procedure."""
    setup = BY_NUMBER[work.setup]
    form = {"ET-BH-01": "bore", "ET-BH-02": "bore", "ET-WE-01": "weld", "ET-ED-01": "edge"}.get(
        setup.procedure, "plate"
    )
    job = draft(
        JobDraft, number=work.number, procedure=setup.procedure, parts=work.parts, material=work.material, form=form,
        bore_diameter_mm=work.bore_mm, frequency_khz=setup.frequency_khz, starts_on=work.starts_on,
        ends_on=work.starts_on + timedelta(days=work.days - 1), place="hangar 2",
    )  # fmt: skip
    details = draft(DetailsDraft, **dict(work.details)) if work.details else None
    telling.do(enter_job, job, details, by=work.person)


def take_kit(work: Work, telling: Telling) -> None:
    """Check the kit out."""
    telling.take(work.number, *BY_NUMBER[work.setup].members, by=work.person)


def start_of(work: Work, telling: Telling) -> None:
    """Standardize and make the start check that the day's other checks are compared with."""
    setup = BY_NUMBER[work.setup]
    occasion = chance(setup, telling.dice)
    shown = standardized(setup, telling.day, occasion, telling.happenings)
    verdict = telling.check(setup, "start", shown, by=work.person, job=work.number)
    telling.starts[work.number] = (verdict.number, shown, occasion)


def follow_up_shown(work: Work, telling: Telling, extra_db: float = 0.0) -> Shown:
    """Return what is shown later in the day with the settings of the start check."""
    setup = BY_NUMBER[work.setup]
    _, start, occasion = telling.starts[work.number]
    again = chance_again(occasion, telling.dice)
    return as_shown(setup, telling.day, again, telling.happenings, float(start.vertical_gain_db), extra_db)


def follow_up(work: Work, occasion: str, telling: Telling) -> None:
    """Make an interim or end check with the settings of the start check."""
    shown = follow_up_shown(work, telling)
    telling.check(BY_NUMBER[work.setup], occasion, shown, by=work.person, job=work.number)


def lot_of(work: Work, parts: str, zone: str, telling: Telling) -> None:
    """Log parts as examined."""
    telling.lot(work.number, parts, zone, by=work.person)


def bring_kit(work: Work, telling: Telling) -> None:
    """Check the kit in."""
    telling.bring(*BY_NUMBER[work.setup].members, by=work.person)


def shut(work: Work, why: str, telling: Telling) -> None:
    """Close the job."""
    telling.do(close_job, work.number, why, by=work.person)
