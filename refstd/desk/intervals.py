"""Proposed intervals: what a duty's certificates say of its interval, by each method, with what was answered to it."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select

from refstd.base.text import key
from refstd.desk.drift import NotchDrift, date_in_words, date_of, drift_within
from refstd.desk.found import Found, Papers
from refstd.desk.items import ItemShown, items
from refstd.desk.known import named
from refstd.desk.owed import active_schedules, interval_in_words
from refstd.desk.people import code_of
from refstd.desk.serviceability import facts_of
from refstd.desk.uses import UseRecord, uses_of
from refstd.register.equipment import Equipment, IntervalReview, Schedule
from refstd.register.lab import Lab, Look, When
from refstd.rules.intervals import propose
from refstd.rules.proposals import CAUTION as CAUTION
from refstd.rules.proposals import METHODS as METHODS
from refstd.rules.proposals import Alike, Every, History, Proposal

TARGET_PERCENT = 95  # common practice, no source; a question may name another
NOT_IN_USE = ("retired", "lost")


@dataclass(frozen=True, slots=True)
class ReviewShown:
    """An answer to a proposal, as on record."""

    asset_no: str
    activity: str
    method: str
    rests_on: str
    interval_before: str
    interval_proposed: str
    taken: bool
    person: str
    why: str
    happened_at: datetime
    entry: int

    def in_words(self) -> str:
        done = "taken" if self.taken else "turned down"
        return (
            f"{self.asset_no}: {self.activity} every {self.interval_proposed} instead of {self.interval_before} "
            f"({self.method}) {done} by {self.person}: {self.why}"
        )


@dataclass(frozen=True, slots=True)
class Proposed:
    """What a method says, and the answer to just that on just that data, None where there is none."""

    proposal: Proposal
    review: ReviewShown | None = None

    @property
    def open(self) -> bool:
        """Another interval that nobody has answered yet."""
        return self.proposal.every is not None and self.review is None


@dataclass(frozen=True, slots=True)
class DutyIntervals:
    """One duty of an item with its interval and what each method says of it."""

    asset_no: str
    name: str
    kind: str
    activity: str
    every: Every
    every_words: str
    source: str
    last_done_on: date | None
    due_on: date | None
    proposals: tuple[Proposed, ...]
    schedule_id: int

    @property
    def first(self) -> Proposed:
        """Return what to look at first: a look at the item, the shortest interval proposed, then any other."""
        rank = {"no interval": 0, "shorten": 1, "lengthen": 2, "keep": 3, "too little": 4}
        return min(
            self.proposals,
            key=lambda p: (p.review is not None, rank[p.proposal.outcome], p.proposal.due_on or date.max),
        )

    def of(self, method: str) -> Proposed | None:
        return next((p for p in self.proposals if p.proposal.method == method), None)


def intervals(
    lab: Lab, when: When, asset_no: str = "", *, target_percent: int = TARGET_PERCENT
) -> tuple[DutyIntervals, ...]:
    """Return every duty in force, of an item or of all, with what each method says of its interval."""
    with lab.look(when) as look:
        return intervals_within(look, asset_no, target_percent=target_percent)


def intervals_within(
    look: Look, asset_no: str = "", *, target_percent: int = TARGET_PERCENT
) -> tuple[DutyIntervals, ...]:
    """Return the same within a look. target_percent: the share wanted in tolerance at an interval's end, %."""
    shown = items(look)
    only = named(look, Equipment, asset_no).id if asset_no else None
    wanted = [only] if only is not None else [n for n, i in shown.items() if i.state not in NOT_IN_USE]
    schedules = [s for s in active_schedules(look, None if only is None else [only]) if s.equipment_id in wanted]
    evidence = _Evidence(look, shown, {s.equipment_id for s in schedules}, only)
    answered = _answers(look)
    rows = [_of_duty(look, s, evidence, answered, target_percent / 100) for s in schedules]
    return tuple(sorted(rows, key=lambda r: (r.asset_no, r.activity)))


class _Evidence:
    """What the proposals for some items rest on, each read once."""

    def __init__(self, look: Look, shown: dict[int, ItemShown], ids: Collection[int], only: int | None) -> None:
        self.shown = shown
        self.alike: dict[int, list[int]] = {n: [] for n in ids}
        for n in ids:
            mine = shown[n]
            if mine.part_no:
                self.alike[n] = [
                    m for m, i in shown.items()
                    if m != n and i.kind == mine.kind and key(i.part_no) == key(mine.part_no)
                ]  # fmt: skip
        read = None if only is None else [*ids, *(m for others in self.alike.values() for m in others)]
        self.papers = Papers(look, read)
        self.uses = uses_of(look, list(ids))
        self.facts = facts_of(look, list(ids), evidence=False)
        asset_no = shown[only].asset_no if only is not None else ""
        drifts = drift_within(look, item=asset_no) if ids else ()
        self.dated = [(date.fromisoformat(day), d) for d in drifts if (day := date_of(d, look.zone))]

    def look_before(self, asset_no: str) -> tuple[date, NotchDrift] | None:
        """Return the earliest date to look at an item before: of any series that it takes part in."""
        own = [x for x in self.dated if asset_no in (x[1].setup.instrument, x[1].setup.probe, x[1].setup.block)]
        return min(own, key=lambda x: x[0], default=None)


def _of_duty(
    look: Look, s: Schedule, e: _Evidence, answered: dict[tuple[str, ...], ReviewShown], target: float
) -> DutyIntervals:
    item, number = e.shown[s.equipment_id], s.equipment_id
    every = every_of(s)
    uses = e.uses.get(number, UseRecord())
    found = e.papers.of(number, s.activity, uses.in_order(s.use) if s.use else None)
    duty = next(d for d in e.facts[number].duties if d.activity == s.activity)
    dated = e.look_before(item.asset_no)
    history = History(
        every, s.anchor, s.counted_from, duty.last_done_on, found.papers, found.series, _alike(e, number, s.activity),
        tuple(uses.in_order("days of use")), _set_anew(look, s, found), dated[0] if dated else None,
        f"setup {dated[1].setup.number}, notch {dated[1].notch}: {date_in_words(dated[1], look.zone)}" if dated else "",
    )  # fmt: skip
    proposals = tuple(
        Proposed(p, answered.get((item.asset_no, s.activity, *_asked(every, p))))
        for p in propose(history, look.today, target)
    )
    return DutyIntervals(
        item.asset_no, item.name, item.kind, s.activity, every, interval_in_words(s), s.source, duty.last_done_on, duty.due_on,
        proposals, s.id,
    )  # fmt: skip


def every_of(s: Schedule) -> Every:
    """Return the interval of a schedule."""
    return Every(s.every_months, s.every_days, s.every_uses, s.use)


def rests_on(p: Proposal) -> str:
    """Return the data of a proposal as it is kept with the answer."""
    return "; ".join(p.data)


def _asked(every: Every, p: Proposal) -> tuple[str, ...]:
    return p.method, rests_on(p), every.in_words(), p.every.in_words() if p.every else ""


def _alike(e: _Evidence, number: int, activity: str) -> tuple[Alike, ...]:
    return tuple(
        Alike(e.shown[m].asset_no, p.record, p.lasted, p.in_tolerance)
        for m in e.alike[number]
        for p in e.papers.of(m, activity).papers
        if p.lasted is not None and p.in_tolerance is not None
    )


def _set_anew(look: Look, s: Schedule, found: Found) -> str:
    """Return when and by which entry the interval was changed after the newest certificate was filed, '' if it was not."""
    row = s
    while row.supersedes_id is not None and row.entry > found.newest_entry:
        before = look.session.get_one(Schedule, row.supersedes_id)
        if every_of(before) != every_of(row):
            on = row.happened_at.astimezone(look.zone).date()
            return f"the interval was set anew on {on} (log entry {row.entry}), after that certificate"
        row = before
    return ""


def reviews_in(look: Look) -> tuple[ReviewShown, ...]:
    """Return every answer to a proposal within a look, oldest first."""
    query = select(IntervalReview).where(IntervalReview.entry <= look.upto).order_by(IntervalReview.id)
    return tuple(review_shown(look, r) for r in look.session.execute(query).scalars())


def review_shown(look: Look, r: IntervalReview) -> ReviewShown:
    """Return an answer as on record."""
    return ReviewShown(
        items(look)[r.equipment_id].asset_no, r.activity, r.method, r.rests_on, r.interval_before, r.interval_proposed, r.taken,
        code_of(look, r.person_id), r.why, r.happened_at, r.entry,
    )  # fmt: skip


def _answers(look: Look) -> dict[tuple[str, ...], ReviewShown]:
    """Return the newest answer to each question: item, duty, method, data, interval in force and interval proposed."""
    return {
        (r.asset_no, r.activity, r.method, r.rests_on, r.interval_before, r.interval_proposed): r
        for r in reviews_in(look)
    }
