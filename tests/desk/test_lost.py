"""Lost and found: what was known is kept, what it leaves in doubt is held, and it comes back only after somebody looked."""

import pytest

from refstd.base.errors import NotFound, Refusal
from refstd.desk import certificates, custody, equipment, findings, loans, lots, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.homes import custodian_home
from refstd.desk.lost import FoundDraft, LossDraft, losses, report_found, report_lost, tell_owner
from refstd.desk.store import Lab
from refstd.exchange.export import export_register
from refstd.register.integrity import verify_lab
from refstd.reports import custody_sheet, item_sheet
from tests import thin_thread as given
from tests.given import KEEPER

KIT = ["B-1", "P-1", "I-1"]


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A kit out to TESS, with a start check and a lot examined under it."""
    given.whole(lab)
    custody.check_out(lab, "J-1", KIT, by="TESS", now=given.at(1))
    given.check(lab, "start", minutes=5)
    lot = {"job": "J-1", "start_check": "C-0001", "parts": "panel 4: holes 1-20"}
    lots.log_lot(lab, draft(lots.LotDraft, lot, "lot"), by="TESS", now=given.at(30))
    return lab


def lost(lab: Lab, minutes: float = 60, **values: str) -> str:
    fields = {"asset_no": "P-1", "last_seen": "TESS, hangar 2"} | values
    return report_lost(lab, draft(LossDraft, fields, "P-1"), by="TESS", now=given.at(minutes))


def found(lab: Lab, minutes: float = 90, **values: str) -> tuple[str, ...]:
    fields = {"asset_no": "P-1", "place": "tool box 3", "condition": "tip sound"} | values
    return report_found(lab, draft(FoundDraft, fields, "P-1"), by="TOM", now=given.at(minutes))


def inspected(lab: Lab, minutes: float, result: str = "sound") -> None:
    paper = {"asset_no": "P-1", "activity": "inspection", "number": f"R-{minutes}", "laboratory": "this lab"}
    paper |= {"performed_on": "2031-03-14", "result": result}
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, paper, "x"), by=KEEPER, now=given.at(minutes)
    )


def back(lab: Lab, minutes: float) -> None:
    equipment.set_state(lab, "P-1", "in service", "inspected", by=KEEPER, now=given.at(minutes))


def test_a_loss_says_the_last_check_the_jobs_since_the_return_and_who_was_told(ready: Lab) -> None:
    number = lost(ready)
    [x] = losses(ready, given.when())
    assert x.says == (
        "P-1 is lost, last seen TESS, hangar 2; last acceptable check C-0001 of 2031-03-14 12:05; jobs since: J-1; "
        "due back 2031-03-20 from TESS, job J-1"
    )
    assert (x.finding, x.told_in_words()) == (number, "the custodian not told yet")
    tell_owner(ready, "P-1", "ORLA, at the desk", by="TESS", now=given.at(61))
    [x] = losses(ready, given.when())
    assert [(t[0], t[1], t[2]) for t in x.told] == [(given.at(61), "TESS", "ORLA, at the desk")]


def test_what_its_closing_check_was_to_cover_is_held(ready: Lab) -> None:
    """Planted bug it caught: the item held and no lot; the parts flew on a start check that nothing closed."""
    number = lost(ready)
    held = findings.finding(ready, number, given.when())
    assert (held.cause, held.items, [x.number for x in held.lots]) == ("lost", ("P-1",), ["L-0001"])


def test_a_covered_lot_is_not_held(ready: Lab) -> None:
    given.check(ready, "end", minutes=40)
    held = findings.finding(ready, lost(ready), given.when())
    assert (held.items, held.lots) == (("P-1",), ())


def test_it_cannot_go_out(ready: Lab) -> None:
    custody.check_in(ready, ["P-1"], by="TESS", now=given.at(50))
    lost(ready)
    with pytest.raises(Refusal, match="P-1 is lost"):
        custody.check_out(ready, "J-1", ["P-1"], by="TOM", now=given.at(70))


def test_a_found_item_comes_in_quarantined_and_its_finding_stays(ready: Lab) -> None:
    number = lost(ready)
    assert found(ready) == ()
    assert [x.returned_at for x in loans.loans(ready, given.when()) if x.asset_no == "P-1"] == [given.at(90)]
    [status] = serviceability.status(ready, ["P-1"], given.when())
    assert status.item.state == "quarantined"
    assert status.item.location == "tool box 3"
    assert not findings.finding(ready, number, given.when()).released


def test_it_goes_back_to_service_only_after_somebody_looked(ready: Lab) -> None:
    """A paper of before the loss, one that says 'not sound', or one that was withdrawn is no look."""
    inspected(ready, 55)
    lost(ready)
    found(ready)
    with pytest.raises(Refusal, match="nobody has inspected or checked it since"):
        back(ready, 91)
    inspected(ready, 92, "not sound")
    with pytest.raises(Refusal, match="nobody has inspected or checked it since"):
        back(ready, 93)
    inspected(ready, 94)
    certificates.withdraw_certificate(ready, "P-1", "R-94", "wrong probe", by=KEEPER, now=given.at(95))
    with pytest.raises(Refusal, match="nobody has inspected or checked it since"):
        back(ready, 96)
    inspected(ready, 97)
    back(ready, 98)
    [status] = serviceability.status(ready, ["P-1"], given.when())
    assert "P-1 is held: P-1 is lost" in status.verdict.headline()  # until somebody with the authority releases it


def test_a_loss_and_its_end_are_never_recorded_in_passing(ready: Lab) -> None:
    with pytest.raises(Refusal, match="refstd lost P-1"):
        equipment.set_state(ready, "P-1", "lost", "gone", by=KEEPER, now=given.at(50))
    with pytest.raises(NotFound, match="P-1 is not lost"):
        found(ready)
    with pytest.raises(NotFound, match="no loss of P-1 is open"):
        tell_owner(ready, "P-1", "ORLA", by="TESS", now=given.at(51))
    lost(ready)
    with pytest.raises(Refusal, match="lost already"):
        lost(ready, 61)
    with pytest.raises(Refusal, match="refstd found P-1"):
        equipment.set_state(ready, "P-1", "quarantined", "there it is", by=KEEPER, now=given.at(62))
    equipment.set_state(ready, "P-1", "retired", "given up", by=KEEPER, now=given.at(63))


def test_one_that_is_found_damaged_is_held_by_a_finding_of_its_own(ready: Lab) -> None:
    lost(ready)
    [number] = found(ready, sound="no", condition="cable cut")
    assert findings.finding(ready, number, given.when()).cause == "damage"


def test_it_stands_on_the_home_in_the_reports_and_in_the_export(ready: Lab) -> None:
    lost(ready, told="")
    assert [x.asset_no for x in custodian_home(ready, given.when()).lost] == ["P-1"]
    scope = dict(custody_sheet(ready, given.when(), ["P-1"]).scope)
    assert "last seen TESS, hangar 2" in scope["P-1 lost"]
    found(ready)
    assert custodian_home(ready, given.when()).lost == ()
    scope = dict(custody_sheet(ready, given.when(), ["P-1"]).scope)
    assert "found by TOM: tool box 3, sound: tip sound (2031-03-14 13:30)" in scope["P-1 found"]
    words = [r for row in item_sheet(ready, given.when(), "P-1").rows for r in row]
    assert {"lost; last seen TESS, hangar 2", "found by TOM: tool box 3, sound: tip sound"} <= set(words)
    head, row = export_register(ready, given.when())["losses.csv"].decode().splitlines()
    assert head.startswith("asset_no,finding,happened_at")
    assert row.startswith("P-1,F-0001,2031-03-14T13:00")
    assert verify_lab(ready, deep=True).whole
