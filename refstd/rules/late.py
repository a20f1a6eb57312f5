"""Readings taken earlier and entered later: how late they are told to be, and when the kit cannot have been there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class Out:
    """An item's stay away from the store for a job; `until` is None while it is out."""

    asset_no: str
    job: str
    since: datetime
    until: datetime | None


def days_late(happened_on: date, recorded_on: date) -> int:
    """Return how many civil days of the lab lie between what happened and its record; never less than 0."""
    return max(0, (recorded_on - happened_on).days)


def late_in_words(days: int, entered_by: str = "") -> str:
    """Return how late a record is and who entered it for somebody else; '' for one of the same day and person."""
    by = f" by {entered_by}" if entered_by else ""
    if days == 0:
        return f"entered{by}" if by else ""
    return f"recorded {days} day{'' if days == 1 else 's'} late{by}"


def custody_objection(outs: Sequence[Out], job: str, read_at: datetime) -> tuple[str, Out] | None:
    """Return why one item cannot have been read for a job at an instant, with the stay that says so, or None.

    outs: every stay of that item, for whatever job. An item that never went out for the job was read where it is kept, so
    nothing stands against it unless it was away for another one.
    """
    there = [o for o in outs if o.since <= read_at and (o.until is None or read_at <= o.until)]
    if any(o.job == job for o in there):
        return None
    if there:
        return f"{there[0].asset_no} was out for job {there[0].job} then", there[0]
    own = sorted((o for o in outs if o.job == job), key=lambda o: o.since)
    if not own:
        return None
    later = next((o for o in own if o.since > read_at), None)
    if later is own[0]:
        return f"{later.asset_no} was checked out for job {job} only later", later
    return f"{own[-1].asset_no} was not out for job {job} then", [o for o in own if o.since <= read_at][-1]
