"""Print how long ranking the kits of a large lab takes, against trying every kit out in a smaller one.

Run: python -m tests.benchmark.kits

CONSTRUCTED, no published source: instruments, probes and blocks with one of four connectors and one of three alloys, one
item in five due soon, a tenth as many cables as probes. The loop goes through block × probe × instrument; where that is too many it
is timed on the same kind of lab with a tenth of each, a thousandth of the kits, and its time for the large one is reckoned.
"""

import random
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from refstd.rules.kits import match_kits
from refstd.rules.matching import Candidate, Material
from tests.rules.a_job import AL, BLOCK, INSTRUMENT, JOB, PROBE, TODAY, facts
from tests.rules.test_kits import tried_out

LARGE = (200, 2000, 1000)
PINS = ("four-pin", "eleven-pin", "coaxial", "triaxial")
MOST = 20


def lab(instruments: int, probes: int, blocks: int) -> list[Candidate]:
    """Return a lab of so many items, the same each time."""
    draw = random.Random(1)
    alloys = [Material(f"A{iacs}", AL.family, AL.magnetic_class, Decimal(iacs)) for iacs in (28, 32, 38)]

    def due() -> int:
        return draw.choice((100, 100, 100, 100, 20))

    return [
        *(replace(INSTRUMENT, item=facts(f"I-{n}", "instrument", due()), connector=draw.choice(PINS)) for n in range(instruments)),
        *(replace(PROBE, item=facts(f"P-{n}", "probe", due()), connector=draw.choice(PINS)) for n in range(probes)),
        *(replace(BLOCK, item=facts(f"B-{n}", "block", due()), material=draw.choice(alloys)) for n in range(blocks)),
        *(Candidate(facts(f"A-{n}", "accessory", due()), "", connector=draw.choice(PINS), probe_connector=draw.choice(PINS))
          for n in range(probes // 10)),
    ]  # fmt: skip


def timed(work: Callable[[], object]) -> tuple[float, object]:
    """Return (seconds, answer)."""
    begun = time.perf_counter()
    answer = work()
    return time.perf_counter() - begun, answer


def main() -> None:
    """Measure and print."""
    small = tuple(n // 10 for n in LARGE)
    few, many = lab(*small), lab(*LARGE)
    loop, tried = timed(lambda: tried_out(JOB, few, (), MOST)[0])
    ours_few, kits = timed(lambda: [m.asset_nos for m in match_kits(JOB, few, TODAY, 30, most=MOST)[0]])
    ours_many, _ = timed(lambda: match_kits(JOB, many, TODAY, 30, most=MOST))
    if kits != tried:
        raise SystemExit("the kits are not those that trying everything out gives")
    names = " × ".join(map(str, LARGE)), " × ".join(map(str, small))
    sys.stdout.write(
        f"{names[1]}: {ours_few * 1000:.0f} ms, trying every kit {loop * 1000:.0f} ms; ratio {loop / ours_few:.0f}, same kits\n"
        f"{names[0]}: {ours_many * 1000:.0f} ms; trying every kit would take 1,000 times the smaller loop, "
        f"{loop * 1000:.0f} s: ratio {1000 * loop / ours_many:.0f}\n"
    )


if __name__ == "__main__":
    main()
