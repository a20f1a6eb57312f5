"""What the database itself refuses, whoever asks, and the fingerprint that shows whether these guards still stand."""

import hashlib
import re

from sqlalchemy import Connection, Table, UniqueConstraint, text

from refstd.register.tables import all_tables


def guard_statements() -> list[str]:
    """Return the triggers for all tables but the now tables: no change, no deletion, no replacing, the log only grows.

    INSERT OR REPLACE deletes without firing a DELETE trigger unless recursive triggers are on, and another program's
    connection has them off; so each unique key has a trigger of its own.
    """
    statements = []
    for table in all_tables():
        if table.info.get("now"):
            continue
        statements += [
            _refuse(table, "no_update", "BEFORE UPDATE", "", "a record is never changed; record a correction"),
            _refuse(table, "no_delete", "BEFORE DELETE", "", "a record is never deleted"),
        ]
        for columns in _unique_keys(table):
            same = " AND ".join(f"{c} = NEW.{c}" for c in columns)
            when = f"WHEN EXISTS (SELECT 1 FROM {table.name} WHERE {same}) "
            key = ", ".join(f"{table.name}.{c}" for c in columns)
            statements.append(_refuse(table, "taken_" + "_".join(columns), "BEFORE INSERT", when, f"UNIQUE {key}"))
        if table.name == "store":
            when = "WHEN EXISTS (SELECT 1 FROM store) "
            statements.append(_refuse(table, "only_one", "BEFORE INSERT", when, "a file holds one store"))
    statements.append(
        "CREATE TRIGGER log_entry_extends_head BEFORE INSERT ON log_entry "
        "WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM log_entry) "
        "OR NEW.previous IS NOT coalesce((SELECT hash FROM log_entry ORDER BY sequence DESC LIMIT 1), "
        "'0000000000000000000000000000000000000000000000000000000000000000') "
        "BEGIN SELECT RAISE(ABORT, 'log_entry: a new entry follows on the newest one'); END"
    )
    return statements


def _unique_keys(table: Table) -> list[tuple[str, ...]]:
    keys = [tuple(c.name for c in table.primary_key.columns)]
    keys += sorted(
        tuple(c.name for c in constraint.columns)
        for constraint in table.constraints
        if isinstance(constraint, UniqueConstraint)
    )
    return keys


def _refuse(table: Table, name: str, event: str, when: str, message: str) -> str:
    return (
        f"CREATE TRIGGER {table.name}_{name} {event} ON {table.name} {when}"
        f"BEGIN SELECT RAISE(ABORT, '{table.name}: {message}'); END"
    )


def fingerprint(connection: Connection) -> str:
    """Return the SHA-256 of the whole form of the store: tables, indexes, triggers, as the database holds them."""
    rows = connection.execute(
        text(
            "SELECT type, name, sql FROM sqlite_master WHERE NOT (type = 'index' AND sql IS NULL) "
            "AND NOT (type = 'table' AND (name = 'alembic_version' OR name GLOB 'sqlite_stat[0-9]')) ORDER BY type, name"
        )
    )
    form = "\n".join(f"{kind}|{name}|{_plain_sql(sql or '')}" for kind, name, sql in rows)
    return hashlib.sha256(form.encode()).hexdigest()


def _plain_sql(sql: str) -> str:
    return re.sub(r"\s+", " ", sql).strip()
