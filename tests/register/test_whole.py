"""The whole of a store in its open form and back: nothing lost, the same head; what was altered is refused whole."""

import hashlib
import json
import random
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refstd.base.errors import Refusal, StoreUnusable, WrongUsage
from refstd.register.care import open_lab
from refstd.register.integrity import verify_lab
from refstd.register.whole import make_again, write_whole
from tests.register.on_disk import content
from tests.register.test_tamper import worked_in

__all__ = ["worked_in"]


@pytest.fixture(scope="module")
def exported(worked_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("whole") / "out"
    lab = open_lab(worked_in)
    assert write_whole(lab, folder)[1] == 1
    lab.close()
    return folder


def test_every_row_of_every_table_comes_back_with_the_same_head(
    worked_in: Path, exported: Path, tmp_path: Path
) -> None:
    """Planted bug that it caught: the now tables left empty, so that an item that is out could go out again."""
    again = tmp_path / "again.refstd"
    head = make_again(exported, again)
    assert content(again) == content(worked_in)
    lab = open_lab(again)
    found = verify_lab(lab, deep=True)
    assert found.whole
    assert found.head == head
    assert write_whole(lab, tmp_path / "out2")[0] == head
    lab.close()
    for path in exported.rglob("*"):
        if path.is_file():
            assert (tmp_path / "out2" / path.relative_to(exported)).read_bytes() == path.read_bytes()


def test_the_log_is_checked_from_the_lines_alone(exported: Path) -> None:
    """The form as the manual states it, computed here without the program's own functions."""
    previous = "0" * 64
    names = [
        "chain",
        "sequence",
        "recorded_at",
        "person",
        "person_name",
        "known_by",
        "operation",
        "action",
        "body",
        "previous",
    ]
    for number, line in enumerate((exported / "log.jsonl").read_text(encoding="utf-8").splitlines(), 1):
        entry = json.loads(line)
        kept = json.dumps(["refstd.log/1", *(entry[n] for n in names)], separators=(",", ":"), ensure_ascii=False)
        assert (entry["sequence"], entry["previous"]) == (number, previous)
        previous = hashlib.sha256(kept.encode()).hexdigest()
        assert entry["hash"] == previous
    assert (exported / "checkpoint.txt").read_text() == f"{number}:{previous}\n"


def test_a_store_or_folder_that_is_there_is_left_alone(worked_in: Path, exported: Path, tmp_path: Path) -> None:
    taken = Path(shutil.copyfile(worked_in, tmp_path / "lab.refstd"))
    before = taken.read_bytes()
    with pytest.raises(StoreUnusable, match="exists already"):
        make_again(exported, taken)
    assert taken.read_bytes() == before
    lab = open_lab(taken)
    with pytest.raises(WrongUsage, match="not empty"):
        write_whole(lab, exported)
    lab.close()


def _lines(folder: Path) -> list[bytes]:
    return (folder / "log.jsonl").read_bytes().splitlines(keepends=True)


ALTERED: dict[str, Callable[[list[bytes]], list[bytes]]] = {
    "an entry left out": lambda x: x[:2] + x[3:],
    "the tail cut": lambda x: x[:-1],
    "two entries exchanged": lambda x: [x[0], x[2], x[1], *x[3:]],
    "a word in an entry": lambda x: [*x[:3], x[3].replace(b"recorded_at", b"recorded_ad"), *x[4:]],
    "a value in a row": lambda x: [*x[:-1], x[-1].replace(b"paper", b"poper")],
    "no entry": lambda _: [],
    "a line more": lambda x: [*x, b"{}\n"],
    "half a line": lambda x: [*x[:-1], x[-1][:40]],
    "a list": lambda x: [b"[]\n", *x[1:]],
    "deep nesting": lambda x: [b"[" * 100_000 + b"\n", *x[1:]],
}


@pytest.mark.parametrize("how", ALTERED)
def test_an_altered_log_is_refused_with_its_place_and_no_file_stays(exported: Path, tmp_path: Path, how: str) -> None:
    folder = tmp_path / "in"
    shutil.copytree(exported, folder)
    (folder / "log.jsonl").write_bytes(b"".join(ALTERED[how](_lines(exported))))
    with pytest.raises(StoreUnusable) as refused:
        make_again(folder, tmp_path / "again.refstd")
    assert refused.value.where
    assert refused.value.remedy
    assert sorted(p.name for p in tmp_path.iterdir()) == ["in"]


@pytest.mark.parametrize(
    ("name", "new"),
    [("checkpoint.txt", b"1:" + b"0" * 64), ("checkpoint.txt", b"x"), ("papers", b"x"), ("papers", None)],
)
def test_an_exchanged_paper_or_checkpoint_is_refused(
    exported: Path, tmp_path: Path, name: str, new: bytes | None
) -> None:
    folder = tmp_path / "in"
    shutil.copytree(exported, folder)
    path = folder / name if name != "papers" else next((folder / "papers").iterdir())
    path.unlink()
    if new is not None:
        path.write_bytes(new)
    with pytest.raises(StoreUnusable):
        make_again(folder, tmp_path / "again.refstd")
    assert not (tmp_path / "again.refstd").exists()


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_no_single_byte_of_the_log_can_be_changed_unseen(exported: Path, seed: int) -> None:
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "in"
        shutil.copytree(exported, folder)
        raw = bytearray((folder / "log.jsonl").read_bytes())
        at = chance.randrange(len(raw))
        raw[at] ^= 1 << chance.randrange(8)
        (folder / "log.jsonl").write_bytes(raw)
        try:
            make_again(folder, Path(place) / "again.refstd")
        except Refusal:
            return
        kept = [json.loads(line) for line in bytes(raw).splitlines()]
        assert kept == [json.loads(line) for line in _lines(exported)]  # the same in other letters, such as a blank
