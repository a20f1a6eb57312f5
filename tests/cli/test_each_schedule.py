"""Each kind of schedule, by commands: when it is due, how it stands on civil days, and the same in due list, status and report.

The days expected are written out; those at the ends of months are also reckoned with Python's own calendar, which the rule
does not use: the day of the month, or that month's last day.
"""

import calendar
import json
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.cli.conftest import Run
from tests.cli.test_owing import with_quality
from tests.given import KEEPER

SOURCE = ("--source", "written practice 4.2", "--as", KEEPER)
Stands = tuple[str, str]  # a civil day and how the duty stands on it


class Walk(NamedTuple):
    """A schedule of probe P-1: how it is set, when it was last done, and what follows."""

    name: str
    given: tuple[str, ...]
    done: str
    every: str
    due_on: str | None
    stands: tuple[Stands, ...]


FIXED = ("--anchor", "fixed calendar", "--counted-from")
WALKS = (
    Walk("from the last calibration", ("--months", "12"), "2030-06-15", "12 months", "2031-06-15",
         (("2031-05-15", "not due"), ("2031-05-16", "due soon"), ("2031-06-15", "due soon"), ("2031-06-16", "overdue"))),
    Walk("from the end of a month", ("--months", "6"), "2030-08-31", "6 months", "2031-02-28",
         (("2031-02-28", "due soon"), ("2031-03-01", "overdue"))),
    Walk("from a leap day to a year without", ("--months", "36"), "2028-02-29", "36 months", "2031-02-28",
         (("2031-02-28", "due soon"), ("2031-03-01", "overdue"))),
    Walk("from a leap day to a leap day", ("--months", "48"), "2028-02-29", "48 months", "2032-02-29",
         (("2032-02-29", "due soon"), ("2032-03-01", "overdue"))),
    Walk("in days", ("--days", "90"), "2030-12-31", "90 days", "2031-03-31", (("2031-03-31", "due soon"), ("2031-04-01", "overdue"))),
    Walk("on a fixed calendar, done late", ("--months", "12", *FIXED, "2029-01-31"), "2030-03-20",
         "12 months by the calendar from 2029-01-31", "2031-01-31", (("2031-01-31", "due soon"), ("2031-02-01", "overdue"))),
    Walk("on a fixed calendar, done early for its day", ("--months", "12", *FIXED, "2029-01-31"), "2030-12-20",
         "12 months by the calendar from 2029-01-31", "2032-01-31", (("2031-06-01", "not due"),)),
    Walk("on a fixed calendar through a short month", ("--months", "1", *FIXED, "2030-12-31"), "2031-02-03",
         "1 months by the calendar from 2030-12-31", "2031-02-28", (("2031-02-28", "due soon"), ("2031-03-01", "overdue"))),
    Walk("from first use, on the shelf since", ("--days", "90", "--anchor", "first use"), "2029-01-10",
         "90 days, counted from first use", None, (("2031-03-15", "not due"), ("2039-01-01", "not due"))),
    Walk("by use beside the calendar", ("--months", "6", "--uses", "5", "--use", "checks"), "2030-12-31",
         "6 months or 5 checks, whichever comes first", "2031-06-30", (("2031-03-15", "not due"), ("2031-07-01", "overdue"))),
    Walk("by use alone", ("--uses", "5", "--use", "check-outs"), "2030-12-31", "5 check-outs", None, (("2039-01-01", "not due"),)),
    Walk("once", ("--once",), "1999-01-10", "once", None, (("2039-01-01", "not due"),)),
)  # fmt: skip


def filed(refstd: Run, folder: Path, asset: str, done: str, activity: str = "inspection", number: str = "R-1") -> None:
    """File evidence of a day."""
    path = folder / "certificates.csv"
    path.write_text(
        f"asset_no,activity,number,laboratory,performed_on,result\n{asset},{activity},{number},this lab,{done},sound\n"
    )
    said = refstd("add", "certificates", path, "--as", KEEPER)
    assert said.code == 0, said.err


def due(refstd: Run, asset: str, *more: str, activity: str = "inspection") -> dict[str, Any]:
    """Return the one row of the due list about an item's activity."""
    found: list[dict[str, Any]] = json.loads(refstd("due", "--json", *more).out)["rows"]
    (row,) = (r for r in found if (r["asset_no"], r["activity"]) == (asset, activity))
    return row


@pytest.mark.parametrize("walk", WALKS, ids=lambda w: w.name)
def test_a_schedule_is_due_on_its_day_and_overdue_the_day_after_everywhere(
    refstd: Run, tmp_path: Path, walk: Walk
) -> None:
    assert refstd("schedule", "P-1", "inspection", *walk.given, *SOURCE).code == 0
    assert due(refstd, "P-1")["state"] == "never done"
    assert refstd("status", "P-1").code == 1
    filed(refstd, tmp_path, "P-1", walk.done)
    row = due(refstd, "P-1")
    assert (row["every"], row["due_on"], row["source"]) == (walk.every, walk.due_on, "written practice 4.2")
    for day, state in walk.stands:
        there = due(refstd, "P-1", "--today", day)
        assert (there["state"], there["due_on"]) == (state, walk.due_on)
        assert (refstd("status", "P-1", "--today", day).code == 1) is (state == "overdue")
        report = json.loads(refstd("report", "item", "P-1", "--json", "--today", day).out)
        assert next(r["value"] for r in report["rows"] if r["what"] == "verdict") == there["verdict"]
        (told,) = (r["value"] for r in report["rows"] if r["what"] == "inspection schedule")
        assert walk.due_on is None or f"next due {walk.due_on}" in told


@pytest.mark.parametrize("walk", [w for w in WALKS if w.due_on and "--months" in w.given], ids=lambda w: w.name)
def test_the_days_expected_are_those_of_the_plain_calendar(walk: Walk) -> None:
    """Months counted by hand: the anchor's day of the month, clamped to the month's last day by Python's calendar."""
    months = int(walk.given[walk.given.index("--months") + 1])
    anchor = date.fromisoformat(walk.given[-1] if "fixed calendar" in walk.given else walk.done)
    day = date.fromisoformat(walk.due_on or "")
    passed = (day.year - anchor.year) * 12 + day.month - anchor.month
    assert passed % months == 0
    assert day.day == min(anchor.day, calendar.monthrange(day.year, day.month)[1])


def test_from_first_use_the_days_begin_when_it_goes_out(refstd: Run, tmp_path: Path) -> None:
    """On the shelf an item does not age: out on 15 March, 90 days run to 13 June."""
    assert refstd("schedule", "P-1", "inspection", "--days", "90", "--anchor", "first use", *SOURCE).code == 0
    filed(refstd, tmp_path, "P-1", "2029-01-10")
    assert refstd("checkout", "J-1", "P-1", "--as", "TESS").code == 0
    assert due(refstd, "P-1")["due_on"] == "2031-06-13"
    assert due(refstd, "P-1", "--today", "2031-06-14")["state"] == "overdue"


def test_of_use_and_calendar_the_first_decides(refstd: Run, tmp_path: Path) -> None:
    """The second of two check-outs uses it up, months before its day."""
    both = ("--months", "12", "--uses", "2", "--use", "check-outs")
    assert refstd("schedule", "P-1", "inspection", *both, *SOURCE).code == 0
    filed(refstd, tmp_path, "P-1", "2031-03-01")
    for used, state in (("1 of 2 check-outs used", "due soon"), ("2 of 2 check-outs used", "overdue")):
        assert refstd("checkout", "J-1", "P-1", "--as", "TESS").code == 0
        row = due(refstd, "P-1")
        assert (row["used"], row["state"], row["due_on"]) == (used, state, "2032-03-01")
        assert refstd("checkin", "P-1", "--as", "TESS").code == 0
    refused = refstd("checkout", "J-1", "P-1", "--as", "TESS")
    assert (refused.code, "overdue by use: 2 of 2 check-outs used" in refused.err) == (3, True)


def test_a_depth_certified_once_is_kept_by_comparison(refstd: Run, tmp_path: Path) -> None:
    """Common practice, no source: a field block is certified once and compared with its primary from then on.

    The certificate never falls due again; the comparison does, and it alone takes the block out.
    """
    why = ("--why", "depth is certified once, kept by comparison")
    assert refstd("schedule", "B-1", "calibration", "--once", *SOURCE, *why).code == 0
    assert refstd("schedule", "B-1", "comparison", "--months", "3", *SOURCE).code == 0
    assert "comparison of B-1 was never done" in refstd("status", "B-1").out
    filed(refstd, tmp_path, "B-1", "2030-11-30", "comparison")
    asked = ("--today", "2031-02-28")
    assert due(refstd, "B-1", *asked, activity="calibration")["state"] == "not due"
    assert due(refstd, "B-1", *asked, activity="comparison")["due_on"] == "2031-02-28"
    assert refstd("status", "B-1", *asked).code == 0
    late = refstd("status", "B-1", "--today", "2031-03-01")
    assert (late.code, "comparison of B-1 is overdue since 2031-02-28" in late.out) == (1, True)


def test_a_deferral_holds_to_its_end_and_no_day_longer(refstd: Run, tmp_path: Path) -> None:
    with_quality(refstd, tmp_path)
    assert (
        refstd("defer", "I-1", "--until", "2032-02-29", "--why", "no place before", "--as", "QUINN").code == 0
    )  # a leap day
    for day, state, code in (
        ("2032-01-11", "deferred", 0),
        ("2032-02-29", "due soon", 0),
        ("2032-03-01", "overdue", 1),
    ):
        assert due(refstd, "I-1", "--today", day, activity="calibration")["state"] == state
        assert refstd("status", "I-1", "--today", day).code == code


@pytest.mark.parametrize(
    ("state", "cure"),
    [
        ("calibrate before use", "have it calibrated and file the certificate"),
        ("reference only", "take another"),
        ("stored", "put it in service first"),
        ("away at laboratory", "wait until it is back"),
    ],
)
def test_what_is_not_in_service_is_out_of_use_and_not_late(refstd: Run, state: str, cure: str) -> None:
    """An item that nobody works with is not overdue; 'reference only' is worked with, so that its calibration counts."""
    assert refstd("state", "I-1", state, "--why", "as said", "--as", KEEPER).code == 0
    said = refstd("status", "I-1")
    assert (said.code, f"I-1 is {state}: as said" in said.out, cure in said.out) == (1, True, True)
    after = due(refstd, "I-1", "--today", "2032-01-11", activity="calibration")
    assert after["state"] == ("overdue" if state == "reference only" else "before use")
    refused = refstd("checkout", "J-1", "I-1", "--as", "TESS")
    assert (refused.code, cure in refused.err) == (3, True)


def test_to_be_calibrated_before_use_it_comes_back_with_its_calibration(refstd: Run, tmp_path: Path) -> None:
    assert refstd("state", "I-1", "calibrate before use", "--why", "gain stepped", "--as", KEEPER).code == 0
    back = ("state", "I-1", "in service", "--why", "calibrated", "--as", KEEPER)
    assert refstd(*back).code == 3
    filed(refstd, tmp_path, "I-1", "2031-03-15", "calibration", "K-2")
    assert refstd(*back).code == 0
    assert due(refstd, "I-1", activity="calibration")["due_on"] == "2032-03-15"


def test_one_value_out_limits_the_block_and_leaves_its_dates_alone(refstd: Run, tmp_path: Path) -> None:
    """Limited use is found from the certificate, not set: nobody can set it or take it away by hand."""
    (tmp_path / "certificates.csv").write_text(
        "asset_no,number,laboratory,performed_on,decision_rule\nB-1,K-2,a laboratory,2031-03-10,simple\n"
    )
    (tmp_path / "values.csv").write_text(
        "asset_no,certificate,notch,quantity,value,unit,lower_limit,upper_limit,limit_source\n"
        "B-1,K-2,0.5 mm,depth,0.561,mm,0.45,0.55,drawing 7\n"
    )
    said = refstd("add", "certificates", tmp_path / "certificates.csv", tmp_path / "values.csv", "--as", KEEPER)
    assert said.code == 0, said.err
    limited = refstd("status", "B-1")
    assert (limited.code, "limited use" in limited.out, "0.5 mm" in limited.out) == (5, True, True)
    assert due(refstd, "B-1", activity="calibration")["state"] == "not due"
    assert refstd("state", "B-1", "limited use", "--why", "x", "--as", KEEPER).code == 3
