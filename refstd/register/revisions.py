"""Which of several rows counts: the newest revision, the facts that nothing supersedes, as at a log entry."""

from collections.abc import Collection
from functools import cache
from typing import Any, TypeVar, cast

from sqlalchemy import ColumnElement, Select, select
from sqlalchemy.orm import Session, aliased

from refstd.register.columns import Revision

V = TypeVar("V", bound=Revision)
F = TypeVar("F")


def newest(session: Session, kind: type[V], upto: int | None, *conditions: ColumnElement[bool]) -> V:
    """Return the newest revision that meets the conditions and was on record at log entry `upto` (None: ever)."""
    query = select(kind).where(*conditions).order_by(kind.revision.desc()).limit(1)
    if upto is not None:
        query = query.where(kind.entry <= upto)
    return session.execute(query).scalar_one()


def among(column: Any, ids: Collection[int] | None) -> tuple[ColumnElement[bool], ...]:
    """Return the condition that keeps a query to these ids; none for all."""
    return () if ids is None else (column.in_(ids),)


def newest_of_each(
    session: Session, kind: type[V], subject: Any, upto: int, *conditions: ColumnElement[bool]
) -> dict[int, V]:
    """Return the newest revision of each subject, by the subject's id."""
    query = select(kind).where(kind.entry <= upto, *conditions).order_by(kind.revision)
    return {getattr(row, subject.key): row for row in session.execute(query).scalars()}


@cache
def _later(kind: Any) -> Any:
    """Return the alias of a kind for what supersedes it; made once, since making it costs more than the query."""
    return aliased(kind)


def standing(kind: type[F], upto: int, *conditions: ColumnElement[bool]) -> Select[F]:
    """Return the query for the facts on record at `upto` that nothing on record at `upto` supersedes."""
    later = _later(cast(Any, kind))
    superseded = (
        select(later.id)
        .where(later.supersedes_id == kind.id, later.entry <= upto)  # type: ignore[attr-defined]
        .exists()
    )
    return select(kind).where(kind.entry <= upto, ~superseded, *conditions).order_by(kind.id)  # type: ignore[attr-defined]
