"""Checkpoints by command: made, signed, told in the log, and held against a store whose tail was cut."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.test_a_days_work import members
from tests.given import KEEPER
from tests.register.on_disk import unguarded


@pytest.fixture
def stick(tmp_path: Path, workshop: Path, refstd: Run, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder away from the store, with a key."""
    away = tmp_path.parent / f"{tmp_path.name}-stick"
    away.mkdir()
    assert refstd("checkpoint", "--new-key", away / "lab.pem").code == 0
    assert (away / "lab.pem").stat().st_mode & 0o077 == 0
    return away


def test_a_signed_checkpoint_shows_a_cut_tail_and_an_exchanged_file(refstd: Run, stick: Path, workshop: Path) -> None:
    kept, key, public = stick / "head.txt", stick / "lab.pem", stick / "lab.pem.pub"
    said = refstd("checkpoint", "-o", kept, "--sign", key, "--as", KEEPER)
    assert said.code == 0, said.err
    assert refstd("verify", "--deep", "--checkpoint", kept, "--key", public).code == 0
    assert "not checked" in refstd("verify", "--checkpoint", kept).err
    newest = members(refstd("log", "--json"))["rows"][0]
    assert "checkpoint made" in str(newest)
    line = kept.read_text()
    sequence = int(line.partition(":")[0])
    kept.write_text(line.replace(line[-3], "0" if line[-3] != "0" else "1"))
    said = refstd("verify", "--checkpoint", kept, "--key", public)
    assert said.code == 2
    assert "exchanged" in said.err
    kept.write_text(line)
    with unguarded(workshop) as connection:
        connection.execute("DELETE FROM log_entry WHERE sequence >= ?", (sequence,))
    said = refstd("verify", "--checkpoint", kept, "--key", public)
    assert said.code == 1
    assert "its tail was cut off" in said.out


def test_a_report_that_is_issued_carries_the_signed_head_and_the_same_bytes_again(refstd: Run, stick: Path) -> None:
    for name in ("one.json", "two.json"):
        said = refstd(
            "report", "register", "-o", stick / name, "--issue", "--sign", stick / "lab.pem", "--as", KEEPER, "--as-at", "2031-03-14"
        )  # fmt: skip
        assert said.code == 0, said.err
    assert (stick / "one.json").read_bytes() == (stick / "two.json").read_bytes()
    assert "signed head " in (stick / "one.json").read_text()
    assert refstd("verify", "--paper", stick / "one.json").code == 0


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("checkpoint",), 2, "say what to make"),
        (("checkpoint", "-o", "lab.refstd", "--as", KEEPER), 2, "not overwritten"),
        (("checkpoint", "-o", "h.txt", "--as", "TESS"), 3, "may not make a checkpoint"),
        (("checkpoint", "--new-key", "key.pem"), 3, "beside the store"),
        (("checkpoint", "-o", "h.txt", "--sign", "key.pem", "--as", KEEPER), 3, "beside the store"),
        (("verify", "--checkpoint", "120"), 2, "is not a checkpoint"),
        (("verify", "--key", "x.pub"), 2, "Name the file with --checkpoint"),
        (("report", "due", "-o", "d.txt", "--sign", "k"), 2, "Add --issue"),
    ],
)
def test_what_cannot_be_done_is_refused_and_leaves_no_file(
    refstd: Run, workshop: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], code: int, says: str
) -> None:
    monkeypatch.chdir(workshop.parent)
    before = sorted(p.name for p in workshop.parent.iterdir() if p.suffix != ".gate")
    said = refstd(*words)
    assert said.code == code, said
    assert says in said.err
    assert sorted(p.name for p in workshop.parent.iterdir() if p.suffix != ".gate") == before


def test_what_is_proved_is_told_without_a_store(refstd: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    said = refstd("verify", "--explain", "--db", "nowhere.refstd")
    assert said.code == 0
    assert "only a checkpoint kept outside the store" in said.out
    assert "Nothing proves that what was typed was true." in said.out


def test_a_whole_store_leaves_in_an_open_form_and_comes_back_with_the_same_head(refstd: Run, tmp_path: Path) -> None:
    out, again = tmp_path / "out", tmp_path / "again.refstd"
    said = refstd("export", "--whole", out)
    assert said.code == 0, said.err
    head = refstd("verify").out.splitlines()[-1]
    assert head in said.out
    said = refstd("import", "--whole", out, "--db", again)
    assert said.code == 0, said.err
    assert (
        refstd("verify", "--deep", "--db", again, "--checkpoint", out / "checkpoint.txt").out.splitlines()[-1] == head
    )
    assert refstd("list", "blocks", "--db", again).out == refstd("list", "blocks").out
    assert refstd("import", "--whole", out, "--db", again).code == 4
    assert refstd("export", "--whole", out).code == 2
