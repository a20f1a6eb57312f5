"""Print how long a whole fleet's drift takes, against the bare ordered fetch and against a pandas script over a CSV.

Run: python -m tests.benchmark.fleet [checks a series]

A million readings by default: 1,000 series (250 setups of one kit at their own conditions, 4 notches each) of 1,000 checks.
Each is a process of its own, end to end, from the interpreter's start to the last limit; the floor is the same query by
sqlite3 into numpy arrays and nothing more. The pandas script answers the same question: limits, slopes with their
uncertainty, and what lies beyond, for amplitude and phase. pandas is not among our dependencies; where it is absent its line
says so.
"""

import math
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path
from typing import TextIO

from refstd.register.columns import instant_text
from tests import thin_thread
from tests.given import NOON, new_lab

SETUPS, NOTCHES, BASELINE = 250, 4, 5
ROUNDS = 3

FLOOR = """
import sqlite3, sys
import numpy as np
db = sqlite3.connect(sys.argv[1])
rows = db.execute(
    "SELECT c.setup_id, r.notch_id, c.happened_at, c.id, CAST(c.rotation_deg AS REAL), CAST(c.horizontal_gain_db AS REAL), "
    "CAST(c.vertical_gain_db AS REAL), CAST(r.horizontal AS REAL), CAST(r.vertical AS REAL), r.full_screen "
    "FROM reading r JOIN response_check c ON c.id = r.check_id ORDER BY c.setup_id, r.notch_id, c.happened_at, c.id"
).fetchall()
columns = list(zip(*rows))
when = np.array([m[:-1] for m in columns[2]], dtype="datetime64[us]")
arrays = [np.asarray(c, dtype=float) for i, c in enumerate(columns) if i != 2]
print(len(arrays[0]))
"""
OURS = """
import sys
from datetime import datetime, UTC
from pathlib import Path
from refstd.desk import drift, store
lab = store.open_store(Path(sys.argv[1]))
found = drift.drift_list(lab, store.When(datetime(2061, 1, 1, tzinfo=UTC)))
print(sum(len(d.drift.answers.checks) for d in found), sum(d.drift.amplitude.half_width is not None for d in found))
"""
PANDAS = """
import sys
import numpy as np
import pandas as pd
table = pd.read_csv(sys.argv[1], parse_dates=["done"])
angle = np.radians(table.rotation_deg)
h, v = table.horizontal / 10 ** (table.gain_h_db / 20), table.vertical / 10 ** (table.gain_v_db / 20)
x, y = h * np.cos(angle) + v * np.sin(angle), v * np.cos(angle) - h * np.sin(angle)
table["level"] = 20 * np.log10(np.hypot(x, y))
table["phase"] = np.degrees(np.arctan2(y, x))
table["days"] = (table.done - pd.Timestamp("1970-01-01", tz="UTC")).dt.total_seconds() / 86400
table = table.sort_values(["setup", "notch", "done"])

def course(days, x, sd, n):
    half = max(3 * x.diff().abs().mean() / 1.128379, 3 * sd) * np.sqrt(1 + 1 / n)
    (slope, _), cov = np.polyfit(days, x, 1, cov=True)
    last = x.iloc[-2:]
    return half, slope, np.sqrt(cov[0, 0]), (last > half).all() or (last < -half).all()

def series(g):
    base, new = g[g.occasion == "set-up"], g[g.occasion != "set-up"]
    deviation = new.level - base.level.mean()
    turned = (new.phase - base.phase.mean() + 180) % 360 - 180
    return pd.Series([
        *course(new.days, deviation, base.level.std(), len(base)), *course(new.days, turned, base.phase.std(), len(base))
    ])

found = table.groupby(["setup", "notch"]).apply(series)
print(len(table), len(found))
"""


def main(checks: int) -> None:
    """Build the store and the CSV, and print the ratios."""
    with tempfile.TemporaryDirectory() as folder:
        store, table = Path(folder) / "fleet.refstd", Path(folder) / "fleet.csv"
        build(store, table, checks)
        show(
            "readings",
            f"{SETUPS * NOTCHES * checks:,} in {SETUPS * NOTCHES:,} series, {store.stat().st_size / 1e6:.0f} MB",
        )
        floor, ours = taken(FLOOR, store), taken(OURS, store)
        show("fleet drift ÷ bare ordered fetch into arrays", ratio(ours, floor))
        if subprocess.run([sys.executable, "-c", "import pandas"], capture_output=True, check=False).returncode:
            show("fleet drift ÷ pandas script over the CSV", "pandas is not installed here")
        else:
            show("fleet drift ÷ pandas script over the CSV", ratio(ours, taken(PANDAS, table)))


def build(store: Path, table: Path, checks: int) -> None:
    """Write the same readings into a store, row by row as its tables have them, and into one CSV."""
    lab = new_lab(store)
    thin_thread.whole(lab)
    thin_thread.check(lab, "set-up")
    lab.close()
    db = sqlite3.connect(store, isolation_level=None)
    entry, stamp = 1, instant_text(NOON)
    pattern_setup = row_of(db, "setup")
    pattern_check = row_of(db, "response_check")
    block = pattern_setup["block_id"]
    notches = [n for (n,) in db.execute("SELECT id FROM notch WHERE equipment_id = ?", (block,))]
    db.execute("BEGIN")
    notches += [add(db, "notch", {"equipment_id": block, "label": f"extra {i}", "label_key": f"extra {i}", "entry": entry,
                "recorded_at": stamp}) for i in range(NOTCHES - len(notches))]  # fmt: skip
    for number in notches:
        if not db.execute("SELECT 1 FROM notch_revision WHERE notch_id = ?", (number,)).fetchone():
            pattern = row_of(db, "notch_revision")
            add(db, "notch_revision", {**pattern, "notch_id": number, "place": 9})
    dice = random.Random(1)
    with table.open("w", encoding="ascii") as file:
        file.write("setup,notch,done,occasion,rotation_deg,gain_h_db,gain_v_db,horizontal,vertical\n")
        for s in range(SETUPS):
            made = {**pattern_setup, "number": f"F-{s:03d}", "number_key": f"f-{s:03d}", "conditions_key": f"fleet {s}",
                    "measure": "horizontal and vertical", "unit": "% FSH", "entry": entry}  # fmt: skip
            setup = add(db, "setup", made)
            fill(db, file, dice, setup, notches[:NOTCHES], checks, pattern_check, entry)
    db.execute("COMMIT")
    db.close()


def fill(
    db: sqlite3.Connection, file: TextIO, dice: random.Random, setup: int, notches: list[int], checks: int,
    pattern: dict[str, object], entry: int,
) -> None:  # fmt: skip
    """Add one setup's baseline and checks, a check a day, each reading with its own chance and now and then other gains."""
    kept, readings, sets = [], [], []
    first = next_id(db, "response_check")
    for n in range(BASELINE + checks):
        done = NOON + timedelta(days=n + (0 if n < BASELINE else 1), minutes=setup)
        gain = 40 + 0.5 * dice.randrange(4)
        occasion = "set-up" if n < BASELINE else "periodic"
        rotation = dice.choice((30, 31, 32))
        kept.append({**pattern, "id": first + n, "number": f"X-{first + n}", "number_key": f"x-{first + n}", "setup_id": setup,
                     "occasion": occasion, "happened_at": instant_text(done), "rotation_deg": str(rotation),
                     "horizontal_gain_db": str(gain), "vertical_gain_db": str(gain + 10), "nulled": 1, "phase_set": 1,
                     "supersedes_id": None, "repeats_id": None, "start_check_id": None, "job_id": None, "noise": None,
                     "entry": entry})  # fmt: skip
        if n < BASELINE:
            sets.append(first + n)
        for place, notch in enumerate(notches):
            size = (10 + 15 * place) * 10 ** ((gain - 40 + dice.gauss(0, 0.15)) / 20)
            angle = math.radians(90 + dice.gauss(0, 0.5) + rotation - 30)
            horizontal, vertical = f"{size * math.cos(angle):.2f}", f"{3.162 * size * math.sin(angle):.2f}"
            readings.append((first + n, notch, place, horizontal, vertical, 0, entry, kept[-1]["recorded_at"]))
            file.write(
                f"{setup},{notch},{done.isoformat()},{occasion},{rotation},{gain},{gain + 10},{horizontal},{vertical}\n"
            )
    names = list(kept[0])
    db.executemany(
        f"INSERT INTO response_check ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})",
        [tuple(row.values()) for row in kept],
    )
    db.executemany(
        "INSERT INTO reading (check_id, notch_id, place, horizontal, vertical, full_screen, entry, recorded_at) VALUES (?,?,?,?,?,?,?,?)",
        readings,
    )
    baseline = add(db, "baseline", {"setup_id": setup, "person_id": pattern["person_id"], "approved_by_id": pattern["person_id"],
                   "why": "", "happened_at": kept[BASELINE - 1]["happened_at"], "entry": entry,
                   "recorded_at": kept[0]["recorded_at"]})  # fmt: skip
    for check in sets:
        add(
            db,
            "baseline_set",
            {"baseline_id": baseline, "check_id": check, "entry": entry, "recorded_at": kept[0]["recorded_at"]},
        )


def row_of(db: sqlite3.Connection, table: str) -> dict[str, object]:
    """Return one row of a table without its id, as a pattern."""
    cursor = db.execute(f"SELECT * FROM {table} LIMIT 1")
    names = [d[0] for d in cursor.description]
    row = dict(zip(names, cursor.fetchone(), strict=True))
    del row["id"]
    return row


def next_id(db: sqlite3.Connection, table: str) -> int:
    """Return the next free id."""
    return int(db.execute(f"SELECT coalesce(max(id), 0) + 1 FROM {table}").fetchone()[0])


def add(db: sqlite3.Connection, table: str, values: dict[str, object]) -> int:
    """Add a row and return its id."""
    names = ", ".join(values)
    return int(
        db.execute(
            f"INSERT INTO {table} ({names}) VALUES ({', '.join('?' * len(values))})", tuple(values.values())
        ).lastrowid
        or 0
    )


def taken(program: str, path: Path) -> list[float]:
    """Return the seconds that a program of its own takes on a file, several times."""
    found = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-c", program, str(path)], check=True, stdout=subprocess.DEVNULL)
        found.append(time.perf_counter() - begun)
    return found


def ratio(ours: list[float], floor: list[float]) -> str:
    """Return a ratio of medians with both."""
    a, b = statistics.median(ours), statistics.median(floor)
    return f"{a / b:.2f}  ({a:.2f} s ÷ {b:.2f} s, medians of {len(ours)})"


def show(what: str, figure: str) -> None:
    """Print one line."""
    sys.stdout.write(f"{what:48s} {figure}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
