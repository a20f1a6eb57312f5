"""Lab: the one door to the records. `look()` reads; `change()` writes with exactly one log entry, or not at all."""

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from sqlalchemy import Engine, bindparam, func, select, text
from sqlalchemy.exc import DatabaseError, DBAPIError, OperationalError
from sqlalchemy.orm import Session

from refstd.base.errors import NotAllowed, Refusal, WrongUsage
from refstd.base.text import key, safe
from refstd.register.columns import Fact, Record, instant_from, instant_text
from refstd.register.engine import AT_ONCE, in_words, writers_turn
from refstd.register.log import Head, LogEntry, canonical, hash_of, head, row_as_logged
from refstd.register.people import AuthorityGrant, KnownBy, LabRevision, Person, PersonRevision
from refstd.register.revisions import newest

R = TypeVar("R", bound=Record)
CLOCK_SLACK = timedelta(minutes=2)  # two computers on one share never agree to the second
_NOT_OF_A_ROW = (DatabaseError, OperationalError)  # locked, full, damaged: the file's trouble, not a row's
_inside_change: ContextVar[bool] = ContextVar("inside_change", default=False)


@dataclass(frozen=True, slots=True)
class When:
    """The moment a question is asked for: now; or the records as at a past instant; or now's records on another day."""

    now: datetime
    as_at: datetime | None = None
    today: date | None = None

    def __post_init__(self) -> None:
        if self.as_at is not None and self.today is not None:
            raise WrongUsage("--as-at and --today cannot be used together", "", "Give one of them.")


@dataclass(frozen=True, slots=True)
class Actor:
    """Who acts: the person as on record at this moment."""

    person_id: int
    code: str
    name: str
    role: str
    authorities: frozenset[str]
    known_by: str = KnownBy.NAMED


@dataclass(slots=True)
class Look:
    """A window onto the records as they stood at log entry `upto`, judged on the day `today` of the lab's zone."""

    session: Session
    head: Head
    upto: int
    instant: datetime
    today: date
    zone: ZoneInfo
    lab_name: str
    due_soon_days: int
    known: dict[object, Any] = field(default_factory=dict)  # what was gathered once for this look
    remembered: dict[object, Any] = field(default_factory=dict)  # what follows from the log up to an entry, for a lab


@dataclass(slots=True)
class Change(Look):
    """One act: rows are added through it, and it is recorded exactly once."""

    by: Actor = field(kw_only=True)
    operation: str = field(kw_only=True)
    _added: list[Record] = field(default_factory=list)
    _action: str = ""
    _details: dict[str, Any] = field(default_factory=dict)

    def add(self, row: R) -> R:
        """Keep a row: it is stamped with this act's log entry and instant, and gets its id."""
        self.add_all([row])
        return row

    def add_all(self, rows: Sequence[R]) -> None:
        """Keep rows, in their order. What was gathered of their kinds for this look is gathered anew."""
        for row in rows:
            row.entry, row.recorded_at = self.upto, self.instant
            if isinstance(row, Fact) and row.happened_at > self.instant + CLOCK_SLACK:
                raise Refusal(
                    "that instant lies in the future",
                    f"{instant_text(row.happened_at)}, now {instant_text(self.instant)}",
                    "Check the date and time; only what has happened is recorded.",
                )
            self.known.pop(type(row), None)
        self.session.add_all(rows)
        self.session.flush()
        self._added += rows

    def record(self, action: str, **details: Any) -> None:
        """Say what this act was. Once, in the past tense; the log entry is made of it."""
        if self._action:
            raise RuntimeError("an act is recorded once")
        self._action, self._details = action, details


class Lab:
    """An open store. Made by `refstd.register.care.open_lab`."""

    def __init__(self, engine: Engine, path: Path) -> None:
        self.engine, self.path = engine, path
        self._remembered: dict[object, Any] = {}
        self._looking = engine.execution_options(look=True)

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()

    @contextmanager
    def look(self, when: When) -> Iterator[Look]:
        """Open a read-only window. Fetch everything, leave, then show: an open window makes writers wait."""
        try:
            with Session(self._looking, expire_on_commit=False) as session:
                yield self._window(session, when)
        except DatabaseError as error:
            if type(error) not in _NOT_OF_A_ROW:
                raise  # a refused row: the use case knows what it means
            raise in_words(error, self.path) from error

    def _window(self, session: Session, when: When) -> Look:
        top = head(session.connection())
        upto = top.sequence
        if when.as_at is not None:
            if when.as_at > when.now:
                raise Refusal(
                    "that instant lies in the future, and what will be on record then is not known",
                    instant_text(when.as_at), "Give a past instant, or ask about a coming day with --today.",
                )  # fmt: skip
            upto = (
                session.execute(
                    select(func.max(LogEntry.sequence)).where(LogEntry.recorded_at <= when.as_at)
                ).scalar_one_or_none()
                or 0
            )
            if not upto:
                raise Refusal(
                    "the store holds nothing from that long ago", instant_text(when.as_at), "Ask for a later instant."
                )
        settings = newest(session, LabRevision, upto)
        zone = ZoneInfo(settings.time_zone)
        instant = when.as_at or when.now
        today = when.today or instant.astimezone(zone).date()
        return Look(
            session, top, upto, instant, today, zone, settings.name, settings.due_soon_days, {}, self._remembered
        )

    @contextmanager
    def change(self, *, by: str, now: datetime, operation: str = "", known_by: str = KnownBy.NAMED) -> Iterator[Change]:
        """Open one act. On leaving, rows and log entry are committed together, or nothing is.

        `by` is the acting person's code; `operation` makes the act unique, so that a double Enter is one act.
        """
        if _inside_change.get():
            raise RuntimeError("a use case does not call another use case; share a function that takes `change`")
        token = _inside_change.set(True)
        operation = operation or str(uuid.uuid4())
        try:
            with writers_turn(self.path), Session(self.engine, expire_on_commit=False) as session:
                change = self._begin(session, by, now, operation, known_by)
                yield change
                self._commit(change)
        except DatabaseError as error:
            if type(error) not in _NOT_OF_A_ROW:
                raise  # a refused row: the use case knows what it means
            raise in_words(error, self.path) from error
        finally:
            _inside_change.reset(token)

    def _begin(self, session: Session, by: str, now: datetime, operation: str, known_by: str) -> Change:
        top = head(session.connection())
        done = session.execute(
            select(LogEntry.sequence, LogEntry.action).where(LogEntry.operation == operation)
        ).first()
        if done:
            raise Refusal(f"this was already done: {done.action}", f"log entry {done.sequence}", "Nothing more to do.")
        latest = instant_from(top.recorded_at) if top.recorded_at else now
        instant = max(now, latest)  # the record's time never runs backwards, whatever the computer's clock does
        settings = newest(session, LabRevision, top.sequence) if top.sequence else None
        zone = ZoneInfo(settings.time_zone if settings else "UTC")
        actor = self._actor(session, by, instant.astimezone(zone).date(), known_by) if top.sequence else _nobody(by)
        return Change(
            session, top, top.sequence + 1, instant, instant.astimezone(zone).date(), zone,
            settings.name if settings else "", settings.due_soon_days if settings else 0, {}, self._remembered,
            by=actor, operation=operation,
        )  # fmt: skip

    def _actor(self, session: Session, by: str, today: date, known_by: str) -> Actor:
        person = session.execute(select(Person).where(Person.code_key == key(by))).scalar_one_or_none()
        if person is None:
            raise NotAllowed(
                f"no person is on record as '{safe(by)}'",
                "acting person",
                "Name one with --as CODE; see `refstd list people`.",
            )
        described = newest(session, PersonRevision, None, PersonRevision.person_id == person.id)
        if not described.active:
            raise NotAllowed(f"{described.name} no longer works here", person.code, "Act as a person who does.")
        held = authorities_of(session, person.id, today, None)
        return Actor(person.id, person.code, described.name, described.role, held, known_by)

    def _commit(self, change: Change) -> None:
        if not change._action:
            raise RuntimeError("a change without a log entry is undone")
        entry = {
            "chain": change.head.chain,
            "sequence": change.upto,
            "recorded_at": instant_text(change.instant),
            "person": change.by.code,
            "person_name": change.by.name,
            "known_by": change.by.known_by,
            "operation": change.operation,
            "action": change._action,
            "body": canonical({"details": change._details, "rows": _rows_as_kept(change)}),
            "previous": change.head.hash,
        }
        columns = [*entry, "hash"]
        change.session.execute(
            text(f"INSERT INTO log_entry ({', '.join(columns)}) VALUES ({', '.join(':' + c for c in columns)})"),
            entry | {"hash": hash_of(entry)},
        )
        try:
            change.session.commit()
        except DBAPIError as error:
            change.session.close()  # lets go of the lock, or the next line would wait for ourselves
            if not self._landed(change.operation):
                raise in_words(error, self.path) from error

    def _landed(self, operation: str) -> bool:
        """Return whether an act is in the log after all: a failing disk may report an error for a commit that held."""
        with Session(self._looking) as session:
            found = session.execute(select(LogEntry.sequence).where(LogEntry.operation == operation)).first()
        return found is not None


def _rows_as_kept(change: Change) -> list[dict[str, Any]]:
    """Return every row of the act as the database holds it, in the order in which it was added."""
    ids: dict[str, list[int]] = {}
    for row in change._added:
        ids.setdefault(row.__tablename__, []).append(row.id)  # type: ignore[attr-defined]
    as_kept = {}
    for table, own in ids.items():
        for n in range(0, len(own), AT_ONCE):
            query = text(f"SELECT * FROM {table} WHERE id IN :ids").bindparams(bindparam("ids", expanding=True))
            for found in change.session.execute(query, {"ids": own[n : n + AT_ONCE]}).mappings():
                as_kept[table, found["id"]] = row_as_logged(dict(found))
    named = ((row.__tablename__, row.id) for row in change._added)  # type: ignore[attr-defined]
    return [{"table": table, "row": as_kept[table, number]} for table, number in named]


def authorities_of(session: Session, person_id: int, today: date, upto: int | None) -> frozenset[str]:
    """Return the authorities that a person holds on a day: the newest grant of each, if it covers the day."""
    query = select(AuthorityGrant).where(AuthorityGrant.person_id == person_id).order_by(AuthorityGrant.id)
    if upto is not None:
        query = query.where(AuthorityGrant.entry <= upto)
    latest = {grant.authority: grant for grant in session.execute(query).scalars()}
    return frozenset(
        name for name, g in latest.items() if g.granted_on <= today and (g.expires_on is None or today <= g.expires_on)
    )


def _nobody(by: str) -> Actor:
    """Return the actor of the very first entry, which puts the first person on record."""
    return Actor(0, by, by, "custodian", frozenset())
