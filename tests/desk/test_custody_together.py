"""Custody under many hands: who has what is the replay of what was recorded, at every instant, whoever raced for it."""

import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule
from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.desk import custody
from refstd.desk.store import Lab, When
from refstd.register.custody import Loan, LoanHandover, LoanOpen, LoanReturn
from refstd.register.integrity import verify_lab
from tests import thin_thread as given
from tests.given import new_lab

KIT = ("B-1", "P-1", "I-1")
PEOPLE = ("TESS", "TOM", "LENA")
ITEMS = st.lists(st.sampled_from(KIT), min_size=1, max_size=3, unique=True)


class Custody(RuleBasedStateMachine):
    """Random acts by random people; the model is a dictionary that follows the words of the acts alone."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.lab = new_lab(Path(self.folder.name) / "lab.refstd")
        given.whole(self.lab)
        self.minute = 1
        self.held: dict[str, str] = {}
        self.known: list[tuple[float, dict[str, str]]] = []

    def _act(self, allowed: bool, after: dict[str, str], act: object) -> None:
        self.minute += 1
        try:
            act(given.at(self.minute))  # type: ignore[operator]
            assert allowed
            self.held = after
        except Refusal:
            assert not allowed
        self.known.append((self.minute, dict(self.held)))

    @rule(items=ITEMS, by=st.sampled_from(PEOPLE))
    def check_out(self, items: list[str], by: str) -> None:
        self._act(
            not self.held.keys() & set(items), self.held | dict.fromkeys(items, by),
            lambda now: custody.check_out(self.lab, "J-1", items, by=by, now=now),
        )  # fmt: skip

    @rule(items=ITEMS, to=st.sampled_from(PEOPLE), by=st.sampled_from(PEOPLE))
    def hand_over(self, items: list[str], to: str, by: str) -> None:
        self._act(
            all(self.held.get(i, to) != to for i in items), self.held | dict.fromkeys(items, to),
            lambda now: custody.hand_over(self.lab, items, to, by=by, now=now),
        )  # fmt: skip

    @rule(items=ITEMS, by=st.sampled_from(PEOPLE))
    def check_in(self, items: list[str], by: str) -> None:
        self._act(
            set(items) <= self.held.keys(), {i: p for i, p in self.held.items() if i not in items},
            lambda now: custody.check_in(self.lab, items, by=by, now=now),
        )  # fmt: skip

    @invariant()
    def who_has_it_now_is_the_replay(self) -> None:
        out = custody.out_now(self.lab, given.when(self.minute))
        assert {o.asset_no: o.loan.holder for o in out} == self.held

    def teardown(self) -> None:
        """Ask of every instant of the past again."""
        for minute, held in self.known:
            out = custody.out_now(self.lab, When(given.at(10_000), as_at=given.at(minute)))
            assert {o.asset_no: o.loan.holder for o in out} == held
        self.lab.close()
        self.folder.cleanup()


TestCustody = Custody.TestCase
TestCustody.settings = settings(max_examples=5, stateful_step_count=10, deadline=None)

CROWD = """
import random, sys, time
from datetime import datetime
from pathlib import Path
from refstd.base.errors import Refusal
from refstd.desk import custody
from refstd.desk.store import open_store
path, person, seconds, start = Path(sys.argv[1]), sys.argv[2], float(sys.argv[3]), datetime.fromisoformat(sys.argv[4])
lab, dice, done = open_store(path), random.Random(person + sys.argv[5]), 0
sys.stdin.readline()
tries, until = 0, time.monotonic() + seconds
while tries < 8 or time.monotonic() < until:
    tries += 1
    items = dice.sample(["B-1", "P-1", "I-1"], dice.randint(1, 3))
    act = dice.choice(["out", "out", "over", "in"])
    try:
        if act == "out":
            custody.check_out(lab, "J-1", items, by=person, now=start)
        elif act == "over":
            custody.hand_over(lab, items, dice.choice(["TESS", "TOM", "LENA"]), by=person, now=start)
        else:
            custody.check_in(lab, items, by=person, now=start)
        done += 1
    except Refusal:
        pass
print(done)
"""


@pytest.mark.parametrize("seconds", [0, pytest.param(10, marks=pytest.mark.long)])
def test_eight_processes_over_one_store_never_give_one_item_twice(lab: Lab, tmp_path: Path, seconds: int) -> None:
    """Eight processes check out, hand over and check in at once, eight tries each or for so long; the rows are then replayed.

    Planted bug it caught: the check of open loans and the key of the now table taken out together.
    """
    given.whole(lab)
    script = tmp_path / "crowd.py"
    script.write_text(CROWD)
    root = str(Path(__file__).parents[2])
    crowd = [
        subprocess.Popen(
            [sys.executable, str(script), str(lab.path), PEOPLE[n % 3], str(seconds), given.at(1).isoformat(), str(n)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=root, env={"PYTHONPATH": root, "PATH": ""},
        )
        for n in range(8)
    ]  # fmt: skip
    done = _all_done(crowd)
    assert sum(done) > 8, "too few acts to tell"
    with lab.look(given.when()) as look:
        rows: list[Loan | LoanHandover | LoanReturn] = [
            *look.session.execute(select(Loan)).scalars(), *look.session.execute(select(LoanHandover)).scalars(),
            *look.session.execute(select(LoanReturn)).scalars(),
        ]  # fmt: skip
        open_rows = {r.equipment_id: r.loan_id for r in look.session.execute(select(LoanOpen)).scalars()}
    out: dict[int, Loan] = {}
    for row in sorted(rows, key=lambda r: r.entry):
        if isinstance(row, Loan):
            assert row.equipment_id not in {x.equipment_id for x in out.values()}, "given out twice"
            out[row.id] = row
        else:
            assert row.loan_id in out, "what is not out was handed over or came back"
            if isinstance(row, LoanReturn):
                del out[row.loan_id]
    assert open_rows == {x.equipment_id: x.id for x in out.values()}
    assert verify_lab(lab, deep=True).whole


def _all_done(crowd: list[subprocess.Popen[str]]) -> list[int]:
    """Let all begin at once and return how many acts each did."""
    for p in crowd:
        assert p.stdin is not None
        p.stdin.write("go\n")
        p.stdin.flush()
    return [int(p.communicate(timeout=300)[0]) for p in crowd]
