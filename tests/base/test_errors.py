"""Refusals: what is wrong, where, what to do; and the exit code that a script sees."""

import copy
import pickle

import pytest

from refstd.base.errors import (
    AlreadyOnRecord,
    AlreadyOut,
    BadInput,
    Exit,
    NotAllowed,
    NotFound,
    Problem,
    Refusal,
    StoreUnusable,
    WrongUsage,
)  # fmt: skip
from refstd.base.reason import Reason, Weight


def test_a_refusal_is_one_sentence_its_place_and_a_remedy() -> None:
    refusal = Refusal("the item is quarantined", "PB-1", "Release finding F-3 first.")
    assert str(refusal) == "the item is quarantined (PB-1). Release finding F-3 first."
    assert str(Refusal("nothing to do")) == "nothing to do."
    assert str(Refusal("nothing to do", "", "Go home.")) == "nothing to do. Go home."


def test_bad_input_lists_every_problem() -> None:
    """Caught: raising at the first one."""
    bad = BadInput(
        "readings.csv", [Problem("row 2, scan", "is empty", "Give a value."), Problem("row 9", "is too short")]
    )
    assert str(bad).splitlines() == [
        "readings.csv: 2 problems, nothing was written.",
        "  row 2, scan: is empty. Give a value.",
        "  row 9: is too short.",
    ]
    assert "1 problem," in str(BadInput("x", [Problem("a", "b")]))


@pytest.mark.parametrize(
    ("kind", "code"),
    [
        (Refusal, 3),
        (WrongUsage, 2),
        (NotFound, 3),
        (AlreadyOnRecord, 3),
        (NotAllowed, 3),
        (AlreadyOut, 3),
        (StoreUnusable, 4),
    ],
)
def test_each_kind_has_the_documented_exit_code(kind: type[Refusal], code: int) -> None:
    assert kind("x").exit_code == code
    assert BadInput("x", []).exit_code == 2
    assert (Exit.YES, Exit.NO, Exit.LIMITED_USE, Exit.NOT_CONCLUSIVE, Exit.FAULT, Exit.INTERRUPTED) == (
        0,
        1,
        5,
        6,
        70,
        130,
    )


def test_a_refusal_can_be_handed_from_one_thread_or_process_to_another() -> None:
    """Found so, not planted: BadInput could not be copied."""
    bad = BadInput("readings.csv", [Problem("row 2", "is empty")])
    for same in (copy.copy(bad), pickle.loads(pickle.dumps(bad))):
        assert str(same) == str(bad)
        assert same.problems == bad.problems


def test_a_reason_says_figure_limit_source_record_and_cure() -> None:
    reason = Reason(
        rule="job band", says="0.5 mm beyond the band", figure="−2.50 dB", limit="±2 dB", source="P-1 rev B, 5.3",
        record="check C-7", cure="Clean the tip and repeat.", weight=Weight.STOPS,
    )  # fmt: skip
    assert reason.in_words() == (
        "0.5 mm beyond the band −2.50 dB, limit ±2 dB (P-1 rev B, 5.3) [check C-7] → Clean the tip and repeat."
    )
    assert reason.as_dict()["weight"] == "stops"
    assert list(reason.as_dict()) == ["rule", "says", "figure", "limit", "source", "record", "cure", "weight"]
