"""The one place that reads the clock. A demo store lives on its story day, so that it answers the same in ten years."""

from datetime import UTC, datetime

from refstd.register.lab import Lab, When
from refstd.register.people import LabRevision
from refstd.register.revisions import newest


def utc_now() -> datetime:
    """Return this instant."""
    return datetime.now(UTC)


def now_in(lab: Lab) -> datetime:
    """Return the lab's now: this instant, or this time of day on the store's story day."""
    moment = utc_now()
    with lab.look(When(moment)) as look:
        story_day = newest(look.session, LabRevision, look.upto).story_day
        zone = look.zone
    if story_day is None:
        return moment
    return datetime.combine(story_day, moment.astimezone(zone).timetz()).astimezone(UTC)
