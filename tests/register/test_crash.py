"""Kill -9 at any moment: what was acknowledged is there, what was not is there whole or not at all."""

import random
import time
from pathlib import Path

import pytest
from sqlalchemy import select

from refstd.register.care import open_lab
from refstd.register.integrity import verify_lab
from refstd.register.lab import Lab
from refstd.register.log import LogEntry
from tests import given
from tests.given import NOW
from tests.register import processes
from tests.register.on_disk import content

KILLS = 50
SEED = 20310314


def _operations(lab: Lab) -> list[str]:
    with lab.look(NOW) as look:
        return list(look.session.execute(select(LogEntry.operation).where(LogEntry.action == "item moved")).scalars())


def _kill_many_times(store: Path, kills: int) -> None:
    chance, acknowledged, seen = random.Random(SEED), set[str](), 0
    # Two writers are being started while one works: the start of Python is most of the time.
    waiting = [processes.writer("work", store) for _ in range(2)]
    for _ in range(kills):
        process = waiting.pop(0)
        assert processes.line(process) == "ready"
        time.sleep(chance.uniform(0, 0.08))
        acknowledged |= set(processes.kill(process))
        waiting.append(processes.writer("work", store))
        lab = open_lab(store)
        on_record = _operations(lab)
        assert acknowledged <= set(on_record), "an act that was acknowledged is gone"
        assert len(on_record) == len(set(on_record))
        assert len(on_record) >= seen
        seen = len(on_record)
        lab.close()
    for process in waiting:
        processes.kill(process)
    lab = open_lab(store)
    found = verify_lab(lab, deep=True)
    lab.close()
    assert found.problems == ()
    assert len(acknowledged) > kills // 5, "the writers were killed before they did anything"


def test_nothing_acknowledged_is_lost_when_the_writer_is_killed(store: Path) -> None:
    """Fifty kills. Caught: acknowledging before the commit; a now row written in a transaction of its own."""
    _kill_many_times(store, KILLS)


@pytest.mark.long
def test_nothing_acknowledged_is_lost_in_a_thousand_kills(store: Path) -> None:
    _kill_many_times(store, 1_000)


def test_a_writer_killed_inside_an_act_leaves_nothing_and_no_lock(store: Path) -> None:
    """The gate is a lock of the system's, so it dies with its holder. Caught: a gate made by creating a file."""
    lab = open_lab(store)
    given.item(lab, "P-1")
    given.job(lab, "J-1")
    before = content(store)
    process = processes.writer("hold", store)
    assert processes.line(process) == "holding"
    processes.kill(process)
    given.person(lab, "NEXT")
    lab.close()
    after = content(store)
    assert after["loan"] == before["loan"]
    assert after["loan_open"] == []
    assert len(after["log_entry"]) == len(before["log_entry"]) + 1
