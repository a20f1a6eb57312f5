"""The sample lab, built once for its tests."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from refstd.desk.clock import now_in
from refstd.desk.store import Lab, When, open_store
from sample_db import build


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample lab. Never written to.

    REFSTD_SAMPLE names one that the same checkout has just built, as CI does.
    """
    path = tmp_path_factory.mktemp("sample") / "demo.refstd"
    built = os.environ.get("REFSTD_SAMPLE", "")
    return Path(shutil.copyfile(built, path)) if built else build(path)


@pytest.fixture
def opened(sample: Path) -> Iterator[Lab]:
    """The sample lab, open."""
    lab = open_store(sample)
    yield lab
    lab.close()


@pytest.fixture
def now(opened: Lab) -> When:
    """The sample lab's own now: this time of day on the story day."""
    return When(now_in(opened))
