"""Sizes of notches against the target: TO 33B-1-1, chapter 4 (three sizes); bracketing is common practice, no source.

A block with EDM notches of 0.5 to 4 mm in steps of 0.5 mm: common practice, no source.
"""

from decimal import Decimal

import pytest

from refstd.base.reason import Weight
from refstd.rules.notch_sizes import SizesWanted, notch_sizes
from refstd.rules.requirements import NotchAdvice

D = Decimal
USUAL = tuple(D(n) / 2 for n in range(1, 9))


def against(depths: tuple[Decimal, ...], target: str | None, asked: NotchAdvice | None = None) -> list[tuple[str, str]]:
    """Return (rule, weight) of what stands against these depths."""
    wanted = SizesWanted("J-1", "procedure PR-1 issue A", D(target) if target else None, asked)
    return [(r.rule, str(r.weight)) for r in notch_sizes("B-1", depths, wanted)]


def test_a_usual_block_serves_a_target_between_its_notches() -> None:
    assert against(USUAL, "1.2") == []
    assert against(USUAL, "0.5") == []
    assert against(USUAL, None) == []


@pytest.mark.parametrize(("target", "side"), [("0.3", "shallower"), ("4.5", "deeper")])
def test_a_target_beyond_every_notch_is_told_with_the_side(target: str, side: str) -> None:
    wanted = SizesWanted("J-1", "procedure PR-1 issue A", D(target), None)
    (reason,) = notch_sizes("B-1", USUAL, wanted)
    assert side in reason.says
    assert side in reason.cure
    assert reason.weight is Weight.ADVISES


def test_two_notches_of_one_depth_are_one_size() -> None:
    assert against((D("0.5"), D("0.50"), D("1.0")), None) == [("notch sizes", "advises")]


def test_what_the_procedure_asks_for_stops_and_a_target_unknown_then_stops_too() -> None:
    asked = NotchAdvice(2, True, "paragraph 5.3")
    assert against((D("0.5"), D(1)), "0.7", asked) == []
    assert against((D("0.5"),), "0.7", asked) == [("notch sizes", "stops"), ("target size", "stops")]
    assert against((D("0.5"), D(1)), None, asked) == [("target size", "stops")]


def test_without_notches_nothing_is_said_of_sizes() -> None:
    assert against((), "1.0") == []
