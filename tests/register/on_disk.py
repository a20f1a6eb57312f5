"""A store as another program sees it: plain SQL, no settings of ours, and the means of somebody who tampers."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

Content = dict[str, list[tuple[Any, ...]]]


@contextmanager
def plain(path: Path) -> Iterator[sqlite3.Connection]:
    """Connect as any other SQLite program would: no foreign keys, no recursive triggers. Committed on leaving."""
    connection = sqlite3.connect(path, timeout=20)
    connection.execute("PRAGMA synchronous=OFF")
    connection.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    try:
        yield connection
        connection.commit()
    finally:
        connection.close()


def content(path: Path) -> Content:
    """Return every row of every table."""
    with plain(path) as connection:
        tables = [n for (n,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
        return {name: connection.execute(f'SELECT * FROM "{name}" ORDER BY 1').fetchall() for name in tables}


@contextmanager
def unguarded(path: Path, table: str = "") -> Iterator[sqlite3.Connection]:
    """Connect as somebody who takes the triggers away (all, or one table's), does what he wants, and puts them back."""
    with plain(path) as connection:
        triggers = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND ? IN ('', tbl_name)", (table,)
        ).fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("PRAGMA ignore_check_constraints=ON")
        yield connection
        for _, sql in triggers:
            connection.execute(sql)
