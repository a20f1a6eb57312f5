"""Baselines: which set-ups may be frozen, and which wait."""

import pytest

from refstd.base.errors import BadInput
from refstd.desk import baselines, checks
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When
from tests import thin_thread as given


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything on record that a setup's baseline needs."""
    given.whole(lab)
    return lab


def set_up(lab: Lab, minutes: float) -> str:
    return given.check(lab, "set-up", minutes=minutes).number


def corrected(lab: Lab, number: str, minutes: float) -> str:
    readings = given.readings(1.01)
    return checks.correct_check(lab, number, readings, "slip", "TOM", by="TESS", now=given.at(minutes)).number


def freeze(lab: Lab, numbers: list[str], minutes: float) -> None:
    fields = {"setup": "S-0001", "approved_by": "LENA"}
    by_hand = draft(baselines.BaselineDraft, fields, "baseline")
    baselines.set_baseline(lab, by_hand, numbers, by="TESS", now=given.at(minutes))


def test_a_set_up_that_was_corrected_is_not_frozen_and_its_correction_is(ready: Lab) -> None:
    """Planted bug it caught: the wrong readings went into the baseline beside or instead of the right ones."""
    first, second = set_up(ready, 1), set_up(ready, 2)
    right = corrected(ready, first, 10)
    with pytest.raises(BadInput) as refused:
        freeze(ready, [first, second], 20)
    assert [(p.where, p.remedy) for p in refused.value.problems] == [(f"set-up {first}", f"Choose {right}.")]
    freeze(ready, [right, second], 20)


def test_the_set_ups_that_wait_are_neither_corrected_nor_in_a_baseline_as_at_the_look(ready: Lab) -> None:
    """Planted bug it caught: the past was asked with the baselines of today, and nothing waited then."""
    first, second = set_up(ready, 1), set_up(ready, 2)
    right = corrected(ready, first, 10)
    freeze(ready, [right, second], 20)

    def waiting(minutes: float) -> tuple[str, ...]:
        return baselines.waiting_set_ups(ready, "S-0001", When(given.at(600), as_at=given.at(minutes)))

    assert waiting(5) == (first, second)
    assert waiting(15) == (second, right)
    assert waiting(25) == ()
