"""One probe awaits receipt: every list, answer, sheet and refusal tells it, with what to do, until its inspection is on record."""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from refstd.desk.homes import custodian_home, technician_home
from refstd.desk.store import When, open_store
from tests.cli.conftest import Run
from tests.cli.test_bad_input import readings_file
from tests.given import KEEPER, NOON
from tests.tui.driving import driven

NEXT_DAY = NOON + timedelta(hours=20)
TELLS = "P-1 is awaiting receipt: back from its maker"
VERDICT = f"do not use: {TELLS}"
CURE = "do the receipt inspection, then put it in service"
POINTS = """point,outcome,found,value,unit,lower_limit,upper_limit,limit_source
signal to noise,,,6.2,ratio,5,,order 4711
noise peak to peak,not looked at,no sound part,,,,,
circuit,in order,,,,,,
lift-off,not looked at,no shim,,,,,
response,,,80,% FSH,75,85,order 4711
effective width,,,5.5,mm,5.0,,order 4711
tilt,not looked at,no goniometer,,,,,
serial number,in order,,,,,,
"""


@pytest.fixture
def waiting(refstd: Run) -> Run:
    """Commands on a store in which the probe of the only setup came in anew."""
    assert refstd("state", "P-1", "awaiting receipt", "--why", "back from its maker", "--as", KEEPER).code == 0
    return refstd


def rows(run: Run, *asked: str) -> list[dict[str, Any]]:
    """Return the rows of an answer in JSON."""
    found: list[dict[str, Any]] = json.loads(run(*asked, "--json").out)["rows"]
    return found


def of_probe(run: Run, *asked: str, key: str = "asset_no") -> dict[str, Any]:
    """Return the one row about the probe."""
    (row,) = (r for r in rows(run, *asked) if r[key] == "P-1")
    return row


def test_every_list_record_and_answer_tells_it(waiting: Run) -> None:
    """Planted: the due list knew schedules only, so that a probe without one, which nobody had looked at, was not on it."""
    for listed in (("list", "probes"), ("report", "register"), ("report", "register", "probe")):
        row = of_probe(waiting, *listed)
        assert (row["state"], row["standing"], row["verdict"]) == ("awaiting receipt", "do not use", VERDICT)
    record = rows(waiting, "show", "P-1")
    assert next(r for r in record if r["what"] == "verdict")["value"] == VERDICT
    assert next(r for r in record if r["what"] == "state" and r["stands"])["stands"] == "awaiting receipt"
    said = waiting("status", "P-1")
    assert (said.code, VERDICT in said.out, CURE in said.out) == (1, True, True)
    due = of_probe(waiting, "due", "--within", "0")
    assert (due["activity"], due["state"], due["done_by"], due["verdict"]) == (
        "receipt", "before use", "this lab", VERDICT,
    )  # fmt: skip
    assert f"awaiting receipt; {VERDICT}" in waiting("find", "P-1").out
    assert "P-1: not out, awaiting receipt" in waiting("custody", "P-1").out


def test_it_is_rejected_by_match_and_refused_at_check_out_and_at_a_start_check(waiting: Run, tmp_path: Path) -> None:
    match = of_probe(waiting, "match", "J-1", key="subject")
    assert (match["verdict"], match["says"], match["cure"]) == (VERDICT, TELLS, CURE)
    taken = waiting("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS")
    assert (taken.code, TELLS in taken.err, CURE in taken.err) == (3, True, True)
    assert "Nothing was checked out" in taken.err
    start = waiting("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS")
    assert (start.code, TELLS in start.err, CURE in start.err) == (3, True, True)
    sheet = rows(waiting, "report", "kit", "J-1", "B-1", "P-1", "I-1")
    assert next(r for r in sheet if r["about"] == "probe P-1")["says"] == f"pencil; {VERDICT}"
    assert any(r["about"] == "STOPS" and TELLS in r["says"] and CURE in r["says"] for r in sheet)


def test_what_is_out_with_somebody_has_not_come_in(refstd: Run) -> None:
    """Planted: an item could await its receipt on a shelf of the lab and be out on a job at once."""
    assert refstd("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS").code == 0
    said = refstd("state", "P-1", "awaiting receipt", "--why", "back from its maker", "--as", KEEPER)
    assert (said.code, "P-1 is out with TESS for job J-1" in said.err, "Check it in first" in said.err) == (
        3,
        True,
        True,
    )


async def test_the_homes_and_the_pages_tell_it(waiting: Run, workshop: Path) -> None:
    lab = open_store(workshop)
    when = When(NEXT_DAY)
    assert [i.asset_no for i in custodian_home(lab, when).awaiting] == ["P-1"]
    assert "P-1" not in {r.asset_no for r in custodian_home(lab, when).due}  # told once, where it waits
    assert technician_home(lab, "TESS", when).jobs == ()
    lab.close()
    async with driven(workshop, KEEPER, now=NEXT_DAY, size=(120, 40)) as d:
        assert "Awaiting receipt, away at laboratory (1)" in d.text
        await d.keys("d")
        await d.keys("end")
        assert "P-1 receipt: before use; once (it is awaiting receipt), done by this lab" in d.flat
        assert f"P-1 pencil: {VERDICT}" in d.flat
        await d.keys("escape", "2")
        assert "awaiting receipt" in d.text


def test_received_by_command_it_is_told_nowhere_any_more(waiting: Run, tmp_path: Path) -> None:
    asked = waiting("receive", "P-1", "--procedure", "PR-1")
    assert "signal to noise: vertical over noise on the fixed notch" in asked.out
    points = tmp_path / "points.csv"
    points.write_text(POINTS)
    said = waiting("receive", "P-1", points, "--ordered-as", "order 4711", "--location", "shelf 2", "--as", KEEPER)
    assert (said.code, "it is in service now" in said.out) == (0, True), said.err
    assert waiting("status", "P-1").code == 0
    assert rows(waiting, "due", "--within", "0") == []
    assert "awaiting receipt" not in waiting("find", "P-1").out
    assert not [r for r in rows(waiting, "match", "J-1") if r["subject"] == "P-1"]
    assert waiting("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS").code == 0
    start = waiting("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS")
    assert start.code == 0, start.err
