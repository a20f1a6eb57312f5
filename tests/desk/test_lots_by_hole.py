"""Lots name parts and holes of their job, so that a failed check names exactly what to examine again."""

import pytest

from refstd.base.errors import BadInput, Refusal
from refstd.desk import findings, lots
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.job_parts import DetailsDraft, DetailsShown
from refstd.desk.jobs import JobDraft, LotShown, describe_job, details_on_record, enter_job, job_progress, jobs
from refstd.desk.jobs import lots as logged_lots
from refstd.desk.lookback import lookback
from refstd.desk.store import Lab, When
from refstd.rules.parts import in_words
from tests import thin_thread as given
from tests.given import NOON

PARTS = "SN-1: holes 1-20; SN-2, zone web; SN-2, zone flange: holes A1-A4"


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything on record that a job's first check needs."""
    given.whole(lab)
    return lab


@pytest.fixture
def wing(ready: Lab) -> Lab:
    """A job on two parts, a zone of one of them without holes, and an acceptable start check C-0001."""
    given.job(ready, "J-2", parts=PARTS)
    given.check(ready, "start", job="J-2")
    return ready


def lot(lab: Lab, parts: str, minutes: float, zone: str = "") -> str:
    fields = {"job": "J-2", "start_check": "C-0001", "parts": parts, "zone": zone}
    return lots.log_lot(lab, draft(lots.LotDraft, fields, "lot"), by="TESS", now=given.at(minutes)).number


def test_a_failed_end_check_names_exactly_the_holes_to_examine_again(wing: Lab) -> None:
    """ISO 15549:2019, clause 10 (READ): since the last acceptable check. Planted: the job's holes kept, not the lot's."""
    lot(wing, "SN-1: holes 1-8", 10)
    given.check(wing, "interim", minutes=60, job="J-2")
    lot(wing, "SN-1: holes 9-12, 15; SN-2, zone web", 70)
    failed = given.check(wing, "end", 0.8, 120, job="J-2")
    assert failed.held == ("setup S-0001", "lot L-0002 (SN-1: holes 9-12, 15; SN-2, zone web)")
    [held] = lookback(wing, failed.number, given.when()).lots
    assert [p.as_dict() for p in held.named] == [
        {"serial": "SN-1", "zone": "", "holes": "9-12, 15"},
        {"serial": "SN-2", "zone": "web", "holes": ""},
    ]
    found = job_progress(wing, "J-2", given.when())
    assert in_words(found.left) == "SN-1: holes 13-14, 16-20; SN-2, zone flange: holes A1-A4"
    assert in_words(found.in_doubt) == "SN-1: holes 9-12, 15; SN-2, zone web"


def test_a_hole_stands_in_one_lot_until_that_has_a_disposition(wing: Lab) -> None:
    """Planted: a note counted as a disposition."""
    lot(wing, "SN-1: holes 1-8", 10)
    with pytest.raises(Refusal, match="hole 8 of SN-1 stands in lot L-0001"):
        lot(wing, "SN-1: holes 8-12", 20)
    assert [x.number for x in lots_on_record(wing)] == ["L-0001"]
    failed = given.check(wing, "end", 0.8, 60, job="J-2")
    findings.act_on(wing, failed.finding, "note", "looked at the cable", by="LENA", now=given.at(61))
    again = given.check(wing, "start", minutes=70, job="J-2").number
    fields = {"job": "J-2", "start_check": again, "parts": "SN-1: holes 1-8"}
    with pytest.raises(Refusal, match=r"holes 1-8 of SN-1 stand in lot L-0001.*has a disposition"):
        lots.log_lot(wing, draft(lots.LotDraft, fields, "lot"), by="TESS", now=given.at(80))
    findings.act_on(wing, failed.finding, "disposition", "examine again", by="LENA", now=given.at(81))
    lots.log_lot(wing, draft(lots.LotDraft, fields, "lot"), by="TESS", now=given.at(82))
    assert job_progress(wing, "J-2", given.when()).in_doubt == ()


def test_what_a_lot_names_must_be_of_the_job(wing: Lab) -> None:
    for said, zone, wrong in (
        ("SN-3", "", "'SN-3' is not a part of the job"),
        ("SN-1: holes 19-21", "", "hole 21 of SN-1: not among those of the job"),
        ("SN-2", "", "does not say which part is meant"),
        ("SN-2", "tip", "is not a zone of the job"),
        ("SN-1: some holes", "", "a hole is missing"),
    ):
        with pytest.raises(BadInput) as refused:
            lot(wing, said, 10, zone)
        assert wrong in str(refused.value)
    assert lots_on_record(wing) == ()
    lot(wing, "SN-2: holes A1, A2", 10, "flange")
    assert [x.examined for x in lots_on_record(wing)] == ["SN-2, zone flange: holes A1-A2"]


def lots_on_record(lab: Lab) -> tuple[LotShown, ...]:
    return logged_lots(lab, given.when())


def test_a_job_whose_parts_cannot_be_read_is_refused_whole(ready: Lab) -> None:
    fields = {"number": "J-3", "procedure": "PR-1", "parts": "SN-1, SN-2", "material": "AL", "form": "plate"}
    fields |= {"frequency_khz": "200", "starts_on": "2031-03-14", "ends_on": "2031-03-20"}
    for parts in ("SN-1, SN-2", "holes 1-12", "SN-1: holes 12-1"):
        with pytest.raises(BadInput, match="job J-3"):
            enter_job(ready, draft(JobDraft, fields | {"parts": parts}, "x"), by="TESS", now=NOON)
    bores = draft(DetailsDraft, {"bores": "12", "bore_depth_mm": "9"}, "x")
    with pytest.raises(BadInput, match="does not belong to the form plate"):
        enter_job(ready, draft(JobDraft, fields | {"parts": "SN-1"}, "x"), bores, by="TESS", now=NOON)
    assert [j.number for j in jobs(ready, given.when())] == ["J-1"]


def test_what_is_known_of_the_parts_is_described_anew_with_where_it_is_from(ready: Lab) -> None:
    assert jobs(ready, given.when())[0].details == DetailsShown()
    first = {"coating_mm": "0.08", "area_length_mm": "1200", "area_width_mm": "180"}
    describe_job(ready, "J-1", draft(DetailsDraft, first, "x"), "measured", by="TESS", now=given.at(10))
    assert details_on_record(ready, "J-1", given.when()) == first
    with pytest.raises(Refusal, match="nothing differs"):
        describe_job(ready, "J-1", draft(DetailsDraft, first, "x"), "again", by="TESS", now=given.at(20))
    with pytest.raises(BadInput, match="area_width_mm"):
        describe_job(ready, "J-1", draft(DetailsDraft, {"area_length_mm": "1"}, "x"), "x", by="TESS", now=given.at(20))
    describe_job(
        ready, "J-1", draft(DetailsDraft, first | {"coating_mm": "0.10"}, "x"), "bare spot", by="TOM", now=given.at(30)
    )
    now, before = (jobs(ready, when)[0].details for when in (given.when(), When(given.at(60), as_at=given.at(20))))
    assert [str(d.coating_mm) for d in (before, now)] == ["0.08", "0.10"]
