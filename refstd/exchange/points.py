"""The points file of a receipt inspection: one row a point, with what was found.

point               its name, as `refstd receive ASSET` lists it
outcome             in order, not in order, or not looked at; empty for a measured point
found               what was seen; why it was not looked at
value, unit, lower_limit, upper_limit, limit_source  of a measured point; what stays empty is taken from the record
"""

from refstd.base.errors import BadInput, Problem
from refstd.base.text import key
from refstd.desk.entry import read_draft
from refstd.desk.receipt import PointDraft, ReceiptSheet
from refstd.exchange.cells import table_from
from refstd.rules.receipt import NOT_LOOKED_AT

COLUMNS = tuple(PointDraft.model_fields)


def points_from(name: str, content: bytes, sheet: ReceiptSheet) -> tuple[PointDraft, ...]:
    """Return the points of a file, each filled up from what is on record, or refuse with every problem."""
    table, problems = table_from(name, content, COLUMNS)
    what = f"points in {table.name}"
    if not problems and "point" not in table.columns:
        problems.append(
            Problem(f"{table.name}, row 1", "the column 'point' is missing", f"The columns are {', '.join(COLUMNS)}.")
        )
    begun = {key(p.point.name): p.begin_from for p in sheet.points}
    points = []
    for row in table.rows if not problems else ():
        typed = {k: v for k, v in row.cells.items() if v}
        left_out = typed.get("outcome") == NOT_LOOKED_AT
        known = {} if left_out else begun.get(key(typed.get("point", "")), {})
        point, found = read_draft(PointDraft, known | typed, table.where(row))
        problems += found
        if point is not None:
            points.append(point)
    if problems:
        raise BadInput(what, problems)
    return tuple(points)
