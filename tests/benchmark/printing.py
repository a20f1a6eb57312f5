"""Print how long a due report of 5,000 rows takes in each form, against the plain CSV writer of Python over the same cells.

Run: python -m tests.benchmark.printing [rows]

The sheet is made before the clock starts: this is about writing. Nothing here passes or fails; a person compares runs.
"""

import csv
import io
import resource
import statistics
import sys
import time

from refstd.printing import ENDINGS, files_of
from refstd.printing.sheet import Sheet
from tests.printing.sheets import due_sheet

ROUNDS = 3


def main() -> None:
    """Measure and print."""
    sheet = due_sheet(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
    bare = statistics.median(timed(lambda: bare_csv(sheet)) for _ in range(ROUNDS))
    sys.stdout.write(f"{len(sheet.rows)} rows of {len(sheet.columns)} cells; bare csv.writer {bare * 1000:.0f} ms\n")
    for ending in ENDINGS:
        size = [0, 0]

        def written(ending: str = ending, size: list[int] = size) -> None:
            contents = files_of(sheet, f"due.{ending}").values()
            size[:] = len(contents), sum(map(len, contents))

        taken = statistics.median(timed(written) for _ in range(ROUNDS))
        sys.stdout.write(
            f"{ending:5} {taken:6.2f} s, {taken / bare:6.1f} × bare, {size[0]} files, {size[1] / 1e6:.1f} MB\n"
        )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # kB on Linux
    sys.stdout.write(f"most memory of the process: {peak:.0f} MB\n")


def bare_csv(sheet: Sheet) -> str:
    """Return the cells as CSV and nothing more."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows(sheet.rows)
    return out.getvalue()


def timed(act: object) -> float:
    """Return the seconds that something takes."""
    assert callable(act)
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
