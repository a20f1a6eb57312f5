"""What the reports' tests may ask for: the small lab, made once, and a copy that a test may write to."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from refstd.desk.store import Lab, open_store
from tests import given
from tests.reports import small_lab


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The path of the small lab, closed. Never written to."""
    path = tmp_path_factory.mktemp("small") / "lab.refstd"
    lab = given.new_lab(path)
    small_lab.build(lab)
    lab.close()
    return path


@pytest.fixture
def small(built: Path, tmp_path: Path) -> Iterator[Lab]:
    """The small lab, a fresh copy, open."""
    path = tmp_path / "lab.refstd"
    shutil.copyfile(built, path)
    lab = open_store(path)
    yield lab
    lab.close()
