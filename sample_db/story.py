"""Two years of the invented lab as a calendar: what was entered, the everyday work, and the stories within it."""

from .evidence import certificates, schedules
from .opening import opening
from .papers_of_people import yearly_tests
from .responses import Happening
from .stories import dropped_block, everyday, late_kit, stepped_gain, worn_pencil
from .telling import Event
from .work import jobs_done, periodic_checks

HAPPENINGS: tuple[Happening, ...] = (
    *worn_pencil.HAPPENINGS, *dropped_block.HAPPENINGS, *stepped_gain.HAPPENINGS,
)  # fmt: skip


def calendar() -> list[Event]:
    """Return everything that happens, in order of time; what happens at one instant in the order of this list."""
    events = [*opening(), *yearly_tests(), *schedules(), *certificates(), *jobs_done(), *periodic_checks()]
    events += [*worn_pencil.events(), *stepped_gain.events(), *late_kit.events(), *everyday.events()]
    return sorted(events, key=lambda event: event.instant)
