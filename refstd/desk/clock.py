"""The one place that reads the clock. A demo store has a clock of its own, so that it answers the same in ten years."""

from datetime import UTC, datetime, time, timedelta

from refstd.register.columns import instant_from
from refstd.register.lab import Lab, When
from refstd.register.people import LabRevision
from refstd.register.revisions import newest

STORY_MORNING = time(8, 0)


def utc_now() -> datetime:
    """Return this instant."""
    return datetime.now(UTC)


def now_in(lab: Lab) -> datetime:
    """Return the lab's now.

    On a demo store it is the morning of the story day, and moves on by a minute with each act: the same steps give the
    same records and the same reports on any day of ours.
    """
    moment = utc_now()
    with lab.look(When(moment)) as look:
        story_day = newest(look.session, LabRevision, look.upto).story_day
        if story_day is None:
            return moment
        morning = datetime.combine(story_day, STORY_MORNING, look.zone).astimezone(UTC)
        return max(morning, instant_from(look.head.recorded_at) + timedelta(minutes=1))
