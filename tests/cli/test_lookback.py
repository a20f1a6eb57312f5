"""An item found out of tolerance, by command: filing says which finding follows, and the look-back says what is in doubt."""

import json
from pathlib import Path

from tests.cli.conftest import Run
from tests.cli.test_a_days_work import KIT
from tests.cli.test_bad_input import readings_file
from tests.given import KEEPER

HEAD = "asset_no,number,laboratory,performed_on,adjusted\n"
VALUES = "asset_no,certificate,notch,stage,value,lower_limit,upper_limit,limit_source\n"


def test_filing_a_paper_that_found_a_notch_out_says_what_is_held_and_the_look_back_lists_it(
    refstd: Run, tmp_path: Path
) -> None:
    def filed(number: str, day: str, *rows: str) -> str:
        (tmp_path / "certificates.csv").write_text(
            f"{HEAD}B-1,{number},Hill Metrology,{day},{'yes' if len(rows) > 1 else ''}\n"
        )
        lines = "".join(f"B-1,{number},0.5 mm,{row},0.45,0.55,drawing 7\n" for row in rows)
        (tmp_path / "values.csv").write_text(VALUES + lines)
        said = refstd("add", "certificates", tmp_path / "certificates.csv", tmp_path / "values.csv", "--as", KEEPER)
        assert said.code == 0, said.err
        return said.err

    assert "finding" not in filed("K1", "2031-03-01", "as left,0.50")
    refstd("checkout", "J-1", *KIT, "--as", "TESS")
    refstd("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS")
    refstd("lot", "J-1", "--start-check", "C-0001", "--parts", "holes 1 to 20", "--as", "TESS")
    refstd("check", "S-0001", readings_file(tmp_path, occasion="end"), "--job", "J-1", "--as", "TESS")
    said = filed("K2", "2031-03-15", "as found,0.56", "as left,0.50")
    assert "finding F-0001 (found out of tolerance): B-1 was found out of tolerance by certificate K2" in said
    assert "holds lot L-0001 (panel 4: holes 1-20); see `refstd lookback F-0001`" in said

    told = refstd("lookback", "F-0001")
    assert told.code == 1
    assert (
        "in doubt: from 2031-03-01 00:00 +00:00 (certificate K1 of 2031-03-01, which left it in tolerance) to"
        in told.out
    )
    assert "L-0001, job J-1, panel 4: holes 1-20, by TESS" in told.out
    assert "end check C-0002 on setup S-0001, job J-1: acceptable" in told.out
    answer = json.loads(refstd("lookback", "F-0001", "--json").out)
    assert answer["from_record"] == "certificate K1 of 2031-03-01, which left it in tolerance"
    assert ([r["lot"] for r in answer["rows"]], answer["jobs"]) == (["L-0001"], ["J-1"])
    assert [c["check"] for c in answer["checks"]] == ["C-0001", "C-0002"]


def test_a_finding_on_a_cable_names_the_lots_that_were_examined_with_it(refstd: Run, tmp_path: Path) -> None:
    """Planted: only block, probe and instrument looked for, so that a broken cable left nothing in doubt."""
    for number in ("K-1", "K-2"):
        (tmp_path / "accessories.csv").write_text(
            f"asset_no,name,form,instrument_connector,probe_connector\n{number},cable,cable,four-pin,four-pin\n"
        )
        said = refstd("add", "accessories", tmp_path / "accessories.csv", "--as", KEEPER)
        assert said.code == 0, said.err
    assert refstd("checkout", "J-1", *KIT, "K-1", "K-2", "--as", "TESS").code == 0
    read = readings_file(tmp_path)
    first, *rows = read.read_text().splitlines()
    read.write_text("\n".join((f"{first},cable", *(f"{row},K-1" for row in rows))) + "\n")
    start = refstd("check", "S-0001", read, "--job", "J-1", "--as", "TESS")
    assert start.code == 0, start.err + start.out
    assert refstd("lot", "J-1", "--start-check", "C-0001", "--parts", "holes 1 to 20", "--as", "TESS").code == 0
    for cable, lots in (("K-1", ["L-0001"]), ("K-2", [])):
        said = refstd("finding", "open", "--cause", "damage", "--item", cable, "--says", "core broken", "--as", "TESS")
        number = next(w.strip(".,:;") for w in said.out.split() if w.startswith("F-"))
        told = refstd("lookback", number, "--json")
        assert told.out, told.err
        answer = json.loads(told.out)
        assert [r["lot"] for r in answer["rows"]] == lots


def test_the_scan_of_a_paper_sheet_is_written_out_again_byte_for_byte(refstd: Run, tmp_path: Path) -> None:
    refstd("checkout", "J-1", *KIT, "--as", "TESS")
    scan = tmp_path / "monday.pdf"
    scan.write_bytes(b"%PDF-1.7 sheet \x00\xff")
    read = ("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--sheet", scan, "--as", "TESS")
    assert refstd(*read).code == 0
    said = refstd("paper", "C-0001", "-o", tmp_path / "again.pdf")
    assert said.code == 0, said.err
    assert (tmp_path / "again.pdf").read_bytes() == scan.read_bytes()
    refstd("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS")
    said = refstd("paper", "C-0002", "-o", tmp_path / "none.pdf")
    assert (said.code, (tmp_path / "none.pdf").exists()) == (2, False) or said.code == 3
    assert "no scan of a paper sheet is attached to check C-0002" in said.err
