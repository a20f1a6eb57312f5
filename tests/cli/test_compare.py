"""`refstd compare`: a file of scans, what it says, what it keeps, how it ends."""

import json
from pathlib import Path

import pytest

from refstd.desk import schedules, store
from refstd.desk.entry import draft_or_refuse as draft
from tests import thin_thread
from tests.cli.conftest import Run, state_of
from tests.given import KEEPER

SETTINGS = "instrument,probe,frequency_khz,unit,rotation_deg,horizontal_gain_db,vertical_gain_db,noise,band_source"
FIRST = "I-1,P-1,200,% FSH,30,40,50,0.5,written practice 6.1"


@pytest.fixture
def blocks(workshop: Path) -> Path:
    """A primary beside the workshop's block, which is a secondary."""
    lab = store.open_store(workshop)
    thin_thread.block(lab, "B-10", grade="primary")
    thin_thread.certified(lab, "B-10")
    owes = {"asset_no": "B-1", "activity": "comparison", "every_months": "6", "source": "written practice 6.1"}
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, owes, "B-1"), by=KEEPER, now=thin_thread.at(0))
    lab.close()
    return workshop


def file_of(folder: Path, scale: float = 1.0, *, vertical: str = "", drop: int = 0) -> Path:
    """Write a file of scans, A-B-A a notch, those of B scaled; `vertical` replaces the last one."""
    rows = []
    for notch, (h, v) in thin_thread.HEIGHTS.items():
        for turn in "ABA":
            factor = scale if turn == "B" else 1.0
            rows.append(["", turn, notch, f"{float(h) * factor:.1f}", f"{float(v) * factor:.1f}"])
    rows = rows[: len(rows) - drop]
    rows[0][0] = FIRST
    rows[-1][-1] = vertical or rows[-1][-1]
    blank = "," * FIRST.count(",")
    lines = [",".join([r[0] or blank, *r[1:]]) for r in rows]
    path = folder / "scans.csv"
    path.write_text("\n".join([f"{SETTINGS},block,notch,horizontal,vertical", *lines]) + "\n", encoding="utf-8")
    return path


def test_a_preview_says_and_keeps_nothing(refstd: Run, blocks: Path, tmp_path: Path) -> None:
    before = state_of(blocks)
    said = refstd("compare", "B-10", "B-1", file_of(tmp_path, 1.02), "--band-db", "1.0", "--preview")
    assert said.code == 0, said
    assert "agrees (a preview; nothing was kept)" in said.out
    assert "+0.17 dB" in said.out
    assert "limit ±1.0 dB (written practice 6.1)" in said.out
    told = json.loads(
        refstd("compare", "B-10", "B-1", file_of(tmp_path, 0.7), "--band-db", "1", "--preview", "--json").out
    )
    assert told["outcome"] == "does not agree"
    assert state_of(blocks) == before


def test_it_is_kept_filed_and_shown_on_both_items(refstd: Run, blocks: Path, tmp_path: Path) -> None:
    said = refstd("compare", "B-10", "B-1", file_of(tmp_path, 1.02), "--band-db", "1.0", "--as", "TESS")
    assert said.code == 0, said
    assert "B-1 agrees with its primary B-10" in said.out
    assert "filed as evidence CB-0001 of B-1; next comparison due 2031-09-15" in said.out
    for asset_no in ("B-1", "B-10"):
        rows = json.loads(refstd("show", asset_no, "--json").out)["rows"]
        half = next(r for r in rows if r["what"] == "notch 0.5 mm against the primary")
        assert (half["limits"], half["source"], half["stands"]) == ("±1.0 dB", "written practice 6.1", "agrees")
        assert "U 0." in half["value"]
    [sheet] = [json.loads(refstd("show", "CB-0001", "--json").out)]
    assert [r["notch"] for r in sheet["rows"]] == ["1.5 mm", "1.0 mm", "0.5 mm"]
    assert len(json.loads(refstd("list", "comparisons", "--json").out)["rows"]) == 3
    found = json.loads(refstd("find", "CB-0001", "--json").out)["rows"]
    assert found[0]["kind"] == "comparison"


def test_a_block_that_does_not_agree_ends_with_1_and_is_held(refstd: Run, blocks: Path, tmp_path: Path) -> None:
    path = file_of(tmp_path, 0.7)
    said = refstd("compare", "B-10", "B-1", path, "--band-db", "1.0", "--as", "TESS", "--json")
    told = json.loads(said.out)
    assert (said.code, told["outcome"], told["finding"]) == (1, "does not agree", "F-0001")
    assert refstd("status", "B-1").code == 1
    again = refstd("compare", "B-10", "B-1", file_of(tmp_path), "--band-db", "1.0", "--corrects", "CB-0001", "--why", "misread", "--as", "TESS")  # fmt: skip
    assert (again.code, "corrects CB-0001: misread" in again.out) == (0, True)


@pytest.mark.parametrize(
    ("change", "options", "wrong"),
    [
        ({}, [], "band_db: is missing"),
        ({"vertical": "FS"}, ["--band-db", "1"], "row 10, vertical: 'FS' is not a plain number"),
        ({"vertical": "1,5"}, ["--band-db", "1"], "has 14 cells under 13 column names"),
        ({"drop": 1}, ["--band-db", "1"], "notch 0.5 mm: was read A-B."),
        ({}, ["--band-db", "1", "--frequency-khz", "-5"], "frequency_khz"),
    ],
)
def test_a_bad_file_is_refused_whole(
    refstd: Run, blocks: Path, tmp_path: Path, change: dict[str, str], options: list[str], wrong: str
) -> None:
    before = state_of(blocks)
    said = refstd("compare", "B-10", "B-1", file_of(tmp_path, **change), *options, "--as", "TESS")  # type: ignore[arg-type]
    assert said.code == 2, said
    assert wrong in said.err
    assert state_of(blocks) == before
