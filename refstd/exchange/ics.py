"""The calendar of due dates as an iCalendar file (RFC 5545), to subscribe to from a shared folder, or to take in.

One all-day event a duty, with an alarm as many days before as the lab calls 'due soon'. UID (3.8.4.7) stays for good and
SEQUENCE (3.8.7.4) goes up when the date changes, so that taking the file in again moves an event and adds none; STATUS
(3.8.1.11) becomes CANCELLED when the duty is gone. DTSTAMP (3.8.7.2) is the instant of the log's head: the same head
gives the same bytes. The file is a reminder; the register is the record.
"""

from datetime import UTC, timedelta

from icalendar import Alarm, Calendar, Event

from refstd.base.text import safe, safe_lines
from refstd.desk.calendar import DueCalendar, DueEvent, due_calendar
from refstd.desk.store import Lab, When


def calendar_file(lab: Lab, when: When) -> tuple[bytes, DueCalendar]:
    """Return the calendar of due dates as the bytes of an .ics file, and what it holds."""
    due = due_calendar(lab, when)
    calendar = Calendar()
    calendar.add("prodid", "-//refstd//due dates//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", f"Due dates, {safe(due.lab_name)}")  # RFC 7986, 5.1
    calendar.add("refresh-interval", timedelta(days=1), parameters={"value": "DURATION"})  # RFC 7986, 5.7
    for event in due.events:
        calendar.add_component(_event(event, due))
    return calendar.to_ical(sorted=True), due


def _event(e: DueEvent, due: DueCalendar) -> Event:
    event = Event()
    event.add("uid", e.uid)
    event.add("sequence", e.version)
    event.add("dtstamp", due.made_at.astimezone(UTC))
    event.add("last-modified", e.changed_at.astimezone(UTC))
    event.add("dtstart", e.on)
    event.add("dtend", e.on + timedelta(days=1))
    event.add("summary", safe(e.title))
    event.add(
        "description", safe_lines(f"{e.says}\nA reminder as of log entry {due.sequence}; the register is the record.")
    )
    event.add("transp", "TRANSPARENT")
    event.add("status", "CANCELLED" if e.cancelled else "CONFIRMED")
    if not e.cancelled:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("trigger", timedelta(days=-due.remind_days))
        alarm.add("description", safe(e.title))
        event.add_component(alarm)
    return event
