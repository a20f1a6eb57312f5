"""What goes wrong at the command line: one clear sentence, a next step, the exit code of its kind, and nothing changed.

Planted bugs that these tests caught: an import that kept its good rows beside the refused ones; a refusal that fell through to the
net for unexpected faults; a readings file of empty rows that was taken for readings.
"""

import ctypes
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from refstd.register import engine
from tests.cli.conftest import Run, Said, state_of
from tests.given import KEEPER

HEADING = "set,occasion,rotation_deg,horizontal_gain_db,vertical_gain_db,nulled,phase_set,noise,happened_at,remedy,notch,horizontal,vertical"
GOOD = (("1.5 mm", "-20", "95"), ("1.0 mm", "-18", "80"), ("0.5 mm", "-12", "40"))


def readings_file(
    folder: Path, rows: tuple[tuple[str, str, str], ...] = GOOD, *, happened_at: str = "", occasion: str = "start"
) -> Path:
    """Write a readings file with one set."""
    lines = [f"1,{occasion},30,40,50,yes,yes,4,{happened_at},,{notch},{h},{v}" for notch, h, v in rows]
    path = folder / "readings.csv"
    path.write_text("\n".join([HEADING, *lines]) + "\n", encoding="utf-8")
    return path


def assert_refused(said: Said, code: int, sentence: str, step: str) -> None:
    """Assert that a command was refused in words, with a next step, and showed nothing of how it works inside."""
    assert said.code == code, said.err
    assert said.out == ""
    assert sentence in said.err
    assert step in said.err
    assert said.err.rstrip().endswith((".", "?", "…"))
    assert "Traceback" not in said.err
    assert "Error" not in said.err


@pytest.fixture
def unchanged(workshop: Path) -> Iterator[None]:
    """See to it that the store's bytes and the head of its log are the same after a test as before."""
    before = state_of(workshop)
    yield
    assert state_of(workshop) == before


@pytest.mark.usefixtures("unchanged")
def test_a_store_that_is_not_there_is_named_with_how_to_make_one(refstd: Run, tmp_path: Path) -> None:
    said = refstd("--db", tmp_path / "other.refstd", "due")
    assert_refused(said, 4, f"there is no store ({tmp_path / 'other.refstd'})", "`refstd init`")
    assert not (tmp_path / "other.refstd").exists()


@pytest.mark.usefixtures("unchanged")
def test_a_readings_file_that_is_not_there_is_named(refstd: Run, tmp_path: Path) -> None:
    said = refstd("check", "S-0001", tmp_path / "missing.csv", "--job", "J-1", "--as", "TESS")
    assert_refused(said, 2, "there is no such file", "Check its name and folder.")


def test_a_file_that_is_not_a_store_is_left_as_it_is(refstd: Run, tmp_path: Path) -> None:
    other = tmp_path / "notes.txt"
    other.write_text("asset,depth\nB-1,0.5\n" * 500)
    before = other.read_bytes()
    said = refstd("--db", other, "checkout", "J-1", "B-1", "--as", "TESS")
    assert_refused(said, 4, "the file is not a store of refstd; nothing was changed", "Name a store with --db")
    assert other.read_bytes() == before


def test_a_store_of_a_later_refstd_is_refused_and_left_as_it_is(refstd: Run, workshop: Path) -> None:
    connection = sqlite3.connect(workshop)
    connection.execute("PRAGMA user_version=99")
    connection.commit()
    connection.close()
    before = workshop.read_bytes()
    said = refstd("list", "blocks")
    assert_refused(said, 4, "the store was made by a later refstd", "Install that version or a later one.")
    assert workshop.read_bytes() == before


@pytest.mark.skipif(sys.platform != "linux", reason="gives up a superuser's power by a call of Linux")
def test_a_folder_that_may_not_be_written_refuses_the_act_and_still_answers(workshop: Path, tmp_path: Path) -> None:
    folder = tmp_path / "readable"
    folder.mkdir()
    store = folder / "lab.refstd"
    shutil.copyfile(workshop, store)
    before = state_of(store)
    store.chmod(0o444)
    folder.chmod(0o555)
    try:
        act = _without_power(store, "checkout", "J-1", "B-1", "--as", "TESS")
        question = _without_power(store, "status", "B-1")
    finally:
        folder.chmod(0o755)
        store.chmod(0o644)
    assert_refused(act, 4, "cannot be written", "Ask for write permission")
    assert question.code == 0, question.err
    assert "B-1: serviceable" in question.out
    assert state_of(store) == before


def _without_power(store: Path, *arguments: str) -> Said:
    """Run a command as the owner of its files but without a superuser's power to pass over their permissions."""
    command = [sys.executable, "-m", "refstd", "--db", str(store), *arguments]
    give_up = _give_up_passing_over_permissions if os.geteuid() == 0 else None
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60, preexec_fn=give_up)
    return Said(done.returncode, done.stdout, done.stderr)


def _give_up_passing_over_permissions() -> None:
    drop, override, read_search = (
        24,
        1,
        2,
    )  # PR_CAPBSET_DROP, CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH (Linux, capability.h)
    for power in (override, read_search):
        ctypes.CDLL(None).prctl(drop, power, 0, 0, 0)


def test_a_store_that_another_program_holds_is_refused_after_a_wait(
    refstd: Run, workshop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(engine._DURABLE, "busy_timeout", 50)  # or the test would wait the full ten seconds
    before = state_of(workshop)
    other = sqlite3.connect(workshop, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    try:
        said = refstd("checkout", "J-1", "B-1", "--as", "TESS")
    finally:
        other.execute("ROLLBACK")
        other.close()
    assert_refused(said, 4, "another program holds the store; nothing was changed", "Close it or wait, then try again.")
    assert state_of(workshop) == before


@pytest.mark.usefixtures("unchanged")
def test_a_number_that_is_taken_is_refused_with_its_row(refstd: Run, tmp_path: Path) -> None:
    blocks = tmp_path / "blocks.csv"
    blocks.write_text("asset_no,name,material,form\nB-7,new block,AL,plate\nb-1,again,AL,plate\n")
    said = refstd("add", "blocks", blocks, "--as", KEEPER)
    assert_refused(
        said, 2, "blocks.csv, row 3: the number B-1 is taken", "Numbers are never used again; choose another."
    )
    assert refstd("show", "B-7").code == 3


@pytest.mark.usefixtures("unchanged")
def test_a_job_number_that_is_taken_is_refused(refstd: Run) -> None:
    values = "--procedure PR-1 --parts panel --material AL --form plate --frequency-khz 200 --starts-on 2031-03-15 --ends-on 2031-03-16"
    said = refstd("job", "open", "J-1", *values.split(), "--as", "TESS")
    assert_refused(said, 3, "the number J-1 is taken", "choose another")


@pytest.mark.usefixtures("unchanged")
def test_a_notch_deeper_than_its_block_is_refused_unless_it_is_a_through_slot(refstd: Run, tmp_path: Path) -> None:
    (tmp_path / "blocks.csv").write_text("asset_no,name,material,form,thickness_mm\nB-7,thin block,AL,plate,2\n")
    notches = tmp_path / "notches.csv"
    notches.write_text("asset_no,label,depth_mm\nB-7,0.5 mm,0.5\nB-7,slot,2.5\n")
    said = refstd("add", "blocks", tmp_path / "blocks.csv", notches, "--as", KEEPER)
    assert_refused(
        said, 2, "notches.csv, row 3, notch 2 (slot): is 2.5 mm deep in a block of 2 mm", "mark it as a through slot"
    )
    notches.write_text("asset_no,label,depth_mm,through\nB-7,0.5 mm,0.5,no\nB-7,slot,2.5,yes\n")
    assert refstd("add", "blocks", tmp_path / "blocks.csv", notches, "--check", "--as", KEEPER).code == 0


def test_a_frequency_outside_the_probes_printed_range_is_a_warning_and_done(refstd: Run) -> None:
    said = refstd(
        "setup", "--instrument", "I-1", "--probe", "P-1", "--block", "B-1", "--frequency-khz", "600", "--measure",
        "vertical from balance", "--unit", "% FSH", "--as", "TESS",
    )  # fmt: skip
    assert said.code == 0
    assert said.out == "setup S-0002\n"
    assert "600 kHz is outside the range of P-1 on record, 50 to 500 kHz; the written procedure governs" in said.err


@pytest.mark.usefixtures("unchanged")
@pytest.mark.parametrize(
    ("written", "hint"),
    [("NaN", "Write a plain number"), ("inf", "Write a plain number"), ('"1,5"', "Write a point, not a comma."),
     ("1e3", "Write a plain number"), ("٣", "Write a plain number"), ("1_000", "Write a plain number")],
)  # fmt: skip
def test_a_reading_that_is_no_plain_number_is_refused_with_row_and_column(
    refstd: Run, tmp_path: Path, written: str, hint: str
) -> None:
    path = readings_file(tmp_path, (GOOD[0], ("1.0 mm", "-18", written)))
    said = refstd("check", "S-0001", path, "--job", "J-1", "--as", "TESS")
    assert_refused(said, 2, f"readings.csv, row 3, vertical: '{written.strip(chr(34))}' is not a plain number", hint)


@pytest.mark.usefixtures("unchanged")
@pytest.mark.parametrize(
    ("content", "sentence"), [("", "is empty"), (HEADING + "\n", "has no rows below its column names"), (HEADING + "\n,,,,,,,,,,,,\n", "has no rows")]
)  # fmt: skip
def test_readings_without_a_reading_are_refused(refstd: Run, tmp_path: Path, content: str, sentence: str) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(content)
    said = refstd("check", "S-0001", path, "--job", "J-1", "--as", "TESS")
    assert_refused(said, 2, sentence, "nothing was written")


@pytest.mark.usefixtures("unchanged")
def test_an_asset_that_is_not_on_record_is_refused_with_where_to_look(refstd: Run) -> None:
    for command in (
        ["status", "B-99"],
        ["checkout", "J-1", "B-99", "--as", "TESS"],
        ["checkin", "B-99", "--as", "TESS"],
    ):
        assert_refused(refstd(*command), 3, "'B-99' is not on record", "See `refstd list blocks`.")


def test_a_number_of_something_else_or_almost_right_is_answered_with_what_it_is(refstd: Run) -> None:
    """Planted bug it caught: 'an item with the number S-0001 is not on record', and the list of blocks."""
    setup = (
        "S-0001 is a setup, not an item",
        "See `refstd show S-0001`, or ask for its items: `refstd status I-1 P-1 B-1`.",
    )
    assert_refused(refstd("status", "S-0001"), 3, *setup)
    assert_refused(refstd("status", "B-1", "s-0001"), 3, *setup)
    assert_refused(refstd("match", "b-1"), 3, "B-1 is an item, not a job", "See `refstd show B-1`.")
    assert_refused(refstd("status", "tess"), 3, "TESS is a person, not an item", "See `refstd show TESS`.")
    for typed in ("B1", "b-01", "B 1", "b_1"):
        assert_refused(refstd("status", typed), 3, "is not on record", "Did you mean B-1? See `refstd list blocks`.")
    assert_refused(refstd("drift", "--setup", "s1"), 3, "is not on record", "Did you mean S-0001?")
    assert "Did you mean" not in refstd("status", "Q-777").err
    assert refstd("status", "b-1").code == refstd("status", "B-1").code == 0


def test_an_item_that_is_out_is_refused_with_its_holder_and_its_kit_stays(refstd: Run, workshop: Path) -> None:
    assert refstd("checkout", "J-1", "P-1", "--as", "TESS").code == 0
    before = state_of(workshop)
    said = refstd("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TOM")
    assert_refused(
        said, 3, "P-1 is out with TESS (job J-1, since 2031-03-15", "Have it checked in first; nothing was checked out."
    )
    assert state_of(workshop) == before


def test_a_quarantined_item_is_refused_with_the_reason(refstd: Run, workshop: Path) -> None:
    assert refstd("state", "P-1", "quarantined", "--why", "tip chipped", "--as", "TESS").code == 0
    before = state_of(workshop)
    said = refstd("checkout", "J-1", "B-1", "P-1", "I-1", "--as", "TESS")
    assert_refused(said, 3, "P-1 is quarantined", "Nothing was checked out.")
    assert state_of(workshop) == before


@pytest.mark.usefixtures("unchanged")
def test_someone_without_the_role_is_refused_with_whom_to_ask(refstd: Run, tmp_path: Path) -> None:
    said = refstd("checkout", "J-1", "B-1", "--as", "AUDE")
    assert_refused(said, 3, "AUDE (auditor) may not check out", "Ask a custodian or a technician.")
    (tmp_path / "probes.csv").write_text(
        "asset_no,name,form,circuit,coils,lowest_khz,highest_khz,connector\nP-9,p,pencil,bridge,absolute,50,500,four-pin\n"
    )
    said = refstd("add", "probes", tmp_path / "probes.csv", "--as", "TESS")
    assert_refused(said, 2, "TESS (technician) may not keep the register", "Ask a custodian.")
    said = refstd("import", tmp_path / "probes.csv", "--as", "TESS")
    assert_refused(said, 3, "TESS (technician) may not import", "Ask a custodian.")


@pytest.mark.usefixtures("unchanged")
def test_an_act_without_a_person_is_refused(refstd: Run) -> None:
    said = refstd("checkout", "J-1", "B-1")
    assert_refused(said, 2, "nobody is named as acting", "Say who acts with --as CODE")
    assert_refused(
        refstd("checkout", "J-1", "B-1", "--as", "X"), 3, "no person is on record as 'X'", "see `refstd list people`"
    )


@pytest.mark.usefixtures("unchanged")
def test_readings_of_the_future_are_refused(refstd: Run, tmp_path: Path) -> None:
    path = readings_file(tmp_path, happened_at="2031-03-16T08:00")
    said = refstd("check", "S-0001", path, "--job", "J-1", "--as", "TESS")
    assert_refused(said, 3, "the readings lie in the future (2031-03-16T08:00)", "Check the date and time.")


def test_readings_older_than_their_start_check_are_refused(refstd: Run, workshop: Path, tmp_path: Path) -> None:
    start = refstd(
        "check", "S-0001", readings_file(tmp_path, happened_at="2031-03-14T15:00"), "--job", "J-1", "--as", "TESS"
    )
    assert start.code == 0, start.err
    before = state_of(workshop)
    older = readings_file(tmp_path, happened_at="2031-03-14T14:00", occasion="interim")
    said = refstd("check", "S-0001", older, "--job", "J-1", "--as", "TESS")
    assert_refused(said, 3, "no start check of job J-1 was open on setup S-0001 at that time", "Check date and time")
    assert state_of(workshop) == before


def test_the_same_act_a_second_time_is_refused(refstd: Run, workshop: Path, tmp_path: Path) -> None:
    assert refstd("checkout", "J-1", "P-1", "--as", "TESS").code == 0
    assert refstd("checkin", "P-1", "--as", "TESS").code == 0
    probes = tmp_path / "probes.csv"
    probes.write_text(
        "asset_no,name,form,circuit,coils,lowest_khz,highest_khz,connector\nP-9,p,pencil,bridge,absolute,50,500,four-pin\n"
    )
    assert refstd("import", probes, "--as", KEEPER).code == 0
    before = state_of(workshop)
    assert_refused(refstd("checkin", "P-1", "--as", "TESS"), 3, "P-1 is not out", "see `refstd list out`")
    assert_refused(
        refstd("import", probes, "--as", KEEPER), 2, "probes.csv, row 2: the number P-9 is taken", "choose another"
    )
    assert_refused(
        refstd("setup", "--instrument", "I-1", "--probe", "P-1", "--block", "B-1", "--frequency-khz", "200", "--measure",
               "horizontal and vertical", "--unit", "% FSH", "--as", "TESS"),
        3, "this setup is on record as S-0001", "Use S-0001.",
    )  # fmt: skip
    assert state_of(workshop) == before


@pytest.mark.usefixtures("unchanged")
@pytest.mark.parametrize(
    ("arguments", "sentence", "step"),
    [
        (["due", "--within", "many"], "'many' is not a valid integer", "See `refstd due --help`."),
        (["due", "--withn", "3"], "No such option '--withn'", "Did you mean '--within'?"),
        (["du"], "No such command 'du'", "Did you mean 'due'?"),
        (["due", "--today", "1.4.2031"], "'1.4.2031' is not a date", "Write YYYY-MM-DD."),
        (["due", "--as-at", "yesterday"], "'yesterday' is not an instant", "Write YYYY-MM-DD or YYYY-MM-DDTHH:MM."),
        (["due", "--as-at", "2031-03-14", "--today", "2031-03-14"], "cannot be used together", "Give one of them."),
        (["due", "--today", "9999-12-31"], "9999-12-31 is out of range", "Give a day from 1900 to 2999."),
        (["due", "--as-at", "9999-12-31"], "'9999-12-31' is out of range", "Give an instant from 1900 to 2999."),
        (["due", "--as-at", "0001-01-01T00:00+14:00"], "is out of range", "Give an instant from 1900 to 2999."),
        (["list", "unicorns"], "'unicorns' is not a kind of list", "Use one of blocks, probes"),
        (["report", "due", "-o", "due.docx"], "cannot be written as '.docx'", ".pdf"),
        (["report", "item"], "needs to know what it is about", "Write `refstd report item NUMBER`."),
        (["verify", "--checkpoint", "12"], "'12' is not a checkpoint", "SEQUENCE:HASH"),
        (["check", "S-0001", "-", "--job", "J-1", "--procedure", "PR-1", "--as", "TESS"], "judged by the job's procedure", "Give --job alone."),
    ],
)  # fmt: skip
def test_a_request_that_cannot_be_understood_is_wrong_usage(
    refstd: Run, arguments: list[str], sentence: str, step: str
) -> None:
    assert_refused(refstd(*arguments), 2, sentence, step)


@pytest.mark.usefixtures("unchanged")
def test_stored_and_typed_text_reaches_the_terminal_without_its_control_characters(refstd: Run) -> None:
    said = refstd("status", "B-1\x1b]52;c;aGk=\x07")
    assert said.code == 3
    assert "\x1b" not in said.err
    said = refstd("due", "--today", "\x1b[2J")
    assert "\x1b" not in said.err
