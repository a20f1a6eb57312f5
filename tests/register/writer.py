"""A process of its own that works in a store: `python -m tests.register.writer WHAT FILE ...`, told to do so by a test.

work FILE           commits acts for ever and prints each operation once it is done
race FILE TAKER N   waits for a line on stdin, then tries to lend item k for each k of 1…N
crowd FILE NAME N   commits N acts
limited FILE KIB    makes a backup while no file may grow beyond KIB
hold FILE           stands inside a change until it is killed
"""

import itertools
import sys
import uuid
from datetime import timedelta
from pathlib import Path

from sqlalchemy.exc import IntegrityError

from refstd.base.errors import StoreUnusable
from refstd.register.care import open_lab
from refstd.register.copies import backup_file
from refstd.register.lab import Lab
from tests import given
from tests.given import KEEPER, NOON


def work(lab: Lab) -> None:
    """A loan, its return, over and over: two acts, four tables, one now table."""
    item, job = (
        given.item(lab, f"W-{uuid.uuid4().hex[:8].upper()}"),
        given.job(lab, f"J-{uuid.uuid4().hex[:8].upper()}"),
    )
    say("ready")
    for number in itertools.count(1):
        now = NOON + timedelta(minutes=number)
        operation = str(uuid.uuid4())
        with lab.change(by=KEEPER, now=now, operation=operation) as change:
            if number % 2:
                given.lend(change, item, job, happened_at=now)
            else:
                given.give_back(change, item, happened_at=now)
            change.record("item moved", number=number)
        say(operation)


def race(lab: Lab, taker: str, rounds: int) -> None:
    """Try for the items 1…rounds, one act each, and print who won."""
    say("ready")
    sys.stdin.readline()
    for item in range(1, rounds + 1):
        try:
            with lab.change(by=KEEPER, now=NOON, operation=f"{taker}-{item}") as change:
                given.lend(change, item, 1)
                change.record("item checked out", taker=taker)
            say(f"won {item}")
        except IntegrityError as error:
            say(f"lost {item} {error.orig}")


def crowd(lab: Lab, name: str, acts: int) -> None:
    """Commit a number of acts as fast as the gate lets us."""
    for number in range(acts):
        given.person(lab, f"{name}{number}")
    say("done")


def limited(lab: Lab, kib: int) -> None:
    """Back up while the system refuses to let a file grow: what a full disk does to us, without filling one."""
    import resource
    import signal

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (kib * 1024, kib * 1024))
    try:
        backup_file(lab, None, NOON)
        say("done")
    except StoreUnusable as refusal:
        say(f"refused: {refusal}")


def hold(lab: Lab) -> None:
    """Stand inside a change."""
    with lab.change(by=KEEPER, now=NOON) as change:
        given.lend(change, 1, 1)
        say("holding")
        sys.stdin.readline()


def say(line: str) -> None:
    """Write a line that the test reads at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Do what the command line says."""
    what, file, *rest = sys.argv[1:]
    lab = open_lab(Path(file))
    if what == "work":
        work(lab)
    elif what == "race":
        race(lab, rest[0], int(rest[1]))
    elif what == "crowd":
        crowd(lab, rest[0], int(rest[1]))
    elif what == "limited":
        limited(lab, int(rest[0]))
    else:
        hold(lab)


if __name__ == "__main__":
    main()
