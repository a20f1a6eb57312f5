"""The guided swap test on a real store: what is kept, what it says, and that it frees, holds and covers nothing."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from refstd.base.errors import AlreadyOnRecord, NotAllowed, NotFound, Refusal, WrongUsage
from refstd.desk import checks, custody, equipment, events, findings, serviceability, suspects, swaps
from refstd.desk.check_record import check_record
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When, open_store, verify
from refstd.register.checks import ResponseCheck, SwapStep, SwapTest
from tests import given, swap_lab, thin_thread
from tests.given import KEEPER
from tests.swap_lab import NOTCH, SETUP_OF, seen, step_draft


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The lab of the swap tests, closed. Copied, never written to."""
    path = tmp_path_factory.mktemp("swaps") / "template.refstd"
    lab = given.new_lab(path)
    swap_lab.build(lab)
    lab.close()
    return path


@pytest.fixture
def ready(template: Path, tmp_path: Path) -> Iterator[Lab]:
    """A lab with four setups and their baselines, and no check since."""
    path = tmp_path / "lab.refstd"
    path.write_bytes(template.read_bytes())
    lab = open_store(path)
    yield lab
    lab.close()


def begin(lab: Lab, check: str, notch: str = NOTCH, minutes: float = 40, by: str = "TESS") -> swaps.SwapShown:
    fields = {"check": check, "notch": notch, "why": "seen in the weekly check"}
    return swaps.start_swap(lab, draft(swaps.SwapDraft, fields, "swap"), by=by, now=thin_thread.at(minutes))


def step(
    lab: Lab, thing: str, culprit: str, minutes: float = 50, number: str = "W-0001", **values: str
) -> swaps.StepKept:
    return swaps.record_step(
        lab, number, thing, step_draft(thing, **values), seen(culprit, thing), by="TESS", now=thin_thread.at(minutes)
    )


def begun(lab: Lab, culprit: str) -> swaps.SwapShown:
    return begin(lab, swap_lab.deviating(lab, culprit))


# What it finds


@pytest.mark.parametrize(
    ("culprit", "name"), [("cable", "cable A-1"), ("probe", "P-1"), ("block", "notch 0.5 mm of B-1"), ("instrument", "I-1")]
)  # fmt: skip
def test_the_thing_that_moved_is_left_alone_and_the_others_are_cleared(ready: Lab, culprit: str, name: str) -> None:
    """Planted bug it caught: the step's check held against the baseline of the first setup."""
    begun(ready, culprit)
    for n, thing in enumerate(swaps.THINGS):
        kept = step(ready, thing, culprit, 50 + n)
        assert kept.step.result == ("went" if thing == culprit else "stayed")
    found = swaps.swap_shown(ready, "W-0001", thin_thread.when())
    assert found.conclusion.says.startswith(f"the deviation went with the {culprit}: {name} is left")
    assert (found.conclusion.left, found.conclusion.settled, found.next) == ((culprit,), True, None)
    assert [s.instead for s in found.steps] == ["A-2", "P-2", "B-2", "I-2"]


def test_a_test_begins_with_the_cable_and_goes_on_with_what_has_a_baseline(ready: Lab) -> None:
    found = begun(ready, "instrument")
    assert (found.number, found.check, found.notch, found.procedure) == ("W-0001", "C-0021", NOTCH, "PR-1")
    assert found.suspected == "cable A-1, P-1, notch 0.5 mm of B-1, I-1: everything that took part"
    assert "−1.94 dB" in found.deviation.figure  # 20·lg 0.8 = −1.94, the definition of the decibel
    first = found.next
    assert first is not None
    assert first.do == "exchange the cable: another one in place of cable A-1 (setup S-0001), everything else as it is"
    assert first.if_it_goes.startswith("the deviation went with the cable: cable A-1 is left")
    assert first.if_it_stays == "the deviation stayed without cable A-1: left are P-1, notch 0.5 mm of B-1, I-1"
    after = step(ready, "cable", "instrument").swap.next
    assert after is not None
    assert after.do == (
        "exchange the probe: P-2 in place of P-1 (setup S-0002, baseline of 5 set-ups), everything else as it is"
    )


def test_a_step_is_an_ordinary_check_with_its_readings_and_counts_as_evidence(ready: Lab) -> None:
    begun(ready, "probe")
    kept = step(ready, "probe", "probe")
    verdict, picture = checks.check_shown(ready, kept.step.check, thin_thread.when())
    assert (verdict.occasion, verdict.setup, verdict.job, verdict.number) == (
        "swap test",
        "S-0002",
        "",
        kept.step.check,
    )
    assert [s.name for s in picture.series] == ["baseline", "now"]
    assert kept.step.check in {r.check for r in suspects.suspects(ready, thin_thread.when()).readings}
    assert (
        check_record(ready, kept.step.check, thin_thread.when()).cable == "A-1"
    )  # as it was first, without being typed


def test_check_step_and_result_are_one_act_in_the_log(ready: Lab) -> None:
    begun(ready, "probe")
    rows = given.count(ready, ResponseCheck)
    step(ready, "probe", "probe")
    assert given.count(ready, ResponseCheck) == rows + 1
    assert given.count(ready, SwapStep) == 1
    with ready.look(thin_thread.when()) as look:
        kept = look.session.query(SwapStep).one()
        assert kept.entry == look.session.get_one(ResponseCheck, kept.check_id).entry == look.upto


def test_a_refused_step_leaves_no_check_behind(ready: Lab) -> None:
    begun(ready, "probe")
    rows = given.count(ready, ResponseCheck)
    with pytest.raises(Refusal, match="older than check C-0021"):
        step(ready, "probe", "probe", happened_at="2031-03-14T12:01")
    assert (given.count(ready, ResponseCheck), given.count(ready, SwapStep)) == (rows, 0)


def test_the_same_operation_twice_is_one_step(ready: Lab) -> None:
    begun(ready, "probe")

    def act() -> swaps.StepKept:
        made = step_draft("probe")
        return swaps.record_step(
            ready,
            "W-0001",
            "probe",
            made,
            seen("probe", "probe"),
            by="TESS",
            now=thin_thread.at(50),
            operation="one key",
        )

    act()
    with pytest.raises(Refusal, match="already done"):
        act()
    assert given.count(ready, SwapStep) == 1


def test_everything_stays_as_it_was_known_then(ready: Lab) -> None:
    begun(ready, "probe")
    step(ready, "cable", "probe", 50)
    step(ready, "probe", "probe", 60)
    then = swaps.swap_shown(ready, "W-0001", When(thin_thread.at(600), as_at=thin_thread.at(55)))
    assert [s.exchanged for s in then.steps] == ["cable"]
    assert not then.conclusion.settled
    with pytest.raises(NotFound):
        swaps.swap_shown(ready, "W-0001", When(thin_thread.at(600), as_at=thin_thread.at(35)))
    assert verify(ready.path, deep=True).whole


# Safety: it frees nothing, holds nothing, covers nothing, and stands in for no check


def test_a_step_that_fails_the_procedure_holds_nothing_and_says_what_to_do(ready: Lab) -> None:
    """Planted bug it caught: four findings on one fault, one a step."""
    begun(ready, "instrument")
    before = len(findings.findings(ready, thin_thread.when()))
    verdict = step(ready, "probe", "instrument").verdict
    assert (verdict.outcome, verdict.held, verdict.finding) == ("not acceptable", (), "")
    assert verdict.do[0] == "Do not inspect with this setup."
    assert "open a finding that holds it" in verdict.do[1]
    assert len(findings.findings(ready, thin_thread.when())) == before


def test_no_swap_test_check_is_recorded_but_as_a_step(ready: Lab) -> None:
    """A failing check kept on this occasion would hold nothing. Planted bug it caught: record_check took the occasion."""
    made = step_draft("probe", procedure="PR-1")
    with pytest.raises(Refusal, match="belongs to a step"):
        checks.record_check(ready, made, seen("instrument"), by="TESS", now=thin_thread.at(50))


def test_an_acceptable_step_frees_no_held_setup(ready: Lab) -> None:
    """Planted bug it caught: 'swap test' beside 'start' in timeline.freed_by."""
    swap_lab.deviating(ready, "cable")
    begin(ready, "C-0021")
    held = serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], thin_thread.when()).headline()
    assert "S-0001" in held
    kept = step(ready, "cable", "cable")
    assert (kept.verdict.outcome, kept.verdict.covers) == ("acceptable", "")
    assert kept.verdict.do == (
        "A swap test frees nothing and covers nothing: make a start check before inspecting with this setup.",
    )
    assert serviceability.kit_status(ready, ["B-1", "P-1", "I-1"], thin_thread.when()).headline() == held


def test_it_is_refused_inside_a_job(ready: Lab) -> None:
    begun(ready, "probe")
    with pytest.raises(Refusal, match="outside a job"):
        step(ready, "probe", "probe", job="J-1")
    made = step_draft("probe", job="J-1")
    with pytest.raises(Refusal, match="outside a job"):
        checks.preview_check(ready, made, seen("probe"), thin_thread.when())


def started(lab: Lab, setup: str, minutes: float) -> None:
    """Begin work on job J-1 with a setup: its start check is acceptable."""
    made = thin_thread.check_draft("start", setup=setup)
    kept = checks.record_check(lab, made, thin_thread.readings(), by="TESS", now=thin_thread.at(minutes))
    assert kept.outcome == "acceptable"


def test_nothing_is_exchanged_on_a_setup_at_work(ready: Lab) -> None:
    """Parts hang on its start check: an exchange there needs the job's own check. Planted bug it caught: no such question."""
    begun(ready, "instrument")
    started(ready, SETUP_OF["probe"], 45)
    with pytest.raises(Refusal, match=r"B-1 is at work on job J-1 since start check C-0022 \(setup S-0002\)"):
        step(ready, "probe", "instrument")
    checks.record_check(
        ready, thin_thread.check_draft("end", setup=SETUP_OF["probe"]), thin_thread.readings(), by="TESS", now=thin_thread.at(47)
    )  # fmt: skip
    assert step(ready, "probe", "instrument").step.result == "stayed"


def to_make(lab: Lab, thing: str, setup: str = "", cable: str = "", minutes: float = 50) -> swaps.StepToMake:
    """Ask whether a step can be made, as the screen does before anything is read."""
    when = thin_thread.when(minutes)
    return swaps.step_to_make(lab, "W-0001", thing, setup or SETUP_OF[thing], cable, when)


def test_an_item_at_work_in_another_setup_is_not_touched(ready: Lab) -> None:
    """The probe that would come in reads holes with another instrument. Planted bug it caught: the setups were asked, not the items."""
    begun(ready, "block")
    other = thin_thread.setup(ready, instrument="I-2", probe="P-2", block="B-2")
    started(ready, other, 45)
    for thing, busy in (("probe", "P-2"), ("block", "B-2"), ("instrument", "I-2")):
        with pytest.raises(Refusal, match=rf"{busy} is at work on job J-1 since start check C-0022 \(setup {other}\)"):
            to_make(ready, thing)
        with pytest.raises(Refusal, match=f"{busy} is at work"):
            step(ready, thing, "block", 51)
    plan = {p.exchanged: p for p in swaps.swap_shown(ready, "W-0001", thin_thread.when(50)).plan}
    assert (plan["probe"].partners, plan["probe"].possible) == ((), False)
    assert "P-2 is at work on job J-1" in plan["probe"].missing
    assert to_make(ready, "cable", cable="A-2").kit == ("I-1", "P-1", "B-1", "A-2")  # none of these is at work


def test_the_cable_at_work_keeps_the_kit_and_may_be_exchanged(ready: Lab) -> None:
    """Planted bug it caught: the cable of the start check was no item of its kit."""
    begun(ready, "block")
    other = thin_thread.setup(ready, instrument="I-2", probe="P-2", block="B-2")
    made = thin_thread.check_draft("start", setup=other, cable="A-1")
    checks.record_check(ready, made, thin_thread.readings(), by="TESS", now=thin_thread.at(45))
    plan = {p.exchanged: p for p in swaps.swap_shown(ready, "W-0001", thin_thread.when(50)).plan}
    assert "A-1 is at work on job J-1" in plan["probe"].missing  # it would stay as it was
    assert plan["cable"].possible


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"form": "adapter"}, "A-3 is an adapter, not a cable"),
        (
            {"form": "cable", "probe_connector": "two-pin"},
            r"A-3 has another plug to the probe \(two-pin\) than A-4 \(four-pin\)",
        ),
    ],
)
def test_the_wrong_kind_of_cable_is_refused_before_anything_is_read(
    ready: Lab, fields: dict[str, str], why: str
) -> None:
    """Planted bug it caught: an adapter in the cable's place was told when all notches had been read."""
    for number, given_fields in (("A-3", fields), ("A-4", {"form": "cable", "probe_connector": "four-pin"})):
        entered = {"asset_no": number, "name": "accessory"} | given_fields
        equipment.enter_item(ready, draft(equipment.AccessoryDraft, entered, number), by=KEEPER, now=thin_thread.at(5))
    begin(ready, swap_lab.deviating(ready, "cable", cable="A-4"))
    with pytest.raises(Refusal, match=why):
        to_make(ready, "cable", cable="A-3")
    with pytest.raises(Refusal, match=why):
        step(ready, "cable", "cable", cable="A-3")
    with pytest.raises(NotFound, match="P-2 is a probe, not an accessory") as refused:
        to_make(ready, "cable", cable="P-2")
    assert "refstd list accessories" in str(refused.value)
    plan = {p.exchanged: p for p in swaps.swap_shown(ready, "W-0001", thin_thread.when(50)).plan}
    assert "A-3" not in plan["cable"].cables


def test_what_may_not_be_used_does_not_come_in(ready: Lab) -> None:
    """Planted bug it caught: a quarantined partner, named by its setup, was taken."""
    begun(ready, "instrument")
    for number in ("A-2", "P-2"):
        equipment.set_state(ready, number, "quarantined", "dropped", by=KEEPER, now=thin_thread.at(42))
    with pytest.raises(Refusal, match="P-2: do not use: P-2 is quarantined: dropped"):
        step(ready, "probe", "instrument")
    with pytest.raises(Refusal, match="A-2: do not use: A-2 is quarantined: dropped"):
        to_make(ready, "cable", cable="A-2")
    plan = {p.exchanged: p for p in swaps.swap_shown(ready, "W-0001", thin_thread.when(50)).plan}
    assert (plan["cable"].cables, plan["cable"].against) == ((), ("A-2: do not use: A-2 is quarantined: dropped",))
    assert "P-2: do not use" in plan["probe"].missing


def test_no_test_starts_from_a_setup_at_work(ready: Lab) -> None:
    started(ready, "S-0001", 20)
    made = thin_thread.check_draft("interim")
    kept = checks.record_check(ready, made, thin_thread.readings(0.92), by="TESS", now=thin_thread.at(30))
    assert kept.outcome == "acceptable"
    with pytest.raises(Refusal, match="at work on job J-1"):
        begin(ready, kept.number, "1.0 mm")


def test_a_step_frees_no_lots_and_ends_no_start(ready: Lab) -> None:
    """The failed interim ends the work; the swap test after it changes nothing about the lots."""
    started(ready, "S-0001", 10)
    thin_thread.lot(ready, "C-0021", "holes 1 to 9", 15)
    failed = checks.record_check(
        ready, thin_thread.check_draft("interim"), seen("probe"), by="TESS", now=thin_thread.at(30)
    )
    assert "lot L-0001 (panel 4: holes 1-9)" in failed.held
    begin(ready, failed.number)
    step(ready, "cable", "cable", cable="A-2")
    assert findings.findings(ready, thin_thread.when())[0].holds() == failed.held


# What is refused


@pytest.mark.parametrize(("thing", "setup", "too"), [
    ("probe", "S-0003", "block"), ("probe", "S-0004", "instrument"), ("cable", "S-0002", "probe"),
])  # fmt: skip
def test_two_things_at_once_are_refused(ready: Lab, thing: str, setup: str, too: str) -> None:
    begun(ready, "probe")
    with pytest.raises(Refusal, match=f"not the {thing} alone is exchanged: {too} too"):
        step(ready, thing, "probe", setup=setup)


def test_another_cable_beside_the_probe_is_two_things(ready: Lab) -> None:
    """Planted bug it caught: only the setups were compared."""
    begun(ready, "cable")
    with pytest.raises(Refusal, match="not the probe alone is exchanged: cable too"):
        step(ready, "probe", "cable", cable="A-2")


def test_the_same_thing_again_is_no_exchange(ready: Lab) -> None:
    begun(ready, "cable")
    with pytest.raises(Refusal, match="it is cable A-1 again"):
        step(ready, "cable", "cable", cable="A-1")
    with pytest.raises(Refusal, match="it is P-1 again"):
        step(ready, "probe", "probe", setup="S-0001")


def test_other_conditions_are_refused(ready: Lab) -> None:
    other = thin_thread.setup(ready, probe="P-2", frequency_khz="100")
    begun(ready, "probe")
    with pytest.raises(Refusal, match="not the probe alone is exchanged: conditions too"):
        step(ready, "probe", "probe", setup=other)


def test_what_cannot_be_exchanged_and_what_is_not_on_record_are_refused(ready: Lab) -> None:
    check = swap_lab.deviating(ready, "probe")
    with pytest.raises(NotFound, match="B-1 has no notch '9 mm'"):
        begin(ready, check, "9 mm")
    begin(ready, check)
    with pytest.raises(WrongUsage, match="Name one of cable, probe, block, instrument"):
        swaps.record_step(
            ready, "W-0001", "person", step_draft("probe"), seen("probe"), by="TESS", now=thin_thread.at(50)
        )
    with pytest.raises(NotFound, match="W-0009"):
        step(ready, "probe", "probe", number="W-0009")


def test_a_deviation_within_chance_starts_nothing(ready: Lab) -> None:
    made = thin_thread.check_draft("periodic", job="", procedure="PR-1")
    kept = checks.record_check(ready, made, thin_thread.readings(0.98), by="TESS", now=thin_thread.at(30))
    with pytest.raises(Refusal, match="too small to be followed") as refused:
        begin(ready, kept.number)
    assert "limit at least ±0.65 dB" in str(refused.value)
    assert given.count(ready, SwapTest) == 0


def test_a_check_that_no_longer_speaks_for_the_setup_starts_nothing(ready: Lab) -> None:
    first = swap_lab.deviating(ready, "probe")
    newer = swap_lab.deviating(ready, "probe", 35)
    with pytest.raises(Refusal, match=f"{newer} is a newer check"):
        begin(ready, first)
    corrected = checks.correct_check(
        ready, newer, seen("probe"), "typed wrongly", "TOM", by="TESS", now=thin_thread.at(38)
    )
    with pytest.raises(Refusal, match=f"{newer} was corrected by {corrected.number}"):
        begin(ready, newer)
    begin(ready, corrected.number)
    with pytest.raises(AlreadyOnRecord, match="W-0001 starts from there already"):
        begin(ready, corrected.number)
    with pytest.raises(Refusal, match="set-up check"):
        begin(ready, "C-0001")


def test_a_check_without_a_baseline_starts_nothing(ready: Lab) -> None:
    number = thin_thread.setup(ready, frequency_khz="100")
    check = swap_lab.deviating(ready, "probe", setup=number)
    with pytest.raises(Refusal, match="has no baseline"):
        begin(ready, check)


def test_an_auditor_begins_none_and_makes_no_step(ready: Lab) -> None:
    check = swap_lab.deviating(ready, "probe")
    with pytest.raises(NotAllowed):
        begin(ready, check, by="AUDE")
    begin(ready, check)
    with pytest.raises(NotAllowed):
        swaps.record_step(
            ready, "W-0001", "probe", step_draft("probe"), seen("probe", "probe"), by="AUDE", now=thin_thread.at(50)
        )


def test_when_the_first_check_is_corrected_the_test_says_nothing_any_more(ready: Lab) -> None:
    """Planted bug it caught: the test went on from a figure that was a slip of the pen."""
    begun(ready, "probe")
    checks.correct_check(ready, "C-0021", seen("", ""), "typed wrongly", "TOM", by="TESS", now=thin_thread.at(45))
    with pytest.raises(Refusal, match="says nothing any more"):
        step(ready, "probe", "probe")
    found = swaps.swap_shown(ready, "W-0001", thin_thread.when())
    assert (found.next, found.headline()) == (None, found.void)


def test_a_corrected_step_counts_no_longer_and_is_asked_for_again(ready: Lab) -> None:
    begun(ready, "probe")
    kept = step(ready, "probe", "probe")
    assert kept.swap.conclusion.settled
    checks.correct_check(
        ready, kept.step.check, seen("probe"), "typed wrongly", "TOM", by="TESS", now=thin_thread.at(55)
    )
    found = swaps.swap_shown(ready, "W-0001", thin_thread.when())
    assert (found.steps[0].counts, found.conclusion.settled) == (False, False)
    assert found.steps[0].corrected_by == "C-0023"


def test_after_a_repair_no_further_step_is_made_and_what_it_said_stands(ready: Lab) -> None:
    """What deviated is not there as it was. Planted bug it caught: the repair made the whole test say nothing."""
    begun(ready, "probe")
    step(ready, "cable", "probe")
    assert step(ready, "probe", "probe", 51).swap.conclusion.settled
    fields = {"asset_no": "P-1", "event": "repaired", "happened_at": "2031-03-14T13:00"}
    events.record_event(ready, draft(events.EventDraft, fields, "event"), by="TESS", now=thin_thread.at(70))
    found = swaps.swap_shown(ready, "W-0001", thin_thread.when())
    assert found.headline() == "the deviation went with the probe: P-1 is left"
    assert found.ended.startswith("P-1: repaired 2031-03-14 13:00, after check C-0021")
    assert found.next is None
    with pytest.raises(Refusal, match="what deviated then is not there as it was"):
        step(ready, "block", "probe", 80)
    with pytest.raises(Refusal, match="what deviated then is not there as it was"):
        begin(ready, "C-0021", "1.0 mm", 80)


# Partners


def test_without_a_baseline_from_before_the_thing_is_not_offered_and_cannot_tell(tmp_path: Path) -> None:
    """A baseline taken now would have the deviation in it. Planted bug it caught: any baseline would do."""
    lab = given.new_lab(tmp_path / "lab.refstd")
    swap_lab.build(lab, without=(SETUP_OF["probe"],))
    begun(lab, "instrument")
    plan = {p.exchanged: p for p in swaps.swap_shown(lab, "W-0001", thin_thread.when()).plan}
    assert not plan["probe"].possible
    assert plan["probe"].missing == (
        "no other probe can come in: P-2 has no baseline in setup S-0002; one taken now would have the deviation in it"
    )
    kept = step(lab, "probe", "instrument", 45)
    assert (kept.step.result, "has no baseline" in kept.step.says) == ("cannot tell", True)
    swap_lab.baseline(lab, SETUP_OF["probe"], 480)
    kept = step(lab, "probe", "instrument", 50)
    assert (kept.step.result, "from after C-0016 only" in kept.step.says) == ("cannot tell", True)
    assert not next(p for p in kept.swap.plan if p.exchanged == "probe").possible
    lab.close()


def test_a_baseline_taken_while_the_deviation_was_there_already_is_none_from_before(tmp_path: Path) -> None:
    """Off at 12:30, a baseline at 12:35, begun from the check of 12:45. Planted bug it caught: 'before' meant that check."""
    lab = given.new_lab(tmp_path / "lab.refstd")
    swap_lab.build(lab, without=(SETUP_OF["probe"],))
    swap_lab.deviating(lab, "instrument", 30)
    swap_lab.baseline(lab, SETUP_OF["probe"], 350)
    found = begin(lab, swap_lab.deviating(lab, "instrument", 45), minutes=46)
    assert not next(p for p in found.plan if p.exchanged == "probe").possible
    assert step(lab, "probe", "instrument").step.result == "cannot tell"
    assert step(lab, "block", "instrument", 51).step.result == "stayed"  # its baseline is from before both
    lab.close()


def test_a_baseline_from_before_a_repair_of_what_comes_in_is_none_of_it(ready: Lab) -> None:
    """Planted bug it caught: the repaired probe was held against what it was."""
    fields = {"asset_no": "P-2", "event": "repaired", "happened_at": "2031-03-14T12:20"}
    events.record_event(ready, draft(events.EventDraft, fields, "event"), by="TESS", now=thin_thread.at(25))
    found = begun(ready, "instrument")
    assert not next(p for p in found.plan if p.exchanged == "probe").possible
    assert step(ready, "probe", "instrument").step.result == "cannot tell"


def test_what_is_out_of_service_or_suspected_takes_no_place_and_what_is_out_stands_last(ready: Lab) -> None:
    begun(ready, "instrument")
    custody.check_out(ready, "J-1", ["P-2"], by="TOM", now=thin_thread.at(41))
    plan = {p.exchanged: p for p in swaps.swap_shown(ready, "W-0001", thin_thread.when()).plan}
    assert plan["probe"].partners[0].out_to == "TOM for job J-1"
    assert "P-2 is out to TOM for job J-1" in plan["probe"].do
    equipment.set_state(ready, "I-2", "quarantined", "dropped", by=KEEPER, now=thin_thread.at(42))
    plan = {p.exchanged: p for p in swaps.swap_shown(ready, "W-0001", thin_thread.when()).plan}
    assert (plan["instrument"].partners, plan["instrument"].possible) == ((), False)


def test_a_step_that_was_not_set_up_anew_cannot_tell_and_may_be_repeated(ready: Lab) -> None:
    begun(ready, "probe")
    kept = step(ready, "probe", "probe", 50, nulled="no")
    assert (kept.step.result, kept.swap.conclusion.settled) == ("cannot tell", False)
    assert "balance, set the phase reference, and check again" in kept.step.says
    assert step(ready, "probe", "probe", 51).swap.conclusion.settled


def test_every_notch_of_a_check_is_offered_with_how_far_it_lies_off(ready: Lab) -> None:
    check = swap_lab.deviating(ready, "block")
    offered = swaps.notches_to_follow(ready, check, thin_thread.when())
    assert (offered[0][0], str(offered[0][1].weight)) == (NOTCH, "supports")
    assert {str(r.weight) for n, r in offered if n != NOTCH} == {"stops"}


def test_the_swap_test_from_a_check_is_found_again(ready: Lab) -> None:
    check = swap_lab.deviating(ready, "probe")
    assert swaps.swap_from(ready, check, NOTCH, thin_thread.when()) == ""
    begin(ready, check)
    assert swaps.swap_from(ready, check, "0.5 MM", thin_thread.when()) == "W-0001"
    assert [s.number for s in swaps.swaps(ready, thin_thread.when())] == ["W-0001"]
