"""Each attempt that the program's own words name is made on a store: stopped, or found and named, or said to be unprovable."""

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from refstd.desk.proof import ATTEMPTS, CHECKPOINT_ONLY, NOTHING, STOP, Attempt
from refstd.register.care import open_lab
from refstd.register.integrity import Checkpoint, Verification, verify_lab
from tests.given import KEEPER, NOON
from tests.register.on_disk import plain, unguarded
from tests.register.test_tamper import FORMS, _cut_the_tail, _rewrite_a_loan, worked_in

__all__ = ["worked_in"]
Sql = Callable[[sqlite3.Connection], object]


def _sql(*statements: str) -> Sql:
    def attack(connection: sqlite3.Connection) -> None:
        for statement in statements:
            connection.execute(statement)

    return attack


_PERSON = "id, code, code_key, recorded_at, entry"
_COLUMNS = "chain, recorded_at, person, person_name, known_by, operation, action, body, previous"
_ENTRY = "chain, recorded_at, person, person_name, known_by, 'x', action, body, hash, hash FROM log_entry ORDER BY sequence DESC LIMIT 1"
_OWN_ROW = "INSERT INTO person (id, code, code_key, recorded_at, entry) VALUES (77, 'Z', 'z', 't', 1)"
# name of the attempt → (what is run, what verify then says). What the guards stop is run again with the guards away.
HOW: dict[str, tuple[Sql, str]] = {
    "update": (_sql("UPDATE loan SET condition = 'worn' WHERE id = 1"), "loan row 1: condition is 'worn', recorded was 'sound'"),
    "delete": (_sql("DELETE FROM loan_return"), "loan_return row 1 is gone"),
    "update or replace": (
        _sql("UPDATE OR REPLACE person SET id = (SELECT max(id) FROM person) WHERE id = 1"), "person row 1 is gone",
    ),
    "insert or replace": (
        _sql(f"INSERT OR REPLACE INTO person ({_PERSON}) SELECT id, 'X', 'x', recorded_at, entry FROM person WHERE id = 2"),
        "person row 2: code is 'X', recorded was 'TESS'",
    ),
    "replace on another key": (
        _sql(f"INSERT OR REPLACE INTO person ({_PERSON}) SELECT 99, code, code_key, recorded_at, entry FROM person WHERE id = 2"),
        "person row 2 is gone",
    ),
    "gap": (_sql(f"INSERT INTO log_entry (sequence, {_COLUMNS}, hash) SELECT sequence + 2, {_ENTRY}"), "is missing (the next one is"),
    "own row": (_sql(_OWN_ROW), "person row 77 was never recorded"),
    "drop the guards, edit": (_sql("UPDATE equipment SET asset_no = 'X-9' WHERE id = 1"), "equipment row 1: asset_no is 'X-9'"),
    "edit the log": (_sql("UPDATE log_entry SET person_name = 'X' WHERE sequence = 3"), "log entry 3"),
    "guards only": (_sql(*FORMS["triggers taken out behind the database's back"]), "form: tables or guards are not those"),
    "shorter table": (_sql(*FORMS["a table renamed and a shorter one in its place"]), "form: tables or guards are not those"),
    "exchange a paper": (_sql("UPDATE attachment SET content = x'00'"), "papers: attachment 1 is not the paper that was attached"),
    "now table": (_sql("DELETE FROM loan_open"), "now tables: loan_open does not follow from the facts"),
    "cut the tail": (_cut_the_tail, "the log ends before entry"),
    "write anew": (_rewrite_a_loan, "the log was written anew"),
}  # fmt: skip
SAID = r"^\w+: (a record is never|UNIQUE \w+\.|a new entry follows)"  # by the guards, not by a slip of the statement
PERFORMED = [a for a in ATTEMPTS if a.shown_by != NOTHING]
# These leave the form of the store changed, as they were made; the others put the guards back, so that only the records tell.
PLAINLY = {"own row", "guards only", "shorter table", "now table"}


@pytest.fixture
def victim(worked_in: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(worked_in, tmp_path / "lab.refstd"))


def verified(path: Path, checkpoint: Checkpoint | None = None) -> Verification:
    lab = open_lab(path, trusting=True)
    try:
        return verify_lab(lab, deep=True, checkpoint=checkpoint)
    finally:
        lab.close()


def test_every_attempt_that_is_told_is_made_here_or_said_to_be_unprovable() -> None:
    assert set(HOW) == {a.name for a in PERFORMED}


@pytest.mark.parametrize("attempt", [a for a in ATTEMPTS if a.guards == STOP], ids=lambda a: a.name)
def test_what_the_guards_are_said_to_stop_they_stop(victim: Path, attempt: Attempt) -> None:
    with plain(victim) as connection, pytest.raises(sqlite3.IntegrityError, match=SAID):
        HOW[attempt.name][0](connection)
    assert verified(victim).whole


@pytest.mark.parametrize("attempt", PERFORMED, ids=lambda a: a.name)
def test_what_comes_about_is_found_and_named_by_what_is_said_to_show_it(victim: Path, attempt: Attempt) -> None:
    attack, says = HOW[attempt.name]
    top = verified(victim).head
    assert top is not None
    if attempt.name in PLAINLY:
        with plain(victim) as connection:
            connection.isolation_level = None
            attack(connection)
    else:
        with unguarded(victim) as connection:
            attack(connection)
    inside = "\n".join(verified(victim).problems)
    if attempt.shown_by == CHECKPOINT_ONLY:
        assert inside == ""
        told = "\n".join(verified(victim, Checkpoint(top.sequence, top.hash)).problems)
        assert told.startswith("checkpoint: ")
        assert says in told
    else:
        assert says in inside


def test_entries_newer_than_the_checkpoint_can_be_cut_unseen_as_is_said(victim: Path) -> None:
    """The limit of what is proved, shown: a checkpoint of entry 4 says nothing of what came after."""
    with plain(victim) as connection:
        (digest,) = connection.execute("SELECT hash FROM log_entry WHERE sequence = 4").fetchone()
    with unguarded(victim) as connection:
        _cut_the_tail(connection)
    assert verified(victim, Checkpoint(4, digest)).whole


def test_what_was_false_from_the_start_is_whole_as_is_said(victim: Path) -> None:
    lab = open_lab(victim)
    with lab.change(by=KEEPER, now=NOON.replace(hour=21)) as change:
        change.record("something that never was")
    lab.close()
    assert verified(victim).whole
