"""Read what the notches of one check have in common: a hint at what changed, never a verdict."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from refstd.base.domain import finite, positive
from refstd.base.quantity import Unit, derived

Kind = Literal["no change", "all alike", "shallow most", "order wrong", "no clear pattern", "too few notches"]
FEWEST_NOTCHES = 3
_DISTINCT = 2.0  # standard deviations: about 95 % for a normal scatter; common practice, no source
_LEAST_EXCHANGE_DB = 3.0  # notches whose depths differ by half read about that far apart; common practice, no source


@dataclass(frozen=True, slots=True)
class Hint:
    """What a pattern over the notches points to. `figures`: depth and deviation of each notch, shallowest first."""

    kind: Kind
    says: str
    figures: tuple[str, ...]


def hint(
    notches: Sequence[tuple[float, float]], scatter_db: float, responses_db: Sequence[float] | None = None
) -> Hint:
    """Return the pattern in (depth mm, deviation dB) pairs of one check against the baseline.

    scatter_db: standard deviation of a deviation between independent set-ups, the lab's own. responses_db: how high
    each notch reads now, dB, in the order of `notches`; without them a mix-up shows only by notches that exchanged
    their heights, 3 dB or more. Notches of one kind and length, at least three. ValueError if a depth or the scatter
    is not above 0.
    """
    positive("notch depth", [depth for depth, _ in notches], "Give mm, above 0.")
    finite("deviation", [deviation for _, deviation in notches], "Leave out notches without a value.")
    scatter = float(positive("scatter", scatter_db, "Take it from the baseline's independent set-ups."))
    if responses_db is not None and len(responses_db) != len(notches):
        raise ValueError(f"There are {len(notches)} notches but {len(responses_db)} responses. Give one for each.")
    order = sorted(range(len(notches)), key=lambda i: notches[i][0])
    deviations = [float(notches[i][1]) for i in order]
    heights = None if responses_db is None else [float(responses_db[i]) for i in order]
    figures = tuple(
        f"{derived(float(notches[i][0]), Unit.MM)}: {derived(float(notches[i][1]), Unit.DB, sign=True)}" for i in order
    )
    kind = _kind(deviations, heights, scatter)
    return Hint(kind, _says(kind, sum(deviations) > 0), figures)


def _kind(deviations: Sequence[float], heights: Sequence[float] | None, scatter: float) -> Kind:
    """Judge deviations (and heights), shallowest notch first."""
    if len(deviations) < FEWEST_NOTCHES:
        return "too few notches"
    single, apart = _DISTINCT * scatter, _DISTINCT * scatter * math.sqrt(2)
    if _exchanged(deviations, scatter) if heights is None else _falls_with_depth(heights, apart):
        return "order wrong"
    if all(abs(d) <= single for d in deviations):
        return "no change"
    rising = sum(deviations) > 0
    sizes = [d if rising else -d for d in deviations]
    if min(sizes) < -single:
        return "no clear pattern"
    if max(sizes) - min(sizes) <= apart:
        return "all alike"
    falls_off = all(deep <= shallow + apart for shallow, deep in pairwise(sizes))
    return "shallow most" if falls_off and sizes[0] - sizes[-1] > apart else "no clear pattern"


def _exchanged(deviations: Sequence[float], scatter: float) -> bool:
    """Whether notches swapped heights: what the shallow ones gained the deep ones lost, dB for dB."""
    moved = [d for d in deviations if abs(d) > max(_DISTINCT * scatter, _LEAST_EXCHANGE_DB)]
    if len(moved) < 2 or moved[0] <= 0 or moved[-1] >= 0:
        return False
    return abs(sum(deviations)) <= _DISTINCT * scatter * math.sqrt(len(deviations))


def _falls_with_depth(heights: Sequence[float], apart: float) -> bool:
    return any(deep < shallow - apart for shallow, deep in pairwise(heights))


def _says(kind: Kind, risen: bool) -> str:
    moved = "risen" if risen else "fallen"
    sentences: dict[Kind, str] = {
        "no change": "No notch moved by more than the scatter of independent set-ups.",
        "all alike": f"All notches have {moved} alike: look at gain, drive, cable and the gap under the probe.",
        "shallow most": (
            "The shallowest notch has risen most: look for a worn probe face, or less tape or gap than at the baseline."
            if risen
            else "The shallowest notch has fallen most: look for lift-off: tape, dirt, tilt or a changed probe face."
        ),
        "order wrong": (
            "The responses are not in the order of the depths: look for a mix-up of notches or blocks, or a block turned "
            "round, before anything else."
        ),
        "no clear pattern": "The notches moved without a common pattern: repeat the check with a clean block and probe.",
        "too few notches": f"A pattern needs at least {FEWEST_NOTCHES} notches of one kind.",
    }
    return sentences[kind]
