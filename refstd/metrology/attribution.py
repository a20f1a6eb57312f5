"""Ask which single item, if it alone had moved, best explains the recent deviations, and how much better than the next.

A deviation is taken as instrument + probe + notch + chance. Only 'this item against the rest of its kind' can be known;
what separates the items is the assumption that one thing changed. An evidence share compares the candidates under that
assumption and equal prior odds; it says nothing about whether an item is faulty. A name is a reason for a confirmation
check with two independent partners, not for taking an item out of use. Method and bars: common practice of generalised
least squares and our own simulation (tests/benchmark/attribution.py), no published source.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from refstd.base.domain import Array, finite
from refstd.metrology.incidence import COMMON, Candidate, Deviation, Swap, candidates, incidence, swap_tests

WINDOWS_DAYS = (56.0, 182.0)  # 8 weeks for steps, 26 weeks for slow drift
NAME_AT = 5.0  # score; a false name in about one fleet in a hundred over two years
NAME_AGAIN_AT = 6.0  # a second name in one search: what the first leaves behind looks like a fault more easily
LOOK_AT = 4.0  # reached in a fifth to a half of all fleets in which nothing moves, so a hint only, without standing
SETTLED_SHARE = 0.9
CLIP = 4.0  # standard deviations: one reading beyond asks for a repeat and counts as no more than this
FEWEST_DEGREES = 30  # of freedom of the spread; a spread 10 % too small makes false names four times as frequent
SPREAD_MARGIN = 1.1
_WEEK_DAYS = 7.0
_NOTHING_LEFT = 1e-9  # share of a candidate's readings that others leave over; less cannot be told from rounding


@dataclass(frozen=True, slots=True)
class Spread:
    """The lab's own repeatability of one reading between independent set-ups.

    sd_db: pooled, as found. degrees_of_freedom: of it. shared: share of the variance, 0 to 0.9, that notches read in one
    set-up have in common, so that three notches of one check are not taken for three checks. by_digit: set-ups scatter
    less than the readings' last digit allows, so sd_db is what that digit allows.
    """

    sd_db: float
    degrees_of_freedom: float
    shared: float = 0.0
    by_digit: bool = False

    def no_finer_than(self, digit_db: float) -> "Spread":
        """Return the spread, or what the last digit allows where it is less; one of 0 stays 0 and is refused.

        digit_db: standard uncertainty of a deviation by the last digit. Set-ups that read the same digits share their
        rounding, and would else claim to repeat better than anybody could see.
        """
        return replace(self, sd_db=digit_db, by_digit=True) if 0 < self.sd_db < digit_db else self

    @property
    def why_not(self) -> str:
        """Why nothing can be judged with it, '' if it can."""
        if self.degrees_of_freedom < FEWEST_DEGREES:
            return f"too few checks: {self.degrees_of_freedom:.0f} degrees of freedom, {FEWEST_DEGREES} needed"
        if not self.sd_db > 0:
            return "the set-ups all read the same, so their spread is below the resolution of the readings"
        return ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """How well one candidate alone explains the deviations.

    score: the larger |effect/u_effect| of the windows, no reading counted as further off than the clip. effect_db ±
    u_effect_db (standard): of the readings as they are in that window, over that many readings of the candidate. share:
    evidence share among all candidates, 0 to 1.
    """

    candidate: Candidate
    score: float
    share: float
    effect_db: float
    u_effect_db: float
    window_days: float
    readings: int


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the deviations say at one time.

    refused: why nothing is judged, ''. named: items, the strongest first; if that is COMMON, nothing else is named until
    checked again. tied: suspects that the checks made so far cannot tell apart, with `swaps` that would. look_at: a hint
    only, without standing and without a place in any report. repeat: latest readings so far off that they are repeated
    first. rankings: the evidence of every candidate, best first: before anything was named, then anew after each name; the
    n-th name led the n-th ranking.
    """

    refused: str = ""
    named: tuple[Evidence, ...] = ()
    tied: tuple[Evidence, ...] = ()
    swaps: tuple[Swap, ...] = ()
    look_at: tuple[Evidence, ...] = ()
    repeat: tuple[Deviation, ...] = ()
    rankings: tuple[tuple[Evidence, ...], ...] = ()

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """The evidence of every candidate before anything was named, best first."""
        return self.rankings[0] if self.rankings else ()

    @property
    def cannot_tell(self) -> bool:
        """Whether suspects are tied and nothing on hand would split them."""
        return bool(self.tied) and all(swap.change == "cable" for swap in self.swaps)


def pooled_spread(baselines: Iterable[Sequence[Sequence[float]] | Array]) -> Spread:
    """Return the repeatability pooled over baselines, each a table of independent set-ups (rows) × notches, in dB.

    A single set-up says nothing and is passed over. Notches of one set-up go together: with correlation r between m of
    them, m·(n − 1) deviations are worth m·(n − 1)/(1 + (m − 1)·r²) degrees of freedom for their variance.
    """
    squares = products = degrees = pairs = 0.0
    tables = [np.atleast_2d(finite("baseline responses", table)) for table in baselines]
    for table in tables:
        setups, notches = table.shape
        apart = table - table.mean(axis=0)
        own, together = float((apart**2).sum()), float((apart.sum(axis=1) ** 2).sum())
        squares, products = squares + own, products + together - own
        degrees, pairs = degrees + (setups - 1) * notches, pairs + (setups - 1) * notches * (notches - 1)
    if squares <= 0:
        return Spread(0.0, degrees)
    variance = squares / degrees
    shared = min(max(products / pairs / variance, 0.0), 0.9) if pairs else 0.0
    worth = sum((n - 1) * m / (1 + (m - 1) * shared**2) for n, m in (table.shape for table in tables))
    return Spread(math.sqrt(variance), worth, shared)


def judge(
    readings: Sequence[Deviation], spread: Spread, now_days: float, partners: Iterable[Candidate] = ()
) -> Judgement:
    """Return what the readings up to `now_days` say. partners: further items on hand that a swap test may use."""
    if spread.why_not:
        return Judgement(refused=spread.why_not)
    recent = _recent(readings, now_days)
    spread = replace(spread, sd_db=spread.sd_db * SPREAD_MARGIN)
    first = ranked = evidence(recent, spread, now_days)
    rankings = [first] if first else []
    named: list[Evidence] = []
    tied: tuple[Evidence, ...] = ()
    while ranked and ranked[0].score >= (NAME_AGAIN_AT if named else NAME_AT):
        leading = _leading(ranked)
        if len({e.candidate.thing for e in leading}) > 1:
            tied = leading
            break
        named.append(ranked[0])
        if ranked[0].candidate == COMMON:
            break
        ranked = evidence(recent, spread, now_days, tuple(e.candidate for e in named))
        rankings.append(ranked)
    hint = not named and not tied and bool(first) and first[0].score >= LOOK_AT
    suspects = tuple(e.candidate for e in tied)
    known = tuple(r for r in readings if r.days <= now_days)
    return Judgement(
        named=tuple(named),
        tied=tied,
        swaps=swap_tests(suspects, known, partners) if tied else (),
        look_at=_leading(first) if hint else (),
        repeat=_to_repeat(recent, spread),
        rankings=tuple(rankings),
    )


def _leading(ranked: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """Return the fewest candidates that hold 90 % of the evidence together, with whatever equals the last of them."""
    so_far, count = 0.0, 0
    while count < len(ranked) and (so_far < SETTLED_SHARE or _equal(ranked[count], ranked[count - 1])):
        so_far += ranked[count].share
        count += 1
    return ranked[:count]


def _equal(one: Evidence, other: Evidence) -> bool:
    return math.isclose(one.score, other.score, rel_tol=1e-9)


def _recent(readings: Iterable[Deviation], now_days: float) -> list[Deviation]:
    recent = (r for r in readings if now_days - WINDOWS_DAYS[-1] < r.days <= now_days)
    return sorted(recent, key=lambda r: r.in_order)


def evidence(
    readings: Sequence[Deviation], spread: Spread, now_days: float, free: tuple[Candidate, ...] = ()
) -> tuple[Evidence, ...]:
    """Return the evidence for every candidate, best first, by the spread as given (`judge` adds the margin).

    For x = 1 where a reading within the window was made with the candidate, 0 elsewhere: effect = x'V⁻¹d/x'V⁻¹x and
    score = x'V⁻¹d/√(x'V⁻¹x), with V = s²·I + (s²/n0)·[same pair], and the correlation within a set-up where notches were
    read together. Deviations are clipped at 4 standard deviations. free: items named already, each with a level of its
    own for every week. Generalised least squares.
    """
    rows = _recent(readings, now_days)
    if not rows:
        return ()
    items = candidates(rows)
    took_part = incidence(items, rows)
    days = np.array([r.days for r in rows])
    windows = [took_part * (days > now_days - window)[:, None] for window in WINDOWS_DAYS]
    as_read = finite("deviation", [r.deviation_db for r in rows])
    columns = np.column_stack([_clipped(rows, spread), as_read, *windows, *_weekly(rows, free, now_days)])
    white = _whitened(rows, spread, columns) / spread.sd_db
    told = 2 + len(windows) * len(items)
    left = _without(white[:, :told], white[:, told:])
    before, after = (np.square(part[:, 2:told]).sum(axis=0) for part in (white, left))
    information = np.where(after > _NOTHING_LEFT * before, after, 0.0).reshape(len(windows), -1)
    pull, moved = ((left[:, 2:].T @ left[:, k]).reshape(len(windows), -1) for k in (0, 1))
    z = np.divide(pull, np.sqrt(information), out=np.zeros_like(pull), where=information > 0)
    best = np.argmax(np.abs(z), axis=0)
    score = np.abs(z).max(axis=0)
    weight = np.exp((score**2 - score.max() ** 2) / 2) * (information.max(axis=0) > 0)
    found = [
        Evidence(
            *(item, float(score[k]), float(weight[k] / weight.sum())),
            *(float(moved[w, k] / information[w, k]), float(1 / math.sqrt(information[w, k]))),
            *(WINDOWS_DAYS[w], int(windows[w][:, k].sum())),
        )
        for k, (item, w) in enumerate(zip(items, best, strict=True))
        if information[w, k] > 0 and item not in free
    ]
    return tuple(sorted(found, key=lambda e: (-round(e.score, 9), e.candidate)))


def _limit(rows: Sequence[Deviation], spread: Spread) -> Array:
    setups = np.array([r.baseline_setups for r in rows], dtype=np.float64)
    if not (setups >= 1).all():
        raise ValueError("A baseline has at least one set-up. Give its number of independent set-ups.")
    return np.asarray(CLIP * spread.sd_db * np.sqrt(1 + 1 / setups))


def _clipped(rows: Sequence[Deviation], spread: Spread) -> Array:
    limit = _limit(rows, spread)
    return np.clip(finite("deviation", [r.deviation_db for r in rows]), -limit, limit)


def _to_repeat(rows: Sequence[Deviation], spread: Spread) -> tuple[Deviation, ...]:
    """Return the latest reading of each pair where it lies beyond the clip."""
    latest = {(r.reference, r.notch): i for i, r in enumerate(rows)}
    limit = _limit(rows, spread)
    return tuple(rows[i] for i in sorted(latest.values()) if abs(rows[i].deviation_db) > limit[i])


def _weekly(rows: Sequence[Deviation], free: tuple[Candidate, ...], now_days: float) -> list[Array]:
    """Return a column for each week (and notch, if it is a block) of each free item."""
    columns: dict[object, Array] = {}
    for item in free:
        for i, r in enumerate(rows):
            if item.took_part(r):
                week = math.floor((now_days - r.days) / _WEEK_DAYS)
                key = (item, week, r.notch if item.kind == "block" else "")
                columns.setdefault(key, np.zeros(len(rows)))[i] = 1
    return list(columns.values())


def _whitened(rows: Sequence[Deviation], spread: Spread, columns: Array) -> Array:
    """Return L⁻¹·columns where V = s²·LL'; readings against different baselines are independent."""
    groups: dict[tuple[str, str], list[int]] = {}
    for i, r in enumerate(rows):
        groups.setdefault(r.reference, []).append(i)
    white = np.empty_like(columns)
    for members in groups.values():
        own = [rows[i] for i in members]
        notch = _same([r.notch for r in own])
        check = _same([r.check or f"alone {i}" for i, r in enumerate(own)]) if spread.shared else np.eye(len(own))
        worth = 1 / np.array([r.baseline_setups for r in own], dtype=np.float64)
        one_setup = (1 - spread.shared) * notch + spread.shared
        V = (1 - spread.shared) * np.eye(len(own)) + spread.shared * check
        V += np.minimum.outer(worth, worth) * one_setup
        white[members] = np.linalg.solve(np.linalg.cholesky(V), columns[members])
    return white


def _same(names: Sequence[str]) -> Array:
    array = np.array(names)
    return np.asarray(array[:, None] == array[None, :], dtype=np.float64)


def _without(columns: Array, nuisance: Array) -> Array:
    """Return what the nuisance columns leave over of the others."""
    if not nuisance.shape[1]:
        return columns
    inverse = np.linalg.pinv(nuisance.T @ nuisance, rcond=_NOTHING_LEFT, hermitian=True)
    return np.asarray(columns - nuisance @ (inverse @ (nuisance.T @ columns)))
