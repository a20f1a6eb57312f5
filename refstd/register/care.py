"""Making, opening and migrating a store: what is refused before anything is touched."""

import os
import sqlite3
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from importlib import resources
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import DBAPIError

from refstd.base.errors import StoreUnusable, WrongUsage
from refstd.base.text import key, safe
from refstd.register import form
from refstd.register.columns import instant_text
from refstd.register.engine import APPLICATION_ID, FORMAT, Mode, engine_for, in_words, writers_turn
from refstd.register.guards import fingerprint
from refstd.register.lab import Lab
from refstd.register.people import LabRevision, Person, PersonRevision


def create_lab(
    path: Path,
    *,
    name: str,
    time_zone: str,
    custodian: tuple[str, str],
    now: datetime,
    due_soon_days: int = 30,
    story_day: date | None = None,
    mode: Mode = "create",
    chain: str = "",
    operation: str = "",
) -> Lab:
    """Make a new store with its first custodian (code, name) and return it open. An existing file is never touched."""
    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise WrongUsage(
            f"'{safe(time_zone)}' is not an IANA time zone", "", "Give one such as Europe/Dublin."
        ) from error
    first = LabRevision(
        revision=1, why="the store was made", name=name, time_zone=time_zone, due_soon_days=due_soon_days,
        story_day=story_day,
    )  # fmt: skip
    code, person_name = custodian
    chain = chain or str(uuid.uuid4())
    with (
        making_lab(path, mode, chain, instant_text(now), FORMAT) as lab,
        lab.change(by=code, now=now, operation=operation) as change,
    ):
        change.add(first)
        person = change.add(Person(code=code, code_key=key(code)))
        change.add(
            PersonRevision(
                person_id=person.id, revision=1, why="first custodian", name=person_name, role="custodian", active=True
            )
        )
        change.by = type(change.by)(person.id, code, person_name, "custodian", frozenset(), change.by.known_by)
        change.record("store made", store=chain, form=form.REVISION, min_reader=FORMAT)
    return open_lab(path, mode="open" if mode == "create" else mode)


@contextmanager
def making_lab(path: Path, mode: Mode, chain: str, created_at: str, min_reader: int) -> Iterator[Lab]:
    """Make an empty store for what is to be written into it; it bears the name only once that is done."""
    if path.exists() or path.is_symlink():
        raise _name_taken(path)
    if not path.parent.is_dir():
        raise StoreUnusable("the folder does not exist", safe(path.parent), "Make the folder first.")
    making = path.with_name(f"{path.name}.{uuid.uuid4().hex}.making")  # a half-made store never bears the name
    try:
        lab = Lab(engine_for(making, mode), making)
        try:
            with lab.engine.begin() as connection:
                _upgrade(connection)
                connection.execute(
                    text("INSERT INTO store (id, chain, created_at, min_reader) VALUES (1, :chain, :made, :reader)"),
                    {"chain": chain, "made": created_at, "reader": min_reader},
                )
                connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
                connection.exec_driver_sql(f"PRAGMA user_version={FORMAT}")
            yield lab
        finally:
            lab.close()
        _give_name(making, path)
    except DBAPIError as error:
        raise in_words(error, path) from error
    finally:
        for ending in ("", "-journal", ".gate"):
            making.with_name(making.name + ending).unlink(missing_ok=True)


def _give_name(making: Path, path: Path) -> None:
    """Give the finished store its name, unless somebody took that name meanwhile: a rename would replace his store."""
    try:
        os.link(making, path)
    except FileExistsError as error:
        raise _name_taken(path) from error
    except OSError:  # a file system without links
        making.rename(path)


def _name_taken(path: Path) -> StoreUnusable:
    return StoreUnusable("a file of that name exists already", safe(path), "Choose another name; nothing was changed.")


def open_lab(path: Path, *, mode: Mode = "open", trusting: bool = False) -> Lab:
    """Open a store, or refuse with the reason. `trusting` skips the fingerprint, for `verify` and `doctor`."""
    _refuse_what_is_no_file(path)
    engine = engine_for(path, mode)
    try:
        with engine.execution_options(look=True).connect() as connection:  # the engine refuses what is not ours
            if not trusting:
                _refuse_another_form(connection, path)
    except (DBAPIError, UnicodeDecodeError) as error:
        engine.dispose()
        raise in_words(error, path) from error
    except StoreUnusable:
        engine.dispose()
        raise
    return Lab(engine, path)


def _refuse_what_is_no_file(path: Path) -> None:
    try:
        kind = "folder" if path.is_dir() else "file" if path.is_file() else "device" if path.exists() else ""
    except OSError as error:  # a name too long, a folder that may not be entered
        raise StoreUnusable(
            f"the store cannot be reached: {safe(error.strerror)}", safe(path), "Check the path given with --db."
        ) from error
    if not kind:
        raise StoreUnusable(
            "there is no store", safe(path), "Name one with --db, or make one with `refstd init` or `refstd demo`."
        )
    if kind != "file":
        raise StoreUnusable(f"that is a {kind}, not a store", safe(path), "Name the store's file with --db.")


def migrate_lab(path: Path) -> tuple[str, str]:
    """Bring an older store to this form and return (revision before, revision after). The caller made a backup first."""
    lab = open_lab(path, trusting=True)
    try:
        before = revision_of(lab.engine)
        _refuse_later(before, path)
        if before != form.REVISION:
            with writers_turn(path), lab.engine.connect() as connection:
                _without_keys(connection)
                with connection.begin():
                    _upgrade(connection)
                    if fingerprint(connection) != form.FINGERPRINT or _first_broken_key(connection):
                        raise StoreUnusable(
                            "after migrating, the store's form is not as expected; nothing was changed",
                            safe(path),
                            "Keep the file as it is, and ask whoever looks after refstd.",
                        )
        return before, revision_of(lab.engine)
    except DBAPIError as error:
        raise in_words(error, path) from error
    finally:
        lab.close()


def _without_keys(connection: Connection) -> None:
    """Set foreign keys aside: with them on, making a table anew deletes or refuses the rows that refer to it.

    By the driver, outside any transaction: inside one the setting is ignored without a word.
    """
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    driver.execute("PRAGMA foreign_keys=OFF")
    if driver.execute("PRAGMA foreign_keys").fetchone()[0] != 0:
        raise RuntimeError("foreign keys are still on: a transaction is open")


def _first_broken_key(connection: Connection) -> bool:
    return connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None


def revision_of(engine: Engine) -> str:
    """Return the migration that a store stands at."""
    with engine.execution_options(look=True).connect() as connection:
        return _revision(connection)


def _refuse_another_form(connection: Connection, path: Path) -> None:
    revision = _revision(connection)
    _refuse_later(revision, path)
    if revision and revision < form.REVISION:
        raise StoreUnusable(
            f"the store has an older form ({safe(revision)})",
            safe(path),
            "Run `refstd migrate`; it makes and checks a backup first.",
        )
    if revision != form.REVISION or fingerprint(connection) != form.FINGERPRINT:
        raise StoreUnusable(
            "tables or guards of the store are not those that refstd made: somebody changed its form",
            safe(path),
            "Run `refstd verify --deep`, then restore a backup that passes.",
        )


def _revision(connection: Connection) -> str:
    found = list(connection.execute(text("SELECT version_num FROM alembic_version")).scalars())
    return str(found[0]) if len(found) == 1 else ""


def _refuse_later(revision: str, path: Path) -> None:
    if revision > form.REVISION:
        raise StoreUnusable(
            f"the store was made by a later refstd (form {safe(revision)}; this one knows {form.REVISION}); nothing was changed",
            safe(path), "Install that version or a later one.",
        )  # fmt: skip


def migrations_folder() -> Path:
    """Return the folder of the migrations: inside an installed package, beside it in a checkout."""
    inside = Path(str(resources.files("refstd"))) / "migrations"
    return inside if inside.is_dir() else Path(str(resources.files("refstd"))).parent / "migrations"


def _upgrade(connection: Connection) -> None:
    from alembic import command  # late: 70 ms that only making and migrating need
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", migrations_folder().as_posix())
    config.set_main_option("path_separator", "newline")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
