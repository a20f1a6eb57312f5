"""Real processes beside the test's own, and how they end."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent


def writer(what: str, store: Path, *more: object) -> "subprocess.Popen[str]":
    """Start `tests.register.writer` in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "tests.register.writer", what, str(store), *map(str, more)],
        cwd=ROOT, env=os.environ | {"PYTHONPATH": str(ROOT)}, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )  # fmt: skip


def line(process: "subprocess.Popen[str]") -> str:
    """Return the next line that a process says; its fault if it says none."""
    assert process.stdout is not None
    said = process.stdout.readline().rstrip("\n")
    if not said:
        assert process.stderr is not None
        raise AssertionError(process.stderr.read())
    return said


def said(process: "subprocess.Popen[str]", stdin: str = "") -> list[str]:
    """Let a process end and return its lines."""
    out, wrong = process.communicate(stdin, timeout=120)
    assert process.returncode == 0, wrong
    return out.splitlines()


def kill(process: "subprocess.Popen[str]") -> list[str]:
    """Kill -9, and return what the process had said until then (a half line was not said)."""
    process.kill()
    out, _ = process.communicate()
    whole, _, _half = out.rpartition("\n")
    return whole.splitlines()
