"""What a proposal of another interval is made of: the interval, the history that it rests on, and what a method says."""

import math
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from dateutil.relativedelta import relativedelta

from refstd.rules.asfound import AsFound, Series
from refstd.rules.due import calendar_due, due_on

Method = Literal["staircase", "control chart", "in-use time", "reliability", "look before"]
Outcome = Literal["shorten", "lengthen", "keep", "no interval", "too little"]
METHODS: tuple[Method, ...] = ("staircase", "control chart", "in-use time", "reliability", "look before")
_GUIDE = "ILAC-G24:2022 / OIML D 10:2022"
SOURCES: dict[Method, str] = {
    "staircase": f"{_GUIDE}, 6.2; steps of a half: common practice, no source",
    "control chart": f"{_GUIDE}, 6.3; straight line, one-sided 95 % band of a single value (Student's t)",
    "in-use time": f"{_GUIDE}, 6.4: the staircase by use; steps of a half: common practice, no source",
    "reliability": f"{_GUIDE}, section 6, statistics; exponential model, Clopper–Pearson 95 % limits",
    "look before": "drift of responses; straight line, earlier end of the 90 % interval of a single check at the limit",
}
CAUTION = (
    "A proposal changes nothing by itself; the lab's written practice decides."  # one line of 80: the screen shows four
)

LONGEST_MONTHS = 120  # the longest that NIST GMP 11 (2018) allows without a special analysis
MONTH_DAYS = 365.25 / 12


@dataclass(frozen=True, slots=True)
class Every:
    """How often something is owed: months or days, or uses of a kind, or both; none of them is once."""

    months: int | None = None
    days: int | None = None
    uses: int | None = None
    use: str = ""

    @property
    def calendar(self) -> relativedelta | None:
        if self.months is None and self.days is None:
            return None
        return relativedelta(months=self.months or 0, days=self.days or 0)

    def in_words(self) -> str:
        parts = [
            f"{n} {what}" for n, what in ((self.months, "months"), (self.days, "days"), (self.uses, self.use)) if n
        ]
        return " or ".join(parts) + (", whichever comes first" if len(parts) > 1 else "") if parts else "once"

    def scaled(self, factor: float) -> "Every":
        """Return the calendar interval times a factor, rounded down: whole months where that is another number of them."""
        if self.months is not None:
            months = min(math.floor(self.months * factor), max(LONGEST_MONTHS, self.months))
            if months not in (0, self.months) or self.months >= LONGEST_MONTHS:
                return replace(self, months=max(months, 1))
            return replace(self, months=None, days=max(math.floor(self.months * MONTH_DAYS * factor), 1))
        days = self.days or 0
        return replace(
            self, days=max(min(math.floor(days * factor), max(math.floor(LONGEST_MONTHS * MONTH_DAYS), days)), 1)
        )


@dataclass(frozen=True, slots=True)
class Alike:
    """How another item of the same kind was found: how many days after the certificate before, in tolerance or not."""

    asset_no: str
    record: str
    lasted: int
    in_tolerance: bool


@dataclass(frozen=True, slots=True)
class History:
    """All that a proposal rests on. papers: of this duty, oldest first, since the item was last repaired or changed.

    last_done: the evidence that the due date counts from. used_on: days of use in order. set_anew: '' or what says that the
    interval was changed after the newest certificate. look_before: the earliest date of its drifts, with the words for it.
    """

    every: Every
    anchor: str
    counted_from: date | None
    last_done: date | None
    papers: tuple[AsFound, ...]
    series: tuple[Series, ...] = ()
    alike: tuple[Alike, ...] = ()
    used_on: tuple[date, ...] = ()
    set_anew: str = ""
    look_before: date | None = None
    look_before_says: str = ""

    def due(self, every: Every) -> date | None:
        """Return the due date by another interval."""
        if self.last_done is None or every.calendar is None:
            return None
        return calendar_due(self.anchor, every.calendar, self.counted_from, self.last_done, self.used_on)

    def ends(self, every: Every) -> date:
        """Return the due date, counted from the last evidence where nothing makes the item age yet."""
        assert self.last_done is not None
        assert every.calendar is not None
        return self.due(every) or due_on(self.last_done, every.calendar)

    @property
    def present_days(self) -> int:
        """Return how many days the interval in force is, from the last evidence to its due date."""
        assert self.last_done is not None
        return (self.ends(self.every) - self.last_done).days

    @property
    def ended(self) -> tuple[AsFound, ...]:
        """The papers that ended an interval of this item."""
        return tuple(p for p in self.papers if p.lasted is not None)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What one method says: `every` and `due_on` only where it proposes another interval; `missing` where it cannot say."""

    method: Method
    outcome: Outcome
    says: str
    data: tuple[str, ...] = ()
    every: Every | None = None
    due_on: date | None = None
    missing: str = ""

    @property
    def source(self) -> str:
        return SOURCES[self.method]
