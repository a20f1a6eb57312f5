"""Many rows at once, as the database hands them over: for computation over whole series, never for keeping anything."""

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any
from typing import cast as typed

from sqlalchemy import ColumnElement, Float, Integer, Select, Text, cast, func, type_coerce
from sqlalchemy.orm import Session

if TYPE_CHECKING:
    from refstd.base.domain import Array


def real(column: Any) -> ColumnElement[Any]:
    """Return a decimal column as a float; what was not given is infinite on the way and NaN in the answer."""
    return func.ifnull(cast(column, Float), math.inf)


def whole(column: Any) -> ColumnElement[Any]:
    """Return a number or flag column as an integer; what was not given is 0."""
    return func.ifnull(type_coerce(column, Integer), 0)


def decimals(column: Any) -> ColumnElement[Any]:
    """Return how many decimals were written of a decimal column, as an integer; 99 of what was not given."""
    text = type_coerce(column, Text)
    return func.ifnull(func.length(func.substr(text, func.instr(text + ".", ".") + 1)), 99)


def words(column: Any) -> ColumnElement[Any]:
    """Return a column as the text that is kept, an instant too."""
    return type_coerce(column, Text)


def columns_of(session: Session, statement: Select[Any], kinds: str) -> list["Array"]:
    """Return the columns of a query as arrays in the order of its rows.

    kinds: one letter a column, f for `real`, i for `whole`, O for `words`. Row objects and type processing would take
    longer than the query itself over a million rows.
    """
    import numpy as np  # late: most acts compute nothing

    connection = session.connection()
    compiled = statement.compile(dialect=connection.dialect, compile_kwargs={"render_postcompile": True})
    values = tuple(compiled.params[name] for name in compiled.positiontup or ())
    cursor = connection.connection.cursor()
    try:
        cursor.execute(str(compiled), values)
        names = {"f": "f8", "i": "i8", "O": "O"}
        rows = np.fromiter(typed(Iterable[Any], cursor), dtype=[(str(n), names[kind]) for n, kind in enumerate(kinds)])
    finally:
        cursor.close()
    found = [np.ascontiguousarray(rows[str(n)]) for n in range(len(kinds))]
    for column, kind in zip(found, kinds, strict=True):
        if kind == "f":
            column[np.isinf(column)] = np.nan
    return found
