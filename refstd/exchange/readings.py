"""The readings file: what was read on the notches, with the settings it was read with, for a check or a baseline.

One row is one scan of one notch. The columns:

    set                 1, 2, 3 …: readings taken together. In a check, set 2 is the one repeat after a remedy. In a
                        baseline, each set is one independent set-up. Without this column all rows are set 1.
    occasion            set-up, start, interim, end, exchange, operator, doubt, periodic or receipt
    rotation_deg, horizontal_gain_db, vertical_gain_db
    nulled, phase_set   yes or no
    noise               noise amplitude in the readings' unit; may be empty
    block_temperature_c, part_temperature_c  °C; may be empty where the procedure states no band
    happened_at         instant of the readings (YYYY-MM-DDTHH:MM, the lab's time); empty: now
    done_by             code of the person who read, where somebody else enters it; may be empty
    cable, adapter      asset numbers; may be empty
    remedy, note        words; may be empty
    notch               label of the notch
    horizontal, vertical  the reading (an amplitude stands in `vertical`); 'FS' in `vertical` where the signal is at least full screen

Settings may be written in the first row of a set alone; a row that gives one again must give the same.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from refstd.base.errors import BadInput, Problem
from refstd.desk.checks import CheckDraft, ReadingDraft
from refstd.desk.entry import read_draft
from refstd.exchange.cells import Row, Table, table_from

SETTINGS = (
    "occasion", "rotation_deg", "horizontal_gain_db", "vertical_gain_db", "nulled", "phase_set", "noise", "block_temperature_c",
    "part_temperature_c", "happened_at", "done_by", "cable", "adapter", "remedy", "note",
)  # fmt: skip
COLUMNS = ("set", *SETTINGS, "notch", "horizontal", "vertical")
FULL_SCREEN = ("FS", "≥FS", ">=FS")


@dataclass(frozen=True, slots=True)
class ReadingSetDraft:
    """Readings taken together, with what is said about them."""

    check: CheckDraft
    readings: tuple[ReadingDraft, ...]


def readings_from(name: str, content: bytes, given: Mapping[str, str]) -> tuple[ReadingSetDraft, ...]:
    """Return the sets of a readings file in order, or refuse with every problem.

    `given` holds what the command names for all sets: setup, job or procedure, and the occasion where it is given there.
    """
    table, problems = table_from(name, content, COLUMNS)
    if problems:
        raise BadInput(f"readings in {table.name}", problems)
    if "notch" not in table.columns:
        raise BadInput(
            f"readings in {table.name}",
            [
                Problem(
                    f"{table.name}, row 1", "the column 'notch' is missing", f"The columns are {', '.join(COLUMNS)}."
                )
            ],
        )
    sets = [_set(table, rows, given, problems) for rows in _by_set(table, problems)]
    if problems:
        raise BadInput(f"readings in {table.name}", problems)
    return tuple(s for s in sets if s is not None)


def corrected_readings_from(name: str, content: bytes) -> tuple[ReadingDraft, ...]:
    """Return the readings of a correction: notch, horizontal, vertical and nothing else; the settings stay as recorded."""
    table, problems = table_from(name, content, ("notch", "horizontal", "vertical"))
    readings = [_reading(table, row, problems) for row in table.rows]
    if problems:
        raise BadInput(f"readings in {table.name}", problems)
    return tuple(r for r in readings if r is not None)


def _by_set(table: Table, problems: list[Problem]) -> list[list[Row]]:
    found: dict[int, list[Row]] = {}
    for row in table.rows:
        number = row.cells.get("set", "") or "1"
        if not (number.isascii() and number.isdigit() and 1 <= int(number) <= 50):
            problems.append(
                Problem(table.where(row, "set"), f"'{number[:20]}' is not a set's number", "Give 1, 2, 3 …")
            )
            continue
        found.setdefault(int(number), []).append(row)
    for expected, first in enumerate(sorted(found), start=1):
        if first != expected:
            problems.append(
                Problem(table.where(found[first][0], "set"), f"set {expected} is missing", "Count the sets from 1.")
            )
            break
    return [found[number] for number in sorted(found)]


def _set(table: Table, rows: list[Row], given: Mapping[str, str], problems: list[Problem]) -> ReadingSetDraft | None:
    settings = settings_of(table, rows, SETTINGS, problems)
    values = {**{k: v for k, v in settings.items() if v}, **given}
    check, wrong = read_draft(CheckDraft, values, table.where(rows[0]))
    problems += wrong
    readings = [_reading(table, row, problems) for row in rows]
    if check is None or None in readings:
        return None
    return ReadingSetDraft(check, tuple(r for r in readings if r is not None))


def settings_of(table: Table, rows: Sequence[Row], columns: Sequence[str], problems: list[Problem]) -> dict[str, str]:
    """Return the settings of a set: from its first row that gives them; another value further down is a problem."""
    found: dict[str, str] = {}
    for row in rows:
        for column in columns:
            cell = row.cells.get(column, "")
            if not cell:
                continue
            if found.setdefault(column, cell) != cell:
                problems.append(
                    Problem(
                        table.where(row, column), f"is {cell[:40]}, and {found[column][:40]} further up in the same set",
                        "Readings taken with other settings are another set.",
                    )
                )  # fmt: skip
    return found


def _reading(table: Table, row: Row, problems: list[Problem]) -> ReadingDraft | None:
    values = {column: row.cells.get(column, "") for column in ("notch", "horizontal", "vertical")}
    if values["vertical"].upper().replace(" ", "") in FULL_SCREEN:
        values |= {"vertical": "", "full_screen": "yes"}
    reading, wrong = read_draft(ReadingDraft, values, table.where(row))
    problems += wrong
    return reading
