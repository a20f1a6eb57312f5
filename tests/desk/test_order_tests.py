"""Order tests on record: what is kept together, who may do it, and what a contradiction needs."""

from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest

from refstd.base.errors import NotAllowed, NotFound, Refusal
from refstd.base.reason import Reason
from refstd.desk import checks, equipment, order_tests
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.history import item_record
from refstd.desk.log import log_entries
from refstd.desk.lookback import lookback
from refstd.desk.store import Lab, When, verify
from tests import thin_thread as given
from tests.given import KEEPER
from tests.published import display_transforms
from tests.published.display_transforms import RS, SR


def values_of(order: str, digits: int = 2) -> dict[str, str]:
    """Return the reference readings of an order, written with so many decimals."""
    fields = {"horizontal_gain_db": "40", "vertical_gain_db": "52"}
    rows = [row for row in display_transforms.STATIC if row[0] == order]
    for name, (_, rotation, horizontal, vertical) in zip(("first", "second"), rows, strict=True):
        fields |= {
            f"{name}_rotation_deg": f"{rotation}", f"{name}_horizontal": f"{horizontal:.{digits}f}",
            f"{name}_vertical": f"{vertical:.{digits}f}",
        }  # fmt: skip
    return fields


def keep(lab: Lab, order: str, minutes: float = 30, by: str = KEEPER, **values: str) -> order_tests.OrderTestShown:
    return order_tests.record_order_test(lab, written(order, **values), by=by, now=given.at(minutes))


def written(order: str, **values: str) -> order_tests.OrderTestDraft:
    fields = {"asset_no": "I-1"} | values_of(order) | values
    return draft(order_tests.OrderTestDraft, fields, "order test")


def described(lab: Lab, as_at: datetime | None = None) -> dict[str, Any]:
    return item_record(lab, "I-1", When(given.at(600), as_at=as_at)).item.special


@pytest.fixture
def ready(lab: Lab) -> Lab:
    given.people_and_material(lab)
    given.instrument(lab, display_order="unknown", full_screen_div="8", frequencies="2", firmware="5.1")
    return lab


@pytest.mark.parametrize("order", [RS, SR])
def test_readings_and_the_instruments_new_description_are_one_act(ready: Lab, order: str) -> None:
    """Planted bug it caught: the description was copied without its full screen height (the default came back)."""
    before = described(ready)
    head = log_entries(ready, given.when(), count=1)[0].sequence
    shown = keep(ready, order)
    assert shown.found == order
    assert shown.second[1] == Decimal({RS: "0.89", SR: "-1.03"}[order])
    entry = log_entries(ready, given.when(), count=1)[0]
    assert entry.sequence == head + 1 == shown.entry
    assert dict(entry.tables) == {"order_test": 1, "equipment_revision": 1, "instrument_description": 1}
    found = described(ready)
    assert found == before | {"display_order": order, "display_order_source": "two readings, 2031-03-14, KEEPER"}
    record = item_record(ready, "I-1", given.when())
    assert (record.item.revision, record.item.firmware) == (2, "5.1")
    assert record.order_tests == (shown,)
    assert described(ready, given.at(20)) == before  # as it was known before the test
    assert verify(ready.path, deep=True).whole


def test_the_date_is_that_of_the_readings_in_the_labs_zone(ready: Lab) -> None:
    keep(ready, RS, happened_at="2031-03-13T23:30")
    assert described(ready)["display_order_source"] == "two readings, 2031-03-13, KEEPER"


def test_a_contradiction_needs_a_reason_and_keeps_nothing_without_it(ready: Lab) -> None:
    """Planted bug it caught: the order on record was compared with itself, so that no contradiction was ever found."""
    keep(ready, RS)
    with pytest.raises(Refusal, match=r"on record is rotate-then-scale .two readings, 2031-03-14, KEEPER") as refusal:
        keep(ready, SR, 40)
    assert "say why" in str(refusal.value)
    assert described(ready)["display_order"] == RS
    keep(ready, SR, 50, why="the first test was read on another instrument")
    assert described(ready)["display_order"] == SR
    tests = item_record(ready, "I-1", given.when()).order_tests
    assert [t.found for t in tests] == [RS, SR]
    assert "another instrument" in log_entries(ready, given.when(), count=1)[0].in_words()


def test_the_same_order_again_needs_no_reason(ready: Lab) -> None:
    keep(ready, RS)
    keep(ready, RS, 40)
    assert len(item_record(ready, "I-1", given.when()).order_tests) == 2


def test_readings_that_tell_nothing_are_refused_with_the_next_step_and_nothing_is_kept(ready: Lab) -> None:
    with pytest.raises(Refusal, match=r"(?i)the gains differ by 2 dB.*at least 3 dB apart"):
        keep(ready, RS, vertical_gain_db="42")
    with pytest.raises(Refusal, match=r"(?i)neither order agrees.*hold the probe still"):
        keep(ready, RS, second_vertical="6.00")
    assert item_record(ready, "I-1", given.when()).order_tests == ()
    assert described(ready)["display_order"] == "unknown"


def test_only_who_keeps_the_register_may_and_only_of_an_instrument(ready: Lab) -> None:
    given.probe(ready)
    for by in ("TESS", "AUDE"):
        with pytest.raises(NotAllowed, match="custodian"):
            keep(ready, RS, by=by)
    with pytest.raises(NotFound, match="P-1 is a probe"):
        keep(ready, RS, asset_no="P-1")
    with pytest.raises(Refusal, match="future"):
        keep(ready, RS, happened_at="2031-03-15")


def test_a_found_order_makes_readings_at_other_gains_comparable(ready: Lab) -> None:
    """An order test is the cure that a check at changed gains names while the order is unknown."""
    given.block(ready)
    given.probe(ready)
    for number in ("B-1", "I-1"):
        given.certified(ready, number)
    limit = {"against": "baseline", "lower": "-6", "upper": "6", "unit": "dB", "paragraph": "6.4"}
    given.procedure(ready, limits=(*given.LIMITS, limit))
    given.job(ready)
    given.setup(ready)
    given.baseline(ready)
    at_other_gains = {"horizontal_gain_db": "42", "vertical_gain_db": "51"}

    def told(minutes: float) -> list[Reason]:
        kept = given.check_draft("start", **at_other_gains)
        shown = checks.preview_check(ready, kept, given.readings(), given.when(minutes))
        return [r for r in (*shown.reasons, *shown.condition) if "order of rotation and gain" in r.says]

    assert {r.rule for r in told(120)} == {"amplitude against baseline", "condition"}
    assert all("refstd order-test" in r.cure for r in told(120))
    keep(ready, RS, 130)
    assert told(140) == []


def at_work(lab: Lab) -> None:
    """Put on record what a job's first check needs with I-1."""
    given.block(lab)
    given.probe(lab)
    for number in ("B-1", "I-1"):
        given.certified(lab, number)
    given.procedure(lab)
    given.job(lab)
    given.setup(lab)


def test_another_order_names_the_acceptable_checks_that_rest_on_the_old_one_and_holds_their_lots(ready: Lab) -> None:
    """Planted: checks counted from the newest description on, so that a second test of the old order hid those before it."""
    at_work(ready)
    keep(ready, RS, 1)
    start = given.check(ready, "start", minutes=2)  # judged as seen: rests on no order
    given.lot(ready, start.number, "holes 1 to 9", 3)
    interim = given.check(ready, "interim", minutes=4)
    keep(ready, RS, 5)
    bad = given.check(ready, "interim", 0.5, 6)
    assert keep(ready, RS, 7).finding == ""

    shown = keep(ready, SR, 10, why="the first was read on another instrument")
    found = lookback(ready, shown.finding, given.when())
    assert found.finding.cause == "other"
    assert f"look at each again: {interim.number}" in found.finding.says
    assert bad.number not in found.finding.says
    assert bad.held == ("setup S-0001",)  # not the lot: the interim check before had covered it
    assert found.finding.holds() == ("lot L-0001 (panel 4: holes 1-9)",)


def test_the_lots_of_a_check_that_rests_on_the_old_order_are_held_for_the_look_back(ready: Lab) -> None:
    """Also where the order is described anew without a test. Planted: `revise_item` asked nothing."""
    at_work(ready)
    keep(ready, RS, 1)
    start = given.check(ready, "start", minutes=2)
    given.lot(ready, start.number, "holes 1 to 9", 3)
    given.check(ready, "end", minutes=4)
    fields = {
        "asset_no": "I-1",
        "name": "instrument",
        "lowest_khz": "10",
        "highest_khz": "10000",
        "connector": "four-pin",
    }
    unsure = draft(equipment.InstrumentDraft, fields | {"display_order": "unknown"}, "I-1")
    [number] = equipment.revise_item(ready, unsure, "read on another one", by=KEEPER, now=given.at(5))
    found = lookback(ready, number, given.when())
    assert found.finding.holds() == ("lot L-0001 (panel 4: holes 1-9)",)
    assert [x.number for x in found.lots] == ["L-0001"]
    assert "C-0002" in found.finding.says
    assert verify(ready.path, deep=True).whole


def test_checks_at_equal_gains_rest_on_no_order(ready: Lab) -> None:
    at_work(ready)
    keep(ready, RS, 1)
    given.check(ready, "start", minutes=2, horizontal_gain_db="50")
    assert given.check(ready, "end", minutes=4, horizontal_gain_db="50").outcome == "acceptable"
    assert keep(ready, SR, 10, why="misread").finding == ""
