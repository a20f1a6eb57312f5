"""Which certified depth each reading of a check rests on, and what a corrected or withdrawn paper asks about them."""

import pytest

from refstd.desk import certificates, findings
from refstd.desk.check_record import check_record
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab
from refstd.exchange.export import export_register
from refstd.reports import REPORTS
from refstd.reports.check import check_sheet
from tests import thin_thread as given
from tests.given import KEEPER


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything for a job."""
    given.whole(lab)
    return lab


def file(lab: Lab, number: str, done: str, minutes: float, *rows: tuple[str, str, str], supersedes: str = "") -> None:
    """File a calibration of B-1; each row is notch, stage, depth in mm."""
    head = {"asset_no": "B-1", "number": number, "laboratory": number, "performed_on": done, "result": "sound"}
    values = [
        draft(certificates.ValueDraft, {"notch": n, "stage": s, "value": v, "expanded_uncertainty": "0.010", "coverage_factor": "2"}, n)
        for n, s, v in rows
    ]  # fmt: skip
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, head, number), values, supersedes=supersedes,
        why="read wrongly" if supersedes else "", by=KEEPER, now=given.at(minutes),
    )  # fmt: skip


def rests_on(lab: Lab, check: str, minutes: float = 600) -> dict[str, tuple[str, str]]:
    return {d.notch: (str(d.value), d.certificate) for d in check_record(lab, check, given.when(minutes)).depths}


def test_each_reading_keeps_the_depth_in_force_on_its_day_and_a_later_paper_does_not_touch_it(ready: Lab) -> None:
    """ISO/IEC 17025:2017, 6.4.11 and 7.5.1 (MEMORY): the reference value that was used stays with the record.

    Planted bug it caught: the newest paper on record was kept with a check written down after it, of a day before it.
    """
    found, left = ("0.5 mm", "as found", "0.530"), ("0.5 mm", "as left", "0.501")
    file(ready, "K1", "2031-02-01", 1, found, left, ("1.0 mm", "as found", "1.004"))
    given.baseline(ready)
    first = given.check(ready, "start", minutes=5)
    file(ready, "K2", "2031-03-14", 10, ("0.5 mm", "as left", "0.499"))
    late = given.check(ready, "start", minutes=20, happened_at="2031-03-13T12:30")
    second = given.check(ready, "start", minutes=30)
    before = {"0.5 mm": ("0.501", "K1"), "1.0 mm": ("1.004", "K1")}
    assert rests_on(ready, first.number) == rests_on(ready, late.number) == before
    assert rests_on(ready, second.number) == before | {"0.5 mm": ("0.499", "K2")}
    rows = {r[2]: r for r in check_sheet(ready, given.when(), second.number).rows if r[0] == "certified depth"}
    assert rows["notch 0.5 mm"][3:] == ("0.499 mm (U = 0.010 mm, k = 2) as left", "", "", "certificate K2", "")
    assert (
        f"{second.number},0.5 mm,0.5,-12,40,% FSH,no,0.499,mm,K2".encode()
        in export_register(ready, given.when())["readings.csv"]
    )


def test_a_corrected_paper_asks_about_the_checks_that_rest_on_it_and_a_renewed_one_does_not(ready: Lab) -> None:
    """Planted bug it caught: checks that only share the block, read before the paper, were named too."""
    given.baseline(ready)
    given.check(ready, "start", minutes=1)
    file(ready, "K1", "2031-03-14", 2, ("0.5 mm", "as left", "0.501"), ("1.0 mm", "as left", "1.0"))
    used = [given.check(ready, occasion, minutes=m).number for m, occasion in ((3, "interim"), (4, "interim"))]
    file(ready, "K2", "2031-03-14", 5, ("0.5 mm", "as left", "0.502"))
    assert findings.findings(ready, given.when()) == ()
    file(ready, "K1-A", "2031-03-14", 6, ("0.5 mm", "as left", "0.503"), ("1.0 mm", "as left", "1.0"), supersedes="K1")
    [found] = findings.findings(ready, given.when())
    assert (found.cause, found.asset_no, found.certificate, found.holds()) == ("certificate", "B-1", "K1", ())
    assert found.says == (
        f"certificate K1 of B-1 is corrected by K1-A (read wrongly); 2 checks rest on its depths: {', '.join(used)}; "
        "notch 0.5 mm 0.501 mm (U = 0.010 mm, k = 2) as left, now 0.503 mm (U = 0.010 mm, k = 2) as left"
    )
    record = REPORTS["item"][1](ready, given.when(), asset_no="B-1")
    assert any(found.says in row for row in record.rows)


def test_a_withdrawn_paper_asks_too_and_one_that_no_check_rests_on_asks_nothing(ready: Lab) -> None:
    file(ready, "K1", "2031-02-01", 1, ("0.5 mm", "as left", "0.501"))
    file(ready, "K0", "2030-02-01", 1, ("0.5 mm", "as left", "0.501"))
    given.baseline(ready)
    start = given.check(ready, "start", minutes=2).number
    certificates.withdraw_certificate(ready, "B-1", "K0", "of another block", by=KEEPER, now=given.at(3))
    certificates.withdraw_certificate(ready, "B-1", "K1", "of another block", by=KEEPER, now=given.at(4))
    [found] = findings.findings(ready, given.when())
    assert found.says.startswith("certificate K1 of B-1 is withdrawn (of another block); ")
    assert start in found.says
