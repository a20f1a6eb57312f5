"""The invented lab that `refstd demo` opens: two years of records told through the front door. Nobody in it is real."""

from datetime import date
from pathlib import Path

from refstd.desk.store import make_store

from .evidence import STORY_DAY as STORY_DAY
from .people import PEOPLE
from .story import HAPPENINGS, calendar
from .telling import CHAIN, Telling, at, operation


def build(path: Path) -> Path:
    """Build the sample lab at `path`, which must not exist, and return it. Two builds have the same log to the last hash."""
    first = at(date(2024, 3, 4), "08:00")
    code, person, _ = PEOPLE[0]
    lab = make_store(
        path, name="Fenwater surface inspection lab (sample)", time_zone="Europe/Dublin", code=code, person=person, now=first,
        story_day=STORY_DAY, rebuildable=True, chain=CHAIN, operation=operation(1),
    )  # fmt: skip
    try:
        telling = Telling(lab, HAPPENINGS, first)
        for event in calendar():
            telling.now = event.instant
            event.tell(telling)
    finally:
        lab.close()
    return path
