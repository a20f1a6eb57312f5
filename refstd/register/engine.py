"""The only way to a store: one factory, settings that are read back, IMMEDIATE transactions for writing."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import URL, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import ConnectionPoolEntry

from refstd.base.errors import StoreUnusable
from refstd.base.text import safe

APPLICATION_ID = 0x72656673  # 'refs'
FORMAT = 1  # user_version: the form of the file; a higher one was made by a later refstd
BUSY_MS = 10_000
AT_ONCE = 10_000  # SQLite takes 32,766 values in one question
Mode = Literal["open", "create", "rebuildable"]

# TRUNCATE + FULL lost nothing in simulated power cuts, where DELETE + FULL did; WAL has a known race in older SQLite.
_DURABLE = {"busy_timeout": BUSY_MS, "journal_mode": "truncate", "synchronous": 2}
# For a file that can be built again from source (the sample lab): speed instead of safety.
_REBUILDABLE = {"busy_timeout": BUSY_MS, "journal_mode": "memory", "synchronous": 0}
_ALWAYS = {"foreign_keys": 1, "recursive_triggers": 1, "cell_size_check": 1}


def engine_for(path: Path, mode: Mode = "open") -> Engine:
    """Return an engine on a store's file. `open` never creates a file; `rebuildable` trades durability for speed.

    Writes begin with IMMEDIATE, so that what was read cannot change before it is written; a connection with the
    execution option `look` begins deferred and cannot write.
    """
    access = "rw" if mode == "open" else "rwc"
    url = URL.create(  # not a text: that would be decoded once more on the way
        "sqlite+pysqlite", database=f"file:{uri_path(path)}", query={"mode": access, "uri": "true"}
    )
    engine = create_engine(url, connect_args={"timeout": BUSY_MS / 1000})
    settings = (_REBUILDABLE if mode == "rebuildable" else _DURABLE) | _ALWAYS

    @event.listens_for(engine, "connect")
    def _configure(connection: sqlite3.Connection, _entry: ConnectionPoolEntry) -> None:
        connection.isolation_level = None  # first, or the settings below would be inside a transaction
        try:
            if mode == "open":
                _refuse_what_is_not_ours(connection, path)  # before a setting could change somebody else's file
            _set_and_read_back(connection, settings)
        except (sqlite3.Error, UnicodeDecodeError) as error:
            raise in_words(error, path) from error

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        if connection.get_execution_options().get("look"):
            connection.exec_driver_sql("PRAGMA query_only=ON")
            connection.exec_driver_sql("BEGIN")
        else:
            connection.exec_driver_sql("PRAGMA query_only=OFF")
            connection.exec_driver_sql("BEGIN IMMEDIATE")

    event.listen(engine, "checkin", _let_go)
    event.listen(engine, "invalidate", _let_go)
    return engine


def _let_go(connection: sqlite3.Connection | None, *_more: Any) -> None:
    """End a transaction that SQLAlchemy takes for ended while SQLite still holds its lock: after a COMMIT that failed,
    and after Ctrl-C inside a statement."""
    if connection is not None and connection.in_transaction:
        connection.rollback()


def uri_path(path: Path) -> str:
    """Return a path as a database URI writes it."""
    return path.absolute().as_posix().replace("%", "%25").replace("?", "%3f").replace("#", "%23")


def _refuse_what_is_not_ours(connection: sqlite3.Connection, path: Path) -> None:
    identity = connection.execute("PRAGMA application_id").fetchone()[0]
    found = connection.execute("PRAGMA user_version").fetchone()[0]
    if identity != APPLICATION_ID or found < 1:
        raise StoreUnusable(
            "the file is not a store of refstd; nothing was changed",
            safe(path),
            "Name a store with --db, or make one with `refstd init`.",
        )
    if found > FORMAT:
        raise StoreUnusable(
            f"the store was made by a later refstd (format {found}; this one knows {FORMAT}); nothing was changed",
            safe(path),
            "Install that version or a later one.",
        )


def _set_and_read_back(connection: sqlite3.Connection, settings: dict[str, Any]) -> None:
    for name, wanted in settings.items():
        connection.execute(f"PRAGMA {name}={wanted}")
    for name, wanted in settings.items():
        found = connection.execute(f"PRAGMA {name}").fetchone()[0]
        if found != wanted:
            raise StoreUnusable(
                f"the database did not take the setting {name}={wanted} (it says {found})",
                "opening the store",
                "Run `refstd doctor`.",
            )


@contextmanager
def writers_turn(path: Path) -> Iterator[None]:
    """Wait for this process's turn to write: fairness among writers, never correctness (that is IMMEDIATE's)."""
    try:
        import fcntl
    except ImportError:  # a system without flock queues on the database's own lock
        yield
        return
    gate = path.with_name(path.name + ".gate")
    try:
        handle = gate.open("a")
    except OSError as error:
        raise StoreUnusable(
            "the folder of the store cannot be written", safe(path.parent), "Ask for write permission on the folder."
        ) from error
    with handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        try:
            yield
        finally:
            with suppress(OSError):
                fcntl.flock(handle, fcntl.LOCK_UN)


def in_words(error: DBAPIError | sqlite3.Error | UnicodeDecodeError, path: Path) -> StoreUnusable:
    """Return what a database error means for the person in front of it.

    The driver cannot even read SQLite's message when it quotes damaged text: that is a UnicodeDecodeError.
    """
    original = error.orig if isinstance(error, DBAPIError) else error
    damaged = isinstance(original, UnicodeDecodeError)
    name = "SQLITE_CORRUPT" if damaged else getattr(original, "sqlite_errorname", "") or ""
    where = safe(path)
    for start, wrong, remedy in _MEANINGS:
        if name.startswith(start):
            return StoreUnusable(wrong, where, remedy)
    return StoreUnusable(f"the database answered '{safe(original)}'", where, "Run `refstd doctor`.")


_MEANINGS = (
    ("SQLITE_BUSY", "another program holds the store; nothing was changed", "Close it or wait, then try again."),
    ("SQLITE_LOCKED", "another program holds the store; nothing was changed", "Close it or wait, then try again."),
    (
        "SQLITE_READONLY",
        "the store or its folder is read-only; nothing was changed",
        "Ask for write permission, or use questions only.",
    ),
    ("SQLITE_CANTOPEN", "the store cannot be opened", "Check the path and the permission on its folder."),
    ("SQLITE_FULL", "the disk is full; nothing was changed", "Free some space, then do it again."),
    ("SQLITE_IOERR", "the disk reported an error", "Check the disk, then run `refstd verify --deep`."),
    (
        "SQLITE_NOTADB",
        "the file is not a store of refstd; nothing was changed",
        "Name a store with --db, or make one with `refstd init`.",
    ),
    (
        "SQLITE_CORRUPT",
        "the file is damaged; nothing was changed",
        "Run `refstd verify`, then `refstd restore` from a backup.",
    ),
    ("SQLITE_PERM", "permission to open the store was denied", "Ask for permission on the file."),
)
