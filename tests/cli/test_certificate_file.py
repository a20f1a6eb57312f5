"""A certificate file by command: shown first, filed with --yes, refused whole with its reason; the files are the sample's own."""

import json
from pathlib import Path

import pytest

from refstd.desk import equipment
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import open_store
from tests.cli.conftest import Run, state_of
from tests.exchange.certificate_files import edited, ours
from tests.given import KEEPER, NOON

DEPTHS = ("0.5", "1.0", "1.5", "2.0", "2.5", "3.0", "3.5", "4.0")
MAPPED = [part for n, d in enumerate(DEPTHS, start=1) for part in ("--map", f"N{n}={d} mm")]


@pytest.fixture
def file(workshop: Path, tmp_path: Path) -> Path:
    """The sample's certificate file, in a lab that has the block."""
    lab = open_store(workshop)
    fields = {"asset_no": "B-103", "name": "block", "material": "AL", "form": "plate", "thickness_mm": "10"}
    notches = [draft(equipment.NotchDraft, {"label": f"{d} mm", "depth_mm": d}, d) for d in DEPTHS]
    equipment.enter_item(lab, draft(equipment.BlockDraft, fields, "B-103"), notches, by=KEEPER, now=NOON)
    lab.close()
    path = tmp_path / "HM-26-1031.xml"
    path.write_bytes(ours())
    return path


def test_it_is_shown_and_nothing_is_stored_until_somebody_says_yes(refstd: Run, file: Path, workshop: Path) -> None:
    before = state_of(workshop)
    shown = refstd("import", file, *MAPPED, "--as", KEEPER)
    assert shown.code == 0
    for words in (
        "item: B-103 block, by its asset number", "Temperature of the room: 293.55 K (20.40 °C)", "calibrate again by: 2029-03-03, a wish",
        "N3 → 1.5 mm (as you said): depth as left: nominal 1.50 mm, 1.571 mm (U = 0.010 mm, k = 2.00, 95 %); tolerance limits from 1.45 mm to 1.55 mm, stated: fail",
        "administrativeData/dccSoftware: Hallway certificate writer 2", "nothing was stored; it would be filed for B-103 with --yes",
    ):  # fmt: skip
        assert words in shown.out
    assert state_of(workshop) == before
    assert refstd("import", file, *MAPPED, "--check", "--yes", "--as", KEEPER).code == 0
    assert state_of(workshop) == before
    filed = refstd("import", file, *MAPPED, "--yes", "--as", KEEPER)
    assert "certificate HM-26-1031 of B-103 filed" in filed.out.splitlines()
    assert "notch 1.5 mm, depth: nominal 1.5 mm, as left 1.571 mm (U = 0.010 mm, k = 2.00, 95 %)" in filed.out
    assert "tolerance limits of certificate HM-26-1031; the laboratory states fail" in refstd("show", "B-103").out


def test_without_the_mapping_yes_is_refused_and_every_place_is_named(refstd: Run, file: Path, workshop: Path) -> None:
    before = state_of(workshop)
    said = refstd("import", file, "--yes", "--as", KEEPER)
    assert (said.code, said.out) == (2, "")
    assert "8 problems, nothing was written" in said.err
    assert "N8: nobody has said which notch of B-103 it is" in said.err
    assert state_of(workshop) == before


def test_as_json_numbers_are_strings_with_their_digits(refstd: Run, file: Path) -> None:
    found = json.loads(refstd("import", file, "--json", "--as", KEEPER).out)
    assert (found["schema"], found["filed"], found["item"]) == ("refstd.certificate-file/1", False, "B-103")
    assert (found["values"][4]["value"], found["values"][4]["means"], found["signature"]) == ("2.490", "", "")
    assert len(found["stops"]) == 8


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (edited(ours(), ('?>\n<!--', '?>\n<!DOCTYPE x [<!ENTITY y "z">]>\n<!--')), "declares a document type"),
        (ours()[:3000], "is not whole XML"),
        (edited(ours(), ("0.504", "NaN")), "'NaN' is no value"),
        (edited(ours(), ('refId="rule"', 'refId="none"')), "refers to 'none'"),
        (edited(ours(), (">B-103<", ">B-999<")), "no item of the register fits the certificate"),
    ],
    ids=["document type", "truncated", "NaN", "dangling id", "unknown item"],
)  # fmt: skip
def test_a_bad_file_is_refused_with_its_place_and_nothing_is_written(
    refstd: Run, file: Path, workshop: Path, content: bytes, says: str
) -> None:
    before = state_of(workshop)
    file.write_bytes(content)
    said = refstd("import", file, *MAPPED, "--yes", "--as", KEEPER)
    assert said.code in (2, 3)
    assert said.out == ""
    assert says in said.err
    assert "HM-26-1031.xml" in said.err
    assert state_of(workshop) == before


def test_the_options_of_a_certificate_belong_to_one(refstd: Run, file: Path) -> None:
    assert "belong to a certificate in XML" in refstd("import", "blocks.csv", "--yes", "--as", KEEPER).err
    assert "is read alone" in refstd("import", file, file, "--as", KEEPER).err
    assert "is not THEIRS=OURS" in refstd("import", file, "--map", "N1", "--as", KEEPER).err
    assert "there is no such file" in refstd("import", "gone.xml", "--as", KEEPER).err
