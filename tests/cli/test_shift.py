"""A shift is handed over by command, or refused with what is missing."""

from pathlib import Path

from tests.cli.conftest import Run
from tests.cli.test_a_days_work import members
from tests.cli.test_a_days_work import started as started
from tests.cli.test_bad_input import readings_file


def test_a_shift_goes_on_by_command_and_is_told_on_the_job_report_and_in_the_export(
    started: Run, tmp_path: Path
) -> None:
    said = started("handover", "J-1", "--to", "TOM", "--as", "TESS")
    assert said.code == 3
    assert "no end check of setup S-0001 since start check C-0001" in said.err
    assert "if none is possible, say why" in said.err
    assert started("check", "S-0001", readings_file(tmp_path, occasion="end"), "--job", "J-1", "--as", "TESS").code == 0
    said = started("handover", "J-1", "--to", "TOM", "--as", "TESS")
    assert said.code == 0
    assert "job J-1 handed over by TESS to TOM: B-1, I-1, P-1 (as handed out)" in said.out
    assert "closing check: setup S-0001 closed by C-0002 (acceptable)" in said.out
    assert "lots since: L-0001 (panel 4: holes 1-20)" in said.out
    assert "next: start check by TOM" in said.out
    [told] = members(started("report", "job", "J-1", "--json"))["handovers"]
    assert (told["person"], told["to"], told["lots"]) == ("TESS", "TOM", ["L-0001"])
    assert started("export", str(tmp_path / "out"), "--as", "TESS").code == 0
    written = (tmp_path / "out" / "handovers.csv").read_text()
    assert "setup S-0001 closed by C-0002 (acceptable)" in written
    assert "TOM has B-1" not in written
