"""The table of clauses: at each place that it names stands what it says (clause texts: see `known` of each row)."""

import json
import shutil
import sqlite3
from collections.abc import Callable

import pytest

from refstd.desk import store
from refstd.desk.log import log_entries, whole_log
from refstd.desk.proof import ATTEMPTS
from refstd.desk.store import Lab, When
from refstd.reports import clauses_sheet, item_sheet, register_sheet
from refstd.reports.clauses import ISO_17025, PART_11, ROWS
from tests.given import KEEPER
from tests.register.on_disk import plain
from tests.reports import small_lab

NOW: When = small_lab.ASKED


def time_is_the_computers(lab: Lab) -> bool:
    moments = [e.recorded_at for e in reversed(log_entries(lab, NOW, count=1000))]
    return moments == sorted(moments) and all(m.tzinfo for m in moments) and len(moments) > 50


def who_and_what_are_named(lab: Lab) -> bool:
    lines = [json.loads(line) for line in whole_log(lab, NOW)]
    rows = [r for line in lines for r in json.loads(line["body"])["rows"]]
    return all(x["person"] and x["known_by"] and x["action"] for x in lines) and {"equipment", "reading"} <= {
        r["table"] for r in rows
    }


def a_correction_hides_nothing(lab: Lab) -> bool:
    with plain(lab.path) as connection:
        both = connection.execute(
            "SELECT o.number, n.number FROM certificate n JOIN certificate o ON o.id = n.supersedes_id"
        ).fetchall()
        assets = [n for (n,) in connection.execute("SELECT asset_no FROM equipment")]
    said = "\n".join(str(item_sheet(lab, NOW, a).rows) for a in assets)
    return bool(both) and all(number in said for pair in both for number in pair)


def the_database_refuses(lab: Lab) -> bool:
    with plain(lab.path) as connection:
        for attempt in ("UPDATE log_entry SET person = 'X'", "DELETE FROM log_entry", "DELETE FROM equipment"):
            with pytest.raises(sqlite3.IntegrityError):
                connection.execute(attempt)
    return len(ATTEMPTS) > 10


def a_copy_has_log_and_records(lab: Lab) -> bool:
    path, head = store.backup(lab, None, by=KEEPER, now=NOW.now)
    return store.verify(path, deep=True).head == head


def it_is_copied_out(lab: Lab) -> bool:
    folder = lab.path.parent / "out"
    head, _ = store.export_whole(lab, folder)
    lines = (folder / "log.jsonl").read_text(encoding="utf-8").splitlines()
    shutil.rmtree(folder)
    return len(lines) == head.sequence and json.loads(lines[-1])["hash"] == head.hash


PLACES: dict[str, Callable[[Lab], bool]] = {
    "11.10(e), made by the computer, with time": time_is_the_computers,
    "11.10(e), who and what": who_and_what_are_named,
    "11.10(e), nothing hidden": a_correction_hides_nothing,
    "11.10(e), secure": the_database_refuses,
    "11.10(e), kept": a_copy_has_log_and_records,
    "11.10(e), review and copy": it_is_copied_out,
}


def test_every_row_is_looked_at_and_none_is_left_out() -> None:
    assert {c.clause for c in ROWS if c.document == PART_11} == set(PLACES)
    assert [c.clause for c in ROWS if c.document == ISO_17025] == [f"6.4.13 {x}" for x in "abcdefgh"]


@pytest.mark.parametrize("clause", PLACES)
def test_at_the_place_that_part_11_is_shown_stands_what_is_said(small: Lab, clause: str) -> None:
    assert PLACES[clause](small)


def test_each_letter_of_the_equipment_record_has_lines_on_the_record_of_an_item(small: Lab) -> None:
    """The contents of each line are held to the clause in test_item_clauses.py."""
    items = [row[0] for row in register_sheet(small, NOW).rows]
    clauses = {row[0] for a in items for row in item_sheet(small, NOW, a).rows}
    assert {c.clause for c in ROWS if c.document == ISO_17025} <= clauses


def test_the_table_is_a_report_with_its_caution(small: Lab) -> None:
    sheet = clauses_sheet(small, NOW)
    assert len(sheet.rows) == len(ROWS)
    assert "not that a laboratory conforms" in sheet.notes[0]
