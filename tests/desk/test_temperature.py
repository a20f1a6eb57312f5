"""Temperatures of block and part from entry to verdict: kept, judged by the procedure, shown, and corrected with the rest."""

from pathlib import Path

import pytest

from refstd.desk import checks, equipment
from refstd.desk.check_record import check_record, settings_in_words
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab
from refstd.reports import check_sheet
from refstd.reports.lists import procedures_sheet
from tests import given, thin_thread

BLOCK, PART = "20.5", "26"  # °C


def warm(lab: Lab, occasion: str, minutes: float = 0, **values: str) -> checks.CheckVerdict:
    """Record a check with a part that is 5.5 °C above the block."""
    values |= {"block_temperature_c": BLOCK, "part_temperature_c": PART}
    drafted = thin_thread.check_draft(occasion, **values)
    return checks.record_check(lab, drafted, thin_thread.readings(), by="TESS", now=thin_thread.at(minutes))


@pytest.fixture
def banded(tmp_path: Path) -> Lab:
    """A lab whose procedure has a band of temperature, and one more without."""
    lab = given.new_lab(tmp_path / "lab.refstd")
    thin_thread.people_and_material(lab)
    thin_thread.block(lab)
    thin_thread.probe(lab)
    thin_thread.instrument(lab)
    for number in ("B-1", "I-1"):
        thin_thread.certified(lab, number)
    thin_thread.procedure(lab, temperature_band_c="5", temperature_paragraph="4.4")
    thin_thread.procedure(lab, "PR-2")
    thin_thread.job(lab)
    thin_thread.setup(lab)
    return lab


def about(verdict: checks.CheckVerdict) -> list[str]:
    """Return what a verdict says about temperature."""
    return [r.in_words() for r in verdict.reasons if r.rule == "temperature"]


def test_a_start_check_is_judged_by_the_procedures_band(banded: Lab) -> None:
    """Planted bug that this caught: the temperatures of a check not yet kept were not handed to the rule."""
    unknown = thin_thread.check(banded, "start")
    assert unknown.outcome == "not conclusive"
    assert about(unknown) == [
        "the temperature of the block and the part is not recorded no figure, limit ±5 °C of part against block "
        f"(procedure PR-1 issue B, 4.4) [check {unknown.number}] → measure both, enter them, and check again"
    ]
    good = thin_thread.check(banded, "start", minutes=5, block_temperature_c="20.5", part_temperature_c="25.5")
    assert good.outcome == "acceptable"
    cold = warm(banded, "end", 9)
    assert cold.outcome == "not acceptable"
    assert "block 20.5 °C, part 26 °C, limit ±5 °C" in about(cold)[0]
    assert cold.finding


def test_a_preview_says_what_the_check_says(banded: Lab) -> None:
    shown = checks.preview_check(
        banded,
        thin_thread.check_draft("start", block_temperature_c=BLOCK, part_temperature_c=PART),
        thin_thread.readings(),
        thin_thread.when(1),
    )
    kept = warm(banded, "start")
    assert (shown.outcome, kept.outcome) == ("not acceptable", "not acceptable")


def test_the_temperatures_stand_on_the_record_and_in_the_report(banded: Lab) -> None:
    kept = thin_thread.check(banded, "start", block_temperature_c="-2.50", part_temperature_c="0")
    assert "block −2.50 °C, part 0 °C" in settings_in_words(check_record(banded, kept.number, thin_thread.when()))
    sheet = check_sheet(banded, thin_thread.when(), kept.number)
    assert "block −2.50 °C, part 0 °C" in dict(sheet.scope)["settings"]
    rows = procedures_sheet(banded, thin_thread.when()).rows
    assert ("temperature", "part against block", "±5 °C", "4.4") in [tuple(r[-4:]) for r in rows]


def test_a_correction_keeps_the_temperatures(banded: Lab) -> None:
    kept = warm(banded, "start")
    corrected = checks.correct_check(
        banded, kept.number, thin_thread.readings(1.01), "slip", "TOM", by="TESS", now=thin_thread.at(3)
    )
    assert "block 20.5 °C, part 26 °C" in about(corrected)[0]


def test_only_where_it_matters_are_temperatures_asked_for(banded: Lab) -> None:
    sheet = checks.check_sheet(banded, "S-0001", "start", thin_thread.when(1), job="J-1")
    assert sheet.asks_temperatures
    assert not checks.check_sheet(banded, "S-0001", "periodic", thin_thread.when(1), procedure="PR-2").asks_temperatures


def test_a_conductivity_standard_gets_the_published_advice(banded: Lab) -> None:
    fields = {"asset_no": "B-7", "name": "standard", "material": "AL", "form": "conductivity", "thickness_mm": "10"}
    notches = [draft(equipment.NotchDraft, {"label": n, "depth_mm": n.split()[0]}, n) for n in thin_thread.HEIGHTS]
    equipment.enter_item(banded, draft(equipment.BlockDraft, fields, "B-7"), notches, by=given.KEEPER, now=given.NOON)
    number = thin_thread.setup(banded, block="B-7")
    kept = warm(banded, "periodic", 1, setup=number, procedure="PR-2", job="")
    [says] = about(kept)
    assert "MIL-STD-1537C, 5.1.2" in says
    assert checks.check_sheet(banded, number, "periodic", thin_thread.when(1), procedure="PR-2").asks_temperatures
    assert about(warm(banded, "periodic", 2, procedure="PR-2", job="")) == []


def test_a_temperature_that_no_lab_has_is_refused() -> None:
    with pytest.raises(Exception, match="part_temperature_c"):
        thin_thread.check_draft("start", part_temperature_c="203")
