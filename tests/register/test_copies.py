"""Backups that can be relied on, and bringing one back without losing what stood there."""

import shutil
from datetime import timedelta, timezone
from pathlib import Path

import pytest

from refstd.base.errors import StoreUnusable
from refstd.register.care import open_lab
from refstd.register.copies import backup_file, backups_folder, restore_file
from refstd.register.custody import Loan
from refstd.register.integrity import Checkpoint, verify_lab
from refstd.register.lab import Lab
from refstd.register.log import Head
from refstd.register.people import Person
from tests import given
from tests.given import NOON, NOW
from tests.register import processes
from tests.register.on_disk import content, plain, unguarded

LATER = NOON + timedelta(hours=1)


def _head(path: Path) -> Head:
    lab = open_lab(path)
    try:
        found = verify_lab(lab, deep=True)
        assert found.problems == ()
        assert found.head is not None
        return found.head
    finally:
        lab.close()


def _beside(path: Path) -> set[str]:
    return {str(p.relative_to(path.parent)) for p in path.parent.rglob("*") if p.is_file()}


def test_a_backup_holds_all_that_was_recorded_and_bears_the_utc_time(lab: Lab, store: Path) -> None:
    """Found so, not planted: the name ended in Z but bore the local time."""
    given.loans(lab)
    path, head = backup_file(lab, None, NOON.astimezone(timezone(timedelta(hours=2))))
    assert path == backups_folder(store) / "lab-20310314T120000Z.refstd"
    assert content(path) == content(store)
    with lab.look(NOW) as look:
        assert head == look.head
    assert _head(path) == head
    assert _beside(store) <= {"lab.refstd", "lab.refstd-journal", "lab.refstd.gate", f"backups/{path.name}"}


def test_a_backup_taken_while_others_write_is_whole_and_loses_no_act(store: Path) -> None:
    """Caught: copying the file instead of letting SQLite do it."""
    writers = [processes.writer("work", store) for _ in range(2)]
    lab = open_lab(store)
    try:
        for writer in writers:
            assert processes.line(writer) == "ready"
        before = 0
        for number in range(5):
            path, head = backup_file(lab, store.parent / f"copy-{number}.refstd", NOON)
            assert head.sequence > before, "the writers go on meanwhile"
            before = head.sequence
            copied = open_lab(path)
            assert verify_lab(copied, deep=True, checkpoint=Checkpoint(head.sequence, head.hash)).whole
            copied.close()
    finally:
        acknowledged = sum(len(processes.kill(writer)) for writer in writers)
        lab.close()
    assert acknowledged > 5
    assert _head(store).sequence >= acknowledged


def test_a_backup_never_takes_the_place_of_a_file(lab: Lab, store: Path) -> None:
    before = store.read_bytes()
    with pytest.raises(StoreUnusable, match="exists already"):
        backup_file(lab, store, NOON)
    assert store.read_bytes() == before
    with pytest.raises(StoreUnusable, match="folder does not exist"):
        backup_file(lab, store.parent / "nowhere" / "copy.refstd", NOON)
    backup_file(lab, None, NOON)
    with pytest.raises(StoreUnusable, match="exists already"):
        backup_file(lab, None, NOON)


def test_a_backup_into_something_that_is_no_folder_is_refused_in_words(lab: Lab, store: Path) -> None:
    """Found so, not planted: a file named `backups` made it a fault."""
    backups_folder(store).write_text("not a folder")
    with pytest.raises(StoreUnusable, match="could not be written"):
        backup_file(lab, None, NOON)


def test_a_store_that_does_not_verify_gives_no_backup_and_no_partial_file(lab: Lab, store: Path) -> None:
    """Caught: naming the copy before verifying it."""
    given.loans(lab)
    with unguarded(store) as connection:
        connection.execute("UPDATE loan SET condition = 'worn' WHERE id = 1")
    with pytest.raises(StoreUnusable, match="the copy does not verify: records against log: loan row 1") as told:
        backup_file(lab, None, NOON)
    assert told.value.remedy
    assert list(backups_folder(store).iterdir()) == []


def test_a_store_whose_guards_were_taken_while_it_was_open_gives_no_backup(lab: Lab, store: Path) -> None:
    with plain(store) as connection:
        connection.execute("DROP TRIGGER loan_no_update")
    with pytest.raises(StoreUnusable, match="form"):
        backup_file(lab, None, NOON)
    assert list(backups_folder(store).iterdir()) == []


def test_a_backup_that_the_disk_has_no_room_for_leaves_no_partial_file(lab: Lab, store: Path) -> None:
    """The system refuses to let a file grow. Caught: leaving the partial copy where it is."""
    size = store.stat().st_size // 1024
    lab.close()
    before = content(store)
    (said,) = processes.said(processes.writer("limited", store, size // 2))
    assert said.startswith("refused: the disk")
    assert list(backups_folder(store).iterdir()) == []
    assert content(store) == before


def test_restoring_brings_the_backup_back_and_keeps_what_stood_there(lab: Lab, store: Path) -> None:
    """Caught: deleting the store that is replaced."""
    given.loans(lab)
    path, head = backup_file(lab, None, NOON)
    then = content(store)
    given.person(lab, "LATER", now=LATER)
    lab.close()
    now = content(store)
    restored, kept = restore_file(path, store, LATER)
    assert restored == head == _head(store)
    assert kept == backups_folder(store) / "lab-before-restore-20310314T130000Z.refstd"
    assert content(store) == then
    assert content(kept) == now
    assert _head(kept).sequence == head.sequence + 1
    assert _beside(store) <= {
        "lab.refstd", "lab.refstd-journal", "lab.refstd.gate", f"backups/{path.name}", f"backups/{kept.name}",
        f"backups/{kept.name}-journal",
    }  # fmt: skip


def test_a_program_that_has_the_store_open_goes_on_with_what_was_restored(lab: Lab, store: Path) -> None:
    """Found so, not planted: the old file was renamed under it, and what it recorded next was in no store by that name."""
    path, head = backup_file(lab, None, NOON)
    given.person(lab, "GONE")
    restore_file(path, store, LATER)
    with lab.look(NOW) as look:
        assert look.head == head
    given.person(lab, "NEXT", now=LATER)
    lab.close()
    assert _head(store).sequence == head.sequence + 1
    with plain(store) as connection:
        assert connection.execute("SELECT code FROM person ORDER BY id").fetchall() == [("KEEPER",), ("NEXT",)]


def test_restoring_waits_for_nobody_who_is_inside_an_act(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program is inside an act: refused in words, and nothing is moved."""
    from refstd.register import copies, engine

    monkeypatch.setitem(engine._DURABLE, "busy_timeout", 100)
    monkeypatch.setattr(copies, "BUSY_MS", 100)
    lab = open_lab(store)
    path, _ = backup_file(lab, None, NOON)
    given.person(lab, "LATER")
    lab.close()
    before = content(store)
    with plain(store) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreUnusable, match="another program holds the store"):
            restore_file(path, store, LATER)
        other.rollback()
    assert content(store) == before


def test_a_store_beyond_opening_is_kept_as_it_is_and_replaced(lab: Lab, store: Path) -> None:
    path, head = backup_file(lab, None, NOON)
    lab.close()
    rubbish = b"no store at all" * 1000
    store.write_bytes(rubbish)
    store.with_name("lab.refstd-journal").write_bytes(b"nor a journal")
    restored, kept = restore_file(path, store, LATER)
    assert restored == head == _head(store)
    assert kept is not None
    assert kept.read_bytes() == rubbish
    assert not store.with_name("lab.refstd-journal").exists(), "it would be rolled back into the restored store"


def test_a_missing_store_is_restored_and_an_orphaned_journal_is_not_rolled_back_into_it(lab: Lab, store: Path) -> None:
    path, head = backup_file(lab, None, NOON)
    lab.close()
    store.unlink()
    store.with_name("lab.refstd-journal").write_bytes(b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7" + b"\x00" * 4000)
    restored, kept = restore_file(path, store, LATER)
    assert kept is None
    assert restored == head == _head(store)


@pytest.mark.parametrize("spoil", ["missing", "text", "tampered", "half"])
def test_a_backup_that_does_not_verify_replaces_nothing(lab: Lab, store: Path, spoil: str) -> None:
    """Caught: verifying after the old store was moved away."""
    given.loans(lab)
    path, _ = backup_file(lab, None, NOON)
    lab.close()
    before = content(store)
    if spoil == "missing":
        path.unlink()
    elif spoil == "text":
        path.write_text("nothing")
    elif spoil == "half":
        path.write_bytes(path.read_bytes()[:40_000])
    else:
        with unguarded(path) as connection:
            connection.execute("UPDATE loan SET condition = 'worn'")
    with pytest.raises(StoreUnusable):
        restore_file(path, store, LATER)
    assert content(store) == before


def test_the_store_itself_is_no_backup_of_itself(lab: Lab, store: Path) -> None:
    with pytest.raises(StoreUnusable, match="the store itself"):
        restore_file(store, store, LATER)
    given.person(lab, "TESS")


def test_a_restored_lab_goes_on(lab: Lab, store: Path, tmp_path: Path) -> None:
    """The restore drill: to another place, and the work goes on there with the same chain."""
    given.loans(lab)
    path, head = backup_file(lab, tmp_path / "outside.refstd", NOON)
    lab.close()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shutil.move(path, elsewhere / "brought.refstd")
    restore_file(elsewhere / "brought.refstd", elsewhere / "lab.refstd", LATER)
    again = open_lab(elsewhere / "lab.refstd")
    given.person(again, "NEW", now=LATER)
    assert verify_lab(again, deep=True, checkpoint=Checkpoint(head.sequence, head.hash)).whole
    assert given.count(again, Loan) == 2
    assert given.count(again, Person) == 2
    again.close()
