"""What every test may ask for: an invented lab in a file of its own."""

import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from sqlalchemy import Engine, create_engine
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.util import LRUCache

from refstd.base.errors import BadInput, Refusal
from refstd.register import engine
from refstd.register.care import open_lab
from refstd.register.lab import Lab
from tests import given

settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, database=None, print_blob=True)
settings.register_profile("long", deadline=None, max_examples=2_000, database=None, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "here"))


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the long run out unless somebody says which marks to run; what takes longest begins first.

    The sample lab is built once: all its tests go to one worker (with `--dist loadgroup`), before the others, so that
    nobody waits for it at the end. Where REFSTD_SAMPLE names one that is built, every worker takes some of them.
    """
    if not config.option.markexpr:
        config.hook.pytest_deselected(items=[i for i in items if i.get_closest_marker("long")])
        items[:] = [i for i in items if not i.get_closest_marker("long")]
    for item in items:
        if "sample" in getattr(item, "fixturenames", ()) and "REFSTD_SAMPLE" not in os.environ:
            item.add_marker(pytest.mark.xdist_group("sample"))
    items.sort(key=lambda i: i.get_closest_marker("xdist_group") is None)


@pytest.fixture(autouse=True, scope="session")
def compiled_once() -> Iterator[None]:
    """Keep what SQLAlchemy made of a query for every store of a process: each test opens its own and would wait anew.

    All engines come from one function with the same options, so that one dialect is as good as another.
    """
    compiled: LRUCache[object, object] = LRUCache(5_000)

    def made(*args: Any, **options: Any) -> Engine:
        one: Engine = create_engine(*args, **options)
        one.update_execution_options(compiled_cache=compiled)
        return one

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "create_engine", made)
        patch.setattr(SQLiteDialect_pysqlite, "__eq__", lambda one, other: type(one) is type(other))
        patch.setattr(SQLiteDialect_pysqlite, "__hash__", lambda one: hash(type(one)))
        yield


@pytest.fixture(autouse=True)
def next_steps(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Invariant 6: whatever refstd refuses while a test runs, it says what to do next; and every problem of bad input too.

    Planted: the remedy struck from the refusal of a second check-out; the custody tests failed here.
    """
    made: list[Refusal] = []
    before = Refusal.__init__

    def noted(refusal: Refusal, wrong: str, where: str = "", remedy: str = "") -> None:
        before(refusal, wrong, where, remedy)
        frame = sys._getframe(1)
        while frame.f_back is not None and frame.f_globals.get("__name__") == "refstd.base.errors":
            frame = frame.f_back
        if str(frame.f_globals.get("__name__")).startswith("refstd."):  # not one that a test makes for itself
            made.append(refusal)

    monkeypatch.setattr(Refusal, "__init__", noted)
    yield
    mute = [r for r in made if not r.remedy.strip() and not isinstance(r, BadInput)]
    mute += [r for r in made if isinstance(r, BadInput) and not all(p.remedy.strip() for p in r.problems)]
    assert not mute, f"refused without a next step: {mute}"


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store that the migrations made, with its first custodian and nothing else. Copied, never written to."""
    path = tmp_path_factory.mktemp("template") / "template.refstd"
    given.new_lab(path).close()
    return path


@pytest.fixture
def store(template: Path, tmp_path: Path) -> Path:
    """The path of a fresh store that nobody has open."""
    path = tmp_path / "lab.refstd"
    shutil.copyfile(template, path)
    return path


@pytest.fixture
def lab(store: Path) -> Iterator[Lab]:
    """A fresh store, open."""
    opened = open_lab(store)
    yield opened
    opened.close()
