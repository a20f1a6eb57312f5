"""Reservations on a real store: what is told weeks ahead, to whom, and what of it stands in reports and files."""

from datetime import date

import pytest

from refstd.base.errors import BadInput, NotAllowed, Refusal
from refstd.desk import custody, equipment, lots
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.homes import custodian_home
from refstd.desk.reservations import ReservationDraft, advice_on, cancel, reservations, reserve, shortages_ahead
from refstd.desk.store import Lab, When
from refstd.exchange.export import export_register
from refstd.register.integrity import verify_lab
from refstd.reports import job_sheet, match_sheet, reservations_sheet, shortages_sheet
from tests import thin_thread as given
from tests.given import KEEPER

KIT = ["B-1", "P-1", "I-1"]


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """One block, one probe, one instrument; job J-1 to 20 March, J-2 a week and J-3 two weeks later."""
    given.whole(lab)
    given.job(lab, "J-2", starts_on="2031-03-24", ends_on="2031-03-28")
    given.job(lab, "J-3", starts_on="2031-03-27", ends_on="2031-04-04")
    return lab


def reserved(lab: Lab, job: str, minutes: float = 1, by: str = "TESS", **values: str) -> tuple[str, list[str]]:
    number, short = reserve(lab, draft(ReservationDraft, {"job": job} | values, "x"), by=by, now=given.at(minutes))
    return number, [s.in_words() for s in short]


def test_two_jobs_that_need_the_only_block_are_told_when_the_second_reserves(ready: Lab) -> None:
    assert reserved(ready, "J-2", item="B-1") == ("R-0001", [])
    number, short = reserved(ready, "J-3", kind="block")
    assert short == [
        "in the week of 24 March 2031 two jobs need the only plate block of AL, B-1 (J-2, J-3; 2031-03-27 to 2031-03-28)"
    ]
    given.block(ready, "B-2")
    given.certified(ready, "B-2")
    assert shortages_ahead(ready, given.when()) == ()  # another block suits J-3
    equipment.set_state(ready, "B-2", "quarantined", "dropped", by=KEEPER, now=given.at(5))
    [again] = shortages_ahead(ready, given.when())
    assert {n.ref for n in again.needs} == {"R-0001", number}


def test_a_calibration_that_falls_due_in_the_reserved_days_is_told(ready: Lab) -> None:
    given.job(ready, "J-9", starts_on="2032-01-05", ends_on="2032-01-16")
    assert reserved(ready, "J-9", item="I-1")[1] == [
        "in the week of 5 January 2032 one job needs an instrument and there is none (J-9; 2032-01-11 to 2032-01-16); "
        "not I-1: calibration due 2032-01-10"
    ]


def test_what_is_out_is_reckoned_with_until_its_return(ready: Lab) -> None:
    """What another job has out is taken until it is due back, and to today where it is late."""
    custody.check_out(ready, "J-1", KIT, due_back_on=date(2031, 3, 25), by="TESS", now=given.at(1))
    assert reserved(ready, "J-2", item="P-1", minutes=2)[1] == [
        "in the week of 24 March 2031 two jobs need the only probe, P-1 (J-1, J-2; 2031-03-24 to 2031-03-25)"
    ]
    late = When(given.at(3), today=date(2031, 3, 26))
    assert [(s.starts_on, s.ends_on) for s in shortages_ahead(ready, late)] == [(date(2031, 3, 26), date(2031, 3, 26))]


def test_what_a_job_took_out_meets_its_own_reservation(ready: Lab) -> None:
    reserved(ready, "J-1", kind="block")
    custody.check_out(ready, "J-1", KIT, by="TESS", now=given.at(2))
    assert shortages_ahead(ready, given.when()) == ()


def test_taking_what_another_job_reserved_is_advised_against_and_goes_on(ready: Lab) -> None:
    reserved(ready, "J-1", item="P-1", starts_on="2031-03-18")
    reserved(ready, "J-1", kind="block")
    says = [r.says for r in advice_on(ready, "J-2", KIT, given.when(2)) if r.rule == "reserved"]
    assert says[0] == "P-1 is reserved for job J-1"
    assert says[1].startswith(
        "taking B-1 leaves a job without: in the week of 10 March 2031 two jobs need the only plate block"
    )
    assert "P-1 is reserved for job J-1" in " ".join(
        w for row in match_sheet(ready, given.when(2), "J-2").rows for w in row
    )
    assert [r for r in advice_on(ready, "J-1", ["P-1"], given.when(2)) if r.rule == "reserved"] == []
    custody.check_out(ready, "J-2", KIT, by="TESS", now=given.at(3))


def test_a_cancelled_one_stays_on_record_and_counts_no_longer(ready: Lab) -> None:
    number, _ = reserved(ready, "J-2", item="B-1")
    with pytest.raises(Refusal, match="needs a reason"):
        cancel(ready, number, " ", by="TOM", now=given.at(2))
    cancel(ready, number, "job put off", by="TOM", now=given.at(2))
    with pytest.raises(Refusal, match="cancelled already"):
        cancel(ready, number, "again", by="TOM", now=given.at(3))
    assert [r.cancelled for r in reservations(ready, given.when())] == ["TOM: job put off"]
    assert reserved(ready, "J-3", item="B-1")[1] == []
    assert not any(r[0] == number for r in shortages_sheet(ready, given.when()).rows)


def test_one_of_a_closed_job_counts_no_longer(ready: Lab) -> None:
    reserved(ready, "J-2", item="B-1")
    lots.close_job(ready, "J-2", "done", by="TESS", now=given.at(2))
    assert reserved(ready, "J-3", minutes=3, item="B-1")[1] == []


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({}, "nothing is named to reserve"),
        ({"item": "P-1", "kind": "block"}, "P-1 is a probe, not a block"),
        ({"item": "P-1", "starts_on": "2031-03-28", "ends_on": "2031-03-27"}, "lies before the first"),
        ({"item": "P-1", "starts_on": "2031-03-01", "ends_on": "2031-03-13"}, "has passed"),
    ],
)
def test_what_makes_no_sense_is_refused(ready: Lab, values: dict[str, str], says: str) -> None:
    with pytest.raises((Refusal, BadInput), match=says):
        reserved(ready, "J-2", 1, "TESS", **values)
    with pytest.raises(NotAllowed):
        reserved(ready, "J-2", by="AUDE", item="P-1")
    reserved(ready, "J-2", item="P-1")
    with pytest.raises(Refusal, match="reserved for this job already"):
        reserved(ready, "J-2", item="P-1")


def test_it_stands_on_the_home_in_the_reports_and_in_the_export(ready: Lab) -> None:
    reserved(ready, "J-2", item="B-1", note="drawing 7")
    number, _ = reserved(ready, "J-3", kind="block")
    assert [s.needs[0].job for s in custodian_home(ready, given.when()).short] == ["J-2"]
    assert len(shortages_sheet(ready, given.when()).rows) == 1
    assert [r[0] for r in reservations_sheet(ready, given.when()).rows] == ["R-0001", number]
    assert "block B-1, 2031-03-24 to 2031-03-28 (drawing 7)" in [
        r[1] for r in job_sheet(ready, given.when(), "J-2").rows
    ]
    files = export_register(ready, given.when())
    assert files["reservations.csv"].decode().splitlines()[1:] == [
        "J-2,,B-1,2031-03-24,2031-03-28,drawing 7", "J-3,block,,2031-03-27,2031-04-04,",
    ]  # fmt: skip
    cancel(ready, number, "put off", by="TOM", now=given.at(9))
    assert "TOM: put off" in export_register(ready, given.when())["past_reservations.csv"].decode()
    assert verify_lab(ready, deep=True).whole
