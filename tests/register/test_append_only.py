"""What the database refuses, whoever asks: another program's connection, with none of our settings."""

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Integer, LargeBinary, Table

from refstd.register.lab import Lab
from refstd.register.tables import all_tables, kept_tables
from tests import given
from tests.register.on_disk import plain, unguarded

WRITTEN_ONCE = [t for t in all_tables() if not t.info.get("now")]
REFUSED = pytest.raises(sqlite3.IntegrityError)


@pytest.fixture(scope="module")
def full(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a row in every table. Not a sound lab: the guards must hold for any row."""
    path = tmp_path_factory.mktemp("full") / "full.refstd"
    path.write_bytes(template.read_bytes())
    with unguarded(path) as connection:
        for table in kept_tables():
            if not connection.execute(f"SELECT 1 FROM {table.name}").fetchone():
                _insert(connection, table.name, _any_row(table), "INSERT")
    return path


def _any_row(table: Table) -> dict[str, Any]:
    def value(column: Any) -> Any:
        kept_as = getattr(column.type, "impl", column.type)
        if isinstance(kept_as, Integer):
            return 1
        return b"x" if isinstance(kept_as, LargeBinary) else "x"

    return {column.name: value(column) for column in table.columns}


def _insert(connection: sqlite3.Connection, table: str, row: dict[str, Any], verb: str) -> None:
    marks = ", ".join("?" * len(row))
    connection.execute(f"{verb} INTO {table} ({', '.join(row)}) VALUES ({marks})", list(row.values()))


def _row(connection: sqlite3.Connection, table: str) -> dict[str, Any]:
    cursor = connection.execute(f"SELECT * FROM {table} LIMIT 1")
    return dict(zip([c[0] for c in cursor.description], cursor.fetchone(), strict=True))


def _unique_keys(connection: sqlite3.Connection, table: str) -> list[list[str]]:
    """The unique keys as the database itself tells them, so that one forgotten in the guards shows."""
    columns = connection.execute(f"PRAGMA table_info({table})").fetchall()
    keys = [[c[1] for c in columns if c[5]]]
    for _, name, unique, *_rest in connection.execute(f"PRAGMA index_list({table})").fetchall():
        if unique:
            keys.append([c[2] for c in connection.execute(f"PRAGMA index_info({name})")])
    return keys


@pytest.mark.parametrize("table", WRITTEN_ONCE, ids=lambda t: t.name)
def test_a_row_is_neither_changed_nor_deleted_by_any_program(full: Path, table: Table) -> None:
    """Caught: leaving out the no_update triggers; leaving out the no_delete triggers."""
    name = table.name
    column = [c.name for c in table.columns][-1]
    with plain(full) as connection:
        before = connection.execute(f"SELECT * FROM {name}").fetchall()
        for attempt in (
            f"UPDATE {name} SET {column} = {column}",
            f"UPDATE OR REPLACE {name} SET {column} = {column}",
            f"DELETE FROM {name}",
            f"DELETE FROM {name} WHERE rowid = (SELECT min(rowid) FROM {name})",
        ):
            with REFUSED as told:
                connection.execute(attempt)
            assert f"{name}: a record is never" in str(told.value)
        assert connection.execute(f"SELECT * FROM {name}").fetchall() == before


@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "REPLACE"])
@pytest.mark.parametrize("table", WRITTEN_ONCE, ids=lambda t: t.name)
def test_a_row_is_not_replaced_on_any_unique_key(full: Path, table: Table, verb: str) -> None:
    """REPLACE deletes without firing a DELETE trigger, since another program has recursive triggers off.

    Caught: leaving out the taken_ triggers (every table lost its row); leaving out all but the primary key's.
    """
    name = table.name
    with plain(full) as connection:
        assert connection.execute("PRAGMA recursive_triggers").fetchone() == (0,)
        before = connection.execute(f"SELECT * FROM {name}").fetchall()
        row = _row(connection, name)
        for key in _unique_keys(connection, name):
            if any(row[c] is None for c in key):
                continue
            fresh = {c: _another(c, v) if c not in key else v for c, v in row.items()}
            with REFUSED:
                _insert(connection, name, fresh, verb)
            assert connection.execute(f"SELECT * FROM {name}").fetchall() == before, key


def _another(column: str, value: Any) -> Any:
    if isinstance(value, int):
        return value + 1000 if column in ("id", "sequence") else value
    return value


def test_every_unique_key_of_the_store_was_tried(full: Path) -> None:
    """A negative control of the test above: the keys it leaves out for being empty are none."""
    with plain(full) as connection:
        for table in WRITTEN_ONCE:
            row = _row(connection, table.name)
            for key in _unique_keys(connection, table.name):
                assert all(row[c] is not None for c in key), (table.name, key)


def test_the_log_grows_only_at_its_head(lab: Lab, store: Path) -> None:
    """Caught: the extends_head trigger without its second half (an entry that follows on nothing was taken)."""
    given.person(lab, "A")
    lab.close()
    with plain(store) as connection:
        row = dict(zip(
            [c[1] for c in connection.execute("PRAGMA table_info(log_entry)")],
            connection.execute("SELECT * FROM log_entry ORDER BY sequence DESC").fetchone(), strict=True,
        ))  # fmt: skip
        top, digest = row["sequence"], row["hash"]
        for sequence, previous in (
            (top + 2, digest),
            (top, digest),
            (0, digest),
            (-1, digest),
            (top + 1, "0" * 64),
            (None, "0" * 64),
        ):
            with REFUSED:
                _insert(
                    connection,
                    "log_entry",
                    row | {"sequence": sequence, "previous": previous, "operation": "x"},
                    "INSERT",
                )
            with REFUSED:
                _insert(
                    connection, "log_entry", row | {"sequence": sequence, "previous": previous, "operation": "x"},
                    "INSERT OR REPLACE",
                )  # fmt: skip


def test_a_file_holds_one_store(store: Path) -> None:
    """Caught: no guard at all; a second row made every question end in a fault (not planted: found so)."""
    with plain(store) as connection, REFUSED as told:
        connection.execute("INSERT INTO store (id, chain, created_at, min_reader) VALUES (2, 'other', 'now', 1)")
    assert "a file holds one store" in str(told.value)


def test_a_number_is_not_kept_where_text_belongs(store: Path) -> None:
    """STRICT tables. Caught: a table made without STRICT (SQLite then takes 'abc' for an integer)."""
    with plain(store) as connection:
        for table in all_tables():
            sql = connection.execute("SELECT sql FROM sqlite_master WHERE name = ?", (table.name,)).fetchone()[0]
            assert sql.rstrip().endswith("STRICT"), table.name
        with REFUSED:
            _insert(
                connection,
                "person",
                {"id": 9, "code": "X", "code_key": "x", "recorded_at": "t", "entry": "first"},
                "INSERT",
            )
