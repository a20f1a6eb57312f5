"""A store on a story day with everything that a job's first check needs, and commands run on it."""

import hashlib
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from refstd.cli import run_command
from refstd.desk.store import make_store, verify
from tests import thin_thread
from tests.given import KEEPER, MORNING

STORY_DAY = date(2031, 3, 15)  # the day after the thread's noon, so that every now is later than every record


@dataclass(frozen=True)
class Said:
    """How a command ended and what it said."""

    code: int
    out: str
    err: str


Run = Callable[..., Said]


@pytest.fixture(scope="session")
def workshop_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a kit, a procedure, a job and a setup. Copied, never written to."""
    path = tmp_path_factory.mktemp("workshop") / "template.refstd"
    lab = make_store(
        path, name="Surface lab", time_zone="Europe/Dublin", code=KEEPER, person="First Custodian", now=MORNING, story_day=STORY_DAY
    )  # fmt: skip
    thin_thread.whole(lab)
    lab.close()
    return path


@pytest.fixture
def workshop(workshop_template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The path of a store of one's own, named in REFSTD_DB."""
    path = tmp_path / "lab.refstd"
    shutil.copyfile(workshop_template, path)
    monkeypatch.setenv("REFSTD_DB", str(path))
    monkeypatch.delenv("REFSTD_AS", raising=False)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    return path


@pytest.fixture
def refstd(workshop: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run one command and return how it ended."""

    def run(*arguments: str | Path) -> Said:
        capsys.readouterr()
        code = run_command([str(a) for a in arguments])
        said = capsys.readouterr()
        return Said(code, said.out, said.err)

    return run


def state_of(path: Path) -> tuple[str, str]:
    """Return the hash of a store's bytes and the head of its log."""
    found = verify(path, deep=True)
    assert found.whole
    assert found.head is not None
    return hashlib.sha256(path.read_bytes()).hexdigest(), found.head.hash
