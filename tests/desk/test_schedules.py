"""Due dates through the desk's schedules: from last done, by a fixed calendar, from first use, by use, once."""

from datetime import date, datetime, timedelta

import pytest

from refstd.base.errors import BadInput, NotAllowed, Refusal
from refstd.desk import certificates, checks, custody, equipment, people, schedules
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
    before = date.fromisoformat(right) - timedelta(days=10 if step == 1 else 100)  # not yet in the last quarter
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


def inspected(lab: Lab, asset_no: str, performed_on: str, result: str = "sound", now: datetime = NOON) -> None:
    fields = {
        "asset_no": asset_no,
        "activity": "inspection",
        "number": f"R-{performed_on}-{result[:3]}",
        "laboratory": "this lab",
    }
    fields |= {"performed_on": performed_on, "result": result}
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, fields, "paper"), by=KEEPER, now=now)


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


def test_owed_once_is_done_once(with_block: Lab) -> None:
    """Facts of the trade: 'depth certified once' is a schedule of its own, common practice, no source."""
    small_lab.schedule(with_block, "B-1")
    assert due(with_block, "B-1").state == "never done"
    certified(with_block, "B-1", "1999-01-10")
    row = due(with_block, "B-1")
    assert (row.state, row.due_on, row.every) == ("not due", None, "once")


def test_checks_use_up_what_is_owed_by_use_beside_the_calendar(lab: Lab) -> None:
    """Each check counts once, one that corrects another is the same use; the third of three uses it up.

    Planted: superseded checks counted too; the correction used it up.
    """
    given.whole(lab)
    small_lab.schedule(lab, "P-1", activity="inspection", every_months="12", every_uses="3", use="checks")
    inspected(lab, "P-1", "2031-03-14")
    given.check(lab, "start", minutes=5)
    given.check(lab, "interim", minutes=15)
    checks.correct_check(lab, "C-0002", given.readings(), "8 read as 9", "TOM", by="TESS", now=given.at(20))
    row = due(lab, "P-1", given.at(30))
    assert (row.state, row.uses, row.due_on) == ("due soon", "2 of 3 checks used", date(2032, 3, 14))
    assert row.every == "12 months or 3 checks, whichever comes first"
    given.check(lab, "interim", minutes=25)
    row = due(lab, "P-1", given.at(30))
    assert (row.state, row.uses) == ("overdue", "3 of 3 checks used")
    assert row.verdict.headline() == "do not use: inspection of P-1 is overdue by use: 3 of 3 checks used"
    inspected(lab, "P-1", "2031-03-15", now=given.at(24 * 60))
    assert due(lab, "P-1", given.at(30 * 60)).uses == "0 of 3 checks used"


def test_days_of_use_are_the_days_out_or_checked_and_check_outs_are_counted_once(lab: Lab) -> None:
    """Planted: only the day of the check-out counted; four days out were one day of use."""
    given.whole(lab)
    for activity, use in (("inspection", "days of use"), ("verification", "check-outs")):
        small_lab.schedule(lab, "P-1", activity=activity, every_uses="5", use=use)
        fields = {"asset_no": "P-1", "activity": activity, "number": f"R-{activity}", "laboratory": "this lab"}
        fields |= {"performed_on": "2031-03-10", "result": "sound"}
        certificates.file_certificate(lab, draft(certificates.CertificateDraft, fields, "x"), by=KEEPER, now=NOON)
    custody.check_out(lab, "J-1", ["P-1"], by="TESS", now=NOON)

    def used(days: int) -> set[str]:
        return {r.uses for r in due_list(lab, When(NOON + timedelta(days=days))) if r.asset_no == "P-1"}

    assert used(0) == {"1 of 5 days of use used", "1 of 5 check-outs used"}
    assert used(3) == {"4 of 5 days of use used", "1 of 5 check-outs used"}
    custody.check_in(lab, ["P-1"], by="TESS", now=NOON + timedelta(days=3))
    assert used(9) == {"4 of 5 days of use used", "1 of 5 check-outs used"}


@pytest.mark.parametrize(
    ("values", "where"),
    [
        ({"every_months": "12", "every_days": "30"}, "every_months, every_days"),
        ({"every_uses": "10"}, "use"),
        ({"use": "checks"}, "every_uses"),
        ({"anchor": "first use"}, "anchor"),
        ({"anchor": "fixed calendar", "every_months": "12"}, "counted_from"),
    ],
)
def test_a_schedule_that_contradicts_itself_is_refused(with_block: Lab, values: dict[str, str], where: str) -> None:
    with pytest.raises(BadInput) as refused:
        small_lab.schedule(with_block, "B-1", NOON, **values)
    assert [p.where for p in refused.value.problems] == [where]


LATE = datetime(2032, 1, 11, 12, tzinfo=NOON.tzinfo)  # the day after I-1 was due


@pytest.mark.parametrize(
    "values", [{"every_months": "24"}, {"every_months": "12", "active": "no"}, {"every_uses": "50", "use": "checks"}]
)
def test_a_due_date_that_has_passed_is_lifted_by_another_schedule_only_by_quality(
    lab: Lab, values: dict[str, str]
) -> None:
    """Planted: a longer interval set the day after did what no deferral may; the item was in use again."""
    given.whole(lab)
    plan = {"asset_no": "I-1", "activity": "calibration", "source": "written practice", "why": "stable"} | values
    longer = draft(schedules.ScheduleDraft, plan, "I-1")
    with pytest.raises(NotAllowed, match="calibration of I-1 is overdue, and by this schedule"):
        schedules.set_schedule(lab, longer, by=KEEPER, now=LATE)
    person = {"code": "CLEO", "name": "Person CLEO", "role": "custodian"}
    people.enter_person(lab, draft(people.PersonDraft, person, "CLEO"), by=KEEPER, now=NOON)
    for code in (KEEPER, "CLEO"):
        grant = {"person": code, "authority": "quality", "granted_on": "2031-01-01", "why": "appointed"}
        people.grant(lab, draft(people.GrantDraft, grant, "grant"), by=KEEPER, now=NOON)
    with pytest.raises(NotAllowed, match=f"{KEEPER} set the one in force"):
        schedules.set_schedule(lab, longer, by=KEEPER, now=LATE)
    schedules.set_schedule(lab, longer, by="CLEO", now=LATE)


def test_a_longer_interval_before_the_date_and_a_shorter_one_after_it_are_the_custodians(lab: Lab) -> None:
    given.whole(lab)
    plan = {"asset_no": "I-1", "activity": "calibration", "source": "written practice", "why": "w"}
    for months, now in (("13", given.at(1)), ("12", LATE), ("6", LATE)):
        schedules.set_schedule(
            lab, draft(schedules.ScheduleDraft, plan | {"every_months": months}, "I-1"), by=KEEPER, now=now
        )


def test_an_item_to_be_calibrated_before_use_comes_back_with_its_calibration(lab: Lab) -> None:
    """Planted: the evidence from before the state was set let it come back."""
    given.whole(lab)
    equipment.set_state(lab, "I-1", "calibrate before use", "gain stepped", by=KEEPER, now=given.at(1))
    assert due(lab, "I-1", given.at(2)).state == "before use"
    with pytest.raises(Refusal, match="calibrated before use"):
        equipment.set_state(lab, "I-1", "in service", "looks fine", by=KEEPER, now=given.at(2))
    fields = {"asset_no": "I-1", "number": "K-I-1-2", "laboratory": "a laboratory", "performed_on": "2031-03-14"}
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, fields, "x"), by=KEEPER, now=given.at(2))
    equipment.set_state(lab, "I-1", "in service", "calibrated", by=KEEPER, now=given.at(3))
    assert due(lab, "I-1", given.at(4)).state == "not due"


@pytest.mark.parametrize(
    ("number", "day", "corrects"), [("K-0", "2031-03-13", ""), ("K-I-1", "2031-01-11", "K-I-1"), ("K-I-1", "2031-03-14", "K-I-1")]
)  # fmt: skip
def test_a_paper_older_than_the_incident_or_one_corrected_since_does_not_bring_an_item_back(
    lab: Lab, number: str, day: str, corrects: str
) -> None:
    """Planted: any paper newer than all that were known let the item come back, done before the incident or only re-dated."""
    given.whole(lab)
    equipment.set_state(lab, "I-1", "calibrate before use", "dropped", by=KEEPER, now=given.at(1))
    fields = {"asset_no": "I-1", "number": number, "laboratory": "a laboratory", "performed_on": day}
    paper = draft(certificates.CertificateDraft, fields, "x")
    why = "day misread" if corrects else ""
    certificates.file_certificate(lab, paper, supersedes=corrects, why=why, by=KEEPER, now=given.at(2))
    with pytest.raises(Refusal, match="no calibration done since 2031-03-14"):
        equipment.set_state(lab, "I-1", "in service", "calibrated", by=KEEPER, now=given.at(3))


def test_a_calibration_made_by_the_repairer_before_the_item_is_sent_back_counts(lab: Lab) -> None:
    """Planted: only what was calibrated from the day of return on, so that nothing came back from a repair."""
    given.whole(lab)
    equipment.set_state(lab, "I-1", "in repair", "noisy", by=KEEPER, now=given.at(1))
    equipment.set_state(lab, "I-1", "calibrate before use", "repaired", by=KEEPER, now=given.at(2880))
    fields = {"asset_no": "I-1", "number": "K-I-2", "laboratory": "the repairer", "performed_on": "2031-03-15"}
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, fields, "x"), by=KEEPER, now=given.at(2881))
    equipment.set_state(lab, "I-1", "in service", "certificate filed", by=KEEPER, now=given.at(2882))


@pytest.mark.parametrize("state", ["stored", "away at laboratory"])
def test_what_is_out_with_somebody_is_neither_stored_nor_at_a_laboratory(lab: Lab, state: str) -> None:
    given.whole(lab)
    custody.check_out(lab, "J-1", ["P-1"], by="TESS", now=NOON)
    with pytest.raises(Refusal, match="out with TESS"):
        equipment.set_state(lab, "P-1", state, "x", by=KEEPER, now=given.at(1))
