"""Temperatures of block and part by command: from options or the readings file, judged by the procedure's band."""

from pathlib import Path

from tests.cli.conftest import Run
from tests.cli.test_bad_input import readings_file
from tests.given import KEEPER

FILED = (
    "code,issue,title,approved_on_paper_by,form,lowest_khz,highest_khz,frequency_paragraph,temperature_band_c,temperature_paragraph,tell\n"
    "PR-5,A,temperatures,LENA,plate,100,200,4.1,5,4.4,the shift lead\n"
)
LIMITS = "procedure,against,notch,lower,upper,unit,paragraph\nPR-5,none,1.0 mm,10,90,% FSH,6.1\n"


def test_options_and_columns_say_the_temperatures_and_the_band_decides(refstd: Run, tmp_path: Path) -> None:
    """Planted bug that this caught: the options were read and not handed on."""
    (tmp_path / "procedures.csv").write_text(FILED)
    (tmp_path / "limits.csv").write_text(LIMITS)
    added = refstd("add", "procedures", tmp_path / "procedures.csv", tmp_path / "limits.csv", "--as", KEEPER)
    assert added.code == 0, added.err
    asked = ("check", "S-0001", readings_file(tmp_path), "--procedure", "PR-5", "--occasion", "start", "--preview")
    assert refstd(*asked).code == 6
    cold = refstd(*asked, "--block-temperature", "21.0", "--part-temperature", "15.5")
    assert cold.code == 1
    assert "block 21.0 °C, part 15.5 °C, limit ±5 °C of part against block (procedure PR-5 issue A, 4.4)" in cold.out
    assert refstd(*asked, "--block-temperature", "21.0", "--part-temperature", "16").code == 0
    filed = readings_file(tmp_path)
    heading, first, *rest = filed.read_text().splitlines()
    lines = [f"{heading},block_temperature_c,part_temperature_c", f"{first},21,15", *(f"{line},," for line in rest)]
    filed.write_text("\n".join(lines) + "\n")
    assert refstd("check", "S-0001", filed, "--procedure", "PR-5", "--occasion", "start", "--preview").code == 1
    wrong = refstd(*asked, "--block-temperature", "warm")
    assert wrong.code == 2
    assert "block_temperature_c" in wrong.err
