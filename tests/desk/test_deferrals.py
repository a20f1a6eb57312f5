"""Deferring a due date: who may, when, to when; what ends it; and where it is shown."""

from datetime import date, datetime, timedelta

import pytest

from refstd.base.errors import NotAllowed, NotFound, Refusal
from refstd.desk import certificates, deferrals, history, people
from refstd.desk.deferrals import DeferralDraft, DeferralShown
from refstd.desk.duties import DueRow, due_list
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.kits import match_these
from refstd.desk.store import Lab, When
from tests import thin_thread as given
from tests.given import KEEPER, NOON
from tests.reports import small_lab

DUE = date(2032, 1, 10)  # of I-1, calibrated on 10 January 2031
BEFORE = datetime(2032, 1, 10, 20, tzinfo=NOON.tzinfo)  # the last evening of validity


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with one instrument due, and two persons with the authority 'quality'."""
    given.whole(lab)
    for code, role in (("QUINN", "auditor"), (KEEPER, "custodian")):
        if code != KEEPER:
            person = {"code": code, "name": f"Person {code}", "role": role}
            people.enter_person(lab, draft(people.PersonDraft, person, code), by=KEEPER, now=NOON)
        grant = {"person": code, "authority": "quality", "granted_on": "2031-01-01", "why": "appointed"}
        people.grant(lab, draft(people.GrantDraft, grant, "grant"), by=KEEPER, now=NOON)
    return lab


def defer(lab: Lab, by: str = "QUINN", now: datetime = NOON, **values: str) -> DeferralShown:
    fields = {"asset_no": "I-1", "until": "2032-02-10", "why": "no place at the laboratory"} | values
    return deferrals.defer(lab, draft(DeferralDraft, fields, "deferral"), by=by, now=now)


def row(lab: Lab, today: date, now: datetime = BEFORE) -> DueRow:
    return next(r for r in due_list(lab, When(now, today=today)) if r.asset_no == "I-1")


def test_a_deferred_date_stands_to_its_end_and_is_overdue_as_ever_after_it(ready: Lab) -> None:
    assert defer(ready, now=BEFORE).due_on == DUE
    shown = row(ready, date(2032, 1, 11))
    assert (shown.state, shown.due_on, shown.deferred_to) == ("due soon", DUE, date(2032, 2, 10))
    assert shown.deferral == "QUINN: no place at the laboratory"
    assert shown.verdict.headline() == "serviceable"
    assert [r.rule for r in shown.verdict.reasons] == ["deferral", "due"]
    assert row(ready, date(2032, 2, 10)).state == "due soon"
    after = row(ready, date(2032, 2, 11))
    assert (after.state, after.deferred_to, after.days) == ("overdue", None, -32)
    (event,) = (e for e in history.item_record(ready, "I-1", When(BEFORE)).events if e.kind == "deferral")
    assert event.says == "calibration due 2032-01-10 deferred to 2032-02-10 by QUINN: no place at the laboratory"


def test_a_job_beyond_the_end_of_a_deferral_is_not_served(ready: Lab) -> None:
    defer(ready)
    for number, ends_on, fits in (("J-8", "2032-02-10", True), ("J-9", "2032-02-11", False)):
        given.job(ready, number, starts_on="2032-01-20", ends_on=ends_on)
        (found,) = match_these(ready, number, ["I-1"], When(BEFORE, today=date(2032, 1, 25)))
        assert found.fits is fits
    (late,) = (r for r in found.reasons if r.rule == "due during the job")
    assert late.figure == "due 2032-02-10, deferred from 2032-01-10"


@pytest.mark.parametrize(
    ("by", "values", "now", "refused", "says"),
    [
        ("LENA", {}, NOON, NotAllowed, "someone with the authority 'quality'"),
        ("TESS", {}, NOON, NotAllowed, "someone with the authority 'quality'"),
        (KEEPER, {}, NOON, NotAllowed, "whose schedule KEEPER set"),
        ("QUINN", {}, BEFORE + timedelta(hours=5), Refusal, "was due on 2032-01-10"),
        ("QUINN", {"until": "2032-01-10"}, NOON, Refusal, "due on 2032-01-10 anyhow"),
        ("QUINN", {"activity": "verification"}, NOON, NotFound, "owes no verification"),
        ("QUINN", {"asset_no": "P-1"}, NOON, NotFound, "owes no calibration"),
    ],
)
def test_a_deferral_is_refused_to_anybody_but_quality_and_once_the_date_has_passed(
    ready: Lab, by: str, values: dict[str, str], now: datetime, refused: type[Refusal], says: str
) -> None:
    """Planted: 'today' compared with the end of an earlier deferral; it was prolonged after the date had passed."""
    with pytest.raises(refused, match=says):
        defer(ready, by, now, **values)
    assert row(ready, DUE).deferred_to is None


def test_what_was_never_done_or_has_no_date_cannot_be_deferred(ready: Lab) -> None:
    small_lab.schedule(ready, "P-1", activity="inspection", every_months="12")
    with pytest.raises(Refusal, match="was never done"):
        defer(ready, asset_no="P-1", activity="inspection")
    small_lab.schedule(ready, "B-1", why="depth is certified once")
    with pytest.raises(Refusal, match="has no due date"):
        defer(ready, asset_no="B-1")


def test_a_second_deferral_before_the_date_takes_the_place_of_the_first_and_neither_is_prolonged_after_it(
    ready: Lab,
) -> None:
    defer(ready)
    defer(ready, until="2032-03-01", now=BEFORE)
    assert row(ready, date(2032, 2, 20)).deferred_to == date(2032, 3, 1)
    with pytest.raises(Refusal, match="was due on"):
        defer(ready, until="2032-06-01", now=BEFORE + timedelta(days=5))


def test_a_deferral_is_withdrawn_by_quality_with_a_reason(ready: Lab) -> None:
    defer(ready)
    with pytest.raises(NotAllowed):
        deferrals.withdraw_deferral(ready, "I-1", "calibration", "x", by="TESS", now=given.at(1))
    with pytest.raises(Refusal, match="reason"):
        deferrals.withdraw_deferral(ready, "I-1", "calibration", " ", by="QUINN", now=given.at(1))
    deferrals.withdraw_deferral(ready, "I-1", "calibration", "a place is free", by="QUINN", now=given.at(1))
    assert row(ready, date(2032, 1, 11)).state == "overdue"
    assert row(ready, date(2032, 1, 11), now=NOON).state == "overdue"
    with pytest.raises(NotFound):
        deferrals.withdraw_deferral(ready, "I-1", "calibration", "x", by="QUINN", now=given.at(2))


def test_a_deferral_that_has_ended_is_not_withdrawn(ready: Lab) -> None:
    """Planted: it was withdrawn, and the answer said that the old date, long met by new evidence, was due again."""
    defer(ready)
    with pytest.raises(Refusal, match="counts no longer: ended on 2032-02-10"):
        deferrals.withdraw_deferral(
            ready, "I-1", "calibration", "x", by="QUINN", now=datetime(2032, 2, 12, 12, tzinfo=NOON.tzinfo)
        )
    paper = {"asset_no": "I-1", "number": "K-2", "laboratory": "a laboratory", "performed_on": "2031-02-01"}
    certificates.file_certificate(ready, draft(certificates.CertificateDraft, paper, "K-2"), by=KEEPER, now=NOON)
    with pytest.raises(Refusal, match="counts no longer: ended by new evidence"):
        deferrals.withdraw_deferral(ready, "I-1", "calibration", "x", by="QUINN", now=given.at(1))


@pytest.mark.parametrize("result", ["sound", "not sound"])
def test_new_evidence_ends_a_deferral_whatever_it_says_and_even_if_it_is_withdrawn(ready: Lab, result: str) -> None:
    """Planted: only the due date compared; the deferral was back when the new paper was withdrawn."""
    defer(ready)
    paper = {
        "asset_no": "I-1",
        "number": "K-2",
        "laboratory": "a laboratory",
        "performed_on": "2031-02-01",
        "result": result,
    }
    certificates.file_certificate(ready, draft(certificates.CertificateDraft, paper, "K-2"), by=KEEPER, now=NOON)
    assert row(ready, date(2032, 1, 5), now=given.at(1)).deferred_to is None
    certificates.withdraw_certificate(ready, "I-1", "K-2", "not ours", by=KEEPER, now=given.at(2))
    shown = row(ready, date(2032, 1, 11))
    assert (shown.state, shown.due_on, shown.deferred_to) == ("overdue", DUE, None)


def test_a_shorter_interval_ends_a_deferral_and_as_at_shows_what_was_known(ready: Lab) -> None:
    defer(ready)
    small_lab.schedule(ready, "I-1", now=given.at(10), every_months="6", why="found out twice")
    shown = row(ready, date(2031, 7, 20))
    assert (shown.state, shown.deferred_to) == ("overdue", None)
    then = next(r for r in due_list(ready, When(given.at(60), as_at=given.at(5))) if r.asset_no == "I-1")
    assert then.deferred_to == date(2032, 2, 10)
