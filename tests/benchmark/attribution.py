"""Print how soon and how rightly a moved item is named in a simulated fleet, against a control chart per combination.

Run: python -m tests.benchmark.attribution [runs]

CONSTRUCTED, no published source: 6 instruments, 20 probes with 2 or 3 blocks each, 8 notches, one check of each probe a
week for two years; spread 0.30 dB, instrument × pair interaction 0.10 dB, baselines of 5 set-ups, 1 % of readings off by
2 dB (standard deviation). The chart: EWMA, weight 0.2, of each instrument × probe × notch (NIST/SEMATECH e-Handbook
6.3.2.4); the item of whose charts most are beyond 2 of their standard deviations is taken for the suspect.
Both are compared at the bar that each needs for one false alarm in ten fleets over the two years.
"""

import math
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from refstd.metrology.attribution import CLIP, LOOK_AT, Spread, judge, pooled_spread
from refstd.metrology.incidence import COMMON, Candidate, Deviation

WEEKS, ONSET, SETUPS = 104, 30, 5
SPREAD_DB, INTERACTION_DB, OUTLIER_DB, OUTLIERS = 0.30, 0.10, 2.0, 0.01
WEIGHT = 0.2
NULL_RUNS_PER_RUN = 2
MATCHED = 0.10
PROBE, NOTCH, INSTRUMENT = Candidate("probe", "P03"), Candidate("notch", "B2", "0.5"), Candidate("instrument", "I2")


@dataclass(frozen=True)
class Scenario:
    """What moves: dB by week since the onset, for each item."""

    name: str
    moves: tuple[tuple[Candidate, Callable[[int], float]], ...]


SCENARIOS = (
    Scenario("probe -0.05 dB a week", ((PROBE, lambda w: -0.05 * w),)),
    Scenario("notch -1 dB at once", ((NOTCH, lambda w: -1.0),)),
    Scenario("instrument -0.6 dB at once", ((INSTRUMENT, lambda w: -0.6),)),
    Scenario("everything -0.5 dB at once", ((COMMON, lambda w: -0.5),)),
    Scenario("probe and notch together", ((PROBE, lambda w: -0.05 * w), (NOTCH, lambda w: -1.0))),
)
STEADY = Scenario("nothing moves", ())


@dataclass(frozen=True)
class Fleet:
    """One simulated two years and the spread its baselines show."""

    readings: tuple[Deviation, ...]
    spread: Spread


def fleet(dice: np.random.Generator, home: float, scenario: Scenario) -> Fleet:
    """Simulate. home: share of checks made on the probe's own instrument."""
    notches: dict[int, list[int]] = {}
    for p in range(20):  # P03 reads B2 in every fleet, so that the moved items exist and touch
        others = dice.permutation([b for b in range(8) if b != 2])[: dice.integers(1, 3)].tolist()
        notches[p] = [2, *others] if p in (3, 7) else dice.permutation(8)[: len(others) + 1].tolist()
    homes = dice.integers(0, 6, 20)
    baselines = {(p, b): dice.normal(0, SPREAD_DB, SETUPS) for p in notches for b in notches[p]}
    interaction = {(i, *pair): dice.normal(0, INTERACTION_DB) for i in range(6) for pair in baselines}
    readings = []
    for week in range(WEEKS):
        for p in range(20):
            instrument = int(homes[p]) if dice.random() < home else int(dice.integers(0, 6))
            block = notches[p][int(dice.integers(0, len(notches[p])))]
            noise = dice.normal(0, SPREAD_DB) + (dice.normal(0, OUTLIER_DB) if dice.random() < OUTLIERS else 0)
            chance = noise + interaction[instrument, p, block] - baselines[p, block].mean()
            made = Deviation(7.0 * week, f"I{instrument}", f"P{p:02}", f"B{block}", "0.5", chance, SETUPS)
            moved = sum(m(week - ONSET) for c, m in scenario.moves if c.took_part(made) and week >= ONSET)
            readings.append(replace(made, deviation_db=chance + moved))
    return Fleet(tuple(readings), pooled_spread([[[v] for v in b] for b in baselines.values()]))


@dataclass(frozen=True)
class Week:
    """What stands out most in a week: the figure, the item, and what refstd's own bars make of it."""

    figure: float
    item: Candidate | None
    named: tuple[Candidate, ...] = ()
    tied: bool = False


def by_evidence(lab: Fleet, weeks: Sequence[int], *, stop: bool) -> dict[int, Week]:
    """Judge on each of these weeks; stop: no further than the first name."""
    found = {}
    for week in weeks:
        said = judge(lab.readings[max(0, week - 26) * 20 : (week + 1) * 20], lab.spread, 7.0 * week)
        best = said.evidence[0]
        named = tuple(e.candidate for e in said.named)
        found[week] = Week(best.score, best.candidate, named, bool(said.tied))
        if stop and (named or said.tied):
            break
    return found


def by_charts(lab: Fleet) -> dict[int, Week]:
    """Return for each week the chart farthest from 0, in its standard deviations, and the item blamed for it.
    Single readings are clipped as the evidence clips them."""
    clip = CLIP * lab.spread.sd_db * math.sqrt(1 + 1 / SETUPS)
    charts: dict[tuple[str, str, str], tuple[int, float]] = {}
    found = {}
    for week in range(WEEKS):
        for r in lab.readings[week * 20 : (week + 1) * 20]:
            count, value = charts.get((r.instrument, r.probe, r.block), (0, 0.0))
            new = min(max(r.deviation_db, -clip), clip)
            charts[r.instrument, r.probe, r.block] = (count + 1, WEIGHT * new + (1 - WEIGHT) * value)
        off = {key: abs(value) / (lab.spread.sd_db * chart_width(count)) for key, (count, value) in charts.items()}
        found[week] = Week(max(off.values()), most_off(off))
    return found


def most_off(off: dict[tuple[str, str, str], float]) -> Candidate:
    """Return the item of whose charts most are beyond 2, counted in standard deviations of chance's 4.6 %."""
    charts, beyond = Counter[Candidate](), Counter[Candidate]()
    for (i, p, b), figure in off.items():
        for item in (Candidate("instrument", i), Candidate("probe", p), Candidate("notch", b, "0.5")):
            charts[item] += 1
            beyond[item] += figure > 2
    return max(charts, key=lambda item: (beyond[item] - 0.046 * charts[item]) / math.sqrt(charts[item]))


@cache
def chart_width(count: int) -> float:
    """Return the standard deviation of the average of so many readings, with the baseline's own, in the spread's."""
    left = (1 - WEIGHT) ** count
    return math.sqrt(WEIGHT / (2 - WEIGHT) * (1 - left**2) + (1 - left) ** 2 / SETUPS)


def first_at(weeks: dict[int, Week], bar: float) -> tuple[int, Candidate | None] | None:
    """Return when the figure first reaches the bar, and the item then."""
    return next(((week, w.item) for week, w in weeks.items() if w.figure >= bar), None)


def main() -> None:
    """Simulate and print."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    dice, begun = np.random.default_rng(20_260_101), time.perf_counter()
    nulls = [fleet(dice, 0.6, STEADY) for _ in range(NULL_RUNS_PER_RUN * runs)]
    ours = [by_evidence(lab, range(WEEKS), stop=False) for lab in nulls]
    theirs = [by_charts(lab) for lab in nulls]
    bars = [
        float(np.quantile([max(w.figure for w in run.values()) for run in each], 1 - MATCHED))
        for each in (ours, theirs)
    ]
    false = np.mean([any(w.named for w in run.values()) for run in ours])
    tied = np.mean([any(w.tied for w in run.values()) for run in ours])
    hints = np.mean([any(w.figure >= LOOK_AT for w in run.values()) for run in ours])
    show(f"{len(nulls)} fleets in which nothing moves, two years each")
    show(f"  a false name {false:.0%}, a false tie {tied:.0%}, a hint {hints:.0%} of fleets")
    show(f"  bars for {MATCHED:.0%} false alarms: evidence {bars[0]:.2f}, charts {bars[1]:.2f}")
    show("each scenario: rightly named, mean delay in weeks [90 % within]")
    for scenario in SCENARIOS:
        compare(scenario, runs, dice, bars)
    show(f"{time.perf_counter() - begun:.0f} s")


def compare(scenario: Scenario, runs: int, dice: np.random.Generator, bars: list[float]) -> None:
    """Print one scenario."""
    right = {c for c, _ in scenario.moves}
    at_bar: dict[str, list[int | None]] = {"own bars": [], "evidence": [], "charts": []}
    wrong = both = tied = 0
    for _ in range(runs):
        lab = fleet(dice, 0.6, scenario)
        weeks = by_evidence(lab, range(WEEKS), stop=True)
        at, last = max(weeks), weeks[max(weeks)]
        tied += last.tied
        at_bar["own bars"].append(delay((at, last.named[0]) if last.named else None, right))
        at_bar["evidence"].append(delay(first_at(weeks, bars[0]), right))
        at_bar["charts"].append(delay(first_at(by_charts(lab), bars[1]), right))
        later = by_evidence(lab, range(at, WEEKS, 13), stop=False).values()
        wrong += any(c not in right for w in later for c in w.named)
        both += right <= {c for w in later for c in w.named}
    show(f"{scenario.name}: " + "; ".join(f"{method} {in_short(found)}" for method, found in at_bar.items()))
    show(
        f"  tied at first {tied / runs:.0%}; at the end any wrong name {wrong / runs:.0%}, all that moved {both / runs:.0%}"
    )


def delay(said: tuple[int, Candidate | None] | None, right: set[Candidate]) -> int | None:
    """Return the weeks from onset to a right first name; None for a wrong one, one before the onset, or none."""
    return said[0] - ONSET if said and said[0] >= ONSET and said[1] in right else None


def in_short(delays: list[int | None]) -> str:
    """Return the share named rightly and how long it took."""
    known = [d for d in delays if d is not None]
    taken = f"{np.mean(known):.1f} [{np.quantile(known, 0.9):.0f}]" if known else "-"
    return f"{len(known) / len(delays):.0%}, {taken}"


def show(line: str) -> None:
    """Print one line."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
