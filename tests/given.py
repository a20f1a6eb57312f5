"""The invented lab in verbs: what is on record before a test begins."""

import functools
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar, cast

from sqlalchemy import func, select

from refstd.base.text import key
from refstd.register.care import create_lab
from refstd.register.custody import Loan, LoanOpen, LoanReturn
from refstd.register.equipment import Equipment
from refstd.register.lab import Change, Lab, When
from refstd.register.log import head
from refstd.register.people import AuthorityGrant, Person, PersonRevision
from refstd.register.procedures import Job

NOON = datetime(2031, 3, 14, 12, 0, tzinfo=UTC)  # the instant at which most tests happen
MORNING = NOON - timedelta(hours=5)  # when the lab of the template was made
NOW = When(NOON)
KEEPER = "KEEPER"  # the custodian who was there first

F = TypeVar("F", bound=Callable[..., Any])


def made_once(build: F) -> F:
    """Put the same records on a store once a process; another store at the same log entry gets a copy of the pages.

    The head of the log binds every row before it, so that equal heads are equal records.
    """
    kept: dict[object, tuple[sqlite3.Connection, Any]] = {}

    @functools.wraps(build)
    def made(lab: Lab, *args: object, **words: object) -> Any:
        with lab.engine.execution_options(look=True).connect() as connection:
            asked = head(connection), args, tuple(sorted(words.items()))
        if asked not in kept:
            result = build(lab, *args, **words)
            pages = sqlite3.connect(":memory:", check_same_thread=False)
            with closing(sqlite3.connect(lab.path)) as store:
                store.backup(pages)
            kept[asked] = pages, result
            return result
        with closing(sqlite3.connect(lab.path)) as store:
            kept[asked][0].backup(store)
        return kept[asked][1]

    return cast(F, made)


def new_lab(path: Path) -> Lab:
    """Make the lab that the tests start from."""
    return create_lab(
        path,
        name="Surface inspection lab",
        time_zone="Europe/Dublin",
        custodian=(KEEPER, "First Custodian"),
        now=MORNING,
    )


def person(
    lab: Lab,
    code: str,
    *,
    name: str = "",
    role: str = "technician",
    authorities: tuple[str, ...] = (),
    now: datetime = NOON,
) -> int:
    """Put a person on record, with authorities for a year; return the internal id."""
    with lab.change(by=KEEPER, now=now) as change:
        row = change.add(Person(code=code, code_key=key(code)))
        change.add(
            PersonRevision(
                person_id=row.id, revision=1, why="joined", name=name or f"Person {code}", role=role, active=True
            )
        )
        for authority in authorities:
            change.add(
                AuthorityGrant(
                    person_id=row.id, authority=authority, granted_on=change.today, why="examined",
                    expires_on=change.today + timedelta(days=365), happened_at=now,
                )
            )  # fmt: skip
        change.record("person entered", person=code)
    return row.id


def left(lab: Lab, person_id: int, *, now: datetime = NOON) -> None:
    """Record that a person no longer works here."""
    with lab.change(by=KEEPER, now=now) as change:
        change.add(
            PersonRevision(
                person_id=person_id, revision=2, why="left", name="Somebody", role="technician", active=False
            )
        )
        change.record("person left")


def item(lab: Lab, asset_no: str, *, kind: str = "probe", now: datetime = NOON) -> int:
    """Put an item's identity on record; return the internal id."""
    with lab.change(by=KEEPER, now=now) as change:
        row = change.add(Equipment(asset_no=asset_no, asset_key=key(asset_no), kind=kind))
        change.record("item entered", asset_no=asset_no)
    return row.id


def job(lab: Lab, number: str, *, now: datetime = NOON) -> int:
    """Put a job's identity on record; return the internal id."""
    with lab.change(by=KEEPER, now=now) as change:
        row = change.add(Job(number=number, number_key=key(number)))
        change.record("job entered", number=number)
    return row.id


def lend(change: Change, equipment_id: int, job_id: int, *, happened_at: datetime = NOON) -> Loan:
    """Write a loan and its now row inside an act, without asking any rule: the database is the last guard."""
    loan = change.add(
        Loan(
            equipment_id=equipment_id, job_id=job_id, person_id=change.by.person_id,
            due_back_on=change.today, condition="sound", counted="", happened_at=happened_at,
        )
    )  # fmt: skip
    change.session.add(LoanOpen(equipment_id=equipment_id, loan_id=loan.id))
    change.session.flush()
    return loan


def give_back(change: Change, equipment_id: int, *, happened_at: datetime = NOON) -> None:
    """Write the return of an item that is out."""
    out = change.session.get_one(LoanOpen, equipment_id)
    change.add(
        LoanReturn(
            loan_id=out.loan_id,
            person_id=change.by.person_id,
            sound=True,
            condition="sound",
            counted="",
            happened_at=happened_at,
        )
    )
    change.session.delete(out)
    change.session.flush()


def loans(lab: Lab, *, hours: int = 3) -> None:
    """One item lent and returned, another still out: every kind of custody row stands in the store."""
    first, second, work = item(lab, "P-1"), item(lab, "P-2"), job(lab, "J-1")
    with lab.change(by=KEEPER, now=NOON) as change:
        lend(change, first, work)
        lend(change, second, work)
        change.record("kit checked out", job="J-1")
    with lab.change(by=KEEPER, now=NOON + timedelta(hours=hours)) as change:
        give_back(change, first, happened_at=NOON + timedelta(hours=hours))
        change.record("item checked in", asset_no="P-1")


def count(lab: Lab, kind: type) -> int:
    """Return how many rows of a table are on record."""
    with lab.look(NOW) as look:
        return look.session.execute(select(func.count()).select_from(kind)).scalar_one()
