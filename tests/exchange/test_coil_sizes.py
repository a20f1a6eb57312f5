"""The size of a probe's coil: whole or not at all, from a file to the record and back into a file."""

from pathlib import Path

import pytest

from refstd.desk.items import register
from refstd.desk.store import Lab, When
from refstd.exchange.export import export_register
from refstd.tui.record_sections import described
from tests import given, thin_thread
from tests.exchange.test_spreadsheet import LATER, problems, read_in

HEADING = (
    "asset_no,name,form,circuit,coils,lowest_khz,highest_khz,connector,"
    "coil_inner_mm,coil_outer_mm,coil_height_mm,coil_gap_mm\n"
)
PROBE = "P-1,p,pencil,bridge,absolute,50,500,four-pin,"


@pytest.mark.parametrize(
    ("size", "wrong"),
    [
        ("2,4,3,", ["coil_gap_mm: is missing beside the other sizes of the coil"]),
        (",4,,", [f"coil_{n}_mm: is missing beside the other sizes of the coil" for n in ("inner", "height", "gap")]),
        ("4,2,3,0.2", ["coil_outer_mm: is 2 mm and the inner diameter 4 mm"]),
        ("2,2.00,3,0.2", ["coil_outer_mm: is 2.00 mm and the inner diameter 2 mm"]),
        ("2,4,-3,0.2", ["coil_height_mm: -3 is below 0.000001"]),
    ],
)
def test_half_a_coil_or_one_turned_inside_out_is_refused_where_it_stands(lab: Lab, size: str, wrong: list[str]) -> None:
    """Planted bug that this caught: an outer diameter equal to the inner one, a winding without width, passed."""
    found = problems(lab, {"probes": HEADING + PROBE + size + "\n"})
    assert [f.removeprefix("probes.csv, row 2, ").split(";")[0] for f in found] == wrong


def test_a_coils_size_stands_on_the_record_as_written_and_reads_back_from_an_export(lab: Lab, tmp_path: Path) -> None:
    read_in(lab, {"probes": HEADING + PROBE + "1.20,2.40,1.2,0.15\n" + PROBE.replace("P-1", "P-2") + ",,,\n"})
    first, second = (described(p) for p in register(lab, When(LATER), "probe"))
    assert [first[f"coil_{n}_mm"] for n in ("inner", "outer", "height", "gap")] == ["1.20", "2.40", "1.2", "0.15"]
    assert second["coil_inner_mm"] == ""
    written = export_register(lab, When(LATER))["probes.csv"]
    assert b"1.20,2.40,1.2,0.15" in written
    other = given.new_lab(tmp_path / "other.refstd")
    read_in(other, {"probes": written})
    assert [described(p) for p in register(other, When(LATER), "probe")] == [first, second]


def test_no_size_is_needed(lab: Lab) -> None:
    thin_thread.probe(lab, "P-9")
