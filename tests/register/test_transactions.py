# ruff: noqa: PT012 (an act is a block, and the whole block is refused)
"""One act: rows and log entry together, or nothing; and what may not happen inside one."""

import asyncio
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, select, text
from sqlalchemy.exc import IntegrityError

from refstd.base.errors import NotAllowed, Refusal, StoreUnusable
from refstd.register import engine as engine_module
from refstd.register.care import open_lab
from refstd.register.integrity import verify_lab
from refstd.register.lab import CLOCK_SLACK, Lab, When
from refstd.register.log import LogEntry
from refstd.register.people import Person
from tests import given
from tests.given import KEEPER, NOON, NOW
from tests.register.on_disk import content, plain

A_DAY = timedelta(days=1)


def _newcomer(code: str = "NEW") -> Person:
    return Person(code=code, code_key=code.casefold())


def test_a_change_that_records_nothing_is_undone(lab: Lab, store: Path) -> None:
    """Caught: `_commit` without its check for an action (rows would stand that no log entry explains)."""
    before = content(store)
    with pytest.raises(RuntimeError, match="without a log entry"), lab.change(by=KEEPER, now=NOON) as change:
        change.add(_newcomer())
    assert content(store) == before


def test_a_change_inside_a_change_is_refused_and_both_are_undone(lab: Lab, store: Path) -> None:
    """Caught: forgetting to look at the context variable (the inner act waited for the outer one's lock for ever)."""
    before = content(store)
    with (
        pytest.raises(RuntimeError, match="does not call another use case"),
        lab.change(by=KEEPER, now=NOON) as outer,
    ):
        outer.add(_newcomer())
        with lab.change(by=KEEPER, now=NOON) as inner:
            inner.record("inner act")
    assert content(store) == before
    given.person(lab, "AFTER")  # and the door is free again


def test_an_act_is_recorded_once(lab: Lab, store: Path) -> None:
    before = content(store)
    with pytest.raises(RuntimeError, match="recorded once"), lab.change(by=KEEPER, now=NOON) as change:
        change.record("first")
        change.record("second")
    assert content(store) == before


class Boom(Exception):
    """A fault of our own."""


FAULTS: list[Callable[[], BaseException]] = [
    Boom, KeyboardInterrupt, SystemExit, asyncio.CancelledError, MemoryError, lambda: sqlite3.OperationalError("disk I/O error"),
]  # fmt: skip
NAMED_AS: tuple[type[BaseException], ...] = (
    Boom, KeyboardInterrupt, SystemExit, asyncio.CancelledError, MemoryError, StoreUnusable, sqlite3.OperationalError,
)  # fmt: skip


@contextmanager
def _fault_after(lab: Lab, number: int, fault: Callable[[], BaseException] | None) -> Iterator[list[str]]:
    """Raise right after the `number`th statement of the engine (counted from 1; COMMIT counts before it is done)."""
    seen: list[str] = []

    def statement(_c: Any, _cursor: Any, sql: str, *_rest: Any) -> None:
        seen.append(sql)
        if fault and len(seen) == number:
            raise fault()

    def commit(_connection: Any) -> None:
        statement(None, None, "COMMIT")

    event.listen(lab.engine, "after_cursor_execute", statement)
    event.listen(lab.engine, "commit", commit)
    try:
        yield seen
    finally:
        event.remove(lab.engine, "after_cursor_execute", statement)
        event.remove(lab.engine, "commit", commit)


def test_a_fault_after_any_statement_leaves_nothing(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No row, and no lock: the next act need not wait.

    Caught: autocommit instead of BEGIN IMMEDIATE (rows of a half-done check-out stayed); and, not planted, a lock that
    stayed in the pool after Ctrl-C inside a statement.
    """
    monkeypatch.setitem(engine_module._DURABLE, "busy_timeout", 50)
    lab = open_lab(store)
    items, work = [given.item(lab, f"P-{n}") for n in range(5)], given.job(lab, "J-1")

    def check_out() -> None:
        with lab.change(by=KEEPER, now=NOON) as change:
            for item in items:
                given.lend(change, item, work)
            change.record("kit checked out", job="J-1")

    number, before = 0, content(store)
    for fault in FAULTS:
        number = 0
        while True:
            number += 1
            with _fault_after(lab, number, fault) as seen:
                try:
                    check_out()
                    break
                except NAMED_AS as error:
                    told = str(error)
            assert "another program" not in told, f"the lock of statement {number - 1} is still held"
            assert len(seen) == number
            assert content(store) == before, f"{fault} after statement {number}: {seen[-1]}"
        with lab.change(by=KEEPER, now=NOON) as change:  # it went through at last: put all back for the next round
            for item in items:
                given.give_back(change, item)
            change.record("kit checked in")
        before = content(store)
    assert number > 20, "the act has more statements than that"
    assert verify_lab(lab, deep=True).whole
    lab.close()


def test_a_look_cannot_write(lab: Lab, store: Path) -> None:
    """Caught: `look` without query_only."""
    before = content(store)
    for attempt in (
        "INSERT INTO person (code, code_key, id, recorded_at, entry) VALUES ('X', 'x', 9, 't', 1)",
        "DELETE FROM loan_open",
        "CREATE TABLE own (n)",
        "PRAGMA user_version=9",
    ):
        with pytest.raises(StoreUnusable, match="read-only"), lab.look(NOW) as look:
            look.session.execute(text(attempt))
    with pytest.raises(StoreUnusable, match="read-only"), lab.look(NOW) as look:
        look.session.add(Person(code="X", code_key="x", entry=1, recorded_at=NOON))
        look.session.commit()
    assert content(store) == before
    given.person(lab, "AFTER")  # the same pooled connection writes again in a change


def test_the_same_operation_twice_is_one_act(lab: Lab, store: Path) -> None:
    """Caught: the look-up of the operation left out (the second Enter ended in a bare constraint error)."""
    with lab.change(by=KEEPER, now=NOON, operation="enter-1") as change:
        change.add(_newcomer())
        change.record("person entered")
    before = content(store)
    with (
        pytest.raises(Refusal, match=r"already done: person entered \(log entry 2\)"),
        lab.change(by=KEEPER, now=NOON, operation="enter-1") as change,
    ):
        raise AssertionError("the act began a second time")
    assert content(store) == before


def test_the_recorded_instant_never_runs_backwards(lab: Lab) -> None:
    """Caught: `instant = now` (after setting the clock back, 'as at' would have found the later act first)."""
    given.person(lab, "A", now=NOON + A_DAY)
    given.person(lab, "B", now=NOON - A_DAY)
    given.person(lab, "C", now=NOON + 2 * A_DAY)
    with lab.look(NOW) as look:
        instants = list(look.session.execute(select(LogEntry.recorded_at).order_by(LogEntry.sequence)).scalars())
    assert instants == sorted(instants)
    assert instants[-2] == NOON + A_DAY
    assert instants[-1] == NOON + 2 * A_DAY


def test_what_lies_in_the_future_is_not_recorded(lab: Lab, store: Path) -> None:
    """Caught: the comparison turned round."""
    item, work = given.item(lab, "P-1"), given.job(lab, "J-1")
    before = content(store)
    with pytest.raises(Refusal, match="lies in the future"), lab.change(by=KEEPER, now=NOON) as change:
        given.lend(change, item, work, happened_at=NOON + CLOCK_SLACK + timedelta(seconds=1))
        change.record("item checked out")
    assert content(store) == before
    with lab.change(by=KEEPER, now=NOON) as change:  # two computers never agree to the second
        given.lend(change, item, work, happened_at=NOON + CLOCK_SLACK)
        change.record("item checked out")


def test_an_instant_without_its_zone_is_our_own_mistake(lab: Lab, store: Path) -> None:
    before = content(store)
    with pytest.raises(TypeError), lab.change(by=KEEPER, now=NOON.replace(tzinfo=None)):
        pass
    assert content(store) == before


def test_a_question_as_at_the_future_is_refused(lab: Lab) -> None:
    """Its answer would change with the next act. Caught: `_window` without the comparison with `now`."""
    with pytest.raises(Refusal, match="lies in the future"), lab.look(When(NOON, as_at=NOON + A_DAY)):
        pass
    with lab.look(When(NOON, as_at=NOON)) as look:
        assert look.upto == 1


def test_a_question_as_at_a_past_instant_sees_what_was_on_record_then(lab: Lab) -> None:
    """Caught: `<` for `<=` (an act was not yet seen at the very instant of its recording)."""
    given.person(lab, "A", now=NOON)
    given.person(lab, "B", now=NOON + A_DAY)
    later = NOON + 9 * A_DAY
    for as_at, upto in ((NOON - timedelta(microseconds=1), 1), (NOON, 2), (NOON + A_DAY, 3), (later, 3)):
        with lab.look(When(later, as_at=as_at)) as look:
            assert look.upto == upto
    with pytest.raises(Refusal, match="nothing from that long ago"), lab.look(When(later, as_at=NOON - 9 * A_DAY)):
        pass


def test_the_day_is_that_of_the_labs_zone(lab: Lab) -> None:
    """Dublin was at UTC+1 on 2030-07-01. Caught: `.date()` on the UTC instant."""
    just_before_midnight_utc = NOON.replace(year=2030, month=6, day=30, hour=23, minute=30)
    with lab.look(When(just_before_midnight_utc)) as look:
        assert look.today.isoformat() == "2030-07-01"


def test_a_stranger_and_somebody_who_left_cannot_act(lab: Lab, store: Path) -> None:
    gone = given.person(lab, "GONE")
    given.left(lab, gone)
    before = content(store)
    for code, why in (("NOBODY", "no person is on record"), ("GONE", "no longer works here"), ("", "no person")):
        with pytest.raises(NotAllowed, match=why), lab.change(by=code, now=NOON) as change:
            change.record("tried")
    assert content(store) == before


def test_rows_committed_past_the_door_are_refused_by_the_database(lab: Lab, store: Path) -> None:
    """The deferred key to the log entry holds even a commit inside an act. Caught: the key made immediate or absent."""
    before = content(store)
    with pytest.raises(IntegrityError, match="FOREIGN KEY"), lab.change(by=KEEPER, now=NOON) as change:
        change.add(_newcomer())
        change.session.commit()
    assert content(store) == before


def test_a_row_changed_after_it_was_added_is_refused(lab: Lab, store: Path) -> None:
    before = content(store)
    with pytest.raises(IntegrityError, match="never changed"), lab.change(by=KEEPER, now=NOON) as change:
        row = change.add(_newcomer())
        row.code = "OTHER"
        change.record("person entered")
    assert content(store) == before


def test_eight_threads_at_once_lose_nothing(lab: Lab) -> None:
    """Caught: BEGIN instead of BEGIN IMMEDIATE together with no gate ('database is locked' after no wait at all)."""
    wrong: list[BaseException] = []

    def enter(name: str) -> None:
        try:
            for number in range(5):
                given.person(lab, f"{name}{number}")
                with lab.look(NOW) as look:
                    assert look.session.execute(select(Person).where(Person.code == f"{name}{number}")).scalar_one()
        except BaseException as error:
            wrong.append(error)

    threads = [threading.Thread(target=enter, args=(name,)) for name in "ABCDEFGH"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    assert given.count(lab, Person) == 1 + 8 * 5
    assert given.count(lab, LogEntry) == 1 + 8 * 5
    assert verify_lab(lab, deep=True).whole


@pytest.mark.parametrize("landed", [True, False])
def test_after_a_failing_commit_the_truth_is_told(
    lab: Lab, store: Path, landed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk may report an error for a commit that held. Caught: raising without looking, and not raising at all."""
    real = lab.engine.dialect.do_commit
    before = content(store)

    def fails(connection: Any) -> None:
        if landed:
            real(connection)
        raise sqlite3.OperationalError("disk I/O error")

    with monkeypatch.context() as patch:
        patch.setattr(lab.engine.dialect, "do_commit", fails)
        try:
            given.person(lab, "NEW")
            told_it_is_done = True
        except StoreUnusable:
            told_it_is_done = False
    assert told_it_is_done is landed
    assert (content(store) != before) is landed


def test_a_reader_that_stays_makes_the_writer_give_up_with_a_sentence(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Caught: looking whether the commit landed while still holding the lock (the look waited for its own writer)."""
    monkeypatch.setitem(engine_module._DURABLE, "busy_timeout", 200)
    before = content(store)
    lab = open_lab(store)
    answers: list[bool] = []
    real = lab._landed

    def landed(operation: str) -> bool:
        answers.append(real(operation))
        return answers[-1]

    monkeypatch.setattr(lab, "_landed", landed)
    with plain(store) as reader:
        cursor = reader.execute("SELECT * FROM log_entry, sqlite_master")
        cursor.fetchone()
        with pytest.raises(StoreUnusable, match="another program holds the store; nothing was changed"):
            given.person(lab, "NEW")
        cursor.close()
    assert answers == [False]  # it got an answer: the store was not kept locked by the failed commit
    assert content(store) == before
    given.person(lab, "NEW")
    lab.close()


def test_a_damaged_page_met_while_looking_is_told_as_damage(lab: Lab, store: Path) -> None:
    """Caught: only OperationalError turned into words (SQLite reports damage as another kind of error)."""
    for number in range(40):
        given.person(lab, f"A{number}")
    lab.close()
    with plain(store) as connection:
        (page,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'person_revision'").fetchone()
        (size,) = connection.execute("PRAGMA page_size").fetchone()
    with store.open("r+b") as file:
        file.seek((page - 1) * size)
        file.write(b"\xff" * 64)
    again = open_lab(store)
    with pytest.raises(StoreUnusable, match="damaged"), again.look(NOW) as look:
        look.session.execute(text("SELECT * FROM person_revision")).all()
    with pytest.raises(StoreUnusable, match="damaged"):
        given.person(again, "LAST")
    again.close()
