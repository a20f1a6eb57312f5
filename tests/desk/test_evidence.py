"""Evidence and time: certificates with their values and papers, schedules, states, and the verdict that follows from them."""

import hashlib

import pytest

from refstd.base.errors import AlreadyOnRecord, BadInput, NotAllowed, Refusal
from refstd.desk import certificates, duties, equipment, history, schedules, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When
from tests import thin_thread as given
from tests.given import KEEPER, NOON

PDF = b"%PDF-1.4\n% a certificate\n"


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with people, materials and one block."""
    given.people_and_material(lab)
    given.block(lab)
    return lab


def paper(number: str, **values: str) -> certificates.CertificateDraft:
    fields = {"asset_no": "B-1", "number": number, "laboratory": "a laboratory", "performed_on": "2031-01-10"} | values
    return draft(certificates.CertificateDraft, fields, number)


def depth(value: str, **values: str) -> certificates.ValueDraft:
    fields = {"notch": "0.5 mm", "value": value, "expanded_uncertainty": "0.010", "coverage_factor": "2"}
    fields |= {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7"}
    return draft(certificates.ValueDraft, fields | values, value)


def verdict(lab: Lab, minutes: float = 600, procedure: str = "") -> serviceability.Verdict:
    return serviceability.status(lab, ["B-1"], given.when(minutes), procedure)[0].verdict


def test_a_notch_out_of_its_limits_limits_the_block_and_stops_it_only_where_a_procedure_needs_it(ready: Lab) -> None:
    certificates.file_certificate(
        ready, paper("K1", decision_rule="simple"), [depth("0.580")], by=KEEPER, now=given.at(1)
    )
    given.procedure(ready, limits=(given.LIMITS[0], {**given.LIMITS[2], "notch": "0.5 mm"}))

    assert verdict(ready).headline() == "limited use, without notch 0.5 mm"
    [reason] = [r for r in verdict(ready).reasons if r.rule == "conformity"]
    assert (reason.figure, reason.limit, reason.source) == (
        "0.580 mm (U = 0.010 mm, k = 2; probability of conformity below 0.1 %)",
        "0.45 to 0.55 mm",
        "drawing 7",
    )
    assert reason.record == "certificate K1"
    assert verdict(ready, procedure="PR-1").standing == "do not use"


def test_the_as_left_value_counts_and_the_as_found_one_stays_on_record(ready: Lab) -> None:
    values = [depth("0.600", stage="as found"), depth("0.510", stage="as left")]
    certificates.file_certificate(
        ready,
        paper("K1", decision_rule="simple", adjusted="yes", adjustment="notch re-cut"),
        values,
        by=KEEPER,
        now=given.at(1),
    )
    assert verdict(ready).standing == "serviceable"
    [shown] = history.item_record(ready, "B-1", given.when()).certificates
    assert [(v.stage, str(v.value)) for v in shown.values] == [("as found", "0.600"), ("as left", "0.510")]


def test_a_new_block_is_fit_only_once_a_paper_says_so_and_no_longer_when_the_paper_is_withdrawn(ready: Lab) -> None:
    """Planted bug it caught: a withdrawn paper still counted as evidence."""
    unproved = "do not use: no evidence on record that B-1 is fit"
    assert verdict(ready).headline() == unproved
    inspection = {"activity": "inspection"}
    certificates.file_certificate(ready, paper("R1", **inspection, result="not sound"), by=KEEPER, now=given.at(1))
    assert verdict(ready, 2).headline() == "do not use: B-1 was found not sound"
    certificates.file_certificate(ready, paper("R2", **inspection, result="sound"), by=KEEPER, now=given.at(3))
    assert verdict(ready, 4).standing == "serviceable"
    certificates.withdraw_certificate(ready, "B-1", "R1", why="of another block", by=KEEPER, now=given.at(5))
    certificates.withdraw_certificate(ready, "B-1", "R2", why="of another block", by=KEEPER, now=given.at(5))
    assert verdict(ready, 6).headline() == unproved


@pytest.mark.parametrize(
    ("rule", "value", "standing"),
    [
        ("simple", "0.550", "serviceable"),
        ("simple", "0.551", "limited use"),
        ("guard band", "0.545", "serviceable"),  # conditional pass: advised, not struck out
        ("guard band", "0.552", "limited use"),
        ("iso 14253-1", "0.541", "serviceable"),
        ("iso 14253-1", "0.560", "limited use"),
    ],
)
def test_each_decision_rule_decides_as_it_is_named(ready: Lab, rule: str, value: str, standing: str) -> None:
    """ILAC-G8:09/2019 4.2.3 and ISO 14253-1:2017 (values of the rules from MEMORY; arithmetic constructed): 0.45 to 0.55, U = 0.010."""
    ratio = "1" if rule == "guard band" else ""
    certificates.file_certificate(
        ready, paper("K1", decision_rule=rule, guard_ratio=ratio), [depth(value)], by=KEEPER, now=given.at(1)
    )
    assert verdict(ready).standing == standing


def test_a_value_within_its_limits_without_a_rule_is_not_judged_and_says_so(ready: Lab) -> None:
    certificates.file_certificate(ready, paper("K1"), [depth("0.500")], by=KEEPER, now=given.at(1))
    assert verdict(ready).standing == "serviceable"
    assert any("no decision rule" in r.says for r in verdict(ready).reasons)


def test_a_value_outside_its_limits_strikes_out_its_notch_whether_a_rule_is_named_or_not(ready: Lab) -> None:
    """Planted bug it caught: without a rule 0.90 mm against 0.45 to 0.55 mm was serviceable."""
    certificates.file_certificate(ready, paper("K1"), [depth("0.90")], by=KEEPER, now=given.at(1))
    assert verdict(ready).headline() == "limited use, without notch 0.5 mm"


def test_a_newer_paper_without_limits_does_not_lose_the_ones_before(ready: Lab) -> None:
    certificates.file_certificate(
        ready, paper("K1", decision_rule="simple"), [depth("0.500")], by=KEEPER, now=given.at(1)
    )
    bare = {"notch": "0.5 mm", "quantity": "Depth", "value": "0.90", "unit": "mm"}
    newer = paper("K2", performed_on="2031-02-01")
    certificates.file_certificate(ready, newer, [draft(certificates.ValueDraft, bare, "v")], by=KEEPER, now=given.at(2))
    assert verdict(ready).headline() == "limited use, without notch 0.5 mm"
    [reason] = [r for r in verdict(ready).reasons if r.rule == "conformity"]
    assert reason.source == "drawing 7, from certificate K1"


def test_digits_are_kept_as_written(ready: Lab) -> None:
    certificates.file_certificate(ready, paper("K1"), [depth("0.500")], by=KEEPER, now=given.at(1))
    [shown] = history.item_record(ready, "B-1", given.when()).certificates
    assert str(shown.values[0].value) == "0.500"


def test_a_paper_is_kept_by_the_hash_of_its_bytes(ready: Lab) -> None:
    certificates.file_certificate(
        ready, paper("K1"), [], certificates.Paper("../../K1.pdf", PDF), by=KEEPER, now=given.at(1)
    )
    [shown] = history.item_record(ready, "B-1", given.when()).certificates
    assert shown.paper_sha256 == hashlib.sha256(PDF).hexdigest()
    assert certificates.paper_bytes(ready, shown.paper_sha256, given.when()) == ("../../K1.pdf", PDF)
    with pytest.raises(Refusal, match="not a PDF"):
        certificates.file_certificate(
            ready, paper("K2"), [], certificates.Paper("x.exe", b"MZ"), by=KEEPER, now=given.at(2)
        )


def test_a_corrected_certificate_supersedes_with_a_reason_and_yesterdays_answer_stays(ready: Lab) -> None:
    certificates.file_certificate(
        ready, paper("K1", decision_rule="simple"), [depth("0.590")], by=KEEPER, now=given.at(1)
    )
    corrected = paper("K1-A", decision_rule="simple")
    with pytest.raises(Refusal, match="needs a reason"):
        certificates.file_certificate(ready, corrected, [depth("0.509")], supersedes="K1", by=KEEPER, now=given.at(60))
    certificates.file_certificate(
        ready, corrected, [depth("0.509")], supersedes="K1", why="digits exchanged", by=KEEPER, now=given.at(60)
    )
    assert verdict(ready).standing == "serviceable"
    then = When(given.at(600), as_at=given.at(30))
    assert serviceability.status(ready, ["B-1"], then)[0].verdict.standing == "limited use"


def test_a_withdrawn_certificate_counts_no_longer(ready: Lab) -> None:
    given.certified(ready, "B-1")
    assert verdict(ready).standing == "serviceable"
    certificates.withdraw_certificate(
        ready, "B-1", "K-B-1", "laboratory lost its accreditation", by=KEEPER, now=given.at(5)
    )
    assert verdict(ready).headline() == "do not use: calibration of B-1 was never done"


def test_filing_is_refused_whole_with_every_problem(ready: Lab) -> None:
    values = [depth("0.5", notch="7 mm"), depth("0.5", limit_source="")]
    with pytest.raises(BadInput) as refused:
        certificates.file_certificate(ready, paper("K1", performed_on="2031-05-01"), values, by=KEEPER, now=given.at(1))
    assert [p.where for p in refused.value.problems] == ["performed_on", "value 1", "value 2"]
    assert history.item_record(ready, "B-1", given.when()).certificates == ()


def test_the_same_certificate_twice_and_a_technicians_filing_are_refused(ready: Lab) -> None:
    certificates.file_certificate(ready, paper("K1"), by=KEEPER, now=given.at(1))
    with pytest.raises(AlreadyOnRecord):
        certificates.file_certificate(ready, paper("K1"), by=KEEPER, now=given.at(2))
    with pytest.raises(NotAllowed, match="Ask a custodian"):
        certificates.file_certificate(ready, paper("K2"), by="TESS", now=given.at(3))


def scheduled(lab: Lab, **values: str) -> duties.DueRow:
    fields = {"asset_no": "B-1", "activity": "calibration", "every_months": "12", "source": "practice 4.2"} | values
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, fields, "schedule"), by=KEEPER, now=given.at(2))
    return duties.due_list(lab, given.when())[0]


def test_what_was_never_done_is_never_done_whatever_the_interval(ready: Lab) -> None:
    row = scheduled(ready)
    assert (row.state, row.due_on) == ("never done", None)


def test_an_interval_counts_from_the_day_it_was_done_and_the_end_of_the_month_is_right(ready: Lab) -> None:
    """relativedelta (dateutil documentation, READ): 31 August + 6 months is the last day of February."""
    certificates.file_certificate(ready, paper("K1", performed_on="2030-08-31"), by=KEEPER, now=given.at(1))
    row = scheduled(ready, every_months="6")
    assert (str(row.due_on), row.state, row.days) == ("2031-02-28", "overdue", -14)


@pytest.mark.parametrize(
    ("performed_on", "due_on", "state"),
    [("2030-12-29", "2031-03-31", "due soon"), ("2031-03-02", "2032-03-31", "not due")],  # 92 and 29 days before
)
def test_a_fixed_calendar_does_not_move_when_it_is_done_early(
    ready: Lab, performed_on: str, due_on: str, state: str
) -> None:
    """Of the last quarter before a date, it is that date's own; done a month early, it is not due again a month later."""
    certificates.file_certificate(ready, paper("K1", performed_on=performed_on), by=KEEPER, now=given.at(1))
    row = scheduled(ready, anchor="fixed calendar", counted_from="2030-03-31")
    assert (str(row.due_on), row.state) == (due_on, state)


def test_an_interval_from_first_use_begins_when_the_item_first_goes_out(lab: Lab) -> None:
    given.whole(lab)
    fields = {
        "asset_no": "P-1",
        "activity": "inspection",
        "every_days": "30",
        "anchor": "first use",
        "source": "practice 4.4",
    }
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, fields, "s"), by=KEEPER, now=NOON)
    inspected = paper("R1", asset_no="P-1", activity="inspection", result="sound", performed_on="2031-02-01")
    certificates.file_certificate(lab, inspected, by=KEEPER, now=NOON)
    before = next(r for r in duties.due_list(lab, given.when()) if r.asset_no == "P-1")
    from refstd.desk import custody

    custody.check_out(lab, "J-1", ["P-1"], by="TESS", now=given.at(1))
    after = next(r for r in duties.due_list(lab, given.when()) if r.asset_no == "P-1")

    assert (before.due_on, before.state) == (None, "not due")
    assert str(after.due_on) == "2031-04-13"


def test_an_inspection_that_says_not_sound_stops_the_item(ready: Lab) -> None:
    certificates.file_certificate(
        ready, paper("R1", activity="inspection", result="not sound"), by=KEEPER, now=given.at(1)
    )
    assert verdict(ready).headline() == "do not use: B-1 was found not sound"


@pytest.mark.parametrize(
    "state",
    [
        "awaiting receipt",
        "quarantined",
        "in repair",
        "stored",
        "away at laboratory",
        "calibrate before use",
        "reference only",
    ],
)
def test_an_item_in_any_state_but_in_service_is_not_used_and_says_what_would_cure_it(ready: Lab, state: str) -> None:
    equipment.set_state(ready, "B-1", state, "because", location="shelf 4", by=KEEPER, now=given.at(1))
    found = verdict(ready)
    assert found.headline() == f"do not use: B-1 is {state}: because"
    assert found.reasons[0].cure


def test_a_retired_item_does_not_come_back_and_its_number_is_never_used_again(ready: Lab) -> None:
    equipment.set_state(ready, "B-1", "retired", "worn out", by=KEEPER, now=given.at(1))
    with pytest.raises(Refusal, match="retired"):
        equipment.set_state(ready, "B-1", "in service", "needed", by=KEEPER, now=given.at(2))
    with pytest.raises(AlreadyOnRecord):
        given.block(ready)


def test_a_technician_may_quarantine_and_nothing_else(ready: Lab) -> None:
    equipment.set_state(ready, "B-1", "quarantined", "dropped", by="TESS", now=given.at(1))
    with pytest.raises(NotAllowed):
        equipment.set_state(ready, "B-1", "in service", "fine", by="TESS", now=given.at(2))


def test_a_notch_deeper_than_its_block_is_refused_unless_it_goes_through(lab: Lab) -> None:
    given.people_and_material(lab)
    with pytest.raises(BadInput, match="12 mm deep in a block of 10 mm"):
        enter(lab, "12", "no")
    enter(lab, "12", "yes")


def enter(lab: Lab, depth_mm: str, through: str) -> None:
    fields = {"asset_no": "B-9", "name": "block", "material": "AL", "form": "plate", "thickness_mm": "10"}
    notch = {"label": "slot", "depth_mm": depth_mm, "through": through}
    equipment.enter_item(
        lab,
        draft(equipment.BlockDraft, fields, "B-9"),
        [draft(equipment.NotchDraft, notch, "slot")],
        by=KEEPER,
        now=given.at(1),
    )


def test_a_new_description_keeps_the_old_one_for_the_days_before_it(ready: Lab) -> None:
    fields = {"asset_no": "B-1", "name": "block, re-marked", "material": "AL", "form": "plate", "thickness_mm": "10"}
    equipment.revise_item(
        ready, draft(equipment.BlockDraft, fields, "B-1"), "label was lost", by=KEEPER, now=given.at(60)
    )
    now = history.item_record(ready, "B-1", given.when())
    then = history.item_record(ready, "B-1", When(given.at(600), as_at=given.at(30)))
    assert (now.item.name, then.item.name) == ("block, re-marked", "block")
    assert [e.says for e in now.events if e.kind == "description"] == [
        "revision 1: entered",
        "revision 2: label was lost",
    ]


@pytest.mark.parametrize("number", ["B-1", "P-1", "I-1", "A-1", "A-2"])
def test_a_check_counts_as_first_use_of_every_item_in_it(lab: Lab, number: str) -> None:
    """Planted bug it caught: only loans counted, so a probe that was never lent out never aged."""
    given.whole(lab)
    for accessory, form in (("A-1", "cable"), ("A-2", "adapter")):
        fields = {"asset_no": accessory, "name": form, "form": form}
        equipment.enter_item(lab, draft(equipment.AccessoryDraft, fields, accessory), by=KEEPER, now=NOON)
    fields = {"asset_no": number, "activity": "inspection", "every_days": "30", "anchor": "first use", "source": "4.4"}
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, fields, "s"), by=KEEPER, now=NOON)
    inspected = paper("R1", asset_no=number, activity="inspection", result="sound", performed_on="2031-02-01")
    certificates.file_certificate(lab, inspected, by=KEEPER, now=NOON)

    def inspection() -> duties.DueRow:
        rows = duties.due_list(lab, given.when())
        return next(r for r in rows if (r.asset_no, r.activity) == (number, "inspection"))

    assert inspection().due_on is None
    given.check(lab, "start", minutes=5, cable="A-1", adapter="A-2")
    assert str(inspection().due_on) == "2031-04-13"


def test_an_item_found_outside_its_limits_and_adjusted_serves_and_asks_to_look_back(ready: Lab) -> None:
    values = [depth("0.600", stage="as found"), depth("0.510", stage="as left")]
    adjusted = paper("K1", decision_rule="simple", adjusted="yes", adjustment="notch re-cut")
    certificates.file_certificate(ready, adjusted, values, by=KEEPER, now=given.at(1))
    [reason] = [r for r in verdict(ready).reasons if r.rule == "conformity"]
    assert "was found outside its limits" in reason.says
    assert (reason.record, reason.source) == ("certificate K1", "drawing 7")
    assert verdict(ready).standing == "serviceable"
