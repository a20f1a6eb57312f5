"""A scan plan: which tracks cover a surface, how long they are, how long they take, and how much of it they cover.

A probe sees a strip of its effective width, half of it on each side of its track. Neighbouring strips overlap by what the
procedure asks, so that tracks lie at most (width x (1 - overlap)) apart. Geometry only: source of the 100 % in two
directions is common practice, no source; overlap, index and speed are the procedure's.
"""

import math
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction

_STEP_MM = Decimal("0.01")  # an index is told, and set, to 0.01 mm


@dataclass(frozen=True, slots=True)
class Tracks:
    """One set of parallel tracks.

    `first_mm` is the first track from the edge where the scan begins (negative: before the surface), `index_mm` from each
    track to the next, `passes` their number, `each_mm` the length of one, `across_mm` what they have to cover side by side.
    """

    says: str
    passes: int
    first_mm: Decimal
    index_mm: Decimal
    each_mm: Decimal
    across_mm: Decimal
    helix: bool = False

    @property
    def path_mm(self) -> Decimal:
        """Return the length of the probe's path, in mm: the tracks and the steps between them."""
        if self.helix:
            turn = Decimal(str(math.hypot(float(self.each_mm), float(self.index_mm))))
            return turn * self.passes
        return self.each_mm * self.passes + self.index_mm * (self.passes - 1)

    def centres_mm(self) -> tuple[Decimal, ...]:
        """Return where the tracks lie from the edge, in mm; of a helix where each turn begins."""
        return tuple(self.first_mm + self.index_mm * n for n in range(self.passes))


def widest_index_mm(width_mm: Decimal, overlap_percent: Decimal | None, largest_mm: Decimal | None) -> Decimal:
    """Return the widest index allowed, in mm, down to 0.01 mm: width x (1 - overlap), and no more than the procedure's own."""
    if not width_mm > 0:
        raise ValueError(f"an effective width of {width_mm} mm covers nothing: give one above 0")
    overlap = overlap_percent or Decimal(0)
    if not 0 <= overlap < 100:
        raise ValueError(f"an overlap of {overlap} % leaves no step: give one from 0 to below 100")
    widest = width_mm * (100 - overlap) / 100
    index = min(widest, largest_mm if largest_mm is not None else widest).quantize(_STEP_MM, ROUND_FLOOR)
    if not index > 0:
        raise ValueError(f"an index below {_STEP_MM} mm cannot be set: check width, overlap and largest index")
    return index


def along(says: str, length_mm: Decimal, across_mm: Decimal, width_mm: Decimal, index_mm: Decimal) -> Tracks:
    """Return straight tracks of a length that cover `across_mm`, evenly spread; the outer strips end at the edges."""
    if across_mm <= width_mm:
        return Tracks(says, 1, across_mm / 2, Decimal(0), length_mm, across_mm)
    steps = math.ceil(Fraction(across_mm - width_mm) / Fraction(index_mm))
    return Tracks(says, steps + 1, width_mm / 2, _even(across_mm - width_mm, steps, index_mm), length_mm, across_mm)


def _even(room_mm: Decimal, steps: int, index_mm: Decimal) -> Decimal:
    """Return the step that spreads tracks evenly, up to 0.01 mm, so that the last strip reaches the edge."""
    return min(index_mm, -((-room_mm / steps).quantize(_STEP_MM, ROUND_FLOOR)))


def surface(length_mm: Decimal, across_mm: Decimal, width_mm: Decimal, index_mm: Decimal) -> tuple[Tracks, Tracks]:
    """Return tracks along a rectangle and, in the second direction, across it."""
    return (
        along("along the length", length_mm, across_mm, width_mm, index_mm),
        along("across, at right angles", across_mm, length_mm, width_mm, index_mm),
    )


def bore_by_rings(diameter_mm: Decimal, depth_mm: Decimal, width_mm: Decimal, index_mm: Decimal) -> Tracks:
    """Return full turns of a manual probe in a bore, one at each depth."""
    return along("a full turn at each depth", _round(diameter_mm), depth_mm, width_mm, index_mm)


def bore_by_helix(diameter_mm: Decimal, depth_mm: Decimal, width_mm: Decimal, index_mm: Decimal) -> Tracks:
    """Return the turns of a rotating probe fed through a bore at one index a turn.

    A strip is one index further on after a turn. So the first turn begins before the mouth, where at its end the strip still
    begins at the mouth, and the last ends beyond the other side.
    """
    turns = math.ceil(Fraction(max(depth_mm - width_mm, Decimal(0))) / Fraction(index_mm)) + 2
    return Tracks(
        "a helix at one index a turn", turns, width_mm / 2 - index_mm, index_mm, _round(diameter_mm), depth_mm, helix=True
    )  # fmt: skip


def weld(length_mm: Decimal, across_mm: Decimal | None, width_mm: Decimal, index_mm: Decimal) -> tuple[Tracks, ...]:
    """Return the two toes along a weld, and across its cap and the parent metal where the width to examine is known."""
    toes = Tracks("along each toe", 2, Decimal(0), Decimal(0), length_mm, length_mm)
    if across_mm is None:
        return (toes,)
    return toes, along("across cap and parent metal", across_mm, length_mm, width_mm, index_mm)


def _round(diameter_mm: Decimal) -> Decimal:
    return Decimal(str(math.pi)) * diameter_mm


def covered(tracks: Tracks, width_mm: Decimal) -> Fraction:
    """Return what share of `across_mm` lies under the strips of straight tracks: 1 is all of it."""
    reached, seen = Fraction(0), Fraction(0)
    end, half = Fraction(tracks.across_mm), Fraction(width_mm) / 2
    for centre in tracks.centres_mm():
        lower, upper = max(Fraction(centre) - half, reached), min(Fraction(centre) + half, end)
        if upper > lower:
            seen += upper - lower
            reached = upper
    return seen / end


def least_overlap_percent(tracks: Tracks, width_mm: Decimal) -> Decimal:
    """Return by how much of the effective width neighbouring strips overlap, in %; 100 where there is one track."""
    return 100 * (1 - tracks.index_mm / width_mm) if tracks.passes > 1 else Decimal(100)


def minutes(path_mm: Decimal, speed_mm_s: Decimal) -> Decimal:
    """Return how long a path takes at a speed, in minutes."""
    if not speed_mm_s > 0:
        raise ValueError(f"a speed of {speed_mm_s} mm/s gets nowhere: give one above 0")
    return path_mm / speed_mm_s / 60
