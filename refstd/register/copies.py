"""Backups that were checked before they count, and restoring one without losing what it replaces."""

import os
import sqlite3
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from refstd.base.errors import StoreUnusable
from refstd.base.text import safe
from refstd.register.care import open_lab
from refstd.register.engine import in_words
from refstd.register.integrity import verify_lab
from refstd.register.lab import Lab
from refstd.register.log import Head


def backups_folder(path: Path) -> Path:
    """Return the folder beside the store that holds its backups."""
    return path.parent / "backups"


def backup_file(lab: Lab, target: Path | None, now: datetime) -> tuple[Path, Head]:
    """Copy the store by the database's own backup, verify the copy deeply, and only then give it its name.

    Never by copying the file: in the middle of a write that gives a damaged or an empty copy that looks whole.
    """
    if target is None:
        folder = backups_folder(lab.path)
        folder.mkdir(exist_ok=True)
        target = folder / f"{lab.path.stem}-{now:%Y%m%dT%H%M%S}Z.refstd"
    if target.exists():
        raise StoreUnusable("a file of that name exists already", safe(target), "Choose another name.")
    if not target.parent.is_dir():
        raise StoreUnusable("the folder does not exist", safe(target.parent), "Make the folder first.")
    partial = target.with_name(target.name + ".partial")
    partial.unlink(missing_ok=True)
    try:
        _copy_out(lab, partial)
        copied = _verified(partial, trusting=False)
        _sync(partial)
        partial.rename(target)
        _sync(target.parent)
    except (OSError, DBAPIError, sqlite3.Error, StoreUnusable) as error:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
        if isinstance(error, StoreUnusable):
            raise
        if isinstance(error, OSError):
            raise StoreUnusable(
                f"the backup could not be written: {safe(error.strerror)}", safe(target), "Choose another folder."
            ) from error
        raise in_words(error, lab.path) from error
    return target, copied


def restore_file(backup: Path, path: Path, now: datetime) -> tuple[Head, Path | None]:
    """Put a verified backup in the place of the store. What stood there is kept in the backups folder, and named."""
    if not backup.exists():
        raise StoreUnusable("there is no such backup", safe(backup), "Look into the folder `backups` beside the store.")
    restored = _verified(backup, trusting=False)
    kept: Path | None = None
    if path.exists():
        folder = backups_folder(path)
        folder.mkdir(exist_ok=True)
        kept = folder / f"{path.stem}-before-restore-{now:%Y%m%dT%H%M%S}Z.refstd"
        if kept.exists():
            raise StoreUnusable("a file of that name exists already", safe(kept), "Wait a second and try again.")
        _refuse_if_in_use(path)
        path.rename(kept)
        with suppress(OSError):
            path.with_name(path.name + "-journal").rename(kept.with_name(kept.name + "-journal"))
    source = open_lab(backup)
    try:
        partial = path.with_name(path.name + ".partial")
        partial.unlink(missing_ok=True)
        _copy_out(source, partial)
        _sync(partial)
        partial.rename(path)
        _sync(path.parent)
    finally:
        source.close()
    return restored, kept


def _copy_out(lab: Lab, target: Path) -> None:
    connection = lab.engine.raw_connection()
    try:
        destination = sqlite3.connect(target)  # noqa: TID251 (an empty file of ours, not a store in use)
        try:
            driver = connection.driver_connection
            assert isinstance(driver, sqlite3.Connection)
            driver.backup(destination)  # all pages in one step: in small steps it never ends beside a busy writer
            destination.execute("PRAGMA journal_mode=truncate")
        finally:
            destination.close()
    finally:
        connection.close()


def _verified(path: Path, *, trusting: bool) -> Head:
    copy = open_lab(path, trusting=trusting)
    try:
        found = verify_lab(copy, deep=True)
    finally:
        copy.close()
    if not found.whole or found.head is None:
        raise StoreUnusable(
            f"the copy does not verify: {found.problems[0]}", safe(path), "Run `refstd verify --deep` on it."
        )
    return found.head


def _refuse_if_in_use(path: Path) -> None:
    """Refuse when another program is in the store: renaming it under that program would split the record."""
    try:
        lab = open_lab(path, trusting=True)
    except StoreUnusable:
        return  # damaged beyond opening: nobody can be working in it
    try:
        with lab.engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA busy_timeout=0")
            connection.rollback()
            connection.exec_driver_sql("SELECT 1")
    except DBAPIError as error:
        raise in_words(error, path) from error
    finally:
        lab.close()


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
