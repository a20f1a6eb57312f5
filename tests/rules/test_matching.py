"""Matching equipment to a job: what refuses, in words, with what would cure it; what a procedure names comes first."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from refstd.base.reason import Reason, Weight
from refstd.rules.duties import Duty
from refstd.rules.matching import (
    AcceptedFamily,
    Candidate,
    JobFacts,
    Loaned,
    Material,
    NamedItem,
    match_chosen,
    match_item,
    match_kits,
)
from refstd.rules.serviceability import ItemFacts, OpenFinding, ProcedureNeeds
from refstd.rules.verdict import Standing

TODAY = date(2031, 6, 15)
AL = Material("AL", "aluminium alloy", "non-magnetic", Decimal("32"))
TI = Material("TI", "titanium alloy", "non-magnetic", Decimal("1.0"))
CS = Material("CS", "carbon steel", "ferromagnetic", None)
SS = Material("SS", "stainless steel", "non-magnetic", Decimal("2.5"))
JOB = JobFacts(
    "J-1", "procedure PR-1 issue A", "plate", AL, None, Decimal("200"), "4.1", Decimal("100"), Decimal("200"),
    TODAY + timedelta(days=10), ProcedureNeeds("procedure PR-1 issue A", ("0.5 mm",)), (), (), None, "",
)  # fmt: skip


def facts(asset_no: str, kind: str, due_in: int = 100) -> ItemFacts:
    due = Duty(
        "calibration", TODAY + timedelta(days=due_in), TODAY, "12 months", "written practice 4.2", "certificate K-1"
    )
    return ItemFacts(asset_no, kind, "in service", "", "state", (due,), notches=("0.5 mm",) if kind == "block" else ())


BLOCK = Candidate(facts("B-1", "block"), "EB-1", form="plate", material=AL)
PROBE = Candidate(
    facts("P-1", "probe"),
    "EP-1",
    form="pencil",
    lowest_khz=Decimal("50"),
    highest_khz=Decimal("500"),
    connector="four-pin",
)
INSTRUMENT = Candidate(
    facts("I-1", "instrument"), "EI-1", lowest_khz=Decimal("10"), highest_khz=Decimal("10000"), connector="four-pin"
)


def stopping(job: JobFacts, candidate: Candidate) -> list[Reason]:
    found = match_item(job, candidate, TODAY, 30)
    stops = [r for r in found.reasons if r.weight is Weight.STOPS]
    assert found.fits is (not stops)
    return stops


def told(job: JobFacts, candidate: Candidate) -> list[str]:
    """Return what stands against a candidate, each reason in words, having seen that it has a record and a cure."""
    stops = stopping(job, candidate)
    assert all(r.record and r.cure for r in stops)
    return [r.in_words() for r in stops]


def test_a_carbon_steel_block_is_refused_for_a_titanium_part() -> None:
    """Families are never crossed without a paragraph; ferromagnetic and non-magnetic never match at all.

    Common practice, no source, that is: the usual depth and gain on steel say nothing about titanium.
    """
    assert told(replace(JOB, material=TI), replace(BLOCK, material=CS)) == [
        "B-1 is carbon steel, the part is titanium alloy carbon steel (ferromagnetic), limit titanium alloy (non-magnetic) "
        "(ferromagnetic and non-magnetic never match) [B-1] → take a block of titanium alloy"
    ]


def test_a_paragraph_never_joins_ferromagnetic_and_non_magnetic() -> None:
    rule = (AcceptedFamily("titanium alloy", "carbon steel", "3.2"),)
    assert stopping(replace(JOB, material=TI, accepted=rule), replace(BLOCK, material=CS))


def test_carbon_steel_suits_carbon_steel_and_conductivity_is_not_asked() -> None:
    """Common practice, no source: ferrous blocks are matched by family, since permeability governs."""
    job = replace(JOB, material=CS, conductivity_band=Decimal("0.1"), conductivity_paragraph="3.3")
    assert stopping(job, replace(BLOCK, material=replace(CS, conductivity_percent_iacs=Decimal("9")))) == []


def test_another_family_is_accepted_only_where_a_paragraph_says_so() -> None:
    """A stranger's rule is data of a procedure, never built in."""
    job = replace(JOB, material=TI)
    stainless = replace(BLOCK, material=SS)
    assert [r.source for r in stopping(job, stainless)] == ["procedure PR-1 issue A: no paragraph accepts this family"]
    accepted = replace(job, accepted=(AcceptedFamily("titanium alloy", "stainless steel", "3.2"),))
    assert stopping(accepted, stainless) == []
    assert any(r.source == "procedure PR-1 issue A, 3.2" for r in match_item(accepted, stainless, TODAY, 30).reasons)


@pytest.mark.parametrize(
    ("khz", "fits"), [("100", True), ("200", True), ("50", True), ("500", True), ("49.9", False), ("501", False)]
)
def test_a_probe_of_50_to_500_khz_suits_a_job_at_100_and_200_khz(khz: str, fits: bool) -> None:
    """Common practice, no source. Both ends belong to the range.

    Planted: the range of the probe taken as the procedure's 100 to 200 kHz; 50 and 500 kHz failed.
    """
    stops = stopping(replace(JOB, frequency_khz=Decimal(khz)), PROBE)
    assert (stops == []) is fits
    assert [r.rule for r in stops] == ([] if fits else ["frequency"])


def test_a_probe_outside_the_frequency_says_by_how_much_and_which_to_take() -> None:
    high = replace(PROBE, lowest_khz=Decimal("1000"), highest_khz=Decimal("6000"))
    assert told(JOB, high) == [
        "P-1 does not reach the job's frequency 200 kHz, limit 1000 to 6000 kHz (range on record for P-1; procedure PR-1 issue A, "
        "4.1) [P-1] → take a probe whose range covers 200 kHz"
    ]


@pytest.mark.parametrize(("due_in", "says"), [(-1, "overdue"), (0, "falls due"), (9, "falls due"), (10, ""), (11, "")])
def test_an_item_that_falls_due_before_the_last_day_of_the_job_is_refused(due_in: int, says: str) -> None:
    """The due date is the last day of validity: due on the job's last day is in time.

    Planted: '<= ends_on'; the item that is due on the last day was refused.
    """
    found = told(JOB, replace(INSTRUMENT, item=facts("I-1", "instrument", due_in)))
    assert len(found) == (1 if says else 0)
    assert all(says in line for line in found)


def test_a_bore_block_of_another_diameter_is_refused() -> None:
    job = replace(JOB, form="bore", bore_diameter_mm=Decimal("6.35"))
    block = replace(BLOCK, form="bore", bore_diameter_mm=Decimal("7.94"))
    assert told(job, block) == [
        "B-1 has a bore of 7.94 mm, the holes are 6.35 mm 7.94 mm, limit 6.35 mm (job J-1) [B-1] → take a block with a bore of 6.35 mm"
    ]
    assert stopping(job, replace(block, bore_diameter_mm=Decimal("6.350"))) == []
    assert len(stopping(job, replace(block, bore_diameter_mm=None))) == 1


@pytest.mark.parametrize(
    ("form", "probe", "fits"),
    [
        ("plate", "pencil", True), ("plate", "rotating bolt-hole", False), ("bore", "rotating bolt-hole", True),
        ("bore", "manual bolt-hole", True), ("bore", "pencil", False), ("countersink", "countersink", True),
        ("weld", "weld (cross-axis)", True), ("weld", "pencil", False), ("layers", "ring", True), ("layers", "pencil", False),
    ],
)  # fmt: skip
def test_a_probe_is_made_for_a_form(form: str, probe: str, fits: bool) -> None:
    """Common practice, no source."""
    assert (stopping(replace(JOB, form=form), replace(PROBE, form=probe)) == []) is fits


def test_a_block_of_another_form_or_without_the_named_notches_is_refused() -> None:
    assert [r.rule for r in stopping(JOB, replace(BLOCK, form="edge"))] == ["form"]
    bare = replace(BLOCK, item=replace(BLOCK.item, notches=("1.0 mm",)))
    assert [r.rule for r in stopping(JOB, bare)] == ["notches"]


@pytest.mark.parametrize(("iacs", "fits"), [("27", True), ("37", True), ("26.9", False), ("37.1", False)])
def test_conductivity_is_held_only_against_the_procedures_band(iacs: str, fits: bool) -> None:
    job = replace(JOB, conductivity_band=Decimal("5"), conductivity_paragraph="3.3")
    block = replace(BLOCK, material=replace(AL, conductivity_percent_iacs=Decimal(iacs)))
    assert (stopping(job, block) == []) is fits
    assert stopping(JOB, block) == []  # no band, no limit: nothing is built in


@pytest.mark.parametrize(
    ("block", "part", "whose"),
    [
        (None, "32", "the block's material AL"),
        ("32", None, "the part's material TI"),
        (None, None, "the block's material AL and the part's material TI"),
    ],
)
def test_an_unknown_conductivity_is_not_within_a_band(block: str | None, part: str | None, whose: str) -> None:
    """Planted bug it caught: unknown on either side passed without a word where the procedure states a band."""
    parts = Material("TI", AL.family, AL.magnetic_class, Decimal(part) if part else None)
    job = replace(JOB, material=parts, conductivity_band=Decimal("5"), conductivity_paragraph="3.3")
    candidate = replace(BLOCK, material=replace(AL, conductivity_percent_iacs=Decimal(block) if block else None))
    assert told(job, candidate) == [
        f"the conductivity of {whose} is not on record unknown, limit ±5 %IACS (procedure PR-1 issue A, 3.3) [B-1] → have it "
        "measured, and entered with its source"
    ]


def test_the_best_kit_of_each_block_stands_before_a_second_one_of_any_and_the_order_is_kept_otherwise() -> None:
    """Planted bug it caught: the kits of B-1 with every probe filled the page, and no other block was seen."""
    blocks = tuple(replace(BLOCK, item=facts(f"B-{n}", "block", due)) for n, due in ((1, 100), (2, 20), (3, 100)))
    probes = tuple(replace(PROBE, item=facts(f"P-{n}", "probe")) for n in range(1, 6))
    kits, _ = match_kits(JOB, (*blocks, *probes, INSTRUMENT), TODAY, 30, most=6)
    shown = [m.asset_nos[:2] for m in kits]
    assert shown[:3] == [("B-1", "P-1"), ("B-3", "P-1"), ("B-2", "P-1")]  # B-2 is due soon: last of the three
    assert shown[3:] == [("B-1", "P-2"), ("B-1", "P-3"), ("B-1", "P-4")]
    every, _ = match_kits(JOB, (*blocks, *probes, INSTRUMENT), TODAY, 30, most=99)
    assert len(every) == len({m.asset_nos for m in every}) == 15


def test_what_the_procedure_names_comes_first_and_refuses_the_rest() -> None:
    named = (
        NamedItem("probe", "EP-1", "named", "3.1"),
        NamedItem("probe", "EP-2", "alternate", "3.1"),
    )
    job = replace(JOB, named=named)
    other = replace(PROBE, item=facts("P-2", "probe"), part_no="EP-2")
    third = replace(PROBE, item=facts("P-3", "probe"), part_no="EP-3")
    assert stopping(job, PROBE) == []
    assert stopping(job, other) == []
    assert told(job, third) == [
        "P-3 is not a probe that procedure PR-1 issue A names part number EP-3, limit EP-1, EP-2 (procedure PR-1 issue A, 3.1) [P-3] "
        "→ take one with part number EP-1, EP-2"
    ]
    kits, rejected = match_kits(job, (BLOCK, INSTRUMENT, third, other, PROBE), TODAY, 30)
    assert [m.asset_nos[1] for m in kits] == ["P-1", "P-2"]
    assert [m.subject for m in rejected] == ["P-3"]


def test_named_kits_stand_before_others_and_clean_ones_before_cautioned_ones() -> None:
    job = replace(JOB, named=(NamedItem("block", "EB-1", "named", "3.1"),))
    soon = replace(INSTRUMENT, item=facts("I-0", "instrument", 20))  # due soon, after the job: a caution
    kits, _ = match_kits(job, (BLOCK, soon, INSTRUMENT, PROBE), TODAY, 30)
    assert [m.asset_nos for m in kits] == [("B-1", "P-1", "I-1"), ("B-1", "P-1", "I-0")]


def test_a_lent_item_names_its_holder_and_job() -> None:
    lent = replace(PROBE, loan=Loaned("TESS", "J-7", "2031-06-14 08:00"))
    assert told(JOB, lent) == [
        "P-1 is out with TESS for job J-7 since 2031-06-14 08:00 [loan of P-1] → have it checked in first"
    ]


def test_connectors_join_directly_or_by_one_adapter() -> None:
    other = replace(PROBE, connector="eleven-pin")
    adapter = Candidate(facts("A-1", "accessory"), "", connector="four-pin", probe_connector="eleven-pin")
    kits, rejected = match_kits(JOB, (BLOCK, INSTRUMENT, other), TODAY, 30)
    assert kits == ()
    assert [(m.subject, [r.rule for r in m.reasons]) for m in rejected] == [("P-1", ["connectors"])]
    kits, _ = match_kits(JOB, (BLOCK, INSTRUMENT, other, adapter), TODAY, 30)
    assert [m.asset_nos for m in kits] == [("B-1", "P-1", "I-1", "A-1")]
    together = match_chosen(JOB, (BLOCK, INSTRUMENT, other), TODAY, 30)[-1]
    assert not together.fits
    assert [r.cure for r in together.reasons] == ["add a cable or adapter that joins the two"]
    assert match_chosen(JOB, (BLOCK, INSTRUMENT, other, adapter), TODAY, 30)[-1].fits


def test_a_rotating_probe_needs_an_instrument_that_drives_it() -> None:
    job = replace(JOB, form="bore", bore_diameter_mm=Decimal("6.35"))
    block = replace(BLOCK, form="bore", bore_diameter_mm=Decimal("6.35"))
    probe = replace(PROBE, form="rotating bolt-hole")
    kits, rejected = match_kits(job, (block, INSTRUMENT, probe), TODAY, 30)
    assert kits == ()
    assert [r.cure for m in rejected for r in m.reasons] == ["take an instrument that drives a rotating probe"]
    driven = replace(INSTRUMENT, drives_rotating_probe=True)
    assert len(match_kits(job, (block, driven, probe), TODAY, 30)[0]) == 1


def test_a_kit_that_is_a_held_setup_is_rejected_with_the_hold_and_its_items_serve_elsewhere() -> None:
    held = OpenFinding("F-0001", "end check failed", "S-0001", ("B-1", "P-1", "I-1"), "")
    parts = tuple(replace(c, item=replace(c.item, findings=(held,))) for c in (BLOCK, PROBE, INSTRUMENT))
    second = replace(INSTRUMENT, item=facts("I-2", "instrument"))
    kits, rejected = match_kits(JOB, (*parts, second), TODAY, 30)
    assert [m.asset_nos for m in kits] == [("B-1", "P-1", "I-2")]
    assert all(r.rule != "setup hold" for r in kits[0].reasons)
    assert [m.asset_nos for m in rejected] == [("B-1", "P-1", "I-1")]
    assert [r.record for r in rejected[0].reasons if r.weight is Weight.STOPS] == ["finding F-0001"]


def test_a_choice_with_one_unsuitable_item_does_not_suit() -> None:
    choice = match_chosen(JOB, (replace(BLOCK, form="edge"), PROBE, INSTRUMENT), TODAY, 30)
    assert [m.fits for m in choice] == [False, True, True, False]


def test_a_kit_carries_the_verdict_on_its_items_together() -> None:
    kits, _ = match_kits(JOB, (BLOCK, INSTRUMENT, PROBE), TODAY, 30)
    assert [m.verdict.standing for m in kits] == [Standing.SERVICEABLE]
    assert kits[0].verdict.subject == "B-1 + P-1 + I-1"
