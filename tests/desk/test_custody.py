"""Custody: a kit goes out whole or not at all, never twice, and comes back with its condition."""

import subprocess
import sys
from pathlib import Path

import pytest

from refstd.base.errors import AlreadyOut, NotFound, Refusal
from refstd.desk import custody, equipment, findings, kits, loans, serviceability
from refstd.desk.store import Lab, When
from refstd.reports import custody_sheet
from tests import thin_thread as given
from tests.given import KEEPER

KIT = ["B-1", "P-1", "I-1"]


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with a kit and a job for it."""
    given.whole(lab)
    return lab


def test_a_kit_goes_out_whole_and_comes_back(ready: Lab) -> None:
    custody.check_out(ready, "J-1", KIT, by="TESS", now=given.at(1))
    assert [o.asset_no for o in custody.out_now(ready, given.when(2))] == ["B-1", "I-1", "P-1"]
    custody.check_in(ready, KIT, by="TOM", now=given.at(60))
    assert custody.out_now(ready, given.when(61)) == ()
    assert [x.holder for x in loans.loans(ready, given.when(61))] == ["TESS"] * 3


def test_one_item_that_may_not_go_keeps_the_whole_kit_in(ready: Lab) -> None:
    equipment.set_state(ready, "P-1", "quarantined", "tip chipped", by=KEEPER, now=given.at(1))
    with pytest.raises(Refusal, match="P-1 is quarantined"):
        custody.check_out(ready, "J-1", KIT, by="TESS", now=given.at(2))
    assert custody.out_now(ready, given.when(3)) == ()


def test_an_item_that_is_out_is_refused_with_its_holder_and_since_when(ready: Lab) -> None:
    custody.check_out(ready, "J-1", ["P-1"], by="TESS", now=given.at(1))
    with pytest.raises(AlreadyOut, match="P-1 is out with TESS") as refused:
        custody.check_out(ready, "J-1", KIT, by="TOM", now=given.at(2))
    assert refused.value.where == "job J-1, since 2031-03-14 12:01"
    assert refused.value.remedy


def test_an_item_that_is_not_out_cannot_come_back(ready: Lab) -> None:
    with pytest.raises(NotFound, match="P-1 is not out"):
        custody.check_in(ready, ["P-1"], by="TESS", now=given.at(1))


def test_an_item_that_comes_back_not_sound_is_held(ready: Lab) -> None:
    custody.check_out(ready, "J-1", KIT, by="TESS", now=given.at(1))
    [number] = custody.check_in(ready, ["P-1"], sound=False, condition="tip chipped", by="TESS", now=given.at(9))
    [status] = serviceability.status(ready, ["P-1"], given.when(10))
    assert status.verdict.headline() == "do not use: P-1 is held: came back not sound: tip chipped"
    assert findings.findings(ready, given.when(10))[0].number == number


def test_a_late_kit_is_late_while_it_is_out_and_stays_on_record_as_late(ready: Lab) -> None:
    custody.check_out(ready, "J-1", ["P-1"], by="TESS", now=given.at(1))
    week = 7 * 24 * 60
    [out] = custody.out_now(ready, given.when(week))
    assert out.late
    custody.check_in(ready, ["P-1"], by="TESS", now=given.at(week))
    [loan] = loans.loans(ready, given.when(week + 1))
    assert loan.late_days == 1


def test_only_kits_that_may_go_out_are_offered(ready: Lab) -> None:
    given.probe(ready, "P-2", lowest_khz="500", highest_khz="2000")
    given.block(ready, "B-CS", material="CS")
    given.certified(ready, "B-CS")
    offered, rejected = kits.match(ready, "J-1", given.when())
    assert [m.asset_nos for m in offered] == [("B-1", "P-1", "I-1")]
    reasons = {m.subject: [r.says for r in m.reasons if r.weight == "stops"] for m in rejected}
    assert reasons["P-2"] == ["P-2 does not reach the job's frequency"]
    assert reasons["B-CS"] == ["B-CS is carbon steel, the part is aluminium alloy"]
    for m in offered:
        custody.check_out(ready, "J-1", m.asset_nos, by="TESS", now=given.at(1))


def test_a_kit_goes_on_with_another_person_and_who_had_it_at_any_instant_is_told(ready: Lab) -> None:
    custody.check_out(ready, "J-1", KIT, by="TESS", now=given.at(1))
    custody.hand_over(ready, ["P-1", "B-1"], "TOM", condition="tape fresh", by="TESS", now=given.at(60))
    assert {o.asset_no: o.loan.holder for o in custody.out_now(ready, given.when(61))} == {
        "B-1": "TOM", "I-1": "TESS", "P-1": "TOM"
    }  # fmt: skip
    custody.check_in(ready, KIT, by="TOM", now=given.at(120))
    past = [
        (x.holder, x.handed_to, x.out, x.condition) for x in loans.loans(ready, given.when(200)) if x.asset_no == "P-1"
    ]
    assert past == [("TESS", "TOM", False, "tape fresh"), ("TOM", "", False, "sound")]
    for minutes, holder in ((0.5, ""), (30, "TESS"), (90, "TOM"), (130, "")):
        sheet = custody_sheet(ready, When(given.at(600), as_at=given.at(minutes)), ["P-1"])
        says = dict(sheet.scope)["P-1"]
        assert says.startswith(f"with {holder} for job J-1" if holder else "not out"), says


@pytest.mark.parametrize(
    ("numbers", "to", "says"),
    [
        (["P-1"], "TESS", "TESS has P-1 already"), (["P-1"], "AUDE", "AUDE \\(auditor\\) may not check out"),
        (["P-1"], "NOBODY", "is not on record"), (["P-1", "B-2"], "TOM", "B-2 is not out"), ([], "TOM", "no item is named"),
    ],
)  # fmt: skip
def test_a_hand_over_is_refused_whole(ready: Lab, numbers: list[str], to: str, says: str) -> None:
    given.block(ready, "B-2")
    custody.check_out(ready, "J-1", KIT, by="TESS", now=given.at(1))
    with pytest.raises(Refusal, match=says):
        custody.hand_over(ready, numbers, to, by="TESS", now=given.at(2))
    assert {o.loan.holder for o in custody.out_now(ready, given.when(3))} == {"TESS"}


RACER = """
import sys
from pathlib import Path
from datetime import datetime
from refstd.base.errors import AlreadyOut, Refusal
from refstd.desk import custody
from refstd.desk.store import open_store
path, person, rounds, start = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), datetime.fromisoformat(sys.argv[4])
lab = open_store(path)
sys.stdout.write("ready\\n"); sys.stdout.flush()
for line in sys.stdin:
    try:
        custody.check_out(lab, "J-1", ["P-1"], by=person, now=start)
        answer = "won"
    except AlreadyOut:
        answer = "lost"
    sys.stdout.write(answer + "\\n"); sys.stdout.flush()
"""


def test_two_processes_racing_for_one_item_give_exactly_one_winner_in_200_tries(ready: Lab, tmp_path: Path) -> None:
    """Planted bug it caught: plain BEGIN in the door, without the writers' gate; the loser was told of a lock, not of the holder."""
    script = tmp_path / "racer.py"
    script.write_text(RACER)
    root = str(Path(__file__).parents[2])
    racers = [
        subprocess.Popen(
            [sys.executable, str(script), str(ready.path), person, "200", given.at(1).isoformat()],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=root, env={"PYTHONPATH": root, "PATH": ""},
        )
        for person in ("TESS", "TOM")
    ]  # fmt: skip
    for racer in racers:
        assert racer.stdout is not None
        assert racer.stdout.readline() == "ready\n"
    wins: dict[str, int] = {"TESS": 0, "TOM": 0}
    for _ in range(200):
        for racer in racers:
            assert racer.stdin is not None
            racer.stdin.write("go\n")
            racer.stdin.flush()
        answers = [r.stdout.readline().strip() for r in racers if r.stdout is not None]
        assert sorted(answers) == ["lost", "won"]
        [out] = custody.out_now(ready, given.when())
        assert {"TESS": "won", "TOM": "lost"}[out.loan.holder] == answers[0]
        wins[out.loan.holder] += 1
        custody.check_in(ready, ["P-1"], by=KEEPER, now=given.at(2))
    for racer in racers:
        assert racer.stdin is not None
        racer.stdin.close()
        racer.wait(timeout=30)
    assert sum(wins.values()) == 200
