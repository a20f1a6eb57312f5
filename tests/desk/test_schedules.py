"""Due dates through the desk's schedules: from last done, by a fixed calendar, from first use."""

from datetime import date, datetime, timedelta

import pytest

from refstd.desk import certificates, custody
from refstd.desk.duties import DueRow, due_list
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When
from tests import thin_thread as given
from tests.given import KEEPER, NOON
from tests.published import calendar_arithmetic
from tests.reports import small_lab


def due(lab: Lab, asset_no: str, now: datetime = NOON, today: date | None = None) -> DueRow:
    (row,) = (r for r in due_list(lab, When(now, today=today)) if r.asset_no == asset_no)
    return row


def certified(lab: Lab, asset_no: str, performed_on: str, number: str = "K-1") -> None:
    small_lab.certificate(lab, asset_no, number, NOON, performed_on=performed_on, issued_on="", result="sound")


@pytest.fixture
def with_block(lab: Lab) -> Lab:
    given.people_and_material(lab)
    given.block(lab)
    return lab


@pytest.mark.parametrize(
    ("performed_on", "months", "due_on"),
    [x for x in calendar_arithmetic.DOCUMENTED + calendar_arithmetic.OWN if x[1] > 0],
)
def test_a_calibration_is_due_its_months_after_it_was_done(
    with_block: Lab, performed_on: str, months: int, due_on: str
) -> None:
    """The end of a month right: a date library's documented examples (READ) and constructed ones."""
    small_lab.schedule(with_block, "B-1", every_months=str(months))
    certified(with_block, "B-1", performed_on)
    assert due(with_block, "B-1").due_on == date.fromisoformat(due_on)


@pytest.mark.parametrize(("anchor", "first", "second", "again", "right"), calendar_arithmetic.ADDED_AGAIN)
def test_a_fixed_calendar_counts_from_its_own_day_not_from_the_last_date(
    with_block: Lab, anchor: str, first: int, second: int, again: str, right: str
) -> None:
    """31 January + 2 months is 31 March; adding a month twice gives 28 March (CONSTRUCTED trap).

    Planted: the next date counted from the last due date; the first row gave 28 March.
    """
    step = min(first, second)
    small_lab.schedule(with_block, "B-1", every_months=str(step), anchor="fixed calendar", counted_from=anchor)
    before = date.fromisoformat(right) - timedelta(days=1)
    certified(with_block, "B-1", before.isoformat())
    assert due(with_block, "B-1").due_on == date.fromisoformat(right)
    assert again != right


def test_a_fixed_calendar_is_not_moved_by_a_calibration_done_late(with_block: Lab) -> None:
    small_lab.schedule(with_block, "B-1", every_months="12", anchor="fixed calendar", counted_from="2029-01-01")
    certified(with_block, "B-1", "2030-03-20")  # due since 1 January, done late
    assert due(with_block, "B-1").due_on == date(2031, 1, 1)


def test_from_first_use_an_item_on_the_shelf_does_not_age(lab: Lab) -> None:
    """Done and not used since: not due. From the day it first goes out, the interval runs."""
    given.whole(lab)
    small_lab.schedule(lab, "P-1", activity="inspection", every_days="90", anchor="first use")
    row = due(lab, "P-1")
    assert (row.state, row.due_on) == ("never done", None)
    inspected(lab, "P-1", "2030-01-01")
    row = due(lab, "P-1", NOON + timedelta(days=1000))
    assert (row.state, row.due_on) == ("not due", None)
    custody.check_out(lab, "J-1", ["P-1"], by="TESS", now=NOON)
    row = due(lab, "P-1")
    assert (row.state, row.due_on) == ("not due", NOON.date() + timedelta(days=90))
    assert row.every == "90 days, counted from first use"


def inspected(lab: Lab, asset_no: str, performed_on: str, result: str = "sound") -> None:
    fields = {
        "asset_no": asset_no,
        "activity": "inspection",
        "number": f"R-{performed_on}-{result[:3]}",
        "laboratory": "this lab",
    }
    fields |= {"performed_on": performed_on, "result": result}
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, fields, "paper"), by=KEEPER, now=NOON)


def test_an_inspection_that_found_the_item_not_sound_does_not_fulfil_the_duty(lab: Lab) -> None:
    given.whole(lab)
    small_lab.schedule(lab, "P-1", activity="inspection", every_months="6")
    inspected(lab, "P-1", "2031-02-01")
    inspected(lab, "P-1", "2031-03-01", "not sound")
    assert due(lab, "P-1").last_done_on == date(2031, 2, 1)


@pytest.mark.parametrize(
    ("today", "state", "days"),
    [
        ("2032-01-09", "due soon", 1),
        ("2032-01-10", "due soon", 0),
        ("2032-01-11", "overdue", -1),
        ("2031-06-01", "not due", 223),
    ],
)
def test_a_due_date_stands_as_the_day_asked_for(lab: Lab, today: str, state: str, days: int) -> None:
    given.whole(lab)  # I-1 was calibrated on 10 January 2031, for a year
    row = due(lab, "I-1", today=date.fromisoformat(today))
    assert (row.state, row.days) == (state, days)


def test_a_paper_that_is_withdrawn_or_superseded_fulfils_nothing(lab: Lab) -> None:
    given.whole(lab)
    certificates.withdraw_certificate(lab, "I-1", "K-I-1", "recalled", by=KEEPER, now=NOON)
    assert due(lab, "I-1").state == "never done"
    small_lab.certificate(
        lab, "B-1", "K-2", NOON, supersedes="K-B-1", why="day misread", performed_on="2030-02-28", issued_on=""
    )
    assert due(lab, "B-1").due_on == date(2031, 2, 28)
