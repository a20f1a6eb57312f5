"""Backups that were checked before they count, and restoring one without losing what it replaces."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from refstd.base.errors import StoreUnusable
from refstd.base.text import safe
from refstd.register import form
from refstd.register.care import open_lab, revision_of
from refstd.register.engine import BUSY_MS, in_words, uri_path, writers_turn
from refstd.register.integrity import form_of, verify_lab
from refstd.register.lab import Lab
from refstd.register.log import Head

_TRY_MS = 50


def backups_folder(path: Path) -> Path:
    """Return the folder beside the store that holds its backups."""
    return path.parent / "backups"


def backup_file(lab: Lab, target: Path | None, now: datetime) -> tuple[Path, Head]:
    """Copy the store by the database's own backup, verify the copy deeply, and only then give it its name.

    Never by copying the file: in the middle of a write that gives a damaged or an empty copy that looks whole.
    """
    target = target or backups_folder(lab.path) / f"{lab.path.stem}-{_stamp(now)}.refstd"
    with _in_words(target):
        if target.parent == backups_folder(lab.path):
            target.parent.mkdir(exist_ok=True)
        return target, _copied(lab, target)


def restore_file(backup: Path, path: Path, now: datetime) -> tuple[Head, Path | None]:
    """Put a verified backup in the place of the store. What stood there is kept in the backups folder, and named.

    The records are brought into the store's own file in one transaction, so that a program that has it open goes on
    with what was restored, not with a file that no longer bears the name.
    """
    if not backup.exists():
        raise StoreUnusable("there is no such backup", safe(backup), "Look into the folder `backups` beside the store.")
    if path.exists() and backup.samefile(path):
        raise StoreUnusable("that is the store itself", safe(backup), "Name a backup.")
    restored = _verified(backup)
    kept = backups_folder(path) / f"{path.stem}-before-restore-{_stamp(now)}.refstd"
    if kept.exists():
        raise StoreUnusable("a file of that name exists already", safe(kept), "Wait a second and try again.")
    source = open_lab(backup)
    try:
        with _in_words(path), writers_turn(path):
            if not _kept_as(path, kept):
                return _copied(source, path), None
            if not path.exists():  # it was beyond opening, and was moved away
                return _copied(source, path), kept
            try:
                _copy_pages(source, path)
            except sqlite3.DatabaseError as error:
                raise in_words(error, path) from error
    finally:
        source.close()
    return restored, kept


def _kept_as(path: Path, kept: Path) -> bool:
    """Keep what stands at `path` as `kept`, whatever its condition; False if nothing stands there."""
    journal = path.with_name(path.name + "-journal")
    if not path.exists():
        journal.unlink(missing_ok=True)  # left by a store that is gone, it would be rolled back into the next one
        return False
    kept.parent.mkdir(exist_ok=True)
    try:
        lab = open_lab(path, trusting=True)
    except StoreUnusable:
        _refuse_if_locked(path)
        path.rename(kept)
        if journal.exists():
            journal.rename(kept.with_name(kept.name + "-journal"))
        return True
    try:
        _copy_pages(lab, kept)
        _sync(kept.parent)
    except BaseException:
        kept.unlink(missing_ok=True)
        raise
    finally:
        lab.close()
    return True


def _refuse_if_locked(path: Path) -> None:
    """Refuse when the store did not open because another program is writing: it is not damaged."""
    probe = sqlite3.connect(f"file:{uri_path(path)}?mode=rw", uri=True, timeout=0)  # noqa: TID251 (closed at once)
    try:
        probe.execute("PRAGMA schema_version")
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorname", "").startswith("SQLITE_BUSY"):
            raise in_words(error, path) from error
    finally:
        probe.close()


def _copied(lab: Lab, target: Path) -> Head:
    """Copy a store to a new name: under another name first, verified, on the disk, then named."""
    if target.exists():
        raise StoreUnusable("a file of that name exists already", safe(target), "Choose another name.")
    if not target.parent.is_dir():
        raise StoreUnusable("the folder does not exist", safe(target.parent), "Make the folder first.")
    partial = target.with_name(target.name + ".partial")
    partial.unlink(missing_ok=True)
    try:
        _copy_pages(lab, partial)
        older = revision_of(lab.engine) != form.REVISION  # about to be migrated
        copied = _verified(partial, form_wanted=form_of(lab) if older else "")
        _sync(partial)
        partial.rename(target)
        _sync(target.parent)
    finally:
        for ending in ("", "-journal"):
            with suppress(OSError):
                partial.with_name(partial.name + ending).unlink(missing_ok=True)
    return copied


def _copy_pages(lab: Lab, target: Path) -> None:
    """Copy all pages in one step: in small steps it never ends beside a busy writer."""
    tries = iter(range(BUSY_MS // _TRY_MS))

    def give_up(answer: int, _remaining: int, _total: int) -> None:
        if answer in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and next(tries, None) is None:
            raise StoreUnusable(
                "another program holds the store; nothing was changed",
                safe(target),
                "Close it or wait, then try again.",
            )

    connection = lab.engine.raw_connection()
    try:
        destination = sqlite3.connect(target, timeout=0)  # noqa: TID251 (SQLite's own backup writes it)
        try:
            destination.execute("PRAGMA journal_mode=truncate")  # with the default, a power cut may undo the copy
            driver = connection.driver_connection
            assert isinstance(driver, sqlite3.Connection)
            driver.backup(destination, progress=give_up, sleep=_TRY_MS / 1000)  # left alone it would try for ever
        finally:
            destination.close()
    finally:
        connection.close()


def _verified(path: Path, *, form_wanted: str = "") -> Head:
    copy = open_lab(path, trusting=bool(form_wanted))
    try:
        found = verify_lab(copy, deep=True, form_wanted=form_wanted)
    finally:
        copy.close()
    if not found.whole or found.head is None:
        raise StoreUnusable(
            f"the copy does not verify: {found.problems[0]}", safe(path), "Run `refstd verify --deep` on the store."
        )
    return found.head


@contextmanager
def _in_words(target: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise StoreUnusable(
            f"the copy could not be written: {safe(error.strerror)}",
            safe(target),
            "Check the folder, or choose another.",
        ) from error
    except (DBAPIError, sqlite3.Error) as error:
        raise in_words(error, target) from error


def _stamp(now: datetime) -> str:
    return f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
