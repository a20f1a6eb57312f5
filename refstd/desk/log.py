"""The log as an auditor reads it: who recorded what and when, newest first, a page at a time."""

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.register.lab import Lab, When
from refstd.register.log import LogEntry, entries, entry_line

PAGE = 200


@dataclass(frozen=True, slots=True)
class EntryShown:
    """One log entry: its place in the chain, who acted and how that was known, what was done, how many rows it wrote."""

    sequence: int
    recorded_at: datetime
    person: str
    person_name: str
    known_by: str
    action: str
    details: tuple[tuple[str, str], ...]
    tables: tuple[tuple[str, int], ...]  # rows written, by table
    operation: str
    previous: str
    hash: str

    def in_words(self) -> str:
        """Return what was done, with what it names."""
        named = ", ".join(f"{name} {value}" for name, value in self.details)
        return f"{self.action}: {named}" if named else self.action


def log_entries(lab: Lab, when: When, *, before: int | None = None, count: int = PAGE) -> tuple[EntryShown, ...]:
    """Return at most `count` entries older than entry `before` (None: from the newest), newest first.

    The next page begins before the last sequence returned, so that a page costs the same however far down it lies.
    """
    with lab.look(when) as look:
        query = select(LogEntry).where(LogEntry.sequence <= look.upto).order_by(LogEntry.sequence.desc()).limit(count)
        if before is not None:
            query = query.where(LogEntry.sequence < before)
        return tuple(_shown(row) for row in look.session.execute(query).scalars())


def whole_log(lab: Lab, when: When) -> tuple[str, ...]:
    """Return every entry up to the moment as a line of JSON with its texts as kept, the first one first."""
    with lab.look(when) as look:
        return tuple(entry_line(entry) for entry in entries(look.session.connection(), upto=look.upto))


def _shown(row: LogEntry) -> EntryShown:
    body = json.loads(row.body)
    details = tuple((name, _words(value)) for name, value in body.get("details", {}).items())
    tables: dict[str, int] = {}
    for kept in body.get("rows", ()):
        tables[kept["table"]] = tables.get(kept["table"], 0) + 1
    return EntryShown(
        row.sequence, row.recorded_at, row.person, row.person_name, row.known_by, row.action, details,
        tuple(tables.items()), row.operation, row.previous, row.hash,
    )  # fmt: skip


def _words(value: object) -> str:
    return (", ".join(map(str, value)) or "none") if isinstance(value, list) else str(value)
