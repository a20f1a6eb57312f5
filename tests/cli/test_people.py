"""People's papers by command: added from files, listed, shown, corrected, owed, and exported so that an import reads them back."""

from pathlib import Path

from tests.cli.conftest import Run

QUALIFICATIONS = (
    "person,method,level,sector,scheme,certificate_no,authorised_on,expires_on\n"
    "TESS,ET,2,,written practice,77-1,2029-04-01,2034-03-31\n"
    "TOM,ET,1,,written practice,77-2,2029-04-01,2031-03-20\n"
)
TESTS = (
    "person,kind,tested_on,passed,result,expires_on,practice\n"
    "TESS,near vision,2030-06-01,yes,,2031-05-31,\"written practice, 4.1\"\n"
    "TESS,colour,2030-06-01,no,,,\"written practice, 4.2\"\n"
)  # fmt: skip


def _file(folder: Path, name: str, text: str) -> str:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_papers_are_added_listed_shown_and_corrected(refstd: Run, tmp_path: Path) -> None:
    assert (
        refstd("add", "qualifications", _file(tmp_path, "qualifications.csv", QUALIFICATIONS), "--as", "KEEPER").code
        == 0
    )
    vision = _file(tmp_path, "vision_tests.csv", TESTS)
    assert refstd("add", "vision_tests", vision, "--as", "KEEPER").code == 0
    again = refstd("add", "vision_tests", vision, "--as", "KEEPER")
    assert "2 on record already" in again.out
    assert "77-1" in refstd("list", "qualifications").out
    shown = refstd("show", "TESS").out
    assert "77-1" in shown
    assert "77-2" not in shown
    row = "\n".join((TESTS.splitlines()[0], "TESS,colour,2030-06-01,yes,,2035-05-31,\"written practice, 4.2\"")) + "\n"  # fmt: skip
    right = _file(tmp_path, "right.csv", row)
    said = refstd("correct", "vision", "V-0002", right, "--why", "read from the wrong line", "--as", "KEEPER")
    assert said.out == "test of vision V-0003 takes the place of V-0002\n"
    assert "corrected by V-0003" in refstd("show", "V-0002").out
    ended = "\n".join((QUALIFICATIONS.splitlines()[0], "TOM,ET,1,,written practice,77-2,2029-04-01,2031-03-14")) + "\n"
    said = refstd("correct", "qualification", "q-0002", _file(tmp_path, "end.csv", ended), "--why", "moved on", "--as", "KEEPER")  # fmt: skip
    assert said.out == "qualification Q-0003 takes the place of Q-0002\n"


def test_an_export_is_read_back(refstd: Run, tmp_path: Path) -> None:
    refstd("add", "qualifications", _file(tmp_path, "qualifications.csv", QUALIFICATIONS), "--as", "KEEPER")
    refstd("add", "vision_tests", _file(tmp_path, "vision_tests.csv", TESTS), "--as", "KEEPER")
    assert refstd("export", tmp_path / "out").code == 0
    for name in ("qualifications", "vision_tests"):
        said = refstd("add", name, tmp_path / "out" / f"{name}.csv", "--as", "KEEPER")
        assert "2 on record already, the same" in said.out


def test_a_bad_row_is_refused_whole(refstd: Run, tmp_path: Path) -> None:
    bad = TESTS + "TOM,near vision,2030-06-01,yes,,,practice\n"
    said = refstd("add", "vision_tests", _file(tmp_path, "vision_tests.csv", bad), "--as", "KEEPER")
    assert said.code == 2
    assert "row 4" in said.err
    assert "as the written practice says" in said.err
    assert refstd("list", "vision_tests", "--json").out.count("V-0") == 0
