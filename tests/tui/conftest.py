"""Stores for the screens: each test drives a copy of its own."""

import shutil
from pathlib import Path

import pytest

from tests.tui.busy_lab import build


@pytest.fixture(scope="session")
def busy_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The busy lab, built once through the desk. Copied, never written to."""
    path = tmp_path_factory.mktemp("busy") / "busy.refstd"
    build(path)
    return path


@pytest.fixture
def busy(busy_template: Path, tmp_path: Path) -> Path:
    """The path of a copy of the busy lab that nobody has open."""
    path = tmp_path / "lab.refstd"
    shutil.copyfile(busy_template, path)
    return path
