"""The append-only, hash-chained record of every change."""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, text
from sqlalchemy.orm import Mapped, mapped_column

from refstd.base.errors import StoreUnusable
from refstd.register.columns import Base, strict

FORM = "refstd.log/1"
FIRST_PREVIOUS = "0" * 64
# The columns that are hashed, in this order, behind FORM. Kept texts are hashed as they stand; there are no floats.
HASHED = (
    "chain", "sequence", "recorded_at", "person", "person_name", "known_by", "operation", "action", "body", "previous",
)  # fmt: skip


class Store(Base):
    """One row: the chain's identity, when the store was made, the oldest refstd format that may read it."""

    __tablename__ = "store"
    id: Mapped[int] = mapped_column(primary_key=True)
    chain: Mapped[str]
    created_at: Mapped[datetime]
    min_reader: Mapped[int]
    __table_args__ = strict()


class LogEntry(Base):
    """One change: who, when, what, the rows it wrote with their kept texts, and the hash that ties it to all before."""

    __tablename__ = "log_entry"
    sequence: Mapped[int] = mapped_column(primary_key=True)
    chain: Mapped[str]
    recorded_at: Mapped[datetime]
    person: Mapped[str]
    person_name: Mapped[str]
    known_by: Mapped[str]
    operation: Mapped[str] = mapped_column(unique=True)
    action: Mapped[str]
    body: Mapped[str]
    previous: Mapped[str]
    hash: Mapped[str]
    __table_args__ = strict()


# One encoder for all: `json.dumps` makes a new one with each call, which costs more than the hash.
_ENCODE = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode


def canonical(value: object) -> str:
    """Return JSON in one form only: sorted keys, no blanks, UTF-8, no NaN. Numbers with decimals travel as text."""
    return _ENCODE(value)


def hash_of(kept: dict[str, Any]) -> str:
    """Return the hash of an entry: SHA-256 over the canonical array of FORM and the hashed columns, as kept."""
    return _hash_of_columns([kept[name] for name in HASHED])


def _hash_of_columns(columns: list[Any]) -> str:
    return hashlib.sha256(canonical([FORM, *columns]).encode()).hexdigest()


def entry_line(entry: dict[str, Any]) -> str:
    """Return a kept entry as a line of JSON; from its hashed members anyone can compute its hash and so the chain anew."""
    return canonical({name: entry[name] for name in (*HASHED, "hash")})


def row_as_logged(row: dict[str, Any]) -> dict[str, Any]:
    """Return a row as the log holds it: kept texts and integers; a paper's bytes by their hash."""
    return {
        name: {"sha256": hashlib.sha256(value).hexdigest(), "bytes": len(value)} if isinstance(value, bytes) else value
        for name, value in row.items()
    }


@dataclass(frozen=True, slots=True)
class Head:
    """Where the chain stands. `recorded_at` is the kept text of the newest entry's instant."""

    chain: str
    sequence: int
    hash: str
    recorded_at: str


def chain_of(connection: Connection) -> str:
    """Return the chain's identity."""
    found = list(connection.execute(text("SELECT chain FROM store")).scalars())
    if len(found) != 1:
        raise StoreUnusable(
            f"the store's own row is there {len(found)} times, not once",
            "table store",
            "Restore a backup that verifies.",
        )
    return str(found[0])


def head(connection: Connection) -> Head:
    """Return the head of the chain; a store without entries stands at 0."""
    chain = chain_of(connection)
    row = connection.execute(
        text("SELECT sequence, hash, recorded_at FROM log_entry ORDER BY sequence DESC LIMIT 1")
    ).first()
    return Head(chain, *row) if row else Head(chain, 0, FIRST_PREVIOUS, "")


def entries(connection: Connection, *, upto: int | None = None) -> Iterator[dict[str, Any]]:
    """Yield the entries as kept, in order."""
    result = connection.execution_options(yield_per=500).execute(
        text("SELECT * FROM log_entry WHERE :n IS NULL OR sequence <= :n ORDER BY sequence"), {"n": upto}
    )
    for row in result.mappings():
        yield dict(row)


def chain_problem(connection: Connection) -> str:
    """Return the first thing wrong with the chain itself, naming the entry, or ''."""
    chain = chain_of(connection)
    previous, expected = FIRST_PREVIOUS, 1
    columns = ", ".join((*HASHED, "hash"))
    result = connection.execution_options(yield_per=500).execute(
        text(f"SELECT {columns} FROM log_entry ORDER BY sequence")
    )
    for row in result:  # a million of them: no dictionary for each
        *kept, kept_hash = row
        number = kept[_SEQUENCE]
        if number != expected:
            return f"log entry {expected} is missing (the next one is {number})"
        if kept[_CHAIN] != chain:
            return f"log entry {number} belongs to another store"
        if kept[_PREVIOUS] != previous:
            return f"log entry {number} does not follow on entry {number - 1}: one of the two was replaced"
        if kept_hash != _hash_of_columns(kept):
            action, person = kept[HASHED.index("action")], kept[HASHED.index("person")]
            return f"log entry {number} ({action}, by {person}) was altered after it was recorded"
        previous, expected = kept_hash, number + 1
    return ""


_CHAIN, _SEQUENCE, _PREVIOUS = (HASHED.index(name) for name in ("chain", "sequence", "previous"))
