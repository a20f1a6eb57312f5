"""Response checks: what is kept, what the technician is told, and what a failed one holds."""

import pytest

from refstd.base.errors import BadInput, Refusal
from refstd.base.reason import Weight
from refstd.desk import checks, equipment, events, findings, lots, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When, verify
from tests import thin_thread as given
from tests.given import KEEPER
from tests.register.on_disk import unguarded


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything on record that a job's first check needs."""
    given.whole(lab)
    return lab


def test_an_acceptable_start_check_says_until_when_and_until_which_events_it_covers(ready: Lab) -> None:
    verdict = given.check(ready, "start")

    assert verdict.outcome == "acceptable"
    assert verdict.covers == (
        "until 2031-03-14 16:00 (procedure PR-1 issue B, 6.2), or until an exchange of probe, cable or instrument, another "
        "operator, a knock or a doubt"
    )
    assert verdict.held == ()
    assert verdict.finding == ""


def test_an_end_check_beyond_the_band_holds_only_the_lots_since_the_last_acceptable_check(ready: Lab) -> None:
    """ISO 15549:2019, clause 10 (READ): what was examined since the previous successful check counts as not examined."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 20", 10)
    assert given.check(ready, "interim", 0.97, 60).outcome == "acceptable"
    given.lot(ready, start.number, "holes 21 to 30", 70)
    verdict = given.check(ready, "end", 0.8, 120)

    assert verdict.outcome == "not acceptable"
    assert verdict.held == ("setup S-0001", "lot L-0002 (panel 4: holes 21-30)")
    assert verdict.tell == "the shift lead"
    stops = [r for r in verdict.reasons if r.weight is Weight.STOPS]
    assert stops[0].says == "notch 1.5 mm: amplitude too low"
    assert stops[0].limit == "±10 % against the start check"
    assert stops[0].source == "procedure PR-1 issue B, 6.3"
    assert stops[0].record == "check C-0003, check C-0001"
    assert stops[0].cure.startswith("do not inspect")
    assert all(r.source and r.limit and r.figure for r in stops)


def test_the_verdict_read_back_is_the_one_that_was_told(ready: Lab) -> None:
    given.check(ready, "start")
    told = given.check(ready, "interim", 0.7, 30)
    kept, picture = checks.check_shown(ready, told.number, given.when())

    assert (kept.outcome, kept.reasons, kept.condition, kept.held, kept.tell, kept.do) == (
        told.outcome, told.reasons, told.condition, told.held, told.tell, told.do,
    )  # fmt: skip
    assert [s.name for s in picture.series] == ["start check", "now"]
    assert set(picture.failing) == {"1.5 mm", "1.0 mm", "0.5 mm"}


def test_changed_settings_make_an_interim_check_not_conclusive_and_hold_nothing(ready: Lab) -> None:
    given.check(ready, "start")
    verdict = given.check(ready, "interim", minutes=30, vertical_gain_db="52")

    assert verdict.outcome == "not conclusive"
    assert verdict.held == ()
    assert "settings differ" in verdict.reasons[0].says
    assert verdict.reasons[0].source == "procedure PR-1 issue B; ISO 15549:2019, clause 10"


def test_a_new_acceptable_start_check_frees_the_setup_but_the_lots_stay_held_until_decided(ready: Lab) -> None:
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 5)
    failed = given.check(ready, "interim", 0.6, 30)
    before = serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], given.when(31))
    given.check(ready, "start", 1.0, 60)
    after = serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], given.when(61))

    assert before.standing == "do not use"
    assert after.standing == "serviceable"
    [finding] = findings.findings(ready, given.when(61), only_open=True)
    assert finding.number == failed.finding
    with pytest.raises(Refusal, match="lots that are not decided"):
        findings.act_on(ready, finding.number, "release", "fine again", by="LENA", now=given.at(70))
    findings.act_on(ready, finding.number, "disposition", "examine holes 1 to 9 again", by="LENA", now=given.at(71))
    findings.act_on(ready, finding.number, "release", "examined again", by="LENA", now=given.at(72))
    assert findings.findings(ready, given.when(80), only_open=True) == ()


def test_one_repeat_after_a_named_remedy_keeps_both_sets_and_judges_the_second(ready: Lab) -> None:
    given.check(ready, "start")
    repeated = checks.record_check(
        ready,
        given.check_draft("interim", remedy="connector"),
        given.readings(0.8),
        given.readings(0.99),
        by="TESS",
        now=given.at(30),
    )

    assert repeated.outcome == "acceptable"
    assert repeated.repeats == "C-0002"
    assert [c.outcome for c in checks.checks(ready, given.when(), job="J-1")] == [
        "acceptable",
        "not acceptable",
        "acceptable",
    ]
    assert findings.findings(ready, given.when()) == ()


def test_a_repeat_without_a_remedy_or_of_an_acceptable_set_is_refused(ready: Lab) -> None:
    given.check(ready, "start")
    with pytest.raises(Refusal, match="named remedy"):
        checks.record_check(
            ready, given.check_draft("interim"), given.readings(0.8), given.readings(), by="TESS", now=given.at(9)
        )
    with pytest.raises(Refusal, match="is not repeated"):
        checks.record_check(
            ready,
            given.check_draft("interim", remedy="tape"),
            given.readings(),
            given.readings(),
            by="TESS",
            now=given.at(9),
        )
    assert len(checks.checks(ready, given.when(), job="J-1")) == 1


def test_a_start_check_on_an_overdue_block_is_refused_before_anything_is_kept(lab: Lab) -> None:
    given.whole(lab)
    given.block(lab, "B-2")
    given.certified(lab, "B-2", "2030-01-10")
    given.setup(lab, block="B-2")
    with pytest.raises(Refusal, match="calibration of B-2 is overdue since 2031-01-10"):
        given.check(lab, "start", setup="S-0002")


def test_readings_with_problems_are_refused_whole_and_every_problem_is_named(ready: Lab) -> None:
    bad = [
        draft(checks.ReadingDraft, {"notch": "1.0 mm", "vertical": "80"}, "r"),
        draft(checks.ReadingDraft, {"notch": "9 mm", "horizontal": "1", "vertical": "80"}, "r"),
        draft(checks.ReadingDraft, {"notch": "0.5 mm", "horizontal": "1", "vertical": "80", "full_screen": "yes"}, "r"),
    ]
    with pytest.raises(BadInput) as refused:
        checks.record_check(ready, given.check_draft("start"), bad, by="TESS", now=given.at(1))

    assert len(refused.value.problems) == 3
    assert all(p.remedy for p in refused.value.problems)
    assert checks.checks(ready, given.when()) == ()


def test_readings_from_before_any_start_check_or_in_the_future_are_refused(ready: Lab) -> None:
    given.check(ready, "start", minutes=60)
    with pytest.raises(Refusal, match="no start check of job J-1 was open on setup S-0001 at that time"):
        given.check(ready, "interim", minutes=90, happened_at="2031-03-14T08:00")
    with pytest.raises(Refusal, match="future"):
        given.check(ready, "interim", minutes=90, happened_at="2031-03-15T08:00")


def test_the_same_operation_twice_is_one_check(ready: Lab) -> None:
    checks.record_check(
        ready, given.check_draft("start"), given.readings(), by="TESS", now=given.at(1), operation="once"
    )
    with pytest.raises(Refusal, match="already done"):
        checks.record_check(
            ready, given.check_draft("start"), given.readings(), by="TESS", now=given.at(2), operation="once"
        )
    assert len(checks.checks(ready, given.when())) == 1


def test_a_slip_is_corrected_by_a_new_record_with_a_second_person_and_the_old_one_stays(ready: Lab) -> None:
    given.check(ready, "start")
    wrong = given.check(ready, "interim", 0.1, 30)
    right = checks.correct_check(
        ready, wrong.number, given.readings(), "decimal point", "TOM", by="TESS", now=given.at(40)
    )

    assert right.outcome == "acceptable"
    assert [c.number for c in checks.checks(ready, given.when(), job="J-1")] == [right.number, "C-0001"]
    old, _ = checks.check_shown(ready, wrong.number, given.when())
    assert old.outcome == "not acceptable"
    assert findings.findings(ready, given.when(), only_open=True)[0].check == wrong.number
    with pytest.raises(Refusal, match="own work"):
        checks.correct_check(ready, right.number, given.readings(), "again", "TESS", by="TESS", now=given.at(50))


def test_a_check_keeps_the_certificate_that_was_in_force(ready: Lab) -> None:
    given.check(ready, "start")
    result = verify(ready.path, deep=True)
    assert result.whole, result.problems
    with ready.look(given.when()) as look:
        from refstd.register.certificates import Certificate
        from refstd.register.checks import ResponseCheck

        row = look.session.get_one(ResponseCheck, 1)
        assert row.certificate_id is not None
        assert look.session.get_one(Certificate, row.certificate_id).number == "K-B-1"


def test_the_preview_marks_likely_slips_and_keeps_nothing(ready: Lab) -> None:
    given.check(ready, "start")
    swapped = given.readings()
    swapped[0], swapped[1] = (
        swapped[0].model_copy(update={"vertical": swapped[1].vertical}), swapped[1].model_copy(update={"vertical": swapped[0].vertical}),
    )  # fmt: skip
    preview = checks.preview_check(ready, given.check_draft("interim"), swapped, given.when(30))
    copied = checks.preview_check(ready, given.check_draft("interim"), given.readings(), given.when(30))
    ten_times = checks.preview_check(ready, given.check_draft("interim"), given.readings(0.1), given.when(30))

    assert any("other way round" in s.says for s in preview.slips)
    assert any("copied" in s.says for s in copied.slips)
    assert any("decimal point" in s.says for s in ten_times.slips)
    assert len(checks.checks(ready, given.when())) == 1


def test_a_follow_up_without_a_start_check_is_not_conclusive(ready: Lab) -> None:
    assert given.check(ready, "interim").outcome == "not conclusive"


def test_a_quarantined_probe_stops_the_start_check_and_says_what_to_do(ready: Lab) -> None:
    equipment.set_state(ready, "P-1", "quarantined", "tip chipped", by="TESS", now=given.at(1))
    with pytest.raises(Refusal) as refused:
        given.check(ready, "start", minutes=2)
    assert "P-1 is quarantined: tip chipped" in str(refused.value)
    assert refused.value.remedy
    sheet = checks.check_sheet(ready, "S-0001", "start", given.when(3), job="J-1")
    assert [r.says for r in sheet.stops] == ["P-1 is quarantined: tip chipped"]
    equipment.set_state(ready, "P-1", "in service", "tip replaced", by=KEEPER, now=given.at(4))
    assert given.check(ready, "start", minutes=5).outcome == "acceptable"


def test_a_check_after_the_procedures_interval_says_so_and_whom_to_ask(ready: Lab) -> None:
    given.check(ready, "start")
    verdict = given.check(ready, "interim", minutes=6 * 60)

    assert verdict.outcome == "acceptable"
    [late] = [r for r in verdict.reasons if r.rule == "check interval"]
    assert (late.figure, late.limit) == ("6.0 h since the last acceptable check", "at most 4 h")
    assert late.source == "procedure PR-1 issue B, 6.2"


def test_a_procedure_that_asks_for_a_baseline_is_not_satisfied_without_one(lab: Lab) -> None:
    given.people_and_material(lab)
    given.block(lab)
    given.probe(lab)
    given.instrument(lab)
    for number in ("B-1", "I-1"):
        given.certified(lab, number)
    given.procedure(lab, needs_baseline="yes", baseline_paragraph="5.1")
    given.job(lab)
    given.setup(lab)
    before = given.check(lab, "start", minutes=1)
    given.baseline(lab)
    after = given.check(lab, "start", minutes=2)

    assert before.outcome == "not conclusive"
    assert before.reasons[-1].source == "procedure PR-1 issue B, 5.1"
    assert after.outcome == "acceptable"


def test_a_repeat_is_judged_with_the_settings_it_was_taken_at(ready: Lab) -> None:
    """Planted bug it caught: set 2 was kept with set 1's gain, and a wrong gain passed."""
    given.check(ready, "start")
    again = given.check_draft("interim", remedy="gain", vertical_gain_db="56", happened_at="2031-03-14T12:25")
    verdict = checks.record_check(
        ready, given.check_draft("interim"), given.readings(0.8), given.readings(), again, by="TESS", now=given.at(30)
    )
    assert verdict.outcome == "not conclusive"
    assert "settings differ" in verdict.reasons[0].says
    assert verdict.happened_at == given.at(25)


def test_a_correction_that_fails_holds_like_any_failed_check(ready: Lab) -> None:
    start = given.check(ready, "start")
    number = given.lot(ready, start.number, "holes 1 to 9", 5)
    good = given.check(ready, "interim", 1.0, 30)
    corrected = checks.correct_check(
        ready, good.number, given.readings(0.5), "wrong line", "TOM", by="TESS", now=given.at(40)
    )
    assert corrected.outcome == "not acceptable"
    assert corrected.held == ("setup S-0001", f"lot {number} (panel 4: holes 1-9)")


def test_a_corrected_start_check_holds_the_lots_that_were_examined_under_it(ready: Lab) -> None:
    start = given.check(ready, "start")
    number = given.lot(ready, start.number, "holes 1 to 9", 5)
    corrected = checks.correct_check(
        ready, start.number, given.readings(1.01), "digit", "TOM", by="TESS", now=given.at(40)
    )
    assert corrected.outcome == "acceptable"
    assert corrected.held == (f"lot {number} (panel 4: holes 1-9)",)


def test_a_second_start_holds_the_lots_that_no_check_closed(ready: Lab) -> None:
    start = given.check(ready, "start")
    number = given.lot(ready, start.number, "holes 1 to 9", 5)
    second = given.check(ready, "start", 1.0, 30)
    assert second.outcome == "acceptable"
    assert second.held == (f"lot {number} (panel 4: holes 1-9)",)
    [finding] = findings.findings(ready, given.when())
    assert finding.says == f"no acceptable check closed the work on these lots before start check {second.number}"


def test_closing_a_job_without_an_end_check_holds_what_nothing_covers(ready: Lab) -> None:
    start = given.check(ready, "start")
    first = given.lot(ready, start.number, "holes 1 to 9", 5)
    given.check(ready, "interim", 1.0, 30)
    second = given.lot(ready, start.number, "holes 10 to 12", 40)
    [number] = lots.close_job(ready, "J-1", "done", by="TESS", now=given.at(50))
    [finding] = findings.findings(ready, given.when())
    assert finding.number == number
    assert [x.number for x in finding.lots] == [second]
    assert first != second


def test_a_lot_logged_late_is_held_when_it_lies_in_a_period_in_doubt_and_refused_after_it(ready: Lab) -> None:
    start = given.check(ready, "start")
    failed = given.check(ready, "interim", 0.5, 60)
    late = {"job": "J-1", "start_check": start.number, "parts": "holes 1 to 9", "examined_at": "2031-03-14T12:30"}
    number = lots.log_lot(ready, draft(lots.LotDraft, late, "lot"), by="TESS", now=given.at(70)).number
    [finding] = findings.findings(ready, given.when())
    assert finding.check == failed.number
    assert [x.number for x in finding.lots] == [number]
    with pytest.raises(Refusal, match="was not acceptable before these parts were examined"):
        given.lot(ready, start.number, "holes 10 to 12", 80)


def log_late(lab: Lab, start: str, minutes: float, parts: str = "holes 1 to 9") -> lots.LotLogged:
    """Log at so many minutes after noon what was examined at 12:10."""
    late = {"job": "J-1", "start_check": start, "parts": parts, "examined_at": "2031-03-14T12:10"}
    return lots.log_lot(lab, draft(lots.LotDraft, late, "lot"), by="TESS", now=given.at(minutes))


def test_a_lot_logged_late_under_an_old_start_is_held_at_once(ready: Lab) -> None:
    """Planted: only failed checks looked at; the lot stood unheld until the job was closed."""
    start = given.check(ready, "start")
    second = given.check(ready, "start", minutes=30)
    logged = log_late(ready, start.number, 40)
    assert logged.why == f"start check {second.number} has begun new work"
    [finding] = findings.findings(ready, given.when())
    assert (finding.number, [x.number for x in finding.lots]) == (logged.finding, [logged.number])
    given.check(ready, "end", minutes=50)
    assert lots.close_job(ready, "J-1", "done", by="TESS", now=given.at(60)) == ()


def test_a_lot_logged_late_that_a_check_covers_or_still_can_is_not_held(ready: Lab) -> None:
    start = given.check(ready, "start")
    assert log_late(ready, start.number, 15).finding == ""
    given.check(ready, "end", minutes=20)
    assert log_late(ready, start.number, 25, "hole 10").finding == ""
    given.check(ready, "start", minutes=30)
    assert log_late(ready, start.number, 40, "hole 11").finding == ""


def test_a_lot_logged_late_after_a_repair_is_held_at_once(ready: Lab) -> None:
    start = given.check(ready, "start")
    fields = {"asset_no": "P-1", "event": "repaired", "happened_at": "2031-03-14T12:20"}
    events.record_event(ready, draft(events.EventDraft, fields, "event"), by="TESS", now=given.at(25))
    logged = log_late(ready, start.number, 30)
    assert logged.why == "P-1: repaired 2031-03-14 12:20"
    assert logged.finding


def test_a_lot_logged_late_is_not_slipped_under_a_finding_that_was_released_without_it(ready: Lab) -> None:
    """Planted: the hold added to the released finding, where it holds nothing and nobody decides on it."""
    start = given.check(ready, "start")
    failed = given.check(ready, "interim", 0.5, 60)
    findings.act_on(ready, failed.finding, "release", "gain was off", by="LENA", now=given.at(65))
    logged = log_late(ready, start.number, 70)
    assert logged.finding not in ("", failed.finding)
    assert findings.finding(ready, logged.finding, given.when()).held_setups == ()


def test_a_kit_that_does_not_suit_the_job_gets_no_start_check(lab: Lab) -> None:
    given.whole(lab)
    given.block(lab, "B-2", material="CS")
    given.certified(lab, "B-2")
    given.setup(lab, block="B-2")
    given.setup(lab, frequency_khz="150")
    with pytest.raises(Refusal, match="B-2 is carbon steel, the part is aluminium alloy"):
        given.check(lab, "start", setup="S-0002")
    with pytest.raises(Refusal, match="not at the job's frequency"):
        given.check(lab, "start", setup="S-0003")


def test_a_block_quarantined_after_the_start_lets_no_interim_check_stand(ready: Lab) -> None:
    given.check(ready, "start")
    equipment.set_state(ready, "B-1", "quarantined", "dropped", by="TESS", now=given.at(5))
    verdict = given.check(ready, "interim", 1.0, 30)
    assert verdict.outcome == "not conclusive"
    assert verdict.covers == ""
    assert any(r.says == "B-1 is quarantined: dropped" for r in verdict.reasons)


def test_a_quarantined_cable_stops_a_start_check(ready: Lab) -> None:
    fields = {"asset_no": "K-1", "name": "cable", "form": "cable", "state": "quarantined"}
    equipment.enter_item(ready, draft(equipment.AccessoryDraft, fields, "K-1"), by=KEEPER, now=given.at(0))
    with pytest.raises(Refusal, match="K-1 is quarantined"):
        given.check(ready, "start", cable="K-1")


def test_a_start_check_taken_without_balancing_is_not_conclusive(ready: Lab) -> None:
    verdict = given.check(ready, "start", nulled="no")
    assert verdict.outcome == "not conclusive"
    assert "not balanced" in verdict.reasons[-1].says


def test_only_a_start_check_under_the_same_procedure_frees_a_setup_and_a_hold_by_hand_is_released_by_hand(
    ready: Lab,
) -> None:
    """Planted bug it caught: a periodic check under another procedure, and any start for a hold made by hand."""
    given.procedure(ready, "PR-LAX", (given.LIMITS[2],))
    given.check(ready, "start")
    given.check(ready, "interim", 0.5, 30)
    given.check(ready, "periodic", 0.5, 40, job="", procedure="PR-LAX")
    assert serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], given.when(41)).standing == "do not use"
    given.check(ready, "start", 1.0, 50)
    assert serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], given.when(51)).standing == "serviceable"
    by_hand = {"cause": "other", "says": "wrong filter", "setup": "S-0001"}
    findings.open_finding(ready, draft(findings.FindingDraft, by_hand, "f"), by="AUDE", now=given.at(60))
    given.check(ready, "start", 1.0, 70)
    verdict = serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], given.when(71))
    assert verdict.standing == "do not use"
    [stop] = [r for r in verdict.reasons if r.weight is Weight.STOPS]
    assert "released" in stop.cure


def test_a_finding_no_longer_holds_a_setup_that_a_new_start_freed(ready: Lab) -> None:
    """Planted bug it caught: the finding read 'holds setup S-0001' after the setup was free for new work."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    given.check(ready, "interim", 0.5, 30)
    number = given.check(ready, "start", 1.0, 50).number
    then, now = (findings.finding(ready, "F-0001", When(given.at(600), as_at=given.at(m))) for m in (31, 51))
    assert then.holds() == ("setup S-0001", "lot L-0001 (panel 4: holes 1-9)")
    assert now.holds() == ("lot L-0001 (panel 4: holes 1-9)",)
    freed = f"setup S-0001 freed for new work by check {number} on 2031-03-14"
    assert now.holds_and_freed() == f"lot L-0001 (panel 4: holes 1-9); {freed}"
    [reason] = serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], given.when(60)).reasons
    assert reason.cure == "decide the held lots"
    findings.act_on(ready, "F-0001", "disposition", "examine again", by="LENA", now=given.at(70))
    [reason] = serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], given.when(71)).reasons
    assert reason.cure == "have the finding released by someone with the authority"


def test_an_altered_reading_is_named_by_its_check_and_notch(ready: Lab) -> None:
    """Planted bug it caught: 'reading row 3' alone, which nobody finds in the record."""
    number = given.check(ready, "start").number
    with unguarded(ready.path, "reading") as connection:
        connection.execute("UPDATE reading SET vertical = '41' WHERE id = 3")
    [problem] = verify(ready.path, deep=True).problems
    assert f"reading row 3: vertical is '41', recorded was '40' (notch 0.5 mm of B-1, check {number})" in problem
