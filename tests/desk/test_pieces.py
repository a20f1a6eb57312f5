"""Counted pieces out and in: a piece that is missing names where to look and stops the job until it is signed off."""

import pytest

from refstd.base.errors import BadInput, NotAllowed, Refusal
from refstd.desk import custody, equipment, findings, jobs, lots
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, open_store
from refstd.exchange.export import export_register
from refstd.reports import custody_sheet, item_sheet, kit_sheet
from tests import thin_thread as given
from tests.given import KEEPER, NOON

KIT = ["B-1", "P-1", "I-1", "K-1"]
ALL = ["shim 0.05 mm=3", "tip=2"]


def shims(lab: Lab, pieces: str = "shim 0.05 mm=3; tip=2") -> None:
    """Enter a box of shims and tips."""
    values = {"asset_no": "K-1", "name": "shims", "form": "shim", "pieces": pieces}
    equipment.enter_item(lab, draft(equipment.AccessoryDraft, values, "K-1"), by=KEEPER, now=NOON)


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A kit with a box of shims is out for a job with a lot examined."""
    given.whole(lab)
    shims(lab)
    custody.check_out(lab, "J-1", KIT, counted=ALL, by="TESS", now=given.at(1))
    given.check(lab, "start", minutes=2)
    given.lot(lab, "C-0001", "panel 4", 10)
    given.check(lab, "end", minutes=20)
    return lab


def test_what_is_counted_goes_out_only_counted_and_complete(lab: Lab) -> None:
    given.whole(lab)
    shims(lab)
    with pytest.raises(BadInput) as refused:
        custody.check_out(lab, "J-1", KIT, by="TESS", now=given.at(1))
    assert refused.value.problems[0].wrong == "not counted: K-1: shim 0.05 mm, K-1: tip"
    with pytest.raises(Refusal, match=r"K-1 is not complete: tip: 1 counted, 2 on record"):
        custody.check_out(lab, "J-1", KIT, counted=["shim 0.05 mm=3; tip=1"], by="TESS", now=given.at(1))
    assert custody.out_now(lab, given.when(2)) == ()


def test_all_back_opens_nothing_and_stands_in_every_record(ready: Lab) -> None:
    assert custody.check_in(ready, KIT, counted=ALL, by="TESS", now=given.at(30)) == ()
    rows = [
        dict(zip([c.key for c in s.columns], r, strict=True))
        for s in [custody_sheet(ready, given.when(31), ["K-1"])]
        for r in s.rows
    ]
    assert (rows[0]["counted_out"], rows[0]["counted_in"]) == ("shim 0.05 mm=3; tip=2",) * 2
    lines = [row[2] for row in item_sheet(ready, given.when(31), "K-1").rows]
    assert "shim 0.05 mm=3; tip=2" in lines
    assert any("counted out shim 0.05 mm=3; tip=2, in shim 0.05 mm=3; tip=2" in x for x in lines)
    assert b"shim 0.05 mm=3; tip=2" in export_register(ready, given.when(31))["loans.csv"]
    assert b"shim 0.05 mm=3; tip=2" in export_register(ready, given.when(31))["accessories.csv"]


def test_a_missing_piece_asks_where_to_look_and_stops_the_job_until_it_is_signed_off(ready: Lab) -> None:
    counted = ["K-1: shim 0.05 mm=2; tip=2"]
    with pytest.raises(Refusal, match="say in which area of panel 4"):
        custody.check_in(ready, KIT, counted=counted, by="TESS", now=given.at(30))
    with pytest.raises(Refusal, match="say on which aircraft or part"):
        custody.check_in(ready, KIT, counted=counted, part="panel 5", area="web", by="TESS", now=given.at(30))
    assert len(custody.out_now(ready, given.when(31))) == 4, "a refusal keeps the whole kit out"
    (number,) = custody.check_in(ready, KIT, counted=counted, area="left web", by="TESS", now=given.at(30))
    found = findings.finding(ready, number, given.when(31))
    assert found.cause == "piece unaccounted for"
    assert found.says == "K-1: shim 0.05 mm: 3 went out, 2 came back. Look for it at panel 4, left web, of job J-1"
    assert found.items == ("K-1",)
    assert [x.number for x in found.lots] == ["L-0001"]
    with pytest.raises(Refusal, match="a piece is unaccounted for"):
        lots.close_job(ready, "J-1", "done", by="TESS", now=given.at(40))
    with pytest.raises(NotAllowed):
        findings.act_on(ready, number, "release", "found it", by="TOM", now=given.at(41))
    for kind in ("disposition", "release"):
        findings.act_on(ready, number, kind, "found in the web, counted again", by="LENA", now=given.at(42))
    lots.close_job(ready, "J-1", "done", by="TESS", now=given.at(43))
    assert not jobs.jobs(ready, given.when(44))[0].open


def test_a_lot_that_is_logged_while_a_piece_is_missing_is_held_at_once(ready: Lab) -> None:
    """The hold also takes lots that are logged after the count."""
    (number,) = custody.check_in(
        ready, ["K-1"], counted=["shim 0.05 mm=3; tip=1"], area="web", by="TESS", now=given.at(30)
    )
    values = {"job": "J-1", "start_check": "C-0001", "parts": "panel 4", "examined_at": "2031-03-14T12:15"}
    logged = lots.log_lot(ready, draft(lots.LotDraft, values, "lot"), by="TESS", now=given.at(31))
    assert logged.finding == number
    assert logged.number in [x.number for x in findings.finding(ready, number, given.when(32)).lots]


def test_the_kit_sheet_has_a_box_for_each_count_out_and_in(ready: Lab) -> None:
    rows = [r for r in kit_sheet(ready, given.when(25), ["J-1"]).rows if r[1].startswith("count ")]
    assert [(r[1], r[2]) for r in rows] == [
        ("count shim 0.05 mm", "3 of K-1: count out and in"), ("count tip", "2 of K-1: count out and in")
    ]  # fmt: skip
    assert all(r[4] == "out _____ in _____" for r in rows)


def test_an_item_whose_pieces_cannot_be_read_is_refused(lab: Lab) -> None:
    with pytest.raises(BadInput) as refused:
        shims(lab, "three shims")
    assert refused.value.problems[0].wrong == "'three shims' is not a piece with its count"


def test_a_store_opened_again_says_the_same(ready: Lab) -> None:
    again = open_store(ready.path)
    assert custody_sheet(again, given.when(25)).rows == custody_sheet(ready, given.when(25)).rows
    again.close()
