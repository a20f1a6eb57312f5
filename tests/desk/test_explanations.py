"""Explanations on the match: told beside the kits, and verdict, order and refusals are the same with and without coil sizes."""

from pathlib import Path

import pytest

from refstd.base.reason import Weight
from refstd.desk import equipment, kits
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.kits import Match
from refstd.desk.store import Lab
from refstd.reports import match_sheet
from tests import given, thin_thread

SIZES = {"coil_inner_mm": "1", "coil_outer_mm": "2", "coil_height_mm": "0.75", "coil_gap_mm": "0.2"}


def shelf(path: Path, *, sizes: bool) -> Lab:
    """Make a lab with three blocks, four probes and a job on another alloy, the probes with or without their coils' sizes."""
    lab = given.new_lab(path)
    thin_thread.people_and_material(lab)
    values = {
        "code": "AL-2",
        "name": "AL-2",
        "family": "aluminium alloy",
        "magnetic_class": "non-magnetic",
        "source": "test",
    }
    for code, iacs in (("AL-2", "42"), ("AL-3", "30")):
        fields = values | {"code": code, "conductivity_percent_iacs": iacs}
        equipment.enter_material(lab, draft(equipment.MaterialDraft, fields, code), by=given.KEEPER, now=given.NOON)
    thin_thread.block(lab)
    thin_thread.block(lab, "B-2", material="AL-2", thickness_mm="3")
    thin_thread.block(lab, "B-3", material="AL-3")
    size = SIZES if sizes else {}
    thin_thread.probe(lab, **size)
    thin_thread.probe(lab, "P-2", shielded="yes", **size)
    thin_thread.probe(lab, "P-3", coils="differential", **size)
    thin_thread.probe(lab, "P-4", lowest_khz="500", highest_khz="3000", **size)
    thin_thread.instrument(lab)
    for number in ("B-1", "B-2", "B-3", "I-1"):
        thin_thread.certified(lab, number)
    thin_thread.procedure(lab)
    thin_thread.job(lab, material="AL-2")
    thin_thread.setup(lab)
    thin_thread.baseline(lab)
    return lab


def bare(m: Match) -> tuple[object, ...]:
    """Return everything about a match that decides."""
    return m.subject, m.asset_nos, m.fits, m.verdict, m.reasons, m.named


def test_verdict_and_order_are_the_same_with_and_without_coil_sizes(tmp_path: Path) -> None:
    """Planted bug that this caught: the explanation counted among the advice that a kit is ranked by."""
    known, unknown = (shelf(tmp_path / f"{n}.refstd", sizes=n == "with") for n in ("with", "without"))
    with_sizes, without = (kits.match(lab, "J-1", thin_thread.when(1)) for lab in (known, unknown))
    for ours, theirs in zip(with_sizes, without, strict=True):
        assert [bare(m) for m in ours] == [bare(m) for m in theirs]
    advised = {m.subject for m in with_sizes[0] if any(r.weight is Weight.ADVISES for r in m.explained)}
    assert {"B-1 + P-1 + I-1", "B-3 + P-2 + I-1"} <= advised
    assert not any(r.weight is Weight.ADVISES for m in without[0] for r in m.explained)
    assert not any(m.explained for m in (*with_sizes[1], *without[1]))


def test_the_kits_of_a_job_are_explained_by_their_own_block_and_coil(tmp_path: Path) -> None:
    """The narrow coil of tests/rules/test_explanation.py. Planted bug that this caught: diameters taken for radii."""
    lab = shelf(tmp_path / "lab.refstd", sizes=True)
    found, _ = kits.match(lab, "J-1", thin_thread.when(1))
    told = {m.subject: [r.says for r in m.explained if r.weight is Weight.ADVISES] for m in found}
    assert told["B-2 + P-1 + I-1"] == []  # the part's own alloy
    assert told["B-1 + P-3 + I-1"] == []  # differential
    assert told["B-1 + P-1 + I-1"] == [
        "block 32 %IACS, part 42 %IACS: the balance point moves by about as much as 0.03 mm of lift-off would; "
        "notch amplitude by less than 1.7 dB"
    ]


def test_the_report_carries_the_explanation_its_basis_and_its_method(tmp_path: Path) -> None:
    lab = shelf(tmp_path / "lab.refstd", sizes=True)
    sheet = match_sheet(lab, thin_thread.when(1), "J-1")
    row = next(r for r in sheet.rows if "the balance point moves" in " ".join(r))
    assert "calculated, not measured; the reading has NOT been corrected for this" in row
    assert any("passes, fails, ranks or corrects" in note for note in sheet.notes)


@pytest.mark.parametrize("part", ["CS", "TI"])
def test_a_part_that_no_block_suits_has_no_kit_to_explain(tmp_path: Path, part: str) -> None:
    lab = shelf(tmp_path / "lab.refstd", sizes=True)
    thin_thread.job(lab, "J-2", material=part)
    found, rejected = kits.match(lab, "J-2", thin_thread.when(1))
    assert found == ()
    assert rejected
