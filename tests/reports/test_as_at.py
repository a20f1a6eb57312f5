"""Invariant 5: a report as at a past instant never changes, whatever is recorded later."""

import shutil
import tempfile
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from refstd.base.errors import Refusal
from refstd.desk.store import Lab, When, about, open_store
from refstd.printing import render
from refstd.reports import LISTS, REPORTS
from tests.given import NOON
from tests.reports import small_lab
from tests.reports.later_acts import ACTS

ASKED_AT = small_lab.LATER + timedelta(days=4000)
# Past instants: each before the newest entry, some on an entry's very instant.
INSTANTS = (
    NOON,
    NOON + timedelta(days=30),
    NOON + timedelta(days=90),
    NOON + timedelta(days=99, minutes=25),
    NOON + timedelta(days=99, minutes=30),
    NOON + timedelta(days=99, hours=3, minutes=59),
)
CLOCKS = (
    NOON - timedelta(days=400),
    NOON + timedelta(days=99, minutes=1),
    small_lab.LATER,
    ASKED_AT - timedelta(days=1),
)
Arguments = dict[str, object]
QUESTIONS: tuple[tuple[str, Arguments], ...] = (
    ("due", {}),
    ("drift", {}),
    ("suspects", {}),
    ("register", {}),
    ("issued", {}),
    ("item", {"asset_no": "B-1"}),
    ("item", {"asset_no": "B-2"}),
    ("item", {"asset_no": "I-1"}),
    ("item", {"asset_no": "P-1"}),
    ("match", {"job": "J-2"}),
    ("kit", {"about": ("J-1",)}),
    ("lookback", {"about": ("B-1",)}),
    ("lookback", {"about": ("J-1",)}),
    ("kit", {"about": ("J-1", "B-1", "P-1", "I-1")}),
    ("status", {"asset_nos": ["B-1", "P-1", "I-1"], "procedure": "PR-1"}),
    ("check", {"number": "C-0005"}),
    ("check", {"number": "C-0016"}),
    *((name, {}) for name in LISTS if name not in ("blocks", "probes", "instruments", "accessories")),
)


def answer(lab: Lab, name: str, argument: Arguments, when: When, *endings: str) -> list[bytes]:
    """Return a report's bytes, or the words of its refusal: 'not on record' at that instant is an answer too."""
    try:
        sheet = (REPORTS | LISTS)[name][1](lab, when, **argument)
    except Refusal as refusal:
        return [str(refusal).encode()]
    return [render(sheet, ending) for ending in endings]


def answers(lab: Lab, instant: datetime | None) -> list[tuple[str, list[bytes]]]:
    """Return every report as at an instant, or now, as JSON and CSV."""
    when = When(ASKED_AT, as_at=instant)
    endings = ("json", "csv") if instant else ("csv",)  # as CSV a report of now differs by its rows alone
    return [(f"{name} {argument}", answer(lab, name, argument, when, *endings)) for name, argument in QUESTIONS]


@cache
def before(store: Path, instant: datetime | None) -> list[tuple[str, list[bytes]]]:
    """Return every report before anything later is recorded."""
    lab = open_store(store)
    try:
        return answers(lab, instant)
    finally:
        lab.close()


@given(
    instant=st.sampled_from(INSTANTS),
    acts=st.lists(st.tuples(st.sampled_from(sorted(ACTS)), st.sampled_from(CLOCKS)), min_size=1, max_size=5),
)
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_report_as_at_a_past_instant_is_the_same_bytes_whatever_is_recorded_later(
    built: Path, instant: datetime, acts: list[tuple[str, datetime]]
) -> None:
    """Corrections, superseding papers, new readings of long ago, a clock that stepped back.

    Planted: in the current values of a certificate the filter on the log entry dropped; the item's record differed
    after a certificate was superseded.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lab.refstd"
        shutil.copyfile(built, path)
        lab = open_store(path)
        done = 0
        for name, clock in acts:
            try:
                ACTS[name](lab, clock)
                done += 1
            except Refusal:
                continue  # the same act twice, or one that the acts before rule out
        after = answers(lab, instant)
        lab.close()
    assert done
    assert after == before(built, instant)


@pytest.mark.parametrize("act", sorted(ACTS))
def test_every_later_act_leaves_every_old_report_alone_and_changes_a_new_one(small: Lab, built: Path, act: str) -> None:
    """Each act by itself; and it does change what is answered now, or the test above would prove nothing."""
    ACTS[act](small, NOON)  # the computer's clock stands in March again
    for instant in (INSTANTS[1], INSTANTS[-1]):
        assert answers(small, instant) == before(built, instant)
    assert answers(small, None) != before(built, None)


@pytest.mark.parametrize("name", ["due", "drift"])
def test_a_pdf_as_at_a_past_instant_is_the_same_bytes_after_later_records(small: Lab, name: str) -> None:
    """With the same pinned renderer. The drift report carries its control charts."""
    when = When(ASKED_AT, as_at=INSTANTS[-1])
    first = answer(small, name, {}, when, "pdf")
    for act in ("supersede a certificate", "fail a check", "replace the baseline", "describe the instrument anew"):
        ACTS[act](small, NOON)
    assert first[0].startswith(b"%PDF")
    assert answer(small, name, {}, when, "pdf") == first


@pytest.mark.parametrize("instant", INSTANTS)
def test_a_report_names_the_last_entry_that_counts_and_the_hash_of_that_entry(small: Lab, instant: datetime) -> None:
    """Not today's head: the hash must be one that the log holds for that very entry."""
    when = When(ASKED_AT, as_at=instant)
    sheet = REPORTS["due"][1](small, when)
    with small.engine.connect() as connection:
        entries = connection.exec_driver_sql("SELECT sequence, hash, recorded_at FROM log_entry").all()
    last, digest = max((n, digest) for n, digest, at in entries if datetime.fromisoformat(at) <= instant)
    head = about(small, when).head
    assert (sheet.log_sequence, sheet.log_hash) == (last, digest)
    assert sheet.log_sequence < head.sequence
    assert sheet.log_hash != head.hash
    assert datetime.fromisoformat(sheet.as_at) == instant


def test_a_past_instant_is_judged_on_its_own_civil_day_in_the_labs_zone(small: Lab) -> None:
    """23:30 UTC on 9 June is 00:30 on 10 June in Dublin (summer time, UTC+1): calibration due on 10 June is not overdue."""
    zone = ZoneInfo("Europe/Dublin")
    for instant, day, state in (
        (datetime(2031, 6, 11, 0, 30, tzinfo=zone), "2031-06-11", "overdue"),
        (datetime(2031, 6, 10, 23, 59, tzinfo=zone), "2031-06-10", "due soon"),
        (datetime(2031, 6, 10, 0, 30, tzinfo=zone), "2031-06-10", "due soon"),
    ):
        sheet = REPORTS["due"][1](small, When(ASKED_AT, as_at=instant))
        assert sheet.day == day
        assert [row[5] for row in sheet.rows if row[0] == "I-2"] == [state]
