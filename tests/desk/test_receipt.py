"""An item comes in: in service with evidence, or held, in one act; and until then out of use."""

import pytest

from refstd.base.errors import BadInput, NotAllowed, NotFound, Refusal
from refstd.desk import equipment, findings, receipt
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.history import item_record
from refstd.desk.log import log_entries
from refstd.desk.serviceability import status
from refstd.desk.store import Lab, verify
from refstd.rules.duties import AWAITING
from tests import thin_thread as given
from tests.given import KEEPER

PROBE = {
    "signal to noise": {"value": "6.2", "unit": "ratio", "lower_limit": "5", "limit_source": "PR-1 issue B, 5.5"},
    "noise peak to peak": {"value": "3", "unit": "% FSH", "upper_limit": "5", "limit_source": "order 4711"},
    "circuit": {"outcome": "in order"},
    "lift-off": {"value": "12", "unit": "%", "upper_limit": "20", "limit_source": "order 4711"},
    "response": {
        "value": "80",
        "unit": "% FSH",
        "lower_limit": "75",
        "upper_limit": "85",
        "limit_source": "order 4711",
    },
    "effective width": {"value": "5.5", "unit": "mm", "lower_limit": "5.0", "limit_source": "order 4711"},
    "tilt": {"outcome": "not looked at", "found": "no goniometer"},
    "serial number": {"outcome": "in order"},
}


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A probe, a block and an instrument that have come in, beside a procedure with a limit on the signal to noise."""
    given.people_and_material(lab)
    given.block(lab, state=AWAITING, location="goods in")
    given.probe(lab, state=AWAITING, location="goods in")
    given.instrument(lab, state=AWAITING, firmware="5.1")
    given.procedure(lab)
    return lab


def received(
    lab: Lab, asset_no: str, points: dict[str, dict[str, str]], minutes: float = 10, by: str = KEEPER, **fields: str
) -> receipt.ReceiptShown:
    rows = [draft(receipt.PointDraft, {"point": name} | values, name) for name, values in points.items()]
    head = draft(receipt.ReceiptDraft, {"asset_no": asset_no, "ordered_as": "order 4711"} | fields, asset_no)
    return receipt.receive(lab, head, rows, by=by, now=given.at(minutes))


def verdict(lab: Lab, asset_no: str) -> str:
    return status(lab, [asset_no], given.when())[0].verdict.headline()


def test_a_probe_as_ordered_is_in_service_with_its_evidence_in_one_act(ready: Lab) -> None:
    """Planted bug it caught: the place where it is kept from now on was lost."""
    assert verdict(ready, "P-1") == "do not use: P-1 is awaiting receipt: entered"
    before = log_entries(ready, given.when(), count=1)[0].sequence
    shown = received(ready, "P-1", PROBE, location="shelf 2", note="new coil form")
    assert (shown.outcome, shown.certificate, shown.finding) == ("as ordered", "RI-0001", "")
    assert shown.headline() == "P-1 is as ordered (order 4711); 1 point not looked at"
    entry = log_entries(ready, given.when(), count=1)[0]
    assert entry.sequence == before + 1
    assert dict(entry.tables) == {"certificate": 1, "receipt_inspection": 1, "receipt_point": 8, "equipment_state": 1}
    assert verdict(ready, "P-1") == "serviceable"
    record = item_record(ready, "P-1", given.when())
    assert (record.item.state, record.item.location) == ("in service", "shelf 2")
    assert [(c.activity, c.number, c.result) for c in record.certificates] == [("inspection", "RI-0001", "sound")]
    [kept] = record.receipts
    assert kept == shown
    width = next(p for p in kept.points if p.asked == "effective width")
    assert width.in_words() == "effective width: in order, 5.5 mm (limit at least 5.0 mm, order 4711)"
    assert "P-1 is as ordered" in next(e.says for e in record.events if e.kind == "receipt")
    assert verify(ready.path, deep=True).whole


def test_what_is_not_as_ordered_stays_out_and_is_held(ready: Lab) -> None:
    """Planted bug it caught: the finding was opened and the item put in service all the same."""
    noisy = PROBE | {"signal to noise": PROBE["signal to noise"] | {"value": "4.9"}}
    shown = received(ready, "P-1", noisy)
    assert (shown.outcome, shown.finding) == ("not as ordered", "F-0001")
    record = item_record(ready, "P-1", given.when())
    assert record.item.state == "awaiting receipt"
    [found] = findings.findings(ready, given.when())
    assert (found.cause, found.items) == ("not as ordered", ("P-1",))
    assert "signal to noise: not in order; 4.9, limit at least 5 (PR-1 issue B, 5.5)" in found.says
    assert "lift-off" not in found.says
    again = received(ready, "P-1", PROBE, minutes=60)
    assert again.certificate == "RI-0002"
    assert "F-0001" in str(status(ready, ["P-1"], given.when())[0].verdict.reasons)
    findings.act_on(ready, "F-0001", "release", "tip exchanged by the maker", by="LENA", now=given.at(70))
    assert verdict(ready, "P-1") == "serviceable"


def test_a_block_begins_from_its_certificate(ready: Lab) -> None:
    given.certified(ready, "B-1", value="0.512")
    sheet = receipt.receipt_sheet(ready, "B-1", given.when())
    half = next(p for p in sheet.points if p.point.name == "depth of notch 0.5 mm")
    assert half.begin_from == {
        "value": "0.512", "unit": "mm", "lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7",
        "found": "certificate K-B-1",
    }  # fmt: skip
    assert len(sheet.points) == 6


def test_a_probe_begins_from_the_procedures_limit(ready: Lab) -> None:
    sheet = receipt.receipt_sheet(ready, "P-1", given.when(), procedure="PR-1")
    noise = next(p for p in sheet.points if p.point.name == "signal to noise")
    assert noise.begin_from == {"unit": "ratio", "lower_limit": "3", "limit_source": "PR-1 issue B, 5.5"}


def test_an_item_that_awaits_receipt_is_put_in_service_by_its_inspection_alone(ready: Lab) -> None:
    """Planted bug it caught: through quarantine and back it was in service without anybody having looked."""
    with pytest.raises(Refusal, match="P-1 awaits its receipt inspection"):
        equipment.set_state(ready, "P-1", "in service", "needed", by=KEEPER, now=given.at(1))
    equipment.set_state(ready, "P-1", "quarantined", "dropped at the door", by=KEEPER, now=given.at(2))
    with pytest.raises(Refusal, match="P-1 awaits its receipt inspection"):
        equipment.set_state(ready, "P-1", "in service", "needed", by=KEEPER, now=given.at(3))
    equipment.set_state(ready, "P-1", AWAITING, "to be looked at", by=KEEPER, now=given.at(4))
    received(ready, "P-1", PROBE)
    equipment.set_state(ready, "P-1", "stored", "not needed yet", by=KEEPER, now=given.at(20))
    equipment.set_state(ready, "P-1", "in service", "needed", by=KEEPER, now=given.at(30))
    with pytest.raises(Refusal, match="P-1 is in service, not awaiting receipt"):
        received(ready, "P-1", PROBE, minutes=40)


def test_bad_points_are_refused_whole_with_every_problem(ready: Lab) -> None:
    before = log_entries(ready, given.when(), count=1)[0].sequence
    wrong = PROBE | {
        "circuit": {"outcome": ""},
        "lift-off": {"value": "12", "unit": "mm", "upper_limit": "20", "limit_source": "x"},
    }
    with pytest.raises(BadInput) as refused:
        received(ready, "P-1", wrong)
    assert [p.where for p in refused.value.problems] == ["circuit", "lift-off"]
    with pytest.raises(NotFound, match="C-0099"):
        received(ready, "P-1", PROBE, check="C-0099")
    assert log_entries(ready, given.when(), count=1)[0].sequence == before


def test_only_the_custodian_receives(ready: Lab) -> None:
    for by in ("TESS", "AUDE"):
        with pytest.raises(NotAllowed, match="may not inspect on receipt"):
            received(ready, "P-1", PROBE, by=by)
