"""The sheet that goes out with a kit: what is out, what this very kit is expected to read, what to write by pen."""

from pathlib import Path

import pytest

from refstd.base.errors import Refusal
from refstd.desk import custody, equipment, jobs
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.job_parts import DetailsDraft
from refstd.desk.kit_sheet import kit_for
from refstd.desk.store import Lab
from refstd.reports.kit import kit_sheet, sections
from tests import thin_thread
from tests.given import KEEPER, NOON, new_lab

KIT = ["B-1", "I-1", "P-1"]


@pytest.fixture
def lab(tmp_path: Path) -> Lab:
    lab = new_lab(tmp_path / "lab.refstd")
    thin_thread.whole(lab)
    custody.check_out(lab, "J-1", KIT, by="TESS", now=thin_thread.at(-1))
    return lab


def test_a_sheet_names_what_is_out_for_the_job_and_what_it_read_last(lab: Lab) -> None:
    start = thin_thread.check(lab, "start")
    kit = kit_for(lab, "J-1", thin_thread.when())
    assert [k.item.asset_no for k in kit.items] == ["B-1", "P-1", "I-1"]
    assert kit.together.fits  # that it is out for this very job stands against nothing
    assert kit.last is not None
    assert kit.last.verdict.number == start.number
    rows = {about: (says, source, box) for _, lines in sections(kit) for about, says, source, box in lines}
    assert rows["notch 0.5 mm"][0].startswith("expect ")
    assert start.number in rows["notch 0.5 mm"][1]
    assert all("_" in rows[name][2] for name in ("block B-1", "frequency", "notch 0.5 mm", "start", "end"))


def test_a_check_that_failed_or_was_corrected_is_not_what_is_expected(lab: Lab) -> None:
    good = thin_thread.check(lab, "start")
    thin_thread.check(lab, "end", minutes=60, scale=0.5)
    last = kit_for(lab, "J-1", thin_thread.when()).last
    assert last is not None
    assert last.verdict.number == good.number


def test_nothing_out_is_refused_with_what_to_do(lab: Lab) -> None:
    custody.check_in(lab, KIT, by="TESS", now=thin_thread.at(5))
    with pytest.raises(Refusal, match="nothing is out for job J-1"):
        kit_for(lab, "J-1", thin_thread.when())
    assert kit_for(lab, "J-1", thin_thread.when(), KIT).together.fits


def test_what_stops_the_kit_stands_on_its_sheet(lab: Lab) -> None:
    custody.check_in(lab, KIT, by="TESS", now=thin_thread.at(5))
    equipment.set_state(lab, "P-1", "quarantined", "dropped", by=KEEPER, now=NOON)
    sheet = kit_sheet(lab, thin_thread.when(), ["J-1", *KIT])
    assert ("kit", "does NOT suit the job: do not use") in sheet.scope
    assert any(row[1] == "STOPS" and "quarantined" in row[2] for row in sheet.rows)


def test_the_scan_plan_is_that_of_the_parts_area_and_the_probe_of_the_kit(lab: Lab) -> None:
    area = {"area_length_mm": "100", "area_width_mm": "50"}
    jobs.describe_job(lab, "J-1", draft(DetailsDraft, area, "job"), "measured", by="TESS", now=thin_thread.at(5))
    assert next(x.about for x in kit_for(lab, "J-1", thin_thread.when()).plan.missing) == "effective width"
    thin_thread.probe(lab, "P-2", effective_width_mm="4")
    plan = kit_for(lab, "J-1", thin_thread.when(), ["B-1", "P-2", "I-1"]).plan
    assert (plan.width_source, [t.passes for t in plan.tracks]) == ("description of P-2", [13, 25])
