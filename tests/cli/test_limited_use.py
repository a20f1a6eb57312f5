"""One notch of a block out of its limits: where the kit is found, checked out, read and reported it is named, with why."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run
from tests.cli.test_bad_input import readings_file
from tests.given import KEEPER
from tests.tui.driving import driven
from tests.tui.technician.floor import ONE_O_CLOCK

LIMITED = "limited use, without notch 1.5 mm"
WHY = "notch 1.5 mm of B-1 does not conform (depth, fail by the rule 'simple')"
LIMIT = ("1.45 to 1.55 mm", "drawing 7", "certificate K-2", "do not use this notch")


@pytest.fixture
def limited(refstd: Run, tmp_path: Path) -> Run:
    """Commands on a store whose block has a notch out of tolerance that no procedure names."""
    (tmp_path / "certificates.csv").write_text(
        "asset_no,number,laboratory,performed_on,decision_rule\nB-1,K-2,a laboratory,2031-03-10,simple\n"
    )
    (tmp_path / "values.csv").write_text(
        "asset_no,certificate,notch,quantity,value,unit,lower_limit,upper_limit,limit_source\n"
        "B-1,K-2,1.5 mm,depth,1.661,mm,1.45,1.55,drawing 7\n"
        "B-1,K-2,1.0 mm,depth,1.003,mm,0.95,1.05,drawing 7\n"
    )
    said = refstd("add", "certificates", tmp_path / "certificates.csv", tmp_path / "values.csv", "--as", KEEPER)
    assert said.code == 0, said.err
    return refstd


def rows(run: Run, *asked: str) -> list[dict[str, Any]]:
    """Return the rows of an answer in JSON."""
    found: list[dict[str, Any]] = json.loads(run(*asked, "--json").out)["rows"]
    return found


def told(row: dict[str, Any]) -> bool:
    """Return whether a row of reasons tells the notch, its limit, where that is from, the paper and what to do."""
    return row["says"] == WHY and (row["limit"], row["source"], row["record"], row["cure"]) == LIMIT


def test_kit_sheet_recall_match_and_custody_name_the_notch_that_is_out(limited: Run) -> None:
    """Planted: the recall told no verdict, and the kit sheet asked for readings of the notch that it named as out above."""
    assert limited("status", "B-1").code == 5
    (match,) = [r for r in rows(limited, "match", "J-1") if r["weight"] == "limits"]
    assert (match["verdict"], match["fits"], told(match)) == (LIMITED, "yes", True)
    assert limited("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS").code == 0
    out = next(r for r in rows(limited, "custody") if r["asset_no"] == "B-1")
    assert out["verdict"] == LIMITED
    (going,) = [r for r in rows(limited, "recall", "--months", "12") if r["asset_no"] == "B-1"]
    assert going["verdict"] == LIMITED
    sheet = rows(limited, "report", "kit", "J-1")
    assert next(r for r in sheet if r["about"] == "block B-1")["says"].startswith(f"block; {LIMITED}")
    assert any(r["about"] == "mind" and r["says"].startswith(WHY) for r in sheet)


def test_a_kit_sheet_strikes_out_the_notch_that_the_last_check_read(limited: Run, tmp_path: Path) -> None:
    assert limited("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS").code == 0
    assert limited("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS").code == 0
    sheet = rows(limited, "report", "kit", "J-1")
    by_notch = {r["about"]: r for r in sheet if r["part"] == "set up" and r["about"].startswith("notch")}
    assert "STRUCK OUT: do not use this notch" in by_notch["notch 1.5 mm"]["says"]
    assert (by_notch["notch 1.5 mm"]["write_here"] or "") == ""
    assert by_notch["notch 1.0 mm"]["says"].startswith("expect horizontal -18, vertical 80 % FSH")
    to_write = [r["write_here"] for r in sheet if r["part"] == "checks"]
    assert to_write
    assert not any("1.5 mm" in w for w in to_write)


def test_a_check_and_its_report_say_that_a_notch_they_read_was_out(limited: Run, tmp_path: Path) -> None:
    """As kept on the day of filing: the certificate after it, in tolerance, changes nothing of what the check rested on."""
    assert limited("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS").code == 0
    said = limited("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS")
    assert f"{WHY} 1.661 mm, limit 1.45 to 1.55 mm (drawing 7)" in said.out
    before = [r for r in rows(limited, "report", "check", "C-0001") if r["part"] == "certified depth"]
    assert [r["says"] for r in before] == ["notch 1.5 mm", WHY, "notch 1.0 mm"]
    assert told(before[1])
    (tmp_path / "certificates.csv").write_text(
        "asset_no,number,laboratory,performed_on,decision_rule\nB-1,K-3,a laboratory,2031-03-15,simple\n"
    )
    (tmp_path / "values.csv").write_text("asset_no,certificate,notch,value\nB-1,K-3,1.5 mm,1.503\n")
    assert (
        limited("add", "certificates", tmp_path / "certificates.csv", tmp_path / "values.csv", "--as", KEEPER).code == 0
    )
    assert limited("status", "B-1").code == 0
    after = [r for r in rows(limited, "report", "check", "C-0001") if r["part"] == "certified depth"]
    assert after == before


async def test_the_technician_sees_it_at_home_and_beside_the_field_of_the_notch(limited: Run, workshop: Path) -> None:
    assert limited("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS").code == 0
    async with driven(workshop, "TESS", now=ONE_O_CLOCK.replace(day=15), size=(120, 40)) as d:
        assert LIMITED in d.flat
        await d.keys("c", "enter", "enter")
        for value in ("30", "40", "50"):
            await d.type(value)
            await d.keys("enter")
        await d.keys("space", "space")
        await d.type("4")
        await d.keys("enter")
        (line,) = (row for row in d.text.splitlines() if row.strip().startswith("1.5 mm"))
        assert "struck out: do not use; Enter goes past it" in line
        (line,) = (row for row in d.text.splitlines() if row.strip().startswith("1.0 mm"))
        assert "target 80 % FSH" in line
