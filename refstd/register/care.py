"""Making, opening and migrating a store: what is refused before anything is touched."""

import sqlite3
import uuid
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
from refstd.register.engine import APPLICATION_ID, FORMAT, Mode, engine_for, in_words
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
    if path.exists():
        raise StoreUnusable(
            "a file of that name exists already", safe(path), "Choose another name; nothing was changed."
        )
    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise WrongUsage(
            f"'{safe(time_zone)}' is not an IANA time zone", "", "Give one such as Europe/Dublin."
        ) from error
    if not path.parent.is_dir():
        raise StoreUnusable("the folder does not exist", safe(path.parent), "Make the folder first.")
    making = path.with_name(path.name + ".making")  # a half-made store never bears the name
    making.unlink(missing_ok=True)
    engine = engine_for(making, mode)
    try:
        with engine.begin() as connection:
            _upgrade(connection)
            connection.execute(
                text("INSERT INTO store (id, chain, created_at, min_reader) VALUES (1, :chain, :now, :reader)"),
                {"chain": chain or str(uuid.uuid4()), "now": instant_text(now), "reader": FORMAT},
            )
            connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
            connection.exec_driver_sql(f"PRAGMA user_version={FORMAT}")
    except DBAPIError as error:
        engine.dispose()
        making.unlink(missing_ok=True)
        raise in_words(error, path) from error
    lab = Lab(engine, making)
    code, person_name = custodian
    with lab.change(by=code, now=now, operation=operation) as change:
        change.add(
            LabRevision(
                revision=1,
                why="the store was made",
                name=name,
                time_zone=time_zone,
                due_soon_days=due_soon_days,
                story_day=story_day,
            )
        )
        person = change.add(Person(code=code, code_key=key(code)))
        change.add(
            PersonRevision(
                person_id=person.id, revision=1, why="first custodian", name=person_name, role="custodian", active=True
            )
        )
        change.by = type(change.by)(person.id, code, person_name, "custodian", frozenset(), change.by.known_by)
        change.record("store made", store=change.head.chain, form=form.REVISION)
    lab.close()
    making.rename(path)
    making.with_name(making.name + ".gate").unlink(missing_ok=True)
    return open_lab(path, mode="open" if mode == "create" else mode)


def open_lab(path: Path, *, mode: Mode = "open", trusting: bool = False) -> Lab:
    """Open a store, or refuse with the reason. `trusting` skips the fingerprint, for `verify` and `doctor`."""
    if not path.exists():
        raise StoreUnusable(
            "there is no store", safe(path), "Name one with --db, or make one with `refstd init` or `refstd demo`."
        )
    if path.is_dir():
        raise StoreUnusable("that is a folder, not a store", safe(path), "Name the file inside it with --db.")
    engine = engine_for(path, mode)
    try:
        with engine.execution_options(look=True).connect() as connection:
            _refuse_what_is_not_ours(connection, path)
            if not trusting:
                _refuse_another_form(connection, path)
    except DBAPIError as error:
        engine.dispose()
        raise in_words(error, path) from error
    except sqlite3.Error as error:
        engine.dispose()
        raise in_words(error, path) from error
    except StoreUnusable:
        engine.dispose()
        raise
    return Lab(engine, path)


def migrate_lab(path: Path) -> tuple[str, str]:
    """Bring an older store to this form and return (revision before, revision after). The caller made a backup first."""
    lab = open_lab(path, trusting=True)
    try:
        before = revision_of(lab.engine)
        if before != form.REVISION:
            with lab.engine.connect() as connection:
                connection.exec_driver_sql("PRAGMA foreign_keys=OFF")  # outside a transaction, or it is ignored
                connection.rollback()
            with lab.engine.begin() as connection:
                _upgrade(connection)
                if fingerprint(connection) != form.FINGERPRINT:
                    raise StoreUnusable(
                        "after migrating, the store's form is not as expected; nothing was changed", safe(path), ""
                    )
        return before, revision_of(lab.engine)
    finally:
        lab.close()


def revision_of(engine: Engine) -> str:
    """Return the migration that a store stands at."""
    with engine.execution_options(look=True).connect() as connection:
        return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one())


def _refuse_what_is_not_ours(connection: Connection, path: Path) -> None:
    identity = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
    if identity != APPLICATION_ID:
        raise StoreUnusable(
            "the file is not a store of refstd; nothing was changed",
            safe(path),
            "Name a store with --db, or make one with `refstd init`.",
        )
    found = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    if found > FORMAT:
        raise StoreUnusable(
            f"the store was made by a later refstd (format {found}; this one knows {FORMAT}); nothing was changed",
            safe(path),
            "Install that version or a later one.",
        )


def _refuse_another_form(connection: Connection, path: Path) -> None:
    revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()
    if revision > form.REVISION:
        raise StoreUnusable(
            f"the store was made by a later refstd (form {revision}; this one knows {form.REVISION}); nothing was changed",
            safe(path), "Install that version or a later one.",
        )  # fmt: skip
    if revision < form.REVISION:
        raise StoreUnusable(
            f"the store has an older form ({revision})",
            safe(path),
            "Run `refstd migrate`; it makes and checks a backup first.",
        )
    if fingerprint(connection) != form.FINGERPRINT:
        raise StoreUnusable(
            "tables or guards of the store are not those that refstd made: somebody changed its form",
            safe(path),
            "Run `refstd verify --deep`, then restore a backup that passes.",
        )


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
