"""The sample lab, built once for its tests."""

from pathlib import Path

import pytest

from sample_db import build


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample lab. Never written to."""
    return build(tmp_path_factory.mktemp("sample") / "demo.refstd")
