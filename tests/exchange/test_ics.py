"""The calendar of due dates, read by a reader that is not its writer (vobject) and against RFC 5545's own rules."""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import vobject

from refstd.base.errors import WrongUsage
from refstd.cli import run_command
from refstd.desk import states
from refstd.desk.store import Lab, When
from refstd.exchange.ics import calendar_file
from tests import thin_thread as given
from tests.given import KEEPER, NOON
from tests.reports.small_lab import certificate, schedule

ASKED = When(NOON + timedelta(days=2))


@pytest.fixture
def busy(lab: Lab) -> Lab:
    """A lab in which B-1 owes a calibration, with evidence."""
    given.whole(lab)
    schedule(lab, "P-1", activity="inspection", every_months="6")
    return lab


def events(lab: Lab, when: When = ASKED) -> dict[str, Any]:
    """Return the events by what they are about, read by vobject."""
    content, _ = calendar_file(lab, when)
    found = vobject.readOne(content.decode())
    return {e.summary.value.removeprefix("Cancelled: "): e for e in found.vevent_list}


def test_each_dated_duty_is_one_all_day_event_on_its_last_day_of_validity(busy: Lab) -> None:
    """RFC 5545, 3.6.1: DTEND is not included, so that a day's event ends on the next day."""
    found = events(busy)
    assert "P-1 inspection due" not in found  # never done: it has no date
    event = found["B-1 calibration due"]
    assert event.dtstart.value == date(2032, 1, 10)
    assert event.dtend.value == date(2032, 1, 11)
    assert (event.transp.value, event.status.value) == ("TRANSPARENT", "CONFIRMED")
    assert event.valarm.trigger.value < timedelta()
    assert "the register is the record" in event.description.value


def test_lines_end_in_cr_lf_and_have_at_most_75_octets(busy: Lab) -> None:
    """RFC 5545, 3.1: lines are delimited by CRLF and should not be longer than 75 octets without the line break."""
    certificate(
        busy, "B-1", "Prüfschein Ω " + "9" * 150, NOON + timedelta(hours=1), performed_on="2031-02-10", issued_on=""
    )
    content, _ = calendar_file(busy, ASKED)
    lines = content.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 and b"\n" not in line and b"\r" not in line for line in lines)
    unfolded = content.decode().replace("\r\n ", "")
    assert "Prüfschein Ω " + "9" * 150 in unfolded
    for required in ("PRODID:", "VERSION:2.0"):  # 3.6
        assert f"\r\n{required}" in unfolded
    for name in ("UID:", "DTSTAMP:"):  # 3.6.1: required, once in each event
        assert unfolded.count(f"\r\n{name}") == unfolded.count("BEGIN:VEVENT")


def test_a_date_that_moves_keeps_its_identifier_and_its_sequence_goes_up(busy: Lab) -> None:
    """RFC 5545, 3.8.4.7 and 3.8.7.4. Planted bug that it caught: an identifier made of the due date; two events came."""
    before = events(busy)["B-1 calibration due"]
    certificate(busy, "B-1", "K-9", NOON + timedelta(hours=1), performed_on="2031-03-01", issued_on="")
    after = events(busy)["B-1 calibration due"]
    assert (before.dtstart.value, after.dtstart.value) == (date(2032, 1, 10), date(2032, 3, 1))
    assert before.uid.value == after.uid.value
    assert int(after.sequence.value) > int(before.sequence.value)


def test_taking_the_file_in_again_moves_events_and_doubles_none(busy: Lab) -> None:
    """A calendar as RFC 5545 describes it: known by UID, the higher SEQUENCE wins."""
    calendar: dict[str, Any] = {}
    for number in range(3):
        certificate(
            busy,
            "B-1",
            f"K-{number}",
            NOON + timedelta(hours=1 + number),
            performed_on=f"2031-02-1{number}",
            issued_on="",
        )
        for event in events(busy).values():
            known = calendar.get(event.uid.value)
            if known is None or int(event.sequence.value) >= int(known.sequence.value):
                calendar[event.uid.value] = event
    about_block = [e for e in calendar.values() if "B-1" in e.summary.value]
    assert [e.dtstart.value for e in about_block] == [date(2032, 2, 12)]


def test_a_duty_that_is_gone_is_cancelled_under_the_same_identifier(busy: Lab) -> None:
    before = events(busy)["B-1 calibration due"]
    states.set_state(busy, "B-1", "retired", "worn", by=KEEPER, now=NOON + timedelta(days=1))
    after = events(busy)["B-1 calibration due"]
    assert (after.uid.value, after.status.value) == (before.uid.value, "CANCELLED")
    assert int(after.sequence.value) > int(before.sequence.value)
    assert not hasattr(after, "valarm")
    assert "retired" in after.description.value


def test_a_quarantined_item_is_marked_not_for_use(busy: Lab) -> None:
    states.set_state(busy, "B-1", "quarantined", "dropped", by=KEEPER, now=NOON + timedelta(days=1))
    assert "B-1 calibration due (quarantined: not for use)" in events(busy)


def test_the_same_head_of_the_log_gives_the_same_bytes_whenever_it_is_asked(busy: Lab) -> None:
    asked = [calendar_file(busy, When(NOON + timedelta(days=d)))[0] for d in (2, 40, 4000)]
    assert asked[0] == asked[1] == asked[2]
    head = calendar_file(busy, ASKED)[1].made_at
    certificate(busy, "B-1", "K-9", NOON + timedelta(days=3), performed_on="2031-03-01", issued_on="")
    later = When(NOON + timedelta(days=5))
    assert calendar_file(busy, later)[0] != asked[0]
    assert calendar_file(busy, When(later.now, as_at=head))[0] == asked[0]


def test_a_coming_day_is_refused(busy: Lab) -> None:
    with pytest.raises(WrongUsage, match="not from a day"):
        calendar_file(busy, When(ASKED.now, today=date(2032, 1, 1)))


def test_nothing_that_was_typed_becomes_a_line_of_the_file(busy: Lab) -> None:
    evil = "x;y,z\\n"
    schedule(
        busy, "B-1", NOON + timedelta(hours=1), every_months="12", source=evil + " BEGIN:VALARM", why="newer practice"
    )
    content, _ = calendar_file(busy, ASKED)
    assert evil in events(busy)["B-1 calibration due"].description.value
    assert len(re.findall(rb"\r\nBEGIN:VALARM", content)) == content.count(b"STATUS:CONFIRMED")


def test_the_stamp_is_utc(busy: Lab) -> None:
    stamp = events(busy)["B-1 calibration due"].dtstamp.value
    assert isinstance(stamp, datetime)
    assert stamp.utcoffset() == timedelta()
    assert stamp <= ASKED.now.astimezone(UTC)


def test_the_command_writes_it_and_says_what_it_holds(
    busy: Lab, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "due.ics"
    busy.close()
    assert run_command(["--db", str(busy.path), "calendar", str(target)]) == 0
    assert "due dates, 0 cancelled" in capsys.readouterr().out
    assert target.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert run_command(["--db", str(busy.path), "calendar", str(tmp_path / "nowhere" / "due.ics")]) == 2
    assert "Name another file or folder" in capsys.readouterr().err
    assert run_command(["--db", str(busy.path), "calendar", str(tmp_path / "due.txt")]) == 2
