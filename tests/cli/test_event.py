"""What happened to an item, by commands: recorded, corrected, withdrawn, seen, and in the way of work."""

import json
from pathlib import Path

from tests.cli.conftest import Run
from tests.cli.test_a_days_work import started as started
from tests.cli.test_bad_input import readings_file
from tests.given import KEEPER


def test_a_renewed_tape_stops_the_next_lot_until_a_new_start_check(started: Run, tmp_path: Path) -> None:
    said = started("event", "P-1", "tape renewed", "--tape", "PTFE", "--thickness", "0.10", "--as", "TESS")
    assert (said.code, said.out) == (0, "P-1: tape renewed; a new start check is asked for\n")

    said = started("lot", "J-1", "--start-check", "C-0001", "--parts", "holes 21 to 30", "--as", "TESS")
    assert said.code == 3
    assert "P-1: tape renewed 2031-03-15" in said.err
    assert "make a new start check first" in said.err

    said = started("check", "S-0001", readings_file(tmp_path, occasion="end"), "--job", "J-1", "--as", "TESS")
    assert said.code == 0
    assert "the check was read through the new tape, and closes the work before it" in said.out
    assert "Make a new start check before more parts are examined." in said.out


def test_what_an_event_would_cause_is_said_and_nothing_is_kept(started: Run) -> None:
    said = started("event", "I-1", "firmware changed", "--check", "--as", KEEPER)
    assert said.code == 0
    assert "Do not use it: I-1: firmware changed" in said.out
    assert "Start check C-0001 of setup S-0001 on job J-1 covers no more work" in said.out
    assert "Held by a finding, since no check can cover them any more: lot L-0001" in said.out
    assert said.out.endswith("Nothing is on record: without --check it is kept.\n")
    assert "firmware changed" not in started("show", "I-1").out
    started("event", "I-1", "firmware changed", "--as", KEEPER)
    entry = json.loads(started("log", "--json").out)["rows"][0]["sequence"]
    said = started("correct", "event", "I-1", str(entry), "--withdraw", "--why", "it was I-2", "--check", "--as", "TOM")
    assert said.code == 0
    assert "Start check C-0001 of setup S-0001 on job J-1 covers work again." in said.out


def test_a_repair_holds_lots_and_makes_the_end_check_not_conclusive(started: Run, tmp_path: Path) -> None:
    said = started("event", "I-1", "firmware changed", "--note", "version 2.4", "--as", KEEPER)
    assert said.code == 0
    assert "finding F-0001 holds the lots that no check covers now" in said.out
    said = started("check", "S-0001", readings_file(tmp_path, occasion="end"), "--job", "J-1", "--as", "TESS")
    assert said.code == 6
    assert "is not one record of one thing" in said.out


def test_an_event_is_seen_in_the_record_and_corrected_by_its_entry(refstd: Run) -> None:
    refstd("event", "P-1", "repaired", "--as", "TESS")
    said = refstd("show", "P-1", "--json")
    assert '"repaired"' in said.out
    entry = next(line for line in refstd("log", "--json").out.splitlines() if '"sequence"' in line).split(":")[1]
    number = entry.strip(" ,")
    own = refstd("correct", "event", "P-1", number, "--withdraw", "--why", "it was P-2", "--as", "TESS")
    assert own.code == 3
    assert "Ask a second person who may record events" in own.err
    wrong = refstd("correct", "event", "P-1", number, "--event", "firmware changed", "--why", "x", "--as", "TOM")
    assert wrong.code == 3
    assert "'firmware changed' does not happen to a probe" in wrong.err
    neither = refstd("correct", "event", "P-1", number, "--why", "x", "--as", "TESS")
    assert neither.code == 2
    said = refstd("correct", "event", "P-1", number, "--withdraw", "--why", "it was P-2", "--as", "TOM")
    assert said.code == 0
    said = refstd("show", "P-1", "--json")
    assert "withdrawn: repaired: it was P-2" in said.out


def test_what_cannot_have_happened_and_who_may_not_record_it_are_refused(refstd: Run) -> None:
    assert refstd("event", "P-1", "tape renewed", "--as", "TESS").code == 2
    assert refstd("event", "P-1", "melted", "--as", "TESS").code == 2
    assert refstd("event", "P-1", "knocked", "--as", "AUDE").code == 3
    assert refstd("event", "P-1", "knocked", "--happened-at", "2099-01-01", "--as", "TESS").code == 3


def test_a_day_alone_is_read_from_its_start_and_the_answer_says_so(started: Run) -> None:
    said = started("event", "P-1", "knocked", "--happened-at", "2031-03-14", "--as", "TESS")
    assert (said.code, said.out.splitlines()[1]) == (0, "It counts from the start of 2031-03-14: no time was given.")
    entry = json.loads(started("log", "--json").out)["rows"][0]["sequence"]
    again = ("--event", "knocked", "--happened-at", "2031-03-13", "--why", "it was the day before", "--as", "TESS")
    said = started("correct", "event", "P-1", str(entry), *again)
    assert (said.code, said.out.splitlines()[1]) == (0, "It counts from the start of 2031-03-13: no time was given.")
