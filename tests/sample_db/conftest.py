"""The sample lab, built once for its tests."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from refstd.desk.clock import now_in
from refstd.desk.store import Lab, When, open_store
from sample_db import build


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample lab. Never written to."""
    return build(tmp_path_factory.mktemp("sample") / "demo.refstd")


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
