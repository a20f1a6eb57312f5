"""The job file: everything in it, the same bytes each time, checked by Python alone, and each alteration found."""

import io
import json
import subprocess
import sys
import zipfile
from datetime import date
from pathlib import Path

import pytest

from refstd.base.errors import NotFound, Refusal, WrongUsage
from refstd.desk.store import Lab, When
from refstd.reports.jobfile import job_file, jobs_between
from tests.reports.small_lab import ASKED


@pytest.fixture
def packed(small: Lab) -> bytes:
    return job_file(small, ASKED, ["J-3"], with_log=True)


@pytest.fixture
def folder(packed: bytes, tmp_path: Path) -> Path:
    target = tmp_path / "unpacked"
    zipfile.ZipFile(io.BytesIO(packed)).extractall(target)
    return target


def verified(folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the script that is inside, with no site-packages, no user's settings and no environment: Python alone."""
    command = [sys.executable, "-I", "-S", "verify.py"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, env={})


def test_it_holds_reports_readings_papers_sums_and_a_page(packed: bytes, small: Lab) -> None:
    names = zipfile.ZipFile(io.BytesIO(packed)).namelist()
    assert names[0] == "index.html"
    for wanted in ("jobs/J-3.pdf", "readings.csv", "findings.txt", "items/B-1.pdf", "checkpoint.txt", "checksums.txt"):
        assert wanted in names
    assert any(n.startswith("checks/C-") and n.endswith(".csv") for n in names)
    assert not any("J-2" in n for n in names)
    findings = zipfile.ZipFile(io.BytesIO(packed)).read("findings.csv").decode("utf-8-sig")
    assert "F-0001" in findings
    assert job_file(small, ASKED, ["J-3"], with_log=True) == packed


def test_python_alone_finds_it_whole(folder: Path) -> None:
    done = verified(folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert "whole" in done.stdout
    checkpoint = (folder / "checkpoint.txt").read_text().strip()
    assert f"checkpoint {checkpoint}" in done.stdout


def test_the_readings_are_those_of_the_checks(folder: Path) -> None:
    lines = (folder / "readings.csv").read_text("utf-8-sig").splitlines()
    checks = {p.stem for p in (folder / "checks").glob("*.pdf")}
    assert {line.split(",")[0] for line in lines[1:] if line.startswith("C-")} == checks


@pytest.mark.parametrize(
    ("what", "found"),
    [
        ("a figure in a report", "readings.csv was altered"),
        ("a file that is gone", "findings.pdf is missing"),
        ("a file that was added", "extra.txt does not belong to it"),
        ("a log entry's action, with its sum written anew", "log entry 3 was altered"),
        ("a log entry taken out, with its sum written anew", "log entry 3 does not follow"),
        ("the log's tail, with its sum written anew", "the log does not end in the checkpoint"),
    ],
)
def test_each_alteration_is_named(folder: Path, what: str, found: str) -> None:
    """Planted bugs: the six alterations, each on a file that verified before."""
    log = (folder / "log.jsonl").read_text("utf-8").splitlines(keepends=True)
    if what == "a figure in a report":
        path = folder / "readings.csv"
        path.write_text(path.read_text("utf-8").replace("1", "2", 1), "utf-8")
    elif what == "a file that is gone":
        (folder / "findings.pdf").unlink()
    elif what == "a file that was added":
        (folder / "extra.txt").write_text("x")
    elif "action" in what:
        entry = json.loads(log[2])
        log[2] = json.dumps(entry | {"action": "something else"}, ensure_ascii=False) + "\n"
    elif "taken out" in what:
        del log[2]
    else:
        del log[-1]
    if "written anew" in what:
        _written_anew(folder, "".join(log))
    done = verified(folder)
    assert done.returncode == 1
    assert found in done.stdout
    assert "ALTERED" in done.stdout


def _written_anew(folder: Path, log: str) -> None:
    import hashlib

    (folder / "log.jsonl").write_text(log, "utf-8")
    sums = (folder / "checksums.txt").read_text("utf-8").splitlines()
    digest = hashlib.sha256(log.encode()).hexdigest()
    sums = [f"{digest}  log.jsonl" if s.endswith("  log.jsonl") else s for s in sums]
    (folder / "checksums.txt").write_text("".join(f"{s}\n" for s in sums), "utf-8")


def test_without_the_whole_log_no_other_job_is_named_in_it(small: Lab) -> None:
    inside = zipfile.ZipFile(io.BytesIO(job_file(small, ASKED, ["J-3"])))
    assert "log.jsonl" not in inside.namelist()
    assert b"verify --deep" in inside.read("index.html")


def test_the_page_fetches_nothing_and_runs_nothing(folder: Path) -> None:
    page = (folder / "index.html").read_text("utf-8")
    assert "<script" not in page
    assert "http" not in page.replace("http-equiv", "")
    assert "certified personnel decide" in page


def test_a_period_names_the_jobs_with_a_day_in_it(small: Lab) -> None:
    assert set(jobs_between(small, ASKED, date(2031, 6, 20), date(2031, 6, 30))) >= {"J-2", "J-3"}
    assert jobs_between(small, ASKED, date(2001, 1, 1), date(2001, 1, 2)) == ()
    with pytest.raises(WrongUsage, match="before it begins"):
        jobs_between(small, ASKED, date(2031, 6, 30), date(2031, 6, 20))


def test_what_cannot_be_made_is_refused(small: Lab) -> None:
    with pytest.raises(NotFound):
        job_file(small, ASKED, ["J-99"])
    with pytest.raises(Refusal, match="no job"):
        job_file(small, ASKED, [])
    with pytest.raises(WrongUsage, match="one instant"):
        job_file(small, When(ASKED.now, today=date(2031, 6, 1)), ["J-3"])
