"""The form of a store: what the migrations make is what the tables and guards say."""

import importlib.util
from pathlib import Path

from sqlalchemy import text

from refstd.register import form
from refstd.register.care import migrations_folder, open_lab
from refstd.register.engine import engine_for
from refstd.register.guards import fingerprint, guard_statements
from refstd.register.tables import all_tables, kept_tables, now_tables
from tests import freeze_form


def test_the_migrations_make_what_tables_and_guards_say(store: Path, tmp_path: Path) -> None:
    """Caught: a column added to a table and not to the migrations; a guard left out of them."""
    lab = open_lab(store, trusting=True)
    with lab.engine.connect() as connection:
        migrated = fingerprint(connection)
    lab.close()
    engine = engine_for(tmp_path / "direct.refstd", "create")
    with engine.begin() as connection:
        for statement in freeze_form.statements():
            connection.execute(text(statement.replace(":", r"\:")))
        direct = fingerprint(connection)
    engine.dispose()
    assert migrated == direct == form.FINGERPRINT


def test_the_first_migration_is_what_the_tables_give() -> None:
    """Until the first release. Caught: editing a table and forgetting `python -m tests.freeze_form`."""
    spec = importlib.util.spec_from_file_location("first", migrations_folder() / "versions" / "m0001_first.py")
    assert spec is not None
    assert spec.loader is not None
    first = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(first)
    assert list(first.STATEMENTS) == freeze_form.statements()
    assert first.revision == form.REVISION


def test_every_table_but_the_now_tables_is_guarded_and_replayed() -> None:
    """Caught: a new kept table marked as a now table."""
    assert {t.name for t in now_tables()} == {"loan_open", "baseline_current"}
    kept = {t.name for t in kept_tables()}
    assert kept == {t.name for t in all_tables()} - {"loan_open", "baseline_current", "log_entry", "store"}
    guards = guard_statements()
    for name in kept | {"log_entry", "store"}:
        for kind in ("no_update", "no_delete"):
            assert any(g.startswith(f"CREATE TRIGGER {name}_{kind} ") for g in guards), (name, kind)


def test_no_row_goes_away_with_another() -> None:
    """No ON DELETE or ON UPDATE anywhere: a record never leaves because another did."""
    for table in all_tables():
        for key in table.foreign_keys:
            assert key.ondelete is None, (table.name, key)
            assert key.onupdate is None, (table.name, key)


def test_every_kept_row_names_its_log_entry_and_the_key_waits_for_the_commit() -> None:
    for table in kept_tables():
        (key,) = table.columns["entry"].foreign_keys
        assert key.target_fullname == "log_entry.sequence"
        assert key.deferrable
        assert key.initially == "DEFERRED"
        assert not table.columns["entry"].nullable
