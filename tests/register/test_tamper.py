"""Somebody with the file and SQL: what `verify` sees, and what only a head kept outside the file can show."""

import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from refstd.base.errors import StoreUnusable
from refstd.register.care import open_lab
from refstd.register.certificates import Attachment
from refstd.register.integrity import Checkpoint, Verification, verify_lab
from refstd.register.log import HASHED, hash_of
from refstd.register.tables import kept_tables
from tests import given
from tests.given import KEEPER, NOON
from tests.register.on_disk import plain, unguarded


@pytest.fixture(scope="module")
def worked_in(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with people, authorities, items, a paper, loans and a return."""
    path = tmp_path_factory.mktemp("worked") / "lab.refstd"
    shutil.copyfile(template, path)
    lab = open_lab(path)
    given.person(lab, "TESS", authorities=("level 2",))
    given.loans(lab)
    with lab.change(by=KEEPER, now=NOON.replace(hour=20)) as change:
        import hashlib

        paper = b"%PDF-1.7 an invented certificate"
        change.add(
            Attachment(
                sha256=hashlib.sha256(paper).hexdigest(), name="c.pdf", media_type="application/pdf",
                size=len(paper), content=paper,
            )
        )  # fmt: skip
        change.record("paper attached")
    lab.close()
    return path


@pytest.fixture
def victim(worked_in: Path, tmp_path: Path) -> Path:
    path = tmp_path / "lab.refstd"
    shutil.copyfile(worked_in, path)
    return path


def verified(path: Path, *, deep: bool = True, checkpoint: Checkpoint | None = None) -> Verification:
    lab = open_lab(path, trusting=True)
    try:
        return verify_lab(lab, deep=deep, checkpoint=checkpoint)
    finally:
        lab.close()


def found(path: Path, **how: Any) -> str:
    return "\n".join(verified(path, **how).problems)


def test_a_store_that_nobody_touched_passes(worked_in: Path) -> None:
    seen = verified(worked_in)
    assert seen.problems == ()
    assert seen.head is not None
    assert seen.steps[-3:] == ("records against log", "papers", "now tables")
    assert verified(worked_in, checkpoint=Checkpoint(seen.head.sequence, seen.head.hash)).whole


def _cells(path: Path) -> list[tuple[str, int, str, Any]]:
    """Every value of every kept row that stands in the store."""
    cells = []
    with plain(path) as connection:
        for table in kept_tables():
            cursor = connection.execute(f"SELECT * FROM {table.name} ORDER BY id")
            for row in cursor.fetchall():
                named = dict(zip([c[0] for c in cursor.description], row, strict=True))
                cells += [(table.name, named["id"], column, value) for column, value in named.items()]
    return cells


def _altered(value: Any) -> Any:
    if isinstance(value, int):
        return value + 1000
    if isinstance(value, bytes):
        return value[:-1] + bytes([value[-1] ^ 1])
    return "1" if value is None else value[:-1] + ("8" if value[-1:] != "8" else "9")


def test_one_value_changed_in_any_column_of_any_row_is_found_and_located(worked_in: Path, victim: Path) -> None:
    """Caught: comparing only the columns of the primary key; replaying only the newest entry."""
    cells = _cells(worked_in)
    assert len({table for table, *_ in cells}) >= 9
    missed = []
    for table, row, column, value in cells:
        shutil.copyfile(worked_in, victim)
        with unguarded(victim, table) as connection:
            connection.execute(f"UPDATE {table} SET {column} = ? WHERE id = ?", (_altered(value), row))
        told = found(victim)
        if f"records against log: {table} row {row}" not in told:
            missed.append((table, row, column, told))
    assert missed == []


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("UPDATE loan SET condition = 'worn' WHERE id = 1", "loan row 1: condition is 'worn', recorded was 'sound' (P-1, job "),
        ("UPDATE equipment SET asset_no = 'X-9' WHERE asset_no = 'P-1'", "recorded was 'P-1' (P-1)"),
        ("UPDATE person_revision SET name = 'X' WHERE id = 2", "(person TESS)"),
        ("DELETE FROM loan_return", "loan_return row 1 is gone (P-1"),
    ],
)  # fmt: skip
def test_the_row_is_named_as_people_know_it_too(victim: Path, change: str, says: str) -> None:
    with unguarded(victim) as connection:
        connection.execute(change)
    assert says in found(victim)


def test_a_row_that_no_entry_brought_is_named_and_is_located_even_when_it_cannot_be_read(victim: Path) -> None:
    """Planted bug it caught: the words were looked up unguarded, and the row's number was lost with them."""
    with plain(victim) as connection:
        connection.execute("INSERT INTO person (id, code, code_key, recorded_at, entry) VALUES (77, 'Z', 'z', 't', 1)")
    assert "person row 77 was never recorded: no log entry brought it (person Z)" in found(victim)
    with unguarded(victim) as connection:
        connection.execute("UPDATE person SET code = CAST(x'ff' AS TEXT) WHERE id = 77")
    assert "person row 77 was never recorded: no log entry brought it" in found(victim)


def test_a_digit_changed_in_kind_only_is_found(victim: Path) -> None:
    """0.500 is not 0.5 and the text '1' is not the number 1: the kept text counts, not its value."""
    with unguarded(victim) as connection:
        connection.execute("UPDATE loan SET condition = condition || ' '")
    assert "records against log: loan row 1: condition is 'sound ', recorded was 'sound'" in found(victim)


@pytest.mark.parametrize("table", ["person", "person_revision", "authority_grant", "equipment", "loan", "loan_return"])
def test_a_deleted_row_is_found(victim: Path, table: str) -> None:
    """Caught: going through the live rows only (a row that is gone is not among them)."""
    with unguarded(victim) as connection:
        (row,) = connection.execute(f"SELECT max(id) FROM {table}").fetchone()
        connection.execute(f"DELETE FROM {table} WHERE id = ?", (row,))
    assert f"records against log: {table} row {row} is gone" in found(victim)


def test_a_row_that_no_entry_brought_is_found(victim: Path) -> None:
    """The guards let another program add a row. Caught: leaving out the second half of the replay."""
    with plain(victim) as connection:
        connection.execute("INSERT INTO person (id, code, code_key, recorded_at, entry) VALUES (77, 'Z', 'z', 't', 1)")
    assert "person row 77 was never recorded" in found(victim)


@pytest.mark.parametrize(
    "column", ["chain", "recorded_at", "person", "person_name", "known_by", "operation", "action", "body", "hash"]
)
def test_an_edited_entry_is_found_without_deep(victim: Path, column: str) -> None:
    """Caught: leaving one of these columns out of the hash."""
    with unguarded(victim) as connection:
        (value,) = connection.execute(f"SELECT {column} FROM log_entry WHERE sequence = 3").fetchone()
        connection.execute(f"UPDATE log_entry SET {column} = ? WHERE sequence = 3", (_altered(value),))
    told = found(victim, deep=False)
    assert "log chain: log entry 3" in told or "log chain: log entry 4" in told


def test_a_deleted_entry_is_found(victim: Path) -> None:
    with unguarded(victim) as connection:
        connection.execute("DELETE FROM log_entry WHERE sequence = 3")
    assert "log chain: log entry 3 is missing (the next one is 4)" in found(victim, deep=False)


def test_two_entries_that_changed_places_are_found(victim: Path) -> None:
    """Caught: hashing without the previous hash and without the sequence."""
    with unguarded(victim) as connection:
        for old, new in ((3, -3), (4, 3), (-3, 4)):
            connection.execute("UPDATE log_entry SET sequence = ? WHERE sequence = ?", (new, old))
    assert "log chain: log entry 3 does not follow on entry 2" in found(victim, deep=False)


def _chained_anew(connection: sqlite3.Connection, start: int) -> None:
    """Recompute every hash from an entry on, as somebody who knows the documented form would."""
    connection.row_factory = sqlite3.Row
    (previous,) = connection.execute("SELECT hash FROM log_entry WHERE sequence = ?", (start - 1,)).fetchone()
    for row in connection.execute("SELECT * FROM log_entry WHERE sequence >= ? ORDER BY sequence", (start,)).fetchall():
        entry = dict(row) | {"previous": previous}
        previous = hash_of({name: entry[name] for name in HASHED})
        connection.execute(
            "UPDATE log_entry SET previous = ?, hash = ? WHERE sequence = ?",
            (entry["previous"], previous, row["sequence"]),
        )
    connection.row_factory = None


def _rewrite_a_loan(connection: sqlite3.Connection) -> None:
    """Say in the row and in the log that item P-1 was due back a year later, and recompute all that follows."""
    sequence, body = connection.execute(
        "SELECT sequence, body FROM log_entry WHERE action = 'kit checked out'"
    ).fetchone()
    changed = json.loads(body)
    changed["rows"][0]["row"]["due_back_on"] = "2032-03-14"
    connection.execute("UPDATE loan SET due_back_on = '2032-03-14' WHERE id = 1")
    connection.execute(
        "UPDATE log_entry SET body = ? WHERE sequence = ?",
        (json.dumps(changed, sort_keys=True, separators=(",", ":"), ensure_ascii=False), sequence),
    )
    _chained_anew(connection, sequence)


def _cut_the_tail(connection: sqlite3.Connection) -> None:
    """Delete the newest entries and everything they brought, as if they had never been."""
    for table in kept_tables():
        connection.execute(f"DELETE FROM {table.name} WHERE entry > 4")
    connection.execute("DELETE FROM loan_open")
    connection.execute("DELETE FROM log_entry WHERE sequence > 4")


@pytest.mark.parametrize("attack", [_rewrite_a_loan, _cut_the_tail])
def test_what_only_a_head_kept_outside_can_show(victim: Path, attack: Callable[[sqlite3.Connection], None]) -> None:
    """Nothing inside the file can show these two, and we say so. Caught: a checkpoint step that compared nothing."""
    top = verified(victim).head
    assert top is not None
    with unguarded(victim) as connection:
        attack(connection)
    assert found(victim) == ""
    told = found(victim, checkpoint=Checkpoint(top.sequence, top.hash))
    assert told.startswith("checkpoint: ")
    assert "its tail was cut off" in told or "the log was written anew" in told


def test_an_edit_with_only_later_hashes_recomputed_is_found_by_deep(victim: Path) -> None:
    """The log says one thing and the record another."""
    with unguarded(victim) as connection:
        connection.execute('UPDATE log_entry SET body = replace(body, \'"condition":"sound"\', \'"condition":"worn"\')')
        _chained_anew(connection, 2)
    assert "log chain" not in found(victim)
    assert "records against log: loan row 1: condition" in found(victim)


FORMS = {
    "a trigger dropped": ["DROP TRIGGER loan_no_update"],
    "a trigger weakened": [
        "DROP TRIGGER loan_no_update",
        "CREATE TRIGGER loan_no_update BEFORE UPDATE ON loan WHEN 0 BEGIN SELECT RAISE(ABORT, 'loan'); END",
    ],
    "triggers taken out behind the database's back": [
        "PRAGMA writable_schema=ON", "DELETE FROM sqlite_master WHERE type = 'trigger'", "PRAGMA writable_schema=OFF",
    ],
    "a trigger of somebody's own": ["CREATE TRIGGER own AFTER INSERT ON loan_open BEGIN DELETE FROM loan_open; END"],
    "a trigger under a name much like SQLite's own": [
        "CREATE TRIGGER sqlitex_own AFTER INSERT ON loan_open BEGIN DELETE FROM loan_open; END"
    ],
    "a trigger under the name of the table of revisions": [
        "CREATE TRIGGER alembic_version AFTER INSERT ON loan_open BEGIN DELETE FROM loan_open; END"
    ],
    "a table more": ["CREATE TABLE own (n)"],
    "a view": ["CREATE VIEW own AS SELECT * FROM loan"],
    "a column more": ["ALTER TABLE loan ADD COLUMN own TEXT"],
    "a table renamed and a shorter one in its place": [
        "ALTER TABLE log_entry RENAME TO old_entry", "CREATE TABLE log_entry AS SELECT * FROM old_entry WHERE sequence < 3",
    ],
    "another revision": ["UPDATE alembic_version SET version_num = '0000'"],
    "no revision": ["DELETE FROM alembic_version"],
    "two revisions": ["INSERT INTO alembic_version VALUES ('0000')"],
}  # fmt: skip


@pytest.mark.parametrize("attack", FORMS)
def test_a_changed_form_is_found_and_the_store_does_not_open(victim: Path, attack: str) -> None:
    """Caught: a fingerprint without the triggers; and, not planted, one that left out names beginning 'sqlitex'."""
    with plain(victim) as connection:
        connection.isolation_level = None
        for statement in FORMS[attack]:
            connection.execute(statement)
    assert "form: " in found(victim, deep=False)
    with pytest.raises(StoreUnusable):
        open_lab(victim)


@pytest.mark.parametrize(
    ("attack", "says"),
    [
        ("UPDATE store SET created_at = '2001-01-01T00:00:00.000000Z'", "store: store: created_at is '2001"),
        ("UPDATE store SET min_reader = 9", "store: store: min_reader is 9, recorded was 1"),
        ("UPDATE store SET chain = 'another'", "belongs to another store"),
        ("DELETE FROM store", "the store's own row is there 0 times"),
        (
            "INSERT INTO store SELECT 2, chain, created_at, min_reader FROM store",
            "the store's own row is there 2 times",
        ),
    ],
)
def test_a_changed_identity_is_found(victim: Path, attack: str, says: str) -> None:
    """Found so, not planted: `created_at` and `min_reader` were compared with nothing."""
    with unguarded(victim) as connection:
        connection.execute(attack)
    assert says in found(victim, deep=False)


@pytest.mark.parametrize(
    ("attack", "says"),
    [
        ("DELETE FROM loan_open", "loan_open does not follow from the facts"),
        ("UPDATE loan_open SET equipment_id = 1", "loan_open does not follow from the facts"),
        ("INSERT INTO loan_open VALUES (1, 1)", "loan_open does not follow from the facts"),
        ("INSERT OR REPLACE INTO loan_open VALUES (2, 1)", "loan_open does not follow from the facts"),
    ],
)
def test_a_now_table_that_does_not_follow_from_the_facts_is_found(victim: Path, attack: str, says: str) -> None:
    """These tables may change, so no guard stops another program. Caught: the step left out of deep."""
    with plain(victim) as connection:
        connection.execute(attack)
    assert says in found(victim)


@pytest.mark.parametrize(
    "body",
    ["", "[]", "{}", '{"rows":[{}]}', '{"rows":[{"table":"nowhere","row":{"id":1}}]}', '{"rows":7}', "[" * 100_000],
)
def test_a_body_that_cannot_be_read_is_found_and_the_rest_is_looked_at_still(victim: Path, body: str) -> None:
    """Found so, not planted: a body of another shape ended `verify` in a fault."""
    with unguarded(victim) as connection:
        connection.execute("UPDATE log_entry SET body = ? WHERE sequence = 3", (body,))
        _chained_anew(connection, 3)
        connection.execute("DELETE FROM loan_open")
    told = found(victim)
    assert "records against log: " in told
    assert "(log entry 3: " in told
    assert "now tables: " in told


def test_a_key_to_nowhere_is_found_without_deep(victim: Path) -> None:
    with unguarded(victim) as connection:
        connection.execute("UPDATE loan SET job_id = 99 WHERE id = 1")
    assert "keys: loan row 1 refers to a job that is not there" in found(victim, deep=False)


def test_stored_control_characters_do_not_reach_the_report_of_problems(victim: Path) -> None:
    with unguarded(victim) as connection:
        connection.execute("UPDATE loan SET condition = char(27) || '[31m'")
    assert "\x1b" not in found(victim)
    assert "condition is" in found(victim)


def test_the_head_of_a_tampered_file_is_told_still(worked_in: Path, victim: Path) -> None:
    with unguarded(victim) as connection:
        connection.execute("UPDATE loan SET condition = 'x'")
    assert verified(victim).head == verified(worked_in).head
