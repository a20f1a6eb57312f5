"""Do a block's notches suit the target: how many sizes it has, and whether the target lies between two of them.

Advice, unless the procedure asks for it: then a block without them does not suit.
"""

from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.rules.requirements import NotchAdvice

FEWEST_SIZES = 3
_SIZES_SOURCE = "TO 33B-1-1, chapter 4: three flaws of different size are recommended at least"
_BRACKET_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class SizesWanted:
    """What a job wants of the sizes of notches; `asked` is what the procedure asks for, None where it asks nothing."""

    job: str
    procedure: str
    target_depth_mm: Decimal | None
    asked: NotchAdvice | None


def notch_sizes(number: str, depths_mm: tuple[Decimal, ...], wanted: SizesWanted) -> list[Reason]:
    """Return what stands against the sizes of a block's notches."""
    sizes = sorted(set(depths_mm))
    if not sizes:
        return []  # a block without notches is told where the procedure names some
    return [*_fewest(number, sizes, wanted), *_bracket(number, sizes, wanted)]


def _fewest(number: str, sizes: list[Decimal], wanted: SizesWanted) -> list[Reason]:
    asked = wanted.asked.fewest_sizes if wanted.asked else None
    fewest = asked or FEWEST_SIZES
    if len(sizes) >= fewest:
        return []
    source = _paragraph(wanted) if asked else _SIZES_SOURCE
    one = "one size" if len(sizes) == 1 else f"{len(sizes)} sizes"
    return [
        Reason("notch sizes", f"{number} has notches of {one}", _mm(sizes), f"at least {fewest} sizes", source, number,
               f"take a block with {fewest} sizes", Weight.STOPS if asked else Weight.ADVISES)
    ]  # fmt: skip


def _bracket(number: str, sizes: list[Decimal], wanted: SizesWanted) -> list[Reason]:
    asked = wanted.asked is not None and wanted.asked.bracketing
    target = wanted.target_depth_mm
    weight, source = (Weight.STOPS, _paragraph(wanted)) if asked else (Weight.ADVISES, _BRACKET_SOURCE)
    if target is None:
        return [
            Reason("target size", f"whether {number} brackets the target cannot be told: its depth is not on record", "unknown",
                   "between two notches", source, f"job {wanted.job}", "record the target's depth with the job", weight)
        ] if asked else []  # fmt: skip
    if sizes[0] <= target <= sizes[-1]:
        return []
    side = "shallower" if target < sizes[0] else "deeper"
    return [
        Reason("target size", f"the target is {side} than every notch of {number}", f"target {plain(target)} mm deep",
               f"notches {_mm(sizes)}", source, number, f"take a block that has a {side} notch too", weight)
    ]  # fmt: skip


def _paragraph(wanted: SizesWanted) -> str:
    assert wanted.asked is not None
    return f"{wanted.procedure}, {wanted.asked.paragraph}"


def _mm(sizes: list[Decimal]) -> str:
    return ", ".join(plain(s) for s in sizes) + " mm"
