"""Care of the store: making, opening, verifying, backing up, restoring, migrating, and asking it how it is."""

import platform
import shutil
import sqlite3
import sys
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from sqlalchemy import select

from refstd import __version__
from refstd.base.errors import StoreUnusable
from refstd.base.text import safe
from refstd.desk.people import actor, may
from refstd.register import form
from refstd.register.care import create_lab, migrate_lab, open_lab, revision_of
from refstd.register.columns import instant_text
from refstd.register.copies import backup_file, backups_folder, restore_file
from refstd.register.engine import FORMAT
from refstd.register.integrity import Checkpoint as Checkpoint
from refstd.register.integrity import Verification, verify_lab
from refstd.register.lab import Lab as Lab
from refstd.register.lab import Look as Look
from refstd.register.lab import When as When
from refstd.register.log import Head, LogEntry
from refstd.register.whole import make_again, write_whole
from refstd.rules.authority import refuse_unless
from refstd.rules.version import RULES_VERSION

OLDEST_SQLITE = (3, 37, 0)  # STRICT tables


@dataclass(frozen=True, slots=True)
class Condition:
    """One thing that `doctor` looked at."""

    what: str
    found: str
    good: bool
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class StoreShown:
    """What a store says about itself."""

    path: str
    lab_name: str
    time_zone: str
    today: str
    head: Head


@dataclass(frozen=True, slots=True)
class Standpoint:
    """From where a question was answered: the instant, the civil day, and the log entry up to which records count."""

    lab_name: str
    as_at: str
    zone: str
    day: str
    log_sequence: int
    log_hash: str  # of that entry, not of today's head
    rules_version: str


def default_path() -> Path:
    """Return where the store lies when nothing else is said: the user's data folder."""
    from platformdirs import user_data_path

    return user_data_path("refstd") / "lab.refstd"


def make_store(
    path: Path,
    *,
    name: str,
    time_zone: str,
    code: str,
    person: str,
    now: datetime,
    story_day: date | None = None,
    rebuildable: bool = False,
    chain: str = "",
    operation: str = "",
) -> Lab:
    """Make a new store with its first custodian.

    A store with a `story_day` lives on that day for ever. `rebuildable` is for one that can be built again from source:
    speed instead of safety. `chain` and `operation` are random unless given, so that two builds can be the same.
    """
    if path == default_path():
        path.parent.mkdir(parents=True, exist_ok=True)
    return create_lab(
        path, name=name, time_zone=time_zone, custodian=(code, person), now=now, story_day=story_day,
        mode="rebuildable" if rebuildable else "create", chain=chain, operation=operation,
    )  # fmt: skip


def open_store(path: Path) -> Lab:
    """Open a store, or refuse with the reason."""
    return open_lab(path)


def about(lab: Lab, when: When) -> StoreShown:
    """Return what a store says about itself."""
    with lab.look(when) as look:
        return StoreShown(str(lab.path), look.lab_name, str(look.zone), look.today.isoformat(), look.head)


def standpoint(look: Look) -> Standpoint:
    """Return from where the questions of a look are answered. Asked again as at the instant named here, they answer alike."""
    digest = look.session.execute(select(LogEntry.hash).where(LogEntry.sequence == look.upto)).scalar_one()
    as_at = instant_text(look.instant)
    return Standpoint(look.lab_name, as_at, str(look.zone), look.today.isoformat(), look.upto, digest, RULES_VERSION)


def verify(path: Path, *, deep: bool, checkpoint: Checkpoint | None = None) -> Verification:
    """Look whether a store is whole and holds what was recorded."""
    lab = open_lab(path, trusting=True)
    try:
        return verify_lab(lab, deep=deep, checkpoint=checkpoint)
    finally:
        lab.close()


def backup(lab: Lab, target: Path | None, *, by: str, now: datetime) -> tuple[Path, Head]:
    """Make and verify a backup, and record it."""
    _refuse_before("back up", lab, by, now)
    path, head = backup_file(lab, target, now)
    with lab.change(by=by, now=now) as change:
        may(change, "back up")
        change.record("backup made", head_sequence=head.sequence, head_hash=head.hash)
    return path, head


def restore(backup_path: Path, path: Path, *, by: str, now: datetime) -> tuple[Head, Path | None]:
    """Put a verified backup in the place of the store; what stood there is kept. Recorded in the restored store."""
    _refuse_restoring(backup_path, by, now)
    head, kept = restore_file(backup_path, path, now)
    lab = open_lab(path)
    try:
        with lab.change(by=by, now=now) as change:
            may(change, "back up")
            change.record("restored from a backup", head_sequence=head.sequence, head_hash=head.hash)
    finally:
        lab.close()
    return head, kept


def export_whole(lab: Lab, folder: Path) -> tuple[Head, int]:
    """Write the whole store in its open form into a new folder; return the head and how many papers there are."""
    return write_whole(lab, folder)


def import_whole(folder: Path, path: Path) -> Head:
    """Make a store at a path where nothing stands, from the whole of one; return its head, the same as that one's."""
    return make_again(folder, path)


def _refuse_before(act: str, lab: Lab, by: str, now: datetime) -> None:
    """Refuse whom the act is not open to before a file is touched; the change that records it asks once more."""
    who = actor(lab, by, When(now))
    refuse_unless(act, code=who.code, role=who.role, authorities=frozenset(who.authorities))


def _refuse_restoring(backup_path: Path, by: str, now: datetime) -> None:
    """Refuse whom the backup itself does not let back up: there the restore will be recorded."""
    try:
        lab = open_lab(backup_path)
    except StoreUnusable:
        return  # it is not restored either, and that refusal names the backup
    try:
        _refuse_before("back up", lab, by, now)
    finally:
        lab.close()


def migrate(path: Path, now: datetime) -> tuple[str, str, Path | None]:
    """Bring an older store to this form, with a verified backup first; return revisions before and after, and the backup."""
    lab = open_lab(path, trusting=True)
    try:
        if revision_of(lab.engine) == form.REVISION:
            return form.REVISION, form.REVISION, None
        kept, _ = backup_file(lab, None, now)
    finally:
        lab.close()
    before, after = migrate_lab(path)
    return before, after, kept


def doctor(path: Path) -> tuple[Condition, ...]:
    """Return how program, file and folder are, each with what to do."""
    sqlite_good = sqlite3.sqlite_version_info >= OLDEST_SQLITE
    oldest = ".".join(map(str, OLDEST_SQLITE))
    found = [
        Condition("refstd", f"{__version__}, store format {FORMAT}, form {form.REVISION}", True),
        Condition("Python", f"{platform.python_version()} on {sys.platform}", sys.version_info >= (3, 11)),
        Condition(
            "SQLite",
            sqlite3.sqlite_version,
            sqlite_good,
            "" if sqlite_good else f"Use Python with SQLite {oldest} or later.",
        ),
    ]
    try:
        lab = open_lab(path)
    except StoreUnusable as refusal:
        return (*found, Condition("store", f"{refusal.wrong} ({safe(path)})", False, refusal.remedy))
    try:
        found += _file_conditions(lab, path)
    finally:
        lab.close()
    return tuple(found)


def _file_conditions(lab: Lab, path: Path) -> list[Condition]:
    with lab.engine.execution_options(look=True).connect() as connection:
        journal = str(connection.exec_driver_sql("PRAGMA journal_mode").scalar_one())
        size = path.stat().st_size
    free = shutil.disk_usage(path.parent).free
    kept = sorted(backups_folder(path).glob("*.refstd"))
    writable = _writable(path.parent)
    return [
        Condition("store", safe(path), True),
        Condition("size", f"{size / 1e6:.1f} MB", True),
        Condition("journal mode", journal, journal == "truncate", "" if journal == "truncate" else "Close other programs and open it again."),
        Condition("folder", "can be written" if writable else "is read-only", writable, "" if writable else "Ask for write permission."),
        Condition("free disk", f"{free / 1e9:.1f} GB", free > 10 * size, "" if free > 10 * size else "Free some space."),
        Condition(
            "newest backup", kept[-1].name if kept else "none", bool(kept), "" if kept else "Run `refstd backup`."
        ),
    ]  # fmt: skip


def _writable(folder: Path) -> bool:
    import os

    return os.access(folder, os.W_OK)
