"""People's qualifications and tests of vision: on record, corrected, and what they mean for a lot."""

from datetime import date

import pytest

from refstd.base.errors import AlreadyOnRecord, BadInput, NotAllowed, NotFound, Refusal
from refstd.base.reason import Weight
from refstd.desk import lots
from refstd.desk.checks import check_sheet, check_shown
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.job_people import job_people
from refstd.desk.jobs import lots as logged_lots
from refstd.desk.qualifications import (
    QualificationDraft,
    VisionDraft,
    correct_qualification,
    correct_vision,
    people_due,
    person_record,
    record_qualification,
    record_vision,
)
from refstd.desk.store import Lab, When
from refstd.reports import due_sheet, job_sheet
from tests import thin_thread as given
from tests.desk.test_procedures import asked
from tests.given import KEEPER, NOON

HELD = {
    "person": "TESS", "method": "ET", "level": "2", "scheme": "written practice, section 3", "certificate_no": "77-1",
    "authorised_on": "2029-04-01", "expires_on": "2034-03-31",
}  # fmt: skip
SEEN = {
    "person": "TESS", "kind": "near vision", "tested_on": "2030-06-01", "passed": "yes", "result": "smallest line at 40 cm",
    "expires_on": "2031-05-31", "practice": "written practice, 4.1",
}  # fmt: skip
ASKS = {
    "vision_asked": ({"kind": "near vision", "every_months": "12", "paragraph": "2.2"},),
    "qualification_asked": ({"method": "ET", "level": "2", "paragraph": "2.1"},),
}


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with a job under a procedure that names nothing of people, and one under a procedure that does."""
    given.whole(lab)
    given.procedure(lab, "PR-2", asked=asked(**ASKS))
    given.job(lab, "J-2", procedure="PR-2")
    return lab


def qualification(**changed: str) -> QualificationDraft:
    return draft(QualificationDraft, HELD | changed, "qualification")


def vision(**changed: str) -> VisionDraft:
    return draft(VisionDraft, SEEN | changed, "test of vision")


def qualified(lab: Lab, **changed: str) -> None:
    record_qualification(lab, qualification(), by=KEEPER, now=NOON)
    record_vision(lab, vision(**changed), by=KEEPER, now=NOON)


def log(lab: Lab, job: str, minutes: float, by: str = "TESS", examined_at: str = "") -> lots.LotLogged:
    fields = {"job": job, "start_check": "C-0001", "parts": "panel 4", "examined_at": examined_at}
    return lots.log_lot(lab, draft(lots.LotDraft, fields, "lot"), by=by, now=given.at(minutes))


def test_a_lapsed_test_keeps_the_check_and_refuses_the_lot_with_the_way_on(ready: Lab) -> None:
    """Planted: the rule left out where a lot is kept."""
    qualified(ready, tested_on="2030-03-01", expires_on="2031-02-28")
    check = given.check(ready, "start", job="J-2")
    assert check.outcome == "acceptable"
    [told] = [r for r in check.reasons if r.rule == "near vision"]
    assert told.weight is Weight.ADVISES
    assert told.says == "TESS's test of near vision counted to 2031-02-28: the check is kept, but no lot can be signed"
    assert check_shown(ready, check.number, given.when())[0].reasons == check.reasons
    with pytest.raises(NotAllowed, match="TESS's test of near vision counted to 2031-02-28") as refused:
        log(ready, "J-2", 10)
    assert "record the new test, or have another qualified person sign for the lot" in str(refused.value)
    assert logged_lots(ready, given.when()) == ()


def test_another_qualified_person_signs_and_so_does_the_same_one_once_the_new_test_is_recorded(ready: Lab) -> None:
    qualified(ready, tested_on="2030-03-01", expires_on="2031-02-28")
    record_qualification(ready, qualification(person="TOM", certificate_no="77-2"), by=KEEPER, now=NOON)
    record_vision(ready, vision(person="TOM"), by=KEEPER, now=NOON)
    given.check(ready, "start", job="J-2")
    assert log(ready, "J-2", 10, by="TOM").number == "L-0001"
    record_vision(ready, vision(tested_on="2031-03-14", expires_on="2032-03-13"), by=KEEPER, now=given.at(20))
    fields = {"job": "J-2", "start_check": "C-0001", "parts": "panel 4, zone rim"}
    assert lots.log_lot(ready, draft(lots.LotDraft, fields, "lot"), by="TESS", now=given.at(30)).number == "L-0002"


def test_the_day_of_the_work_counts_and_not_the_day_of_the_entry(ready: Lab) -> None:
    """Worked on the 14th, the last day of the test; written down on the 15th. Planted: judged on the day of the entry."""
    qualified(ready, expires_on="2031-03-14")
    given.check(ready, "start", job="J-2")
    next_day = 24 * 60
    with pytest.raises(NotAllowed, match="2031-03-15"):
        log(ready, "J-2", next_day)
    assert log(ready, "J-2", next_day, examined_at="2031-03-14T14:00").number == "L-0001"


def test_who_records_nothing_is_told_and_not_stopped_unless_the_procedure_asks(ready: Lab) -> None:
    check = given.check(ready, "start")
    assert [r for r in check.reasons if r.rule in ("qualification", "near vision")] == []
    [told] = log(ready, "J-1", 10).advice
    assert "not recorded" in told.says
    [before] = check_sheet(ready, "S-0001", "interim", given.when(20), job="J-1", by="TESS").signer
    assert before == told
    assert [r.rule for r in check_sheet(ready, "S-0001", "start", given.when(20), job="J-2", by="TESS").signer] == [
        "qualification", "near vision",
    ]  # fmt: skip


def test_a_correction_takes_the_earlier_records_place_and_the_past_stays_as_it_was_known(ready: Lab) -> None:
    """Planted: corrected records counted too."""
    qualified(ready)
    given.check(ready, "start", job="J-2")
    number = correct_qualification(
        ready, "Q-0001", qualification(expires_on="2031-03-01"), "authorisation withdrawn", by=KEEPER, now=given.at(5)
    )
    assert number == "Q-0002"
    with pytest.raises(NotAllowed, match="expired on 2031-03-01"):
        log(ready, "J-2", 10)
    newest, first = person_record(ready, "TESS", given.when()).qualifications
    assert (newest.number, newest.corrects, newest.why) == ("Q-0002", "Q-0001", "authorisation withdrawn")
    assert (first.superseded_by, first.expires_on) == ("Q-0002", date(2034, 3, 31))
    then = person_record(ready, "TESS", When(given.at(600), as_at=given.at(2)))
    assert [(q.number, q.superseded_by) for q in then.qualifications] == [("Q-0001", "")]


def test_a_correction_needs_a_reason_the_same_person_and_an_uncorrected_record(ready: Lab) -> None:
    qualified(ready)
    with pytest.raises(Refusal, match="needs a reason"):
        correct_vision(ready, "V-0001", vision(), " ", by=KEEPER, now=NOON)
    with pytest.raises(Refusal, match="is TESS's, not TOM's"):
        correct_vision(ready, "V-0001", vision(person="TOM"), "slip", by=KEEPER, now=NOON)
    correct_vision(ready, "V-0001", vision(result="read from the paper"), "slip", by=KEEPER, now=NOON)
    with pytest.raises(Refusal, match="corrected already by V-0002"):
        correct_vision(ready, "V-0001", vision(), "slip", by=KEEPER, now=NOON)
    with pytest.raises(NotFound, match="V-0009"):
        correct_vision(ready, "V-0009", vision(), "slip", by=KEEPER, now=NOON)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"tested_on": "2031-03-15", "expires_on": "2032-03-14"}, "in the future"),
        ({"expires_on": ""}, "expires_on: is missing"),
        ({"passed": "no"}, "counts to no day"),
        ({"expires_on": "2030-05-31"}, "before the test"),
    ],
)
def test_a_test_of_vision_that_says_two_things_is_refused(ready: Lab, changed: dict[str, str], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        record_vision(ready, vision(**changed), by=KEEPER, now=NOON)


def test_what_ends_before_it_begins_stands_already_or_is_not_ones_to_record_is_refused(ready: Lab) -> None:
    with pytest.raises(BadInput, match="before the authorisation"):
        record_qualification(ready, qualification(expires_on="2029-03-31"), by=KEEPER, now=NOON)
    qualified(ready)
    with pytest.raises(AlreadyOnRecord, match="the same in every field"):
        record_qualification(ready, qualification(), by=KEEPER, now=NOON)
    with pytest.raises(NotAllowed):
        record_vision(ready, vision(tested_on="2031-01-01", expires_on="2031-12-31"), by="TESS", now=NOON)


def test_what_people_owe_comes_most_urgent_first(ready: Lab) -> None:
    qualified(ready, expires_on="2031-04-01")
    owed = [(r.person, r.owed.what, r.owed.state, r.days) for r in people_due(ready, given.when(), within_days=30)]
    assert owed[-1] == ("TESS", "test of near vision", "due soon", 18)
    assert owed[:2] == [
        ("LENA", "qualification ET level 2 at least", "never done", None), ("LENA", "test of near vision", "never done", None),
    ]  # fmt: skip
    assert [r for r in people_due(ready, given.when()) if r.person == "AUDE"] == []


def test_a_job_names_who_worked_on_it_with_the_days_on_which_they_could_not_sign(ready: Lab) -> None:
    """Judged on the day of the work: TESS would stand as unqualified on the 14th, when her test still counted."""
    qualified(ready, expires_on="2031-03-14")
    given.check(ready, "start", job="J-2")
    given.check(ready, "interim", minutes=24 * 60, job="J-2")
    [tess] = job_people(ready, "J-2", given.when(3000))
    assert [(day, r.rule) for day, r in tess.against] == [("2031-03-15", "near vision")]
    sheet = job_sheet(ready, given.when(3000), "J-2")
    [row] = [r for r in sheet.rows if r[0] == "person TESS"]
    assert row[1].startswith("2031-03-15: TESS's test of near vision counted to 2031-03-14")
    assert sheet.extra["people"][0]["person"] == "TESS"  # type: ignore[index]


def test_the_due_list_has_people_below_the_items(ready: Lab) -> None:
    qualified(ready, expires_on="2031-03-13")
    sheet = due_sheet(ready, given.when(), 30)
    keys = [c.key for c in sheet.columns]
    rows = [dict(zip(keys, r, strict=True)) for r in sheet.rows if r[2] == "person"]
    assert sheet.rows[-len(rows) :] == tuple(tuple(r.values()) for r in rows)
    [seen] = [r for r in rows if r["asset_no"] == "TESS"]
    assert (seen["activity"], seen["state"], seen["days"]) == ("test of near vision", "overdue", "-1")
    assert seen["source"] == "written practice, 4.1"
    assert seen["verdict"] == "can't sign for lots that ask for it"
