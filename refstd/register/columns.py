"""How values are kept: decimals as written, instants in UTC with fixed width, civil dates, flags; and the record mixins."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import CheckConstraint, Dialect, ForeignKey, Integer, LargeBinary, MetaData, Text, TypeDecorator
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

from refstd.base.quantity import plain


def instant_text(value: datetime) -> str:
    """Return an instant in the one form in which it is kept: UTC, microseconds, Z. Text order is time order."""
    if value.tzinfo is None:
        raise ValueError("an instant needs its offset from UTC")
    return value.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def instant_from(text: str) -> datetime:
    """Return the instant that `instant_text` wrote."""
    return datetime.fromisoformat(text.replace("Z", "+00:00"))


class Instant(TypeDecorator[datetime]):
    """An instant, TEXT in UTC. SQLite's own date type drops the offset without a word."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        return None if value is None else instant_text(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        return None if value is None else instant_from(value)


class CivilDate(TypeDecorator[date]):
    """A day in the lab's calendar, TEXT YYYY-MM-DD."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        return None if value is None else value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> date | None:
        return None if value is None else date.fromisoformat(value)


class Written(TypeDecorator[Decimal]):
    """A decimal as somebody wrote it: 0.500 is not 0.5. TEXT, because REAL and NUMERIC lose digits."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        if value is None:
            return None
        if not value.is_finite():
            raise ValueError("a kept number is finite")
        return plain(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> Decimal | None:
        return None if value is None else Decimal(value)


class Flag(TypeDecorator[bool]):
    """Yes or no, INTEGER 1 or 0."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> int | None:
        return None if value is None else int(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> bool | None:
        return None if value is None else bool(value)


class Base(DeclarativeBase):
    """All tables. Constraints are named by convention, so that migrations and messages can name them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(column_0_label)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012 (SQLAlchemy reads it from the class)
        str: Text,
        int: Integer,
        bytes: LargeBinary,
        datetime: Instant(),
        date: CivilDate(),
        Decimal: Written(),
        bool: Flag(),
    }


def strict(*constraints: Any, now: bool = False) -> tuple[Any, ...]:
    """Return table arguments: STRICT, with these constraints. `now=True` marks a now table, which may change."""
    return (*constraints, {"sqlite_strict": True, "info": {"now": now}})


def one_of(column: str, values: type | tuple[str, ...]) -> CheckConstraint:
    """Return a constraint that holds a column to a closed list of words."""
    words = values if isinstance(values, tuple) else tuple(str(v) for v in values)  # type: ignore[attr-defined]
    listed = ", ".join("'" + w.replace("'", "''") + "'" for w in words)
    return CheckConstraint(f"{column} IN ({listed})", name=column)


class Record:
    """What every kept row carries: the log entry that brought it, and when it was recorded (set by the door)."""

    id: Mapped[int] = mapped_column(primary_key=True)
    recorded_at: Mapped[datetime]

    @declared_attr
    @classmethod
    def entry(cls) -> Mapped[int]:
        return mapped_column(ForeignKey("log_entry.sequence", deferrable=True, initially="DEFERRED"))


class Fact(Record):
    """Something that happened, at an instant."""

    happened_at: Mapped[datetime]


class Revision(Record):
    """One revision of a description; the newest is current. `why` says what made it necessary."""

    revision: Mapped[int]
    why: Mapped[str]


def key_of(target: str, **options: Any) -> Any:
    """Return a column that refers to another table's row by its internal id."""
    return mapped_column(ForeignKey(f"{target}.id"), **options)
