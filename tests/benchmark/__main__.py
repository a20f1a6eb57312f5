"""Print the ratios. Nothing here passes or fails; a person compares runs."""

import os
import pty
import select
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from refstd.desk import checks, duties, serviceability, store
from refstd.desk.clock import utc_now
from refstd.desk.store import When
from refstd.eddy.coil import Coil, impedance_change_ohm
from refstd.rules.condition import condition, condition_reasons
from refstd.rules.response import Outcome, judge_response
from tests import thin_thread
from tests.given import NOON, new_lab
from tests.rules.occasions import asked, limit, readings, target

ROUNDS = 9
ROOT = Path(__file__).parents[2]
BARE_APP = """
from textual.app import App, ComposeResult
from textual.widgets import Label
class Bare(App):
    def compose(self) -> ComposeResult:
        yield Label("MARK")
Bare().run()
"""


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "demo.refstd"
        built = once(lambda: run([sys.executable, "-m", "refstd", "demo", folder, "--build-only"]))
        path = next(Path(folder).glob("*.refstd"))
        show("build of the sample lab", f"{built:.1f} s, {path.stat().st_size / 1e6:.1f} MB")
        start_up(path)
        questions(path)
    one_check()
    coil_integral()


def start_up(path: Path) -> None:
    """Compare whole processes, taken in turn so that a slow minute hits both."""
    nothing, helped, bare, opened = [], [], [], []
    for _ in range(ROUNDS):
        nothing.append(once(lambda: run([sys.executable, "-c", "pass"])))
        helped.append(once(lambda: run([sys.executable, "-m", "refstd", "--help"])))
        bare.append(first_paint([sys.executable, "-c", BARE_APP], b"MARK"))
        opened.append(first_paint([sys.executable, "-m", "refstd", "--db", str(path)], b"attribution"))
    ratio("refstd --help ÷ python -c pass", helped, nothing)
    ratio("first screen ÷ bare Textual app", opened, bare)


def questions(path: Path) -> None:
    """Time the questions that a day is made of, on the sample lab."""
    verified = once(lambda: store.verify(path, deep=True))
    lab = store.open_store(path)
    when = When(utc_now())
    entries = store.about(lab, when).head.sequence
    show("verify --deep", f"{verified:.2f} s for {entries} log entries")
    floor = median(lambda: lab.look(when).__enter__())
    show("due list ÷ opening a look", f"{median(lambda: duties.due_list(lab, when)) / floor:.0f}")
    show(
        "verdict on the whole register ÷ opening a look",
        f"{median(lambda: serviceability.register_status(lab, when)) / floor:.0f}",
    )
    lab.close()


def one_check() -> None:
    """Compare keeping a check (rows, verdict, log entry) with one raw durable commit on the same disk."""
    with tempfile.TemporaryDirectory() as folder:
        lab = new_lab(Path(folder) / "lab.refstd")
        thin_thread.whole(lab)
        thin_thread.check(lab, "start")
        kept = median(lambda: thin_thread.check(lab, "interim"))
        draft, read = thin_thread.check_draft("interim"), thin_thread.readings()
        judged = median(lambda: checks.preview_check(lab, draft, read, When(NOON)))
        raw = median(lambda: synced_write(Path(folder) / "raw"))
        show("check kept, and previewed", f"{kept * 1000:.1f} ms, {judged * 1000:.1f} ms")
        show("check kept ÷ one synced write", f"{kept / raw:.1f}")
        lab.close()
    verdict_alone(judged)


def verdict_alone(previewed: float) -> None:
    """Time the computation of a verdict, without any record, and compare it with the preview that gathers the facts for it.

    Three notches against the start check and a target, and their condition against a baseline of five set-ups; a hundred
    at a time.
    """
    baseline = tuple(
        readings(f"set-up {n}", n05=f"{39 + n / 5}", n1=f"{59 + n / 5}", n15=f"{79 + n / 5}") for n in range(5)
    )
    new, start = (readings(name, n05="40", n1="60", n15="80") for name in ("new", "start"))
    bands = limit("%", "-10", "10"), limit("% FSH", "-5", "5", against="target", notch="1.0 mm")
    question = asked(new, *bands, start=start, baseline=baseline, targets=(target("1.0 mm", "60"),))
    if judge_response(question)[0] is not Outcome.ACCEPTABLE:
        raise SystemExit("the check that is timed is not judged as it was made")

    def verdicts() -> None:
        for _ in range(100):
            judge_response(question)
            condition_reasons(new, condition(new, baseline, question.targets), baseline)

    took = median(verdicts) / 100
    show("preview of a check ÷ its verdict alone", f"{previewed / took:.0f}  (verdict {took * 1000:.2f} ms)")


def coil_integral() -> None:
    """Time the impedance change of a coil at a thousand points."""
    spread = np.random.default_rng(1)
    lift_off, khz, sigma = (spread.uniform(low, high, 1000) for low, high in ((0, 1), (1, 5000), (0.3, 63)))
    coil = Coil(1.0, 2.0, 1.5, 100)
    took = median(lambda: impedance_change_ohm(coil, lift_off, khz, sigma))
    show("coil integral, 1,000 points", f"{took * 1000:.1f} ms")


def synced_write(path: Path) -> None:
    """Write one page and wait for the disk."""
    with path.open("ab") as file:
        file.write(b"x" * 4096)
        file.flush()
        os.fsync(file.fileno())


def first_paint(command: list[str], mark: bytes) -> float:
    """Return the seconds from spawn until a mark stands in what the terminal is sent."""
    begun = time.perf_counter()
    child, master = pty.fork()
    if child == 0:
        os.chdir(ROOT)
        os.environ.update(TERM="xterm-256color", COLUMNS="80", LINES="24")
        os.execv(command[0], command)
    seen = b""
    while mark not in seen and time.perf_counter() - begun < 30:
        if select.select([master], [], [], 0.05)[0]:
            try:
                seen += os.read(master, 65536)
            except OSError:
                break
    took = time.perf_counter() - begun
    os.kill(child, 9)
    os.waitpid(child, 0)
    os.close(master)
    if mark not in seen:
        raise RuntimeError(f"{command} never showed {mark!r}: {seen[-300:]!r}")
    return took


def run(command: list[str]) -> None:
    """Run a command quietly."""
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=ROOT)


def once(work: Callable[[], object]) -> float:
    """Return how long one call takes, in seconds."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def median(work: Callable[[], object]) -> float:
    """Return the median of several calls, in seconds."""
    return statistics.median(once(work) for _ in range(ROUNDS))


def ratio(what: str, ours: list[float], floor: list[float]) -> None:
    """Print a ratio of medians with both medians."""
    a, b = statistics.median(ours), statistics.median(floor)
    show(what, f"{a / b:.1f}  ({a * 1000:.0f} ms ÷ {b * 1000:.0f} ms, medians of {len(ours)})")


def show(what: str, figure: str) -> None:
    """Print one line."""
    sys.stdout.write(f"{what:48s} {figure}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
