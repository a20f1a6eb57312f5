"""A secondary block against its primary, scanned in turn (A-B-A): ratio and phase of each notch, and whether it agrees.

Each scan of the secondary is held against the mean of the primary's scans before and after it, in dB and in degrees, so that
a drift that runs straight in time falls out. The scheme is that of weighing cycles 'ABA' (OIML R 111-1:2004, C.4, from MEMORY).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from typing import Literal

from refstd.base.errors import Exit, Problem
from refstd.base.quantity import Unit, derived, plain, with_unit
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.eddy.signals import Display, uncertainty, undo, wrap_deg
from refstd.rules.figures import (
    CURES,
    GAIN_UNDONE,
    LEAST_SIGNAL_TO_NOISE,
    SAME_VIEW_SEEN,
    TURNED_OVER,
    UNDONE,
    ZERO,
    mean_deg,
    step_of,
)
from refstd.rules.readings import MEASURED_AS
from refstd.rules.serviceability import ItemFacts

PRIMARY, SECONDARY = "primary", "secondary"
Side = Literal["primary", "secondary"]
NOT_AT_HAND = ("retired", "lost", "away at laboratory")
REFERENCE_ONLY = "reference only"
COVERAGE_FACTOR = 2  # of every U that is told here
_EDGE = 1e-9  # bands are decimals; anything below is the float
_READ_ANEW = "let the system settle, then take the whole notch anew: primary, secondary, primary"


class Agreement(StrEnum):
    """What a comparison says of a notch, and of the block."""

    AGREES = "agrees"
    NOT = "does not agree"
    NOT_CONCLUSIVE = "not conclusive"


EXIT_OF = {Agreement.AGREES: Exit.YES, Agreement.NOT: Exit.NO, Agreement.NOT_CONCLUSIVE: Exit.NOT_CONCLUSIVE}


@dataclass(frozen=True, slots=True)
class Scan:
    """One scan of one notch as seen; the one figure of a measure without direction stands in `vertical`."""

    notch: str
    side: Side
    horizontal: Decimal | None
    vertical: Decimal


@dataclass(frozen=True, slots=True)
class SeenThrough:
    """The one display of the whole comparison, what was read of the signal, and the noise in the readings' unit."""

    display: Display
    measure: str
    unit: str
    noise: Decimal | None

    @property
    def directed(self) -> bool:
        """Whether the direction of a signal was read too, so that it has a phase."""
        return MEASURED_AS[self.measure] == "horizontal and vertical"

    @property
    def how(self) -> str:
        """What is done with the display before amplitudes and phases are compared."""
        if not self.directed:
            return GAIN_UNDONE
        return SAME_VIEW_SEEN if self.display.order is None and not self.display.equal_gains else UNDONE


@dataclass(frozen=True, slots=True)
class Band:
    """By how much a secondary may differ from its primary, either way, and who says so; no phase band: phase decides nothing."""

    db: Decimal
    deg: Decimal | None
    source: str


@dataclass(frozen=True, slots=True)
class ComparedNotch:
    """A notch as described, as far as it must be the same on both blocks."""

    label: str
    depth_mm: Decimal
    site: str
    process: str


@dataclass(frozen=True, slots=True)
class ComparedBlock:
    """A block as described, as far as two blocks must be alike to be compared."""

    asset_no: str
    grade: str
    state: str
    family: str
    notches: tuple[ComparedNotch, ...]


@dataclass(frozen=True, slots=True)
class NotchCompared:
    """What the scans of one notch say; None where nothing can be said in dB or degrees.

    ratio_db, phase_deg: secondary against primary, with their expanded uncertainties. moved_db: the largest change between
    neighbouring scans of the primary.
    """

    notch: str
    ratio_db: float | None
    phase_deg: float | None
    moved_db: float | None
    outcome: Agreement
    reasons: tuple[Reason, ...]
    expanded_db: float = 0.0
    expanded_deg: float = 0.0

    def shown(self) -> str:
        """Return the figures and the outcome shortly, or why there are none."""
        if self.ratio_db is None:
            return f"{self.outcome}: {self.reasons[0].says}"
        figures = [f"{derived(self.ratio_db, Unit.DB, sign=True)} (U {derived(self.expanded_db, Unit.DB)})"]
        if self.phase_deg is not None:
            turned = derived(self.phase_deg, Unit.DEGREE, sign=True)
            figures.append(f"{turned} (U {derived(self.expanded_deg, Unit.DEGREE)})")
        return f"{', '.join(figures)}: {self.outcome}"

    def in_words(self) -> str:
        """Return every reason in one line."""
        return "; ".join(r.in_words() for r in self.reasons)


@dataclass(frozen=True, slots=True)
class _Level:
    """A scan in dB and degrees with its standard uncertainties from digit and noise; the phase is 0 where none was read."""

    db: float
    deg: float
    u_db: float
    u_deg: float


def as_primary(facts: ItemFacts) -> ItemFacts:
    """Return the facts about a primary as a comparison asks for them: 'reference only' keeps it for this very use."""
    return replace(facts, state="in service") if facts.state == REFERENCE_ONLY else facts


def pair_problems(primary: ComparedBlock, secondary: ComparedBlock) -> list[Problem]:
    """Return why two blocks cannot be compared: grades, material family, a notch without its like on the primary."""
    problems = []
    for block, grade in ((primary, PRIMARY), (secondary, SECONDARY)):
        if block.grade != grade:
            wrong = f"{block.asset_no} is a {block.grade} block, not a {grade} one"
            problems.append(Problem(grade, wrong, f"Name a {grade} block, or describe it anew if the record is wrong."))
        if block.state in NOT_AT_HAND:
            problems.append(Problem(grade, f"{block.asset_no} is {block.state}", "Compare blocks that are at hand."))
    if primary.family != secondary.family:
        wrong = f"{secondary.asset_no} is of {secondary.family}, {primary.asset_no} of {primary.family}"
        problems.append(Problem("primary", wrong, "Name a primary of the same material family."))
    if not secondary.notches:
        wrong = f"{secondary.asset_no} has no notches on record"
        problems.append(Problem("secondary", wrong, "Enter its notches, or have it calibrated."))
    theirs = {key(n.label): n for n in primary.notches}
    for notch in secondary.notches:
        like = theirs.get(key(notch.label))
        wrong = f"{primary.asset_no} has no notch of that label" if like is None else _unlike(notch, like)
        if wrong:
            remedy = "Name a primary that has its like, or have this block calibrated."
            problems.append(Problem(f"notch {notch.label}", wrong, remedy))
    return problems


def _unlike(notch: ComparedNotch, like: ComparedNotch) -> str:
    if notch.depth_mm != like.depth_mm:
        return f"is {plain(notch.depth_mm)} mm deep as nominal, its like on the primary {plain(like.depth_mm)} mm"
    if (notch.site, notch.process) != (like.site, like.process):
        return f"is {notch.process}, {notch.site}; its like on the primary is {like.process}, {like.site}"
    return ""


def scan_problems(scans: Sequence[Scan], notches: Sequence[str], seen: SeenThrough) -> list[Problem]:
    """Return what is wrong with the scans as a whole: a notch that was not read, a wrong turn, a part that is missing."""
    problems = [
        Problem(f"notch {s.notch}", "is not a notch of the secondary block", f"Its notches: {', '.join(notches)}.")
        for s in scans
        if key(s.notch) not in {key(n) for n in notches}
    ]
    for label in notches:
        own = [s for s in scans if key(s.notch) == key(label)]
        turns = "".join("A" if s.side == PRIMARY else "B" for s in own)
        if len(own) < 3 or turns != ("AB" * len(own))[: len(own)] or not turns.endswith("A"):
            wrong = f"was read {'-'.join(turns)}" if own else "was not read"
            remedy = "Read it primary, secondary, primary (A-B-A); more rounds go on B-A."
            problems.append(Problem(f"notch {label}", wrong, remedy))
        if any((s.horizontal is None) is seen.directed for s in own):
            wrong = (
                "misses its horizontal part" if seen.directed else f"has a horizontal part, and {seen.measure} has none"
            )
            problems.append(Problem(f"notch {label}", wrong, "Read every scan by the measure named."))
    return problems


def compare(scans: Sequence[Scan], notches: Sequence[str], seen: SeenThrough, band: Band) -> tuple[NotchCompared, ...]:
    """Return what the scans say of each notch. The scans stand in the order in which they were made, without problems."""
    return tuple(_compared(label, [s for s in scans if key(s.notch) == key(label)], seen, band) for label in notches)


def together(notches: Sequence[NotchCompared]) -> Agreement:
    """Return what the notches say of the block: one that does not agree decides, else one that is not conclusive."""
    found = {n.outcome for n in notches}
    return next(a for a in (Agreement.NOT, Agreement.NOT_CONCLUSIVE, Agreement.AGREES) if a in found)


def _compared(label: str, scans: list[Scan], seen: SeenThrough, band: Band) -> NotchCompared:
    if why := _why_not(scans, seen):
        cure = CURES.get(why, "raise the gain or lower the noise, then take the notch anew")
        reason = Reason(
            "comparison", f"notch {label} {why}", record=f"notch {label}", cure=cure, weight=Weight.UNDECIDED
        )
        return NotchCompared(label, None, None, None, Agreement.NOT_CONCLUSIVE, (reason,))
    levels = [_level(s, seen) for s in scans]
    around = [(levels[n - 1], levels[n], levels[n + 1]) for n in range(1, len(levels), 2)]
    ratios = [b.db - (before.db + after.db) / 2 for before, b, after in around]
    turns = [mean_deg([wrap_deg(b.deg - a.deg) for a in (before, after)]) for before, b, after in around]
    moved = [(abs(a.db - b.db), abs(wrap_deg(a.deg - b.deg))) for a, b in pairwise(levels[::2])]
    weights = [(1 if 0 < n < len(levels) - 1 else 0.5) / len(around) for n in range(len(levels))]
    u_db, u_deg = (
        COVERAGE_FACTOR * math.hypot(*(w * u for w, u in zip(weights, found, strict=True)))
        for found in ([x.u_db for x in levels], [x.u_deg for x in levels])
    )
    told = _Told(label, seen.how, "digit and noise" if seen.noise else "digit alone, no noise on record", band.source)
    amplitude = _judged(told, "amplitude", Unit.DB, ratios, u_db, max(m for m, _ in moved), band.db)
    phase = (
        _judged(told, "phase", Unit.DEGREE, turns, u_deg, max(m for _, m in moved), band.deg) if seen.directed else []
    )
    weights_found = {r.weight for r in (*amplitude, *phase)}
    outcome = (
        Agreement.NOT if Weight.STOPS in weights_found
        else Agreement.NOT_CONCLUSIVE if Weight.UNDECIDED in weights_found
        else Agreement.AGREES
    )  # fmt: skip
    return NotchCompared(
        label, sum(ratios) / len(ratios), mean_deg(turns) if seen.directed else None, max(m for m, _ in moved), outcome,
        (*amplitude, *phase), u_db, u_deg,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Told:
    notch: str
    how: str
    u_from: str
    source: str


def _judged(
    told: _Told, what: str, unit: Unit, each: list[float], expanded: float, moved: float, band: Decimal | None
) -> list[Reason]:
    """Return the figure against its band, and before it what keeps it from deciding.

    What moves by more than the band between two scans of one block, or whose U is wider than the band, cannot tell whether
    the band is kept; a difference that leaves the band by more than U is told all the same.
    """
    value = mean_deg(each) if unit is Unit.DEGREE else sum(each) / len(each)
    spread = max(abs(wrap_deg(a - b)) if unit is Unit.DEGREE else abs(a - b) for a in each for b in each)
    says = f"notch {told.notch}: {what} against the primary ({told.how}), which moved {derived(moved, unit)} between its scans"
    figure = f"{derived(value, unit, sign=True)}, U {derived(expanded, unit)} (k = {COVERAGE_FACTOR}, {told.u_from})"
    record = f"notch {told.notch}"
    if band is None:
        return [Reason("comparison", says, f"{figure}; no band given", record=record, weight=Weight.ADVISES)]
    limit = f"±{with_unit(plain(band), unit)}"
    undecided = []
    for name, size in (("the primary moved between its scans", moved), ("its rounds differ", spread)):
        if size > float(band) + _EDGE:
            wrong = f"notch {told.notch}: {name} by more than the band in {what}"
            undecided.append(
                Reason("movement", wrong, derived(size, unit), limit, told.source, record, _READ_ANEW, Weight.UNDECIDED)
            )
    outside = abs(value) > float(band) + _EDGE
    if not undecided and float(band) < expanded and abs(value) <= float(band) + expanded:
        wrong = f"notch {told.notch}: U of the {what} is wider than the band"
        cure = "read more digits, at more gain or less noise, then take the notch anew"
        undecided.append(
            Reason("resolution", wrong, derived(expanded, unit), limit, told.source, record, cure, Weight.UNDECIDED)
        )
    if undecided:
        return [*undecided, Reason("comparison", says, figure, limit, told.source, record, weight=Weight.ADVISES)]
    cure = "do not use the block; have it looked at and calibrated" if outside else ""
    weight = Weight.STOPS if outside else Weight.SUPPORTS
    return [Reason("comparison", says, figure, limit, told.source, record, cure, weight)]


def _why_not(scans: list[Scan], seen: SeenThrough) -> str:
    """Return why nothing can be said of a notch in dB, or ''."""
    sizes = [math.hypot(float(s.horizontal or 0), float(s.vertical)) for s in scans]
    if not all(sizes):
        return ZERO
    if seen.measure == "vertical from balance" and len({s.vertical > 0 for s in scans}) > 1:
        return TURNED_OVER.replace("in the record it is compared with", "on the other scans")
    if seen.noise and min(sizes) / float(seen.noise) < LEAST_SIGNAL_TO_NOISE - _EDGE:
        shown = math.floor(min(sizes) / float(seen.noise) * 10) / 10
        return f"deflects by only {shown:.1f} × the noise; below {LEAST_SIGNAL_TO_NOISE:g} × it is not compared"
    return ""


def _level(scan: Scan, seen: SeenThrough) -> _Level:
    """Return a scan with the display undone; where its order is unknown as seen, since all scans share one display.

    The digit: one step of the last written figure, u = step/√12 (JCGM 100:2008, F.2.2.1). The noise counts whole on each
    axis, as a standard deviation would: it may be less.
    """
    noise = float(seen.noise or 0)
    u = [math.hypot(step_of(d) / math.sqrt(12), noise) for d in (scan.horizontal, scan.vertical)]
    if scan.horizontal is None:
        size = abs(float(scan.vertical))
        return _Level(20 * math.log10(size), 0.0, 20 / math.log(10) * u[1] / size, 0.0)
    display = seen.display
    if seen.how == SAME_VIEW_SEEN:
        display = Display(display.rotation_deg, display.horizontal_gain_db, display.horizontal_gain_db, None)
    horizontal, vertical = float(scan.horizontal), float(scan.vertical)
    signal = undo(horizontal, vertical, display)
    found = uncertainty(horizontal, vertical, display, *u)
    phase = math.degrees(math.atan2(signal.imag, signal.real))
    return _Level(20 * math.log10(abs(signal)), phase, found.amplitude_db, found.phase_deg)
