"""Calibration recall on a real store: what goes where and when, what is left out, the load, and what is left without."""

import calendar
from datetime import date

import pytest

from refstd.desk import certificates, custody, deferrals, equipment, people
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.recall import Recall, Recalled, recall
from refstd.desk.store import Lab, When
from tests import thin_thread as given
from tests.given import KEEPER, NOON
from tests.reports import small_lab

DUE = date(2032, 1, 10)  # of what was calibrated on 10 January 2031, for twelve months


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """B-1 and I-1 of job J-1, due in January 2032 at 'a laboratory'."""
    given.whole(lab)
    return lab


def asked(lab: Lab, today: str = "2031-12-01", months: int = 3) -> Recall:
    return recall(lab, When(given.at(600), today=date.fromisoformat(today)), months)


def sent(lab: Lab, asset_no: str, today: str = "2031-12-01") -> Recalled:
    (found,) = (r for r in asked(lab, today).sent if r.due.asset_no == asset_no)
    return found


def inspected_here(lab: Lab, asset_no: str, laboratory: str) -> None:
    paper = {"asset_no": asset_no, "activity": "inspection", "number": f"R-{asset_no}", "laboratory": laboratory}
    paper |= {"performed_on": "2031-01-10", "result": "sound"}
    small_lab.schedule(lab, asset_no, activity="inspection", every_months="12")
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, paper, asset_no), by=KEEPER, now=NOON)


@pytest.mark.parametrize(
    ("today", "months"),
    [("2031-12-01", 0), ("2031-11-30", 3), ("2031-12-31", 2), ("2031-03-31", 59), ("2031-10-15", 60)],
)
def test_it_looks_to_the_end_of_the_last_month(ready: Lab, today: str, months: int) -> None:
    """The length of months by the standard library's calendar (ISO 8601-1:2019, 4.2.1: the Gregorian calendar)."""
    found = asked(ready, today, months)
    year, month = divmod(int(today[:4]) * 12 + int(today[5:7]) - 1 + months, 12)
    assert found.through == date(year, month + 1, calendar.monthrange(year, month + 1)[1])
    assert [m.month for m in found.load[1:]][-1] == found.through.isoformat()[:7]
    assert len(found.load) == months + 2  # 'at once', this month and the months after it


def test_what_goes_is_grouped_by_laboratory_the_soonest_first(ready: Lab) -> None:
    """The laboratory of the schedule counts before that of the last certificate."""
    for number, done in (("B-2", "2031-02-20"), ("B-3", "2031-01-20"), ("B-4", "2030-03-10")):
        given.block(ready, number)
        given.certified(ready, number, done)
    small_lab.schedule(ready, "B-3", every_months="12", done_by="Depth laboratory", why="nearer")
    given.block(ready, "B-5")
    small_lab.schedule(ready, "B-5", every_months="12")
    found = asked(ready)
    assert [(r.laboratory, r.month, r.due.asset_no) for r in found.sent] == [
        ("a laboratory", "at once", "B-4"),
        ("a laboratory", "2032-01", "B-1"),
        ("a laboratory", "2032-01", "I-1"),
        ("a laboratory", "2032-02", "B-2"),
        ("Depth laboratory", "2032-01", "B-3"),
        ("laboratory not on record", "at once", "B-5"),
    ]
    assert [(m.month, m.items, m.by_laboratory) for m in found.load if m.items] == [
        ("at once", 2, (("a laboratory", 1), ("laboratory not on record", 1))),
        ("2032-01", 3, (("a laboratory", 2), ("Depth laboratory", 1))),
        ("2032-02", 1, (("a laboratory", 1),)),
    ]
    assert [r.due.asset_no for r in asked(ready, months=1).sent] == ["B-4", "B-1", "I-1", "B-3", "B-5"]


@pytest.mark.parametrize("laboratory", ["this lab", "This lab, workshop", "Surface inspection lab"])
def test_what_the_lab_does_itself_is_counted_and_not_sent(ready: Lab, laboratory: str) -> None:
    inspected_here(ready, "P-1", laboratory)
    found = asked(ready)
    assert "P-1" not in [r.due.asset_no for r in found.sent]
    assert {m.month: m.here for m in found.load}["2032-01"] == 1


def test_a_customers_item_that_awaits_its_receipt_inspection_is_inspected_here(ready: Lab) -> None:
    """Planted: whatever is not ours to recalibrate was sent to its owner, the inspection of its receipt too."""
    given.block(ready, "B-9", owner="A customer", ours_to_recalibrate="no", return_on="2032-12-01")
    equipment.set_state(ready, "B-9", "awaiting receipt", "came in", by=KEEPER, now=given.at(1))
    found = asked(ready)
    assert "B-9" not in [r.due.asset_no for r in found.sent]
    assert {m.month: m.here for m in found.load}["at once"] == 1


def test_what_is_away_or_stored_is_left_out_and_said_so(ready: Lab) -> None:
    """Planted: an item at the laboratory that owes nothing more was not told; the custodian looked for it."""
    given.block(ready, "B-2")
    given.certified(ready, "B-2")
    given.block(ready, "B-3")
    for number, state in (("B-1", "away at laboratory"), ("B-2", "stored"), ("B-3", "away at laboratory")):
        equipment.set_state(ready, number, state, "as it is", by=KEEPER, now=given.at(1))
    found = asked(ready)
    assert found.left_out == (("B-1", "away at laboratory"), ("B-2", "stored"), ("B-3", "away at laboratory"))
    assert [r.due.asset_no for r in found.sent] == ["I-1"]
    equipment.set_state(ready, "B-2", "calibrate before use", "wanted for a job", by=KEEPER, now=given.at(2))
    assert sent(ready, "B-2").month == "at once"


def test_a_deferred_item_goes_by_the_end_of_its_deferral(ready: Lab) -> None:
    person = {"code": "QUINN", "name": "Person QUINN", "role": "auditor"}
    people.enter_person(ready, draft(people.PersonDraft, person, "QUINN"), by=KEEPER, now=NOON)
    grant = {"person": "QUINN", "authority": "quality", "granted_on": "2031-01-01", "why": "appointed"}
    people.grant(ready, draft(people.GrantDraft, grant, "grant"), by=KEEPER, now=NOON)
    fields = {"asset_no": "I-1", "until": "2032-02-10", "why": "no place before"}
    deferrals.defer(ready, draft(deferrals.DeferralDraft, fields, "I-1"), by="QUINN", now=given.at(1))
    assert (sent(ready, "I-1").month, sent(ready, "I-1").valid_until) == ("2032-02", date(2032, 2, 10))


def test_the_last_block_of_an_open_job_and_of_its_material_is_named(ready: Lab) -> None:
    """The job is past its last day and still open: nobody knows for how long.

    Planted: its last day taken as its end all the same; a job that overran missed nothing.
    """
    says = [w.says for w in sent(ready, "B-1").warnings]
    assert says == [
        "B-1 is the only block for job J-1 (AL plate, 2031-03-14 to 2031-03-20, still open) that may be relied on",
        "B-1 is the only block for material AL that may be relied on",
    ]
    assert [w.says for w in sent(ready, "I-1").warnings] == [
        "I-1 is the only instrument for job J-1 (AL plate, 2031-03-14 to 2031-03-20, still open) that may be relied on"
    ]
    given.block(ready, "B-2", form="edge")
    given.certified(ready, "B-2", "2031-03-10")
    assert [w.says[:30] for w in sent(ready, "B-1").warnings] == ["B-1 is the only block for job "]
    given.block(ready, "B-3")
    given.certified(ready, "B-3", "2031-01-30")
    (both,) = sent(ready, "B-1").warnings
    assert both.says.startswith("B-1 and B-3 are the only blocks for job J-1")
    assert sent(ready, "B-3").warnings[0].cure == "send one when the other is back"
    given.block(ready, "B-4")
    given.certified(ready, "B-4", "2031-03-10")
    assert sent(ready, "B-1").warnings == ()


def test_what_is_out_says_where_and_what_is_at_work_is_not_to_go_yet(ready: Lab) -> None:
    custody.check_out(ready, "J-1", ["B-1", "P-1", "I-1"], by="TESS", now=NOON)
    given.check(ready, "start", minutes=5)
    found = sent(ready, "B-1", "2032-01-02")
    assert found.where == "out to TESS for job J-1, due back 2031-03-20"
    assert found.warnings[-1].says.startswith("B-1 is at work on job J-1 since start check C-0001")
    assert all("at work" not in w.says for w in sent(ready, "B-1", "2031-12-01").warnings)  # it goes next month
