"""Two years of the invented lab as a calendar: what was entered, the everyday work, and the stories within it."""

from .evidence import certificates, schedules
from .opening import opening
from .responses import Happening
from .telling import Event
from .work import jobs_done, periodic_checks

HAPPENINGS: tuple[Happening, ...] = ()


def calendar() -> list[Event]:
    """Return everything that happens, in order of time; what happens at one instant in the order of this list."""
    events = [*opening(), *schedules(), *certificates(), *jobs_done(), *periodic_checks()]
    return sorted(events, key=lambda event: event.instant)
