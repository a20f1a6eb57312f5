"""Matching equipment to a job: what refuses, in words, with what would cure it; what a procedure names comes first."""

from dataclasses import replace
from decimal import Decimal

import pytest

from refstd.base.reason import Reason, Weight
from refstd.rules.kits import match_kits
from refstd.rules.matching import AcceptedFamily, Candidate, JobFacts, Loaned, Material, NamedItem, match_item
from tests.rules.a_job import AL, BLOCK, CS, INSTRUMENT, JOB, PROBE, SS, TI, TODAY, facts


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


def test_a_lent_item_names_its_holder_and_job() -> None:
    lent = replace(PROBE, loan=Loaned("TESS", "J-7", "2031-06-14 08:00"))
    assert told(JOB, lent) == [
        "P-1 is out with TESS for job J-7 since 2031-06-14 08:00 [loan of P-1] → have it checked in first"
    ]
