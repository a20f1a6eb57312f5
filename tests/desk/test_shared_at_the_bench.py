"""A block that several people use at the bench: nobody checks it out, and everybody may check with it."""

import pytest

from refstd.base.errors import Refusal
from refstd.desk import custody, homes, kit_sheet, kits
from refstd.desk.store import Lab
from tests import thin_thread as given


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with a job, and a block B-2 that is shared, in a setup S-0002 with the same probe and instrument."""
    given.whole(lab)
    given.block(lab, "B-2", shared="yes")
    given.certified(lab, "B-2")
    given.setup(lab, block="B-2")
    return lab


def test_a_check_out_leaves_a_shared_block_at_the_bench_and_says_so(ready: Lab) -> None:
    stay = custody.check_out(ready, "J-1", ["B-2", "P-1", "I-1"], by="TESS", now=given.at(1))

    assert stay == ("B-2",)
    assert [o.asset_no for o in custody.out_now(ready, given.when(2))] == ["I-1", "P-1"]


def test_a_shared_block_alone_is_not_checked_out(ready: Lab) -> None:
    with pytest.raises(Refusal, match="B-2 is shared at the bench"):
        custody.check_out(ready, "J-1", ["B-2"], by="TESS", now=given.at(1))


def test_two_people_check_with_one_shared_block_in_turn(ready: Lab) -> None:
    custody.check_out(ready, "J-1", ["P-1", "I-1"], by="TESS", now=given.at(1))
    given.probe(ready, "P-2")
    given.instrument(ready, "I-2")
    given.certified(ready, "I-2")
    given.job(ready, "J-2")
    given.setup(ready, probe="P-2", instrument="I-2", block="B-2")
    custody.check_out(ready, "J-2", ["P-2", "I-2"], by="TOM", now=given.at(2))

    mine = homes.kit_in_hand(ready, "TESS", "J-1", given.when(3))
    theirs = homes.kit_in_hand(ready, "TOM", "J-2", given.when(3))
    assert [s.setup.number for s in mine.setups] == ["S-0002"]
    assert [s.setup.number for s in theirs.setups] == ["S-0003"]
    assert "B-2" in [s.item.asset_no for s in mine.items]
    assert given.check(ready, "start", minutes=4, setup="S-0002").outcome == "acceptable"
    assert given.check(ready, "start", minutes=5, by="TOM", setup="S-0003", job="J-2").outcome == "acceptable"


def test_a_match_tells_that_the_block_needs_no_check_out(ready: Lab) -> None:
    told = [r.says for m in kits.match_these(ready, "J-1", ["B-2"], given.when(1)) for r in m.reasons]
    assert told == ["B-2 is shared at the bench: it stays there and is used without check-out"]


def test_the_kit_sheet_has_the_shared_block_that_goes_with_what_is_out(ready: Lab) -> None:
    custody.check_out(ready, "J-1", ["P-1", "I-1"], by="TESS", now=given.at(1))
    kit = kit_sheet.kit_for(ready, "J-1", given.when(2))
    assert [k.item.asset_no for k in kit.items] == ["B-2", "P-1", "I-1"]
