"""Starting and ending: help and version at once, no screens without a terminal, quiet ends, faults kept in a file."""

import os
import pty
import re
import select
import shlex
import signal
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest

from refstd import __version__
from refstd.cli.root import refstd as root
from refstd.desk.store import verify
from tests.cli.conftest import Run, state_of
from tests.given import KEEPER

HEAVY = ("textual", "sqlalchemy", "numpy", "scipy", "pydantic", "alembic", "typst")


def commands(group: click.Group, path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Return the path of every command, such as ('finding', 'open')."""
    ctx = click.Context(group)
    found: list[tuple[str, ...]] = []
    for name in group.list_commands(ctx):
        command = group.get_command(ctx, name)
        found.append((*path, name))
        if isinstance(command, click.Group):
            found += commands(command, (*path, name))
    return found


@pytest.mark.parametrize("arguments", [["--version"], ["--help"], ["check", "--help"], ["due", "--nonsense"]])
def test_help_and_version_load_neither_the_records_nor_the_screens(arguments: list[str]) -> None:
    program = (
        "import sys\nfrom refstd.cli import run_command\n"
        f"code = run_command({arguments!r})\n"
        f"print('LOADED', [m for m in {HEAVY!r} if m in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.rstrip().endswith("LOADED []")


def test_the_version_is_the_packages(refstd: Run) -> None:
    assert refstd("--version") == type(refstd("--version"))(0, f"refstd {__version__}\n", "")


@pytest.mark.parametrize("path", commands(root), ids=" ".join)
def test_every_command_has_help_with_an_example_that_names_it(refstd: Run, path: tuple[str, ...]) -> None:
    said = refstd(*path, "--help")
    assert said.code == 0
    example = re.search(r"^Examples?:\n((?:  .+\n)+)", said.out, re.MULTILINE)
    assert example is not None
    assert f"refstd {path[0]}" in example[1]


def test_every_example_is_a_command_that_is_understood() -> None:
    lines = [(path, line) for path in commands(root) for line in _examples(path)]
    assert len(lines) > 30
    for path, line in lines:
        words = shlex.split(line.split(" <")[0])[1:]
        context = click.Context(root, info_name="refstd")
        command: click.Command = root
        while isinstance(command, click.Group):
            name, found, words = command.resolve_command(context, words)
            assert found is not None, line
            command = found
            context = (
                click.Context(found, parent=context, info_name=name) if isinstance(found, click.Group) else context
            )
        assert command.make_context(path[-1], words, parent=context), line


def _examples(path: tuple[str, ...]) -> list[str]:
    command: click.Command = root
    for name in path:
        assert isinstance(command, click.Group)
        found = command.get_command(click.Context(command), name)
        assert found is not None
        command = found
    examples = getattr(command, "examples", [])
    assert examples, path
    return list(examples)


def test_help_names_every_exit_code(refstd: Run) -> None:
    said = refstd("--help")
    for code, meaning in ((0, "yes"), (1, "no"), (2, "wrong usage"), (3, "refused"), (4, "store"), (5, "limited use"),
                          (6, "not conclusive"), (70, "fault"), (130, "interrupted")):  # fmt: skip
        assert re.search(rf"\b{code}  [^\n]*{meaning}", said.out), code


def test_without_a_terminal_the_screens_do_not_open(workshop: Path) -> None:
    for arguments in ([], ["demo"]):
        done = subprocess.run(
            [sys.executable, "-m", "refstd", *arguments],
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
            timeout=60,
        )
        assert done.returncode == 2
        assert "the screens need a terminal." in done.stderr
        assert "refstd" in done.stderr.split("terminal.")[1]
        assert done.stdout == ""


def test_a_reader_that_goes_away_ends_the_command_quietly(workshop: Path) -> None:
    command = subprocess.Popen(
        [sys.executable, "-m", "refstd", "list", "blocks"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert command.stdout is not None
    assert command.stderr is not None
    command.stdout.close()  # as `head` does when it has seen enough
    assert command.stderr.read() == ""
    command.stderr.close()
    assert command.wait(60) == 141


def test_an_unexpected_fault_ends_with_70_and_its_details_are_in_a_file(
    refstd: Run, workshop: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("planted")

    before = state_of(workshop)
    monkeypatch.setattr("refstd.desk.custody.keep_check_out", broken)
    said = refstd("checkout", "J-1", "B-1", "--as", "TESS")
    log = tmp_path / "state" / "refstd" / "faults.log"
    assert said.code == 70
    assert str(log) in said.err
    assert "Traceback" not in said.err
    assert "ZeroDivisionError: planted" in log.read_text()
    assert state_of(workshop) == before


def test_a_fault_whose_details_cannot_be_kept_is_still_told_in_words(
    refstd: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "state").write_text("a file where the folder should be")
    monkeypatch.setattr("refstd.desk.serviceability.status", lambda *_: 1 / 0)
    said = refstd("status", "B-1")
    assert said.code == 70
    assert "could not be written to a file: ZeroDivisionError." in said.err


def test_an_interrupt_ends_with_130_and_leaves_nothing_half_done(
    refstd: Run, workshop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    before = state_of(workshop)
    monkeypatch.setattr("refstd.desk.custody.named", interrupted)
    said = refstd("checkout", "J-1", "B-1", "--as", "TESS")
    assert said.code == 130
    assert "left nothing behind" in said.err
    assert state_of(workshop) == before


def test_options_of_the_store_and_the_person_stand_before_or_behind_the_command(refstd: Run, workshop: Path) -> None:
    first = refstd("--db", workshop, "--as", "TESS", "checkout", "J-1", "P-1")
    second = refstd("checkin", "P-1", "--db", workshop, "--as", "TESS")
    assert (first.code, second.code) == (0, 0)


def test_the_environment_names_the_person_and_an_option_outdoes_it(
    refstd: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("REFSTD_AS", "TESS")
    assert "out to TESS" in refstd("checkout", "J-1", "P-1").out
    assert "out to TOM" in refstd("checkout", "J-1", "B-1", "--as", "TOM").out


def test_a_new_store_is_made_once_and_its_head_is_the_last_line_of_verify(refstd: Run, tmp_path: Path) -> None:
    path = tmp_path / "new.refstd"
    arguments = [
        "init",
        "--db",
        str(path),
        "--name",
        "Lab",
        "--time-zone",
        "Europe/Dublin",
        "--code",
        "cus",
        "--person",
        "Ada Moss",
    ]
    assert refstd(*arguments).code == 0
    again = refstd(*arguments)
    assert (again.code, "exists already" in again.err) == (4, True)
    said = refstd("verify", "--deep", "--db", path)
    head = verify(path, deep=True).head
    assert head is not None
    assert said.out.splitlines()[-1] == f"head {head.sequence} {head.hash}"
    assert refstd("verify", "--db", path, "--checkpoint", f"{head.sequence}:{head.hash}").code == 0
    other = refstd("verify", "--db", path, "--checkpoint", f"{head.sequence}:{'0' * 64}")
    assert other.code == 1
    assert "the log was written anew" in other.out


def test_a_backup_is_restored_and_what_stood_there_is_kept(refstd: Run, workshop: Path) -> None:
    said = refstd("backup", "--as", KEEPER)
    assert said.code == 0
    kept = said.out.splitlines()[0].removeprefix("backup ")
    refstd("state", "P-1", "quarantined", "--why", "tip worn", "--as", KEEPER)
    assert refstd("restore", kept, "--as", KEEPER).code == 0
    assert refstd("status", "P-1").code == 0
    assert refstd("verify", "--deep").code == 0


def test_doctor_says_what_to_do_and_that_there_is_no_backup(refstd: Run) -> None:
    said = refstd("doctor")
    assert said.code == 1
    assert "look  newest backup: none  → Run `refstd backup`." in said.out
    refstd("backup", "--as", KEEPER)
    assert refstd("doctor").code == 0


def test_a_request_to_end_gives_the_terminal_back(workshop: Path) -> None:
    """SIGTERM as a service stop sends it, SIGHUP as a closed window does: the alternate screen is left, the cursor shown."""
    for number in (signal.SIGTERM, signal.SIGHUP):
        seen, code = _on_a_terminal(workshop, number)
        assert b"\x1b[?1049h" in seen
        assert seen.rindex(b"\x1b[?1049l") > seen.rindex(b"\x1b[?1049h")
        assert b"\x1b[?25h" in seen
        assert code == 128 + number


def _on_a_terminal(store: Path, number: int) -> tuple[bytes, int]:
    """Open the screens on a pseudo-terminal, send a signal once they drew, and return what was written and the exit code."""
    pid, terminal = pty.fork()
    if pid == 0:
        os.environ |= {"TERM": "xterm-256color", "COLUMNS": "100", "LINES": "30"}
        os.execv(sys.executable, [sys.executable, "-m", "refstd", "--db", str(store), "--as", "TESS"])
    seen, sent, patience = b"", False, time.monotonic() + 60
    while time.monotonic() < patience:
        ready, _, _ = select.select([terminal], [], [], 1)
        if ready:
            try:
                seen += os.read(terminal, 65536)
            except OSError:
                break
        if not sent and b"\x1b[?1049h" in seen and not ready:
            os.kill(pid, number)
            sent = True
    _, status = os.waitpid(pid, 0)
    os.close(terminal)
    return seen, os.waitstatus_to_exitcode(status)
