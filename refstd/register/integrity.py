"""Is the store whole, and is everything in it what was recorded? The first thing wrong is named."""

import json
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from refstd.base.errors import StoreUnusable
from refstd.base.text import safe
from refstd.register import form
from refstd.register.guards import fingerprint
from refstd.register.lab import Lab
from refstd.register.log import Head, chain_of, chain_problem, entries, head, row_as_logged
from refstd.register.tables import kept_tables


class Checkpoint(NamedTuple):
    """A head as it was kept outside the store."""

    sequence: int
    hash: str


@dataclass(frozen=True, slots=True)
class Verification:
    """What was looked at and what was found. No problems means: whole, as far as the steps named here can tell."""

    steps: tuple[str, ...]
    problems: tuple[str, ...]
    head: Head | None

    @property
    def whole(self) -> bool:
        return not self.problems


def verify_lab(lab: Lab, *, deep: bool, checkpoint: Checkpoint | None = None, form_wanted: str = "") -> Verification:
    """Look at file, keys, form and chain; `deep` also replays the log against every row, paper and now table.

    `checkpoint` is a head (sequence, hash) kept outside: it shows a cut tail and a log that was written anew, which
    nothing inside the file can show. `form_wanted` is the form of an older store that is about to be migrated.
    """
    steps, problems, top = [], [], None
    with lab.engine.execution_options(look=True).connect() as connection:
        for step, ask in _steps(deep, checkpoint, form_wanted):
            steps.append(step)
            try:
                problem = ask(connection)
            except _UNREADABLE as error:
                problem = f"cannot be read: {getattr(error, 'orig', None) or error}"
            if problem:
                problems.append(f"{step}: {safe(problem)}")
        try:
            top = head(connection)
        except _UNREADABLE as error:
            problems.append(f"head: cannot be read: {safe(getattr(error, 'orig', None) or error)}")
    return Verification(tuple(steps), tuple(problems), top)


# What a row that somebody wrote by other means can make the reading of it raise.
_UNREADABLE = (DBAPIError, StoreUnusable, ValueError, LookupError, TypeError, RecursionError)


def _steps(deep: bool, checkpoint: Checkpoint | None, form_wanted: str) -> list[tuple[str, Any]]:
    steps: list[tuple[str, Any]] = [
        ("file", _file_problem),
        ("keys", _key_problem),
        ("form", lambda connection: _form_problem(connection, form_wanted)),
        ("store", _store_problem),
        ("log chain", chain_problem),
    ]
    if checkpoint:
        steps.append(("checkpoint", lambda connection: _checkpoint_problem(connection, *checkpoint)))
    if deep:
        steps += [("records against log", _replay_problem), ("papers", _paper_problem), ("now tables", _now_problem)]
    return steps


def form_of(lab: Lab) -> str:
    """Return the fingerprint of a store's form as it stands."""
    with lab.engine.execution_options(look=True).connect() as connection:
        return fingerprint(connection)


def _file_problem(connection: Connection) -> str:
    answer = str(connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one())
    return "" if answer == "ok" else answer


def _key_problem(connection: Connection) -> str:
    row = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    return f"{row[0]} row {row[1]} refers to a {row[2]} that is not there" if row else ""


def _form_problem(connection: Connection, form_wanted: str) -> str:
    if fingerprint(connection) != (form_wanted or form.FINGERPRINT):
        return "tables or guards are not those that refstd made; somebody changed the form of the store"
    found = list(connection.execute(text("SELECT version_num FROM alembic_version")).scalars())
    if form_wanted or found == [form.REVISION]:
        return ""
    return f"the store says that it stands at revision {found}, not {form.REVISION}"


def _store_problem(connection: Connection) -> str:
    """Compare the store's own row with what the first entry says about it."""
    chain = chain_of(connection)
    made_at, reader = connection.execute(text("SELECT created_at, min_reader FROM store")).one()
    for entry in entries(connection, upto=1):
        said = json.loads(entry["body"])["details"]
        for name, kept, recorded in (
            ("chain", chain, said["store"]),
            ("created_at", made_at, entry["recorded_at"]),
            ("min_reader", reader, said["min_reader"]),
        ):
            if kept != recorded:
                return f"store: {name} is {kept!r}, recorded was {recorded!r}"
        return ""
    return "there is no first entry"


def _checkpoint_problem(connection: Connection, sequence: int, hash_then: str) -> str:
    found = connection.execute(text("SELECT hash FROM log_entry WHERE sequence = :n"), {"n": sequence}).scalar()
    if found is None:
        return f"the log ends before entry {sequence} of the checkpoint: its tail was cut off"
    if found == hash_then:
        return ""
    return f"entry {sequence} is not the one of the checkpoint: the log was written anew, or the checkpoint is of another store"


def _replay_problem(connection: Connection) -> str:
    """Compare every logged row with the live one, then look for live rows that no entry brought."""
    there = set(connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'")).scalars())
    seen: dict[str, set[int]] = {t.name: set() for t in kept_tables() if t.name in there}  # an older store has fewer
    for entry in entries(connection):
        try:
            problem = _entry_problem(connection, entry, seen)
        except _UNREADABLE as error:
            problem = f"its rows cannot be read: {getattr(error, 'orig', None) or error}"
        if problem:
            return f"{problem} (log entry {entry['sequence']}: {entry['action']}, {entry['recorded_at']}, by {entry['person']})"
    for table, ids in seen.items():
        for (found,) in connection.execute(text(f"SELECT id FROM {table} ORDER BY id")):
            if found not in ids:
                whose = _named(connection, table, {"id": found})
                return f"{table} row {found} was never recorded: no log entry brought it{whose}"
    return ""


def _entry_problem(connection: Connection, entry: dict[str, Any], seen: dict[str, set[int]]) -> str:
    for logged in json.loads(entry["body"])["rows"]:
        table, row = logged["table"], logged["row"]
        if table not in seen:
            return f"the table '{table}' is not there"
        try:
            found = connection.execute(text(f"SELECT * FROM {table} WHERE id = :id"), {"id": row["id"]}).mappings()
            live = found.first()
        except DBAPIError as error:
            return f"{table} row {row['id']} cannot be read: {error.orig}"
        problem = _row_problem(row, row_as_logged(dict(live)) if live else None)
        if problem:
            return f"{table} row {row['id']}{problem}{_named(connection, table, row)}"
        seen[table].add(row["id"])
    return ""


# What people call a record, by its table: the column and the word before it.
_CALLED = {
    "equipment": ("asset_no", ""), "notch": ("label", "notch "), "certificate": ("number", "certificate "),
    "response_check": ("number", "check "), "setup": ("number", "setup "), "finding": ("number", "finding "),
    "examined_lot": ("number", "lot "), "job": ("number", "job "), "procedure": ("code", "procedure "),
    "material": ("code", "material "), "person": ("code", "person "), "attachment": ("name", "paper "),
}  # fmt: skip
# Which record a row belongs to; who did it stands beside, from the log entry.
_OWNERS = {
    "notch_id": "notch", "check_id": "response_check", "certificate_id": "certificate", "equipment_id": "equipment",
    "setup_id": "setup", "finding_id": "finding", "lot_id": "examined_lot", "job_id": "job", "procedure_id": "procedure",
    "material_id": "material", "equipment_revision_id": "equipment_revision", "loan_id": "loan",
    "procedure_revision_id": "procedure_revision", "baseline_id": "baseline",
}  # fmt: skip


def _named(connection: Connection, table: str, row: dict[str, Any]) -> str:
    """Return which record a row is or belongs to, such as ' (notch 1.0 mm of B-2, check C-0012)', or ''.

    A row of which only the id is known is looked up. What cannot be read stays unnamed: the row's place is told even so.
    """
    try:
        words = _called(connection, table, row if len(row) > 1 else _live(connection, table, row["id"]))
    except _UNREADABLE:
        return ""
    return f" ({', '.join(words)})" if words else ""


def _live(connection: Connection, table: str, number: Any) -> dict[str, Any]:
    found = connection.execute(text(f"SELECT * FROM {table} WHERE id = :id"), {"id": number}).mappings().first()
    return dict(found or {})


def _called(connection: Connection, table: str, row: dict[str, Any]) -> list[str]:
    if table in _CALLED:
        column, word = _CALLED[table]
        of = _owner(connection, row, "equipment_id") if table in ("notch", "certificate") else []
        return [f"{word}{row[column]}" + "".join(f" of {o}" for o in of)]
    owners = [c for c in _OWNERS if row.get(c) is not None]
    if not owners and row.get("person_id") is not None:
        owners = ["person_id"]
    return list(dict.fromkeys(words for column in owners for words in _owner(connection, row, column)))


def _owner(connection: Connection, row: dict[str, Any], column: str) -> list[str]:
    table = _OWNERS.get(column, "person")
    found = _live(connection, table, row[column])
    return _called(connection, table, found) if found else []


def _row_problem(logged: dict[str, Any], live: dict[str, Any] | None) -> str:
    if live is None:
        return " is gone"
    for column, value in logged.items():
        if column not in live or live[column] != value or type(live[column]) is not type(value):
            return f": {column} is {live.get(column)!r}, recorded was {value!r}"
    more = sorted(c for c, v in live.items() if c not in logged and v is not None)
    return f": {more[0]} holds something that was never recorded" if more else ""


def _paper_problem(connection: Connection) -> str:
    import hashlib

    for number, kept, content in connection.execute(text("SELECT id, sha256, content FROM attachment ORDER BY id")):
        if hashlib.sha256(content).hexdigest() != kept:
            return f"attachment {number} is not the paper that was attached"
    return ""


def _now_problem(connection: Connection) -> str:
    """Rebuild the now tables from the facts and compare."""
    for name, columns, rebuilt in NOW_FROM_FACTS:
        found = set(map(tuple, connection.execute(text(f"SELECT {columns} FROM {name}"))))
        wanted = set(map(tuple, connection.execute(text(rebuilt))))
        if found != wanted:
            odd = sorted(found ^ wanted)[0]
            return f"{name} does not follow from the facts: {odd} stands in only one of the two"
    return ""


# now table, its columns, the facts that it follows from
NOW_FROM_FACTS = (
    (
        "loan_open",
        "equipment_id, loan_id",
        "SELECT equipment_id, id FROM loan WHERE id NOT IN (SELECT loan_id FROM loan_return)",
    ),
    (
        "baseline_current",
        "setup_id, baseline_id",
        "SELECT setup_id, id FROM baseline b WHERE NOT EXISTS (SELECT 1 FROM baseline l WHERE l.supersedes_id = b.id)",
    ),
)
