"""The technician's stores, built once through the desk; each test drives a copy of its own."""

import shutil
from pathlib import Path

import pytest

from tests.tui.technician import floor


@pytest.fixture(scope="session")
def floor_templates(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("floor")
    floor.build(folder / "kit.refstd")
    for name, more in (("started", floor.started), ("vertical", floor.vertical_started)):
        shutil.copyfile(folder / "kit.refstd", folder / f"{name}.refstd")
        more(folder / f"{name}.refstd")
    return folder


@pytest.fixture
def kit_only(floor_templates: Path, tmp_path: Path) -> Path:
    """A store with a kit in hand and no check of the job yet."""
    return Path(shutil.copyfile(floor_templates / "kit.refstd", tmp_path / "lab.refstd"))


@pytest.fixture
def started(floor_templates: Path, tmp_path: Path) -> Path:
    """A store where the start check was made, horizontal and vertical."""
    return Path(shutil.copyfile(floor_templates / "started.refstd", tmp_path / "lab.refstd"))


@pytest.fixture
def vertical(floor_templates: Path, tmp_path: Path) -> Path:
    """A store where the start check was made with a setup that reads the vertical part only."""
    return Path(shutil.copyfile(floor_templates / "vertical.refstd", tmp_path / "lab.refstd"))
