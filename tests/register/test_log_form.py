"""The log's form as the manual states it: the script printed there, run by Python alone, finds what was altered."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from refstd.register.care import open_lab
from refstd.register.integrity import verify_lab
from tests import given
from tests.register.on_disk import unguarded

MANUAL = Path(__file__).parents[2] / "DEVELOPERS.md"


@pytest.fixture(scope="module")
def worked_in(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("form") / "lab.refstd"
    shutil.copyfile(template, path)
    lab = open_lab(path)
    given.person(lab, "TESS", authorities=("level 2",))
    given.loans(lab)
    lab.close()
    return path


@pytest.fixture
def victim(worked_in: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(worked_in, tmp_path / "lab.refstd"))


@pytest.fixture(scope="module")
def script(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The script as the manual prints it."""
    (text,) = re.findall(r'```python\n("""Check a backup.*?)```', MANUAL.read_text(encoding="utf-8"), re.S)
    path = tmp_path_factory.mktemp("script") / "check_log.py"
    path.write_text(text, encoding="utf-8")
    return path


def said(script: Path, store: Path, *more: str) -> tuple[int, str]:
    command = [sys.executable, "-I", "-S", str(script), str(store), *more]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout.strip() or done.stderr


def head_of(path: Path) -> str:
    lab = open_lab(path)
    seen = verify_lab(lab, deep=False)
    lab.close()
    assert seen.head is not None
    return f"{seen.head.sequence}:{seen.head.hash}"


def test_it_is_about_forty_lines(script: Path) -> None:
    lines = [line for line in script.read_text(encoding="utf-8").splitlines() if line.strip()]
    assert len(lines) <= 40


def test_it_agrees_with_verify_on_a_store_that_nobody_touched(script: Path, worked_in: Path) -> None:
    assert said(script, worked_in) == (0, "whole")
    assert said(script, worked_in, head_of(worked_in)) == (0, "whole")


@pytest.mark.parametrize(
    ("act", "found"),
    [
        ("UPDATE log_entry SET person_name = 'somebody else' WHERE sequence = 2", "entry 2 was altered"),
        ("DELETE FROM log_entry WHERE sequence = 2", "entry 2 does not follow"),
        ("UPDATE equipment SET asset_no = 'B-77' WHERE id = 1", "equipment 1 is not what entry"),
        ("UPDATE loan SET due_back_on = '2099-01-01' WHERE id = 1", "loan 1 is not what entry"),
        ("DELETE FROM loan_return WHERE id = 1", "loan_return 1 is not what entry"),
    ],
)
def test_it_finds_what_somebody_with_sql_altered(script: Path, victim: Path, act: str, found: str) -> None:
    """Planted bugs: five alterations of a store that passed before."""
    with unguarded(victim) as connection:
        connection.execute("PRAGMA foreign_keys=OFF")
        assert connection.execute(act).rowcount == 1
    code, words = said(script, victim)
    assert (code, found in words) == (1, True), words


def test_a_cut_tail_shows_against_a_checkpoint_only(script: Path, victim: Path) -> None:
    """The newest act here wrote a loan's return: cutting entry and row leaves a shorter chain that is whole in itself."""
    checkpoint = head_of(victim)
    newest = int(checkpoint.split(":")[0])
    with unguarded(victim) as connection:
        connection.execute("PRAGMA foreign_keys=OFF")
        for (table,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
            columns = {row[1] for row in connection.execute(f"PRAGMA table_info({table})")}
            if "entry" in columns:
                connection.execute(f"DELETE FROM {table} WHERE entry = ?", (newest,))
        connection.execute("DELETE FROM log_entry WHERE sequence = ?", (newest,))
    assert said(script, victim) == (0, "whole")
    assert said(script, victim, checkpoint) == (1, "the log ends before the checkpoint")
