"""A job goes on with the next shift whole or not at all: closing check, lots since, holds, equipment, both names.

ISO 15549:2019, clause 10 (READ): functional checks at the end of an examination and when the operator changes; what was
examined since the last successful check does not count when none follows.
"""

import pytest

from refstd.base.errors import Refusal
from refstd.desk import custody, findings, homes, lots, shifts
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.lot_standing import lots_standing
from refstd.desk.store import Lab, When
from refstd.reports.job import job_sheet
from tests import thin_thread as given

KIT = ["B-1", "P-1", "I-1"]


@pytest.fixture
def working(lab: Lab) -> Lab:
    """TESS has the kit out for J-1, an acceptable start check C-0001, and lot L-0001 examined under it."""
    given.whole(lab)
    custody.check_out(lab, "J-1", KIT, by="TESS", now=given.at(1))
    given.check(lab, "start", minutes=5)
    given.lot(lab, "C-0001", "panel 4", 10)
    return lab


def hand(lab: Lab, minutes: float, to: str = "TOM", by: str = "TESS", **more: str) -> shifts.ShiftShown:
    values = {"job": "J-1", "to": to} | more
    return shifts.hand_shift_over(lab, draft(shifts.ShiftDraft, values, "hand-over"), by=by, now=given.at(minutes))


def next_check(lab: Lab, person: str, minutes: float) -> str:
    [job] = homes.technician_home(lab, person, given.when(minutes)).jobs
    return job.next_check


def test_without_a_closing_check_nothing_is_handed_over_and_what_is_missing_is_said(working: Lab) -> None:
    with pytest.raises(Refusal, match="no end check of setup S-0001 since start check C-0001") as refused:
        hand(working, 20)
    assert "Make the end check first" in refused.value.remedy
    assert {o.loan.holder for o in custody.out_now(working, given.when(21))} == {"TESS"}
    assert shifts.shifts(working, "J-1", given.when(21)) == ()


def test_an_end_check_that_is_not_conclusive_closes_nothing(working: Lab) -> None:
    given.check(working, "end", minutes=20, rotation_deg="45", phase_set="no")
    with pytest.raises(Refusal, match="end check C-0002 was not conclusive and counts as none"):
        hand(working, 21)


def test_one_act_hands_on_equipment_lots_and_holds_with_both_names_and_the_next_one_begins_with_a_start_check(
    working: Lab,
) -> None:
    """Planted: lots since the beginning told at each hand-over."""
    given.check(working, "end", minutes=20)
    done = hand(working, 21, note="hole 3 is tight")
    assert (done.person, done.to, done.items) == ("TESS", "TOM", ("B-1", "I-1", "P-1"))
    assert done.closed_by == "setup S-0001 closed by C-0002 (acceptable)"
    assert [x.number for x in done.lots] == ["L-0001"]
    assert {o.loan.holder for o in custody.out_now(working, given.when(22))} == {"TOM"}
    assert (
        next_check(working, "TOM", 22) == "start check by TOM, who took the job over, before anything more is examined"
    )
    with pytest.raises(Refusal, match="end check C-0002 had closed the work before"):
        given.lot(working, "C-0001", "panel 4", 23)
    given.check(working, "start", minutes=24, by="TOM")
    assert "took the job over" not in next_check(working, "TOM", 25)
    given.check(working, "end", minutes=30, by="TOM")
    again = hand(working, 31, to="TESS", by="TOM")
    assert again.lots == ()
    assert shifts.shifts(working, "J-1", given.when(40)) == (done, again)
    said = [r for r in job_sheet(working, given.when(40), "J-1").rows if r[0] == "hand-over"]
    assert len(said) == 2
    assert all(words in str(said[0]) for words in ("TESS to TOM", "C-0002", "L-0001", "hole 3 is tight"))


def test_where_no_closing_check_is_possible_the_lots_are_held_and_the_start_check_covers_no_more(working: Lab) -> None:
    """Planted: the hand-over left out of what ends a start check; TOM then went on under TESS's."""
    done = hand(working, 20, impossible="probe broken at hole 7")
    [found] = findings.findings(working, given.when(21), only_open=True)
    assert found.says == "no closing check was possible when job J-1 went on with TOM: probe broken at hole 7"
    assert [x.number for x in found.lots] == ["L-0001"]
    assert done.holds == (found,)
    assert done.closed_by == "setup S-0001 without a closing check; none possible: probe broken at hole 7"
    assert next_check(working, "TOM", 21).startswith("start check by TOM")
    given.job(working, "J-2")
    with pytest.raises(Refusal, match="handed on to the next shift without a closing check"):
        lots.log_lot(
            working, draft(lots.LotDraft, {"job": "J-1", "start_check": "C-0001", "parts": "panel 4"}, "lot"),
            by="TOM", now=given.at(22),
        )  # fmt: skip
    assert hand(working, 30, to="TESS", by="TOM").lots == ()  # nothing is at work, so nothing is missing


def test_what_is_covered_already_is_not_held(working: Lab) -> None:
    given.check(working, "interim", minutes=15)
    hand(working, 20, impossible="power gone")
    assert findings.findings(working, given.when(21)) == ()
    assert lots_standing(working, "J-1", given.when(21))["L-0001"].says == ""


def test_a_failed_closing_check_closes_the_work_and_its_holds_go_with_the_job(working: Lab) -> None:
    failed = given.check(working, "end", 0.8, minutes=20)
    done = hand(working, 21)
    assert [f.number for f in done.holds] == [failed.finding]
    findings.act_on(working, failed.finding, "disposition", "examine again", by="LENA", now=given.at(30))
    findings.act_on(working, failed.finding, "release", "examined again", by="LENA", now=given.at(31))
    then = shifts.shifts(working, "J-1", given.when(40))
    assert [f.number for f in then[0].holds] == [failed.finding]  # as they were when it was handed over


@pytest.mark.parametrize(
    ("to", "by", "more", "says"),
    [
        ("TESS", "TESS", {}, "TESS has B-1 already"), ("AUDE", "TESS", {}, "AUDE \\(auditor\\) may not check out"),
        ("TESS", "TOM", {}, "nothing of job J-1 is out with TOM"), ("NOBODY", "TESS", {}, "is not on record"),
        ("TOM", "TESS", {"impossible": "no time"}, "the work is closed: setup S-0001 closed by C-0002"),
    ],
)  # fmt: skip
def test_a_hand_over_is_refused_whole(working: Lab, to: str, by: str, more: dict[str, str], says: str) -> None:
    given.check(working, "end", minutes=15)
    with pytest.raises(Refusal, match=says):
        hand(working, 20, to, by, **more)
    assert {o.loan.holder for o in custody.out_now(working, given.when(21))} == {"TESS"}
    assert shifts.shifts(working, "J-1", When(given.at(21))) == ()
