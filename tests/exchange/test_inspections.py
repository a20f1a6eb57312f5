"""Receipts and comparisons in an export: each reads back by its own command and says the same again."""

import csv
import io
from pathlib import Path

import pytest

from refstd.desk import comparisons, receipt
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When, make_store
from refstd.exchange.export import export_register
from refstd.exchange.points import COLUMNS, points_from
from refstd.exchange.scans import SCAN, SETTINGS, scans_from
from refstd.rules.duties import AWAITING
from tests import thin_thread as given
from tests.given import KEEPER, MORNING

POINTS = """point,outcome,found,value,unit,lower_limit,upper_limit,limit_source
signal to noise,,,6.2,ratio,5,,order 4711
noise peak to peak,not looked at,no sound part at hand,,,,,
circuit,in order,,,,,,
lift-off,,,12,%,,20,order 4711
response,,,70,% FSH,75,85,order 4711
effective width,,,5.50,mm,5.0,,order 4711
tilt,not looked at,no goniometer,,,,,
serial number,in order,"S-7, engraved",,,,,
"""


def equipped(lab: Lab) -> Lab:
    """A probe that has come in; a certified primary, its secondary, and a system to compare them with."""
    given.people_and_material(lab)
    given.block(lab, "B-10", grade="primary")
    given.block(lab)
    given.probe(lab)
    given.probe(lab, "P-2", state=AWAITING)
    given.instrument(lab)
    for number in ("B-10", "I-1"):
        given.certified(lab, number)
    return lab


def cells(files: dict[str, bytes], name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(files[name].decode())))


def written(rows: list[dict[str, str]], columns: tuple[str, ...]) -> bytes:
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def received(lab: Lab, points: bytes, minutes: float) -> None:
    head = draft(receipt.ReceiptDraft, {"asset_no": "P-2", "ordered_as": "order 4711"}, "P-2")
    sheet = receipt.receipt_sheet(lab, "P-2", given.when())
    receipt.receive(lab, head, points_from("points.csv", points, sheet), by=KEEPER, now=given.at(minutes))


def compared(lab: Lab, scans: bytes, minutes: float) -> None:
    head, taken = scans_from("scans.csv", scans, {"primary": "B-10", "secondary": "B-1"})
    comparisons.compare_blocks(lab, head, taken, by="TESS", now=given.at(minutes))


@pytest.fixture
def first(lab: Lab) -> dict[str, bytes]:
    """The export of a lab with one receipt, not as ordered, and one comparison."""
    equipped(lab)
    received(lab, POINTS.encode(), 10)
    settings = {"instrument": "I-1", "probe": "P-1", "frequency_khz": "200", "measure": "horizontal and vertical"}
    settings |= {"unit": "% FSH", "noise": "0.5", "band_db": "1.0", "band_deg": "5", "band_source": "practice 6.1"}
    rows = [
        {"block": turn, "notch": n, "horizontal": h, "vertical": v} | given.SETTINGS | settings
        for n, (h, v) in given.HEIGHTS.items()
        for turn in "ABA"
    ]
    compared(lab, written(rows, (*SETTINGS, *SCAN)), 20)
    return export_register(lab, given.when())


def test_an_export_has_every_point_and_every_scan_and_they_say_the_same_when_read_back(
    first: dict[str, bytes], tmp_path: Path
) -> None:
    """Planted bug it caught: the outcome that follows from a value was written where only one that is seen may stand."""
    second = equipped(
        make_store(
            tmp_path / "second.refstd",
            name="Surface inspection lab",
            time_zone="Europe/Dublin",
            code=KEEPER,
            person="First Custodian",
            now=MORNING,
        )
    )
    points = [r for r in cells(first, "receipt_points.csv") if r["certificate"] == "RI-0001"]
    assert [r["judged"] for r in points if r["point"] == "response"] == ["not in order"]
    assert next(r["value"] for r in points if r["point"] == "effective width") == "5.50"  # as written
    received(second, written(points, COLUMNS), 10)
    [row] = cells(first, "comparisons.csv")
    scans = [row | r for r in cells(first, "comparison_scans.csv") if r["comparison"] == row["number"]]
    compared(second, written(scans, (*SETTINGS, *SCAN)), 30)
    again = export_register(second, When(given.at(600)))
    for name in ("receipts", "receipt_points", "comparisons", "comparison_scans", "comparison_results"):
        assert again[f"{name}.csv"] == first[f"{name}.csv"], name
    assert cells(first, "receipts.csv")[0]["outcome"] == "not as ordered"
    second.close()
