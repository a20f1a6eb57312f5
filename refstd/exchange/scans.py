"""The scans file of a comparison of blocks: one row a scan, in the order in which they were made.

    block               A or the asset number for the primary, B or the asset number for the secondary
    notch               label of the notch
    horizontal, vertical  the reading (an amplitude stands in `vertical`)

The fields of the comparison itself (instrument, probe, frequency_khz, rotation_deg, band_db and so on) may stand as columns
too: in the first row alone, or the same in each.
"""

from collections.abc import Mapping

from refstd.base.errors import BadInput, Problem
from refstd.desk.comparisons import ComparisonDraft, ScanDraft
from refstd.desk.entry import read_draft
from refstd.exchange.cells import table_from
from refstd.exchange.readings import settings_of

SCAN = ("block", "notch", "horizontal", "vertical")
SETTINGS = tuple(name for name in ComparisonDraft.model_fields if name not in ("primary", "secondary"))


def scans_from(name: str, content: bytes, given: Mapping[str, str]) -> tuple[ComparisonDraft, tuple[ScanDraft, ...]]:
    """Return the comparison and its scans, or refuse with every problem. `given` is what the command names; it wins."""
    table, problems = table_from(name, content, (*SETTINGS, *SCAN))
    what = f"scans in {table.name}"
    problems += [
        Problem(f"{table.name}, row 1", f"the column '{column}' is missing", f"A scan has {', '.join(SCAN)}.")
        for column in ("block", "notch", "vertical")
        if table.columns and column not in table.columns
    ]
    if problems:
        raise BadInput(what, problems)
    settings = {k: v for k, v in settings_of(table, table.rows, SETTINGS, problems).items() if v}
    draft, wrong = read_draft(ComparisonDraft, settings | {k: v for k, v in given.items() if v}, table.name)
    scans = []
    for row in table.rows:
        scan, found = read_draft(ScanDraft, {c: row.cells.get(c, "") for c in SCAN}, table.where(row))
        wrong += found
        if scan is not None:
            scans.append(scan)
    if draft is None or problems or wrong:
        raise BadInput(what, [*problems, *wrong])
    return draft, tuple(scans)
