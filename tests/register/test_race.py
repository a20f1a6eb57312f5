"""Several processes at once: one item, one winner; many writers, and each gets a turn."""

from pathlib import Path

import pytest

from refstd.register.care import open_lab
from refstd.register.custody import Loan, LoanOpen
from refstd.register.equipment import Equipment
from refstd.register.integrity import verify_lab
from refstd.register.people import Person
from tests import given
from tests.given import KEEPER, NOON
from tests.register import processes

ROUNDS = 200


def _race(store: Path, takers: str, rounds: int) -> None:
    lab = open_lab(store)
    with lab.change(by=KEEPER, now=NOON) as change:
        for number in range(1, rounds + 1):
            change.add(Equipment(asset_no=f"P-{number}", asset_key=f"p-{number}", kind="probe"))
        change.record("items entered")
    given.job(lab, "J-1")
    running = [processes.writer("race", store, taker, rounds) for taker in takers]
    for process in running:
        assert processes.line(process) == "ready"
    for process in running:
        assert process.stdin is not None
        process.stdin.write("go\n")
        process.stdin.flush()
    lines = [processes.said(process) for process in running]
    won = [int(said.split()[1]) for taker in lines for said in taker if said.startswith("won")]
    lost = [said for taker in lines for said in taker if said.startswith("lost")]
    assert sorted(won) == list(range(1, rounds + 1)), "each item has exactly one winner"
    assert len(lost) == (len(takers) - 1) * rounds
    assert all("loan_open.equipment_id" in said for said in lost)
    assert given.count(lab, Loan) == given.count(lab, LoanOpen) == rounds
    assert verify_lab(lab, deep=True).whole
    lab.close()


def test_two_people_racing_for_one_item_never_both_get_it(store: Path) -> None:
    """200 items. Caught: 'look, then insert' without the now table's key (both had it), under plain BEGIN."""
    _race(store, "AB", ROUNDS)


@pytest.mark.long
def test_eight_people_racing_for_one_item_never_two_get_it(store: Path) -> None:
    _race(store, "ABCDEFGH", 1_000)


def test_writers_in_a_crowd_lose_nothing(store: Path) -> None:
    """Caught: BEGIN for BEGIN IMMEDIATE (the head read by one was no longer the head when it wrote)."""
    running = [processes.writer("crowd", store, name, 40) for name in "ABC"]
    for process in running:
        assert processes.said(process) == ["done"]
    lab = open_lab(store)
    assert given.count(lab, Person) == 1 + 3 * 40
    assert verify_lab(lab, deep=True).whole
    lab.close()
