"""The papers of one item in time → which of them found it out of tolerance, and which stretch that leaves in doubt.

The stretch goes from the newest paper before that left the same thing in tolerance to the first paper that does so again.
Response checks in between are evidence for the decision and end nothing. Nonconforming work is evaluated back to where the
equipment was last known to be right (ISO/IEC 17025:2017, 7.10.1 c, from MEMORY).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from refstd.rules.asfound import FoundValue


@dataclass(frozen=True, slots=True)
class PaperSaid:
    """What a paper says of an item: its values with limits as it found and as it left them.

    whole: its own result about the item, such as that a block agrees with its primary; None where it has none.
    """

    certificate_id: int
    record: str
    done_on: date
    found: tuple[FoundValue, ...]
    left: tuple[FoundValue, ...]
    whole: bool | None = None

    @property
    def out(self) -> tuple[FoundValue, ...]:
        """Return the values that it found outside their limits."""
        return tuple(v for v in self.found if not v.in_tolerance)

    def in_words(self) -> str:
        """Return what it found out of tolerance."""
        return "; ".join(v.in_words() for v in self.out) or f"the result of {self.record} is 'not sound'"

    def left_good(self, value: FoundValue | None) -> bool:
        """Return whether it left a value in tolerance; for None, the whole item: by its own result, or by all its values."""
        if self.whole is False:
            return False
        same = [v for v in self.left if value is None or v.place == value.place]
        return all(v.in_tolerance for v in same) and (bool(same) or (value is None and self.whole is True))


@dataclass(frozen=True, slots=True)
class OutOfTolerance:
    """A paper that found an item out of tolerance, and the papers between which its work is in doubt.

    since: None where no paper before left it in tolerance: then everything before is in doubt. until: the first one that
    left it in tolerance again, itself where it was adjusted; None where none did. notches: those that were out, none where
    it is about the whole item.
    """

    paper: PaperSaid
    since: PaperSaid | None
    until: PaperSaid | None
    notches: tuple[str, ...]


def out_of_tolerance(papers: Sequence[PaperSaid], certificate_id: int) -> OutOfTolerance | None:
    """Return what a paper among an item's papers, oldest first, found out of tolerance, or None.

    Of several values that were out, the stretch is as long as that of the one which was wrong longest.
    """
    at = next(n for n, p in enumerate(papers) if p.certificate_id == certificate_id)
    paper = papers[at]
    about: list[FoundValue | None] = [*paper.out, *([None] if paper.whole is False else [])]
    if not about:
        return None
    before = [_newest(papers[:at], value) for value in about]
    after = [_first(papers[at:], value) for value in about]
    of_item = None in about or any(not v.point.notch for v in paper.out)
    notches = () if of_item else tuple(dict.fromkeys(v.point.notch for v in paper.out))
    since = None if None in before else min((p for p in before if p is not None), key=papers.index)
    until = None if None in after else max((p for p in after if p is not None), key=papers.index)
    return OutOfTolerance(paper, since, until, notches)


def _newest(papers: Sequence[PaperSaid], value: FoundValue | None) -> PaperSaid | None:
    return next((p for p in reversed(papers) if p.left_good(value)), None)


def _first(papers: Sequence[PaperSaid], value: FoundValue | None) -> PaperSaid | None:
    return next((p for p in papers if p.left_good(value)), None)
