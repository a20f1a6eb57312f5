"""What items owe, by commands: schedules, deferrals, and where they are seen."""

import json
from pathlib import Path

from tests.cli.conftest import Run
from tests.given import KEEPER


def with_quality(refstd: Run, folder: Path) -> None:
    """Put a person with the authority 'quality' on record, by files as a custodian does."""
    (folder / "people.csv").write_text("code,name,role\nQUINN,Person QUINN,auditor\n")
    (folder / "authorities.csv").write_text("person,authority,granted_on,why\nQUINN,quality,2031-01-01,appointed\n")
    assert refstd("import", folder / "people.csv", folder / "authorities.csv", "--as", KEEPER).code == 0


def due(refstd: Run, asset: str, *more: str) -> dict[str, str | None]:
    found: list[dict[str, str | None]] = json.loads(refstd("due", "--json", *more).out)["rows"]
    return next(r for r in found if r["asset_no"] == asset)


def test_a_due_date_is_deferred_seen_listed_and_withdrawn(refstd: Run, tmp_path: Path) -> None:
    with_quality(refstd, tmp_path)
    deferring = ("defer", "I-1", "--until", "2032-02-10", "--why", "no place before")
    assert refstd(*deferring, "--as", "TESS").code == 3
    assert refstd(*deferring, "--withdraw", "--as", "QUINN").code == 2
    said = refstd(*deferring, "--as", "QUINN")
    assert (said.code, said.out) == (
        0,
        "I-1: calibration due 2032-01-10 deferred to 2032-02-10 by QUINN: no place before\n",
    )
    row = due(refstd, "I-1", "--today", "2032-01-20")
    assert (row["state"], row["deferred_to"], row["deferral"]) == ("due soon", "2032-02-10", "QUINN: no place before")
    (listed,) = json.loads(refstd("list", "deferrals", "--json").out)["rows"]
    assert (listed["asset_no"], listed["due_on"], listed["stands"]) == ("I-1", "2032-01-10", "in force")
    (listed,) = json.loads(refstd("list", "deferrals", "--json", "--today", "2032-02-11").out)["rows"]
    assert listed["stands"] == "ended on 2032-02-10"

    said = refstd("defer", "I-1", "--withdraw", "--why", "a place is free", "--as", "QUINN", "--json")
    assert (said.code, json.loads(said.out)["withdrawn"]) == (0, True)
    assert due(refstd, "I-1", "--today", "2032-01-20")["state"] == "overdue"
    stands = [r["stands"] for r in json.loads(refstd("list", "deferrals", "--json").out)["rows"]]
    assert stands == ["withdraws the one before", "withdrawn, or another took its place"]


def test_a_schedule_is_set_by_the_calendar_by_use_and_once(refstd: Run) -> None:
    why = ("--source", "written practice 4.2", "--why", "reviewed", "--as", KEEPER)
    both = ("--months", "6", "--uses", "50", "--use", "checks", "--done-by", "Hill Metrology")
    assert refstd("schedule", "I-1", *both, *why).out == "I-1: calibration scheduled\n"
    row = due(refstd, "I-1")
    assert (row["every"], row["done_by"]) == ("6 months or 50 checks, whichever comes first", "Hill Metrology")
    assert (row["due_on"], row["used"]) == ("2031-07-10", "0 of 50 checks used")
    assert refstd("schedule", "I-1", "--once", *why).code == 0
    assert (due(refstd, "I-1")["every"], due(refstd, "I-1")["due_on"]) == ("once", None)
    assert refstd("schedule", "I-1", *why).code == 2
    assert refstd("schedule", "I-1", "--once", "--months", "6", *why).code == 2
    assert refstd("schedule", "I-1", "--uses", "50", *why).code == 2
    assert refstd("schedule", "I-1", "--once", "--end", *why).out == "I-1: calibration owed no longer\n"


def test_what_to_send_where_and_what_that_leaves_without(refstd: Run, tmp_path: Path) -> None:
    """The same rows by command and as a report; the load of each month; no month that is no number."""
    said = refstd("recall", "--months", "11", "--json")
    asked = json.loads(said.out)
    assert said.code == 0
    assert [(r["laboratory"], r["month"], r["asset_no"], r["valid_until"]) for r in asked["rows"]] == [
        ("a laboratory", "2032-01", "B-1", "2032-01-10"),
        ("a laboratory", "2032-01", "I-1", "2032-01-10"),
    ]
    assert asked["load"][11] == {
        "month": "2032-01",
        "to_send": 2,
        "by_laboratory": {"a laboratory": 2},
        "done_here": 0,
    }
    (reason,) = asked["warnings"][0]["reasons"]
    assert reason["says"] == "B-1 is the only block for material AL that may be relied on"  # its job has ended by then
    assert refstd("recall").out.count("a laboratory") == 0
    assert json.loads(refstd("report", "recall", "11", "--json").out)["rows"] == asked["rows"]
    assert refstd("report", "recall", "11", "-o", tmp_path / "recall.pdf").code == 0
    assert refstd("report", "recall", "61").code == 2
    assert refstd("recall", "--months", "-1").code == 2
