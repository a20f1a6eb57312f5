"""Receipt inspections and comparisons of blocks as rows of an export.

They are facts of their day and are not imported as a whole; what they proved comes along as certificates. Each reads back
by its own command, in the columns of its own file: the rows of one receipt in `receipt_points.csv` are a points file for
`refstd receive`, those of one comparison in `comparison_scans.csv` with its row of `comparisons.csv` a scans file for
`refstd compare`.
"""

from collections.abc import Iterable, Iterator, Mapping

from refstd.desk.comparison_record import ComparisonShown
from refstd.desk.comparisons import ComparisonDraft
from refstd.desk.receipt import PointShown, ReceiptShown
from refstd.exchange.points import COLUMNS as POINT
from refstd.exchange.scans import SCAN
from refstd.rules.receipt import NOT_LOOKED_AT

Cells = Mapping[str, object]
File = tuple[str, tuple[str, ...], list[Cells]]
_RECEIPT = ("asset_no", "ordered_as", "happened_at", "person", "outcome", "certificate", "finding", "check", "note")
_FIELDS = tuple(ComparisonDraft.model_fields)
_COMPARISON = (
    "number", *_FIELDS, "person", "outcome", "certificate", "finding", "corrects", "corrected_by", "why", "rules_version",
)  # fmt: skip
_RESULT = ("ratio_db", "phase_deg", "moved_db", "outcome", "says")


def inspection_files(receipts: Iterable[ReceiptShown], comparisons: Iterable[ComparisonShown]) -> Iterator[File]:
    """Yield the files of receipt inspections and comparisons: name, columns, rows. Both are given oldest first."""
    kept = list(receipts)
    yield "receipts", _RECEIPT, [{c: getattr(r, c) for c in _RECEIPT} for r in kept]
    points = [_point(r, p) for r in kept for p in r.points]
    yield "receipt_points", ("asset_no", "certificate", *POINT, "judged"), points
    made = list(comparisons)
    yield "comparisons", _COMPARISON, [_comparison(c) for c in made]
    yield "comparison_scans", ("comparison", *SCAN), [row for c in made for row in _scans(c)]
    yield "comparison_results", ("comparison", "notch", *_RESULT), [row for c in made for row in _results(c)]


def _point(r: ReceiptShown, p: PointShown) -> Cells:
    """Return a point in the columns of a points file; of a measured one the outcome follows and stands in `judged`."""
    typed = p.outcome if p.value is None or p.outcome == NOT_LOOKED_AT else ""
    return {
        "asset_no": r.asset_no, "certificate": r.certificate, "point": p.asked, "outcome": typed, "found": p.found, "value": p.value,
        "unit": p.unit, "lower_limit": p.lower, "upper_limit": p.upper, "limit_source": p.limit_source, "judged": p.outcome,
    }  # fmt: skip


def _comparison(c: ComparisonShown) -> Cells:
    rotation, horizontal, vertical = c.settings
    own = {name: getattr(c, name) for name in _COMPARISON if hasattr(c, name)}
    return own | {"rotation_deg": rotation, "horizontal_gain_db": horizontal, "vertical_gain_db": vertical}


def _scans(c: ComparisonShown) -> Iterator[Cells]:
    for s in c.scans:
        block = c.primary if s.side == "primary" else c.secondary
        yield {
            "comparison": c.number,
            "block": block,
            "notch": s.notch,
            "horizontal": s.horizontal,
            "vertical": s.vertical,
        }


def _results(c: ComparisonShown) -> Iterator[Cells]:
    for n in c.notches:
        yield {"comparison": c.number, "notch": n.notch, **{name: getattr(n, name) for name in _RESULT}}
