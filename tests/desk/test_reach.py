"""Look-back without a finding, on record: from an item to its work, from a job to what it rested on."""

import pytest

from refstd.base.errors import NotFound, WrongUsage
from refstd.desk import reach
from refstd.desk.store import Lab
from refstd.reports.reach import lookback_sheet
from tests import thin_thread as given


@pytest.fixture
def worked(lab: Lab) -> Lab:
    """A lab in which one lot was examined with one kit, on 14 March 2031."""
    given.whole(lab)
    start = given.check(lab, "start")
    given.lot(lab, start.number, "holes 1 to 9", 10)
    given.check(lab, "end", 0.8, 60)
    return lab


def test_from_an_item_to_its_lots_jobs_checks_certificates_and_findings(worked: Lab) -> None:
    work = reach.work_of_item(worked, "B-1", given.when(), "2031-03-14", "2031-03-14")

    assert [x.number for x in work.lots] == ["L-0001"]
    assert [j.number for j in work.jobs] == ["J-1"]
    assert [(c.number, c.outcome) for c in work.checks] == [("C-0001", "acceptable"), ("C-0002", "not acceptable")]
    assert [(p.number, p.performed_on) for p in work.certificates] == [("K-B-1", "2031-01-10")]
    assert [f.number for f in work.findings] == ["F-0001"]


def test_outside_the_period_nothing_but_the_paper_in_force_when_it_began(worked: Lab) -> None:
    work = reach.work_of_item(worked, "B-1", given.when(), "2031-03-01", "2031-03-13")

    assert (work.lots, work.jobs, work.checks, work.findings) == ((), (), (), ())
    assert [p.number for p in work.certificates] == ["K-B-1"]


def test_from_a_job_to_each_item_its_paper_and_its_checks_of_that_day(worked: Lab) -> None:
    found = reach.items_of_job(worked, "J-1", given.when())

    assert [(r.day, r.item.asset_no, [p.number for p in r.papers]) for r in found.rows] == [
        ("2031-03-14", "B-1", ["K-B-1"]), ("2031-03-14", "P-1", []), ("2031-03-14", "I-1", ["K-I-1"]),
    ]  # fmt: skip
    assert all([c.number for c in r.checks] == ["C-0001", "C-0002"] for r in found.rows)


def test_one_report_takes_an_item_with_its_period_or_a_job(worked: Lab) -> None:
    item = lookback_sheet(worked, given.when(), ["B-1", "2031-03-14", "2031-03-14"])
    job = lookback_sheet(worked, given.when(), ["J-1"])

    assert (item.schema, job.schema) == ("refstd.item_work/1", "refstd.job_basis/1")
    assert [row[0] for row in item.rows] == ["lot", "job", "check", "check", "certificate", "finding"]
    assert job.rows[1][3] == "none on record for that day"


def test_a_period_that_ends_before_it_begins_and_a_number_of_nothing_are_refused(worked: Lab) -> None:
    with pytest.raises(WrongUsage, match="ends before it begins"):
        reach.work_of_item(worked, "B-1", given.when(), "2031-03-14", "2031-03-13")
    with pytest.raises(NotFound, match="neither an item nor a job"):
        lookback_sheet(worked, given.when(), ["X-9"])
