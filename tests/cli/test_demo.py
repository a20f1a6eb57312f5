"""The sample lab from the command line: found wherever refstd is installed, built once, never trusted when damaged."""

from collections.abc import Callable
from pathlib import Path

import pytest

from refstd.cli import demo
from refstd.desk.store import make_store, verify
from tests.cli.conftest import Run
from tests.given import KEEPER, MORNING


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The paths at which a sample was built; a store without equipment stands in for the sample lab, which takes long."""
    paths: list[Path] = []

    def build(path: Path) -> Path:
        make_store(path, name="Sample", time_zone="Europe/Dublin", code=KEEPER, person="Somebody", now=MORNING).close()
        paths.append(path)
        return path

    monkeypatch.setattr(demo, "builder", lambda: build)
    return paths


def test_the_builder_of_the_checkout_is_found_from_any_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    builder: Callable[[Path], object] = demo.builder()
    assert callable(builder)
    assert builder.__module__.endswith("sample_db") or "sample_db." in builder.__module__


def test_the_sample_is_built_once_and_its_path_is_the_last_line(refstd: Run, tmp_path: Path, built: list[Path]) -> None:
    first = refstd("demo", tmp_path / "sample", "--build-only")
    second = refstd("demo", tmp_path / "sample", "--build-only")
    assert (first.code, second.code) == (0, 0)
    path = Path(first.out.splitlines()[-1])
    assert path.is_absolute()
    assert verify(path, deep=True).whole
    assert second.out == first.out
    assert len(built) == 1
    assert {p.name for p in (tmp_path / "sample").iterdir()} <= {"demo.refstd", "demo.refstd.gate", "HM-26-1031.xml"}


def test_a_damaged_sample_is_left_alone_and_one_is_built_beside_it(
    refstd: Run, tmp_path: Path, built: list[Path]
) -> None:
    path = Path(refstd("demo", tmp_path, "--build-only").out.splitlines()[-1])
    content = bytearray(path.read_bytes())
    content[5000:9000] = bytes(4000)
    path.write_bytes(content)
    said = refstd("demo", tmp_path, "--build-only")
    assert said.out.splitlines()[-1].endswith("demo-2.refstd")
    assert path.read_bytes() == bytes(content)
    assert len(built) == 2


def test_a_sample_whose_building_was_cut_short_is_not_used(
    refstd: Run, tmp_path: Path, built: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    half = demo.builder()

    def cut_short(path: Path) -> None:
        half(path)
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(demo, "builder", lambda: cut_short)
        assert refstd("demo", tmp_path / "sample", "--build-only").code == 130
    said = refstd("demo", tmp_path / "sample", "--build-only")
    assert said.code == 0
    assert said.out.splitlines()[-1].endswith("demo.refstd")
    assert len(built) == 2


def test_without_a_folder_it_lies_in_the_users_data_folder(refstd: Run, tmp_path: Path, built: list[Path]) -> None:
    said = refstd("demo", "--build-only")
    assert said.out.splitlines()[-1] == str(tmp_path / "share" / "refstd" / "demo" / "demo.refstd")


def test_a_folder_that_cannot_be_made_is_refused(refstd: Run, tmp_path: Path, built: list[Path]) -> None:
    (tmp_path / "file").write_text("in the way")
    said = refstd("demo", tmp_path / "file" / "sample", "--build-only")
    assert said.code == 4
    assert "the folder cannot be made" in said.err
    assert "Name another: `refstd demo DIR`." in said.err
    assert built == []
