"""Another interval for a duty, proposed from its certificates by named methods. It changes nothing: a person takes it or not.

Longer only from certificates that say how the item was found. Response checks, by the date to look at an item before, can
only make it shorter.
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from refstd.metrology.drift import trend
from refstd.metrology.intervals import (
    IN_A_ROW,
    NEAR,
    Step,
    band_reaches,
    fewest_to_lengthen,
    reliability,
    staircase,
)
from refstd.rules.asfound import Series
from refstd.rules.due import due_on
from refstd.rules.proposals import LONGEST_MONTHS, METHODS, MONTH_DAYS, Every, History, Method, Outcome, Proposal

# Common practice, no source.
LONGER, SHORTER = 1.5, 0.5
RAN_ITS_TIME = 0.9  # in tolerance after less than this part of the interval is no reason for a longer one
FEWEST_VALUES = 5


def propose(h: History, today: date, target: float) -> tuple[Proposal, ...]:
    """Return what each method says of an interval. target: the share, 0 to 1, wanted in tolerance at its end."""
    methods = [m for m in METHODS if m != "in-use time" or h.every.uses]
    if h.every.calendar is None and not h.every.uses:
        return tuple(_too_little(m, "owed once: there is no interval to review") for m in methods)
    if h.last_done is None:
        return tuple(_too_little(m, "never done") for m in methods)
    calendar = h.every.calendar is not None
    none = "no interval in months or days"
    found = [
        _staircase(h) if calendar else _too_little("staircase", none),
        _control_chart(h) if calendar else _too_little("control chart", none),
        *([_in_use(h)] if h.every.uses else []),
        _reliability(h, target) if calendar else _too_little("reliability", none),
        _look_before(h, today) if calendar else _too_little("look before", none),
    ]
    return tuple(_held_back(h, p, found) if p.outcome == "lengthen" else p for p in found)


def _too_little(method: Method, missing: str, data: tuple[str, ...] = ()) -> Proposal:
    return Proposal(method, "too little", missing, data, missing=missing)


def _to(h: History, method: Method, outcome: Outcome, every: Every, says: str, data: tuple[str, ...]) -> Proposal:
    return Proposal(method, outcome, says, data, every, h.due(every))


def _step(
    h: History, method: Method, ran: list[float | None], each: str
) -> Proposal | tuple[Step, str, tuple[str, ...]]:
    """Return which step the staircase asks for with the words for it, or that there is too little for one.

    ran: for each paper, which part of its interval the item was left before it was found; each: what an interval is told in.
    """
    ended = h.ended
    data = tuple(p.in_words() for p in ended[-IN_A_ROW:])
    if not ended:
        return _too_little(method, "no interval has ended yet: it takes two certificates that follow each other")
    newest = ended[-1]
    if newest.in_tolerance is None:
        return _too_little(method, f"{newest.record} does not say how it was found: {newest.says}", data)
    known = [
        (bool(p.in_tolerance), math.inf if p.share is None else p.share) for p in ended if p.in_tolerance is not None
    ]
    step = staircase(known)
    if step == "shorten":
        if h.set_anew:
            return Proposal(
                method, "keep", f"{newest.record} found it out of tolerance, but {h.set_anew}: the next decides", data
            )
        return step, f"{newest.record} found it out of tolerance", data
    row = ended[-IN_A_ROW:]
    unsaid = [p.record for p in row if p.in_tolerance is None or (p.in_tolerance and p.share is None)]
    if len(row) < IN_A_ROW or unsaid:
        why = (
            f"how much of the tolerance was used is not said by {', '.join(unsaid)}"
            if unsaid
            else f"{len(row)} of {IN_A_ROW}"
        )
        return Proposal(
            method,
            "keep",
            f"in tolerance; longer takes {IN_A_ROW} in a row within {NEAR:.0%} of the limits: {why}",
            data,
        )
    if step == "keep":
        return Proposal(
            method, "keep", f"in tolerance, but not the last {IN_A_ROW} in a row within {NEAR:.0%} of the limits", data
        )
    if any(part is None or part < RAN_ITS_TIME for part in ran[-IN_A_ROW:]):
        return Proposal(
            method, "keep", f"in tolerance, but not each time after {RAN_ITS_TIME:.0%} of the {each} or more", data
        )
    return step, f"the last {IN_A_ROW} found it in tolerance, within {NEAR:.0%} of the limits", data


def _staircase(h: History) -> Proposal:
    assert h.last_done is not None
    present = (due_on(h.last_done, h.every.calendar or relativedelta(days=1)) - h.last_done).days
    ran = [None if p.lasted is None else p.lasted / present for p in h.ended]
    found = _step(h, "staircase", ran, "interval")
    if isinstance(found, Proposal):
        return found
    step, says, data = found
    every = h.every.scaled(SHORTER if step == "shorten" else LONGER)
    return _changed(h, "staircase", every, says, data)


def _changed(h: History, method: Method, every: Every, says: str, data: tuple[str, ...]) -> Proposal:
    """Return a proposal of another calendar interval; 'keep' where rounding leaves it as it is."""
    before, after = h.ends(h.every), h.ends(every)
    if before == after:
        return Proposal(method, "keep", says, data)
    outcome: Outcome = "lengthen" if after > before else "shorten"
    return _to(h, method, outcome, every, f"{says}: {h.every.in_words()} to {every.in_words()}", data)


def _in_use(h: History) -> Proposal:
    allowed = h.every.uses or 1
    found = _step(
        h, "in-use time", [None if p.uses is None else p.uses / allowed for p in h.ended], f"{allowed} {h.every.use}"
    )
    if isinstance(found, Proposal):
        return found
    step, says, data = found
    every = replace(h.every, uses=max(math.floor(allowed * (SHORTER if step == "shorten" else LONGER)), 1))
    if every == h.every:
        return Proposal("in-use time", "keep", says, data)
    words = f"{says}: {allowed} to {every.uses} {h.every.use}" + (
        "" if h.every.calendar else "; set months beside it: it ages at rest too"
    )
    return _to(h, "in-use time", "shorten" if step == "shorten" else "lengthen", every, words, data)


def _candidates(h: History, most_days: int) -> Iterator[Every]:
    for months in range(LONGEST_MONTHS if h.every.months is not None else 0, 0, -1):
        yield replace(h.every, months=months)
    for days in range(min(most_days, math.floor(LONGEST_MONTHS * MONTH_DAYS)), 0, -1):
        yield replace(h.every, months=None, days=days)


def _until(h: History, day: date) -> Every | None:
    """Return the longest interval due by a day, in months as it is or, below one, in days; None where none is."""
    assert h.last_done is not None
    found = _candidates(h, (day - h.last_done).days)
    return next((every for every in found if h.ends(every) <= day), None)


def _control_chart(h: History) -> Proposal:
    """Return when the band about the straight line through a value's certificates reaches its limit, the soonest of all values."""
    if not h.series:
        return _too_little("control chart", "no as-found value with limits is on record")
    short = [f"{s.what} {s.lacks(FEWEST_VALUES)}" for s in h.series if s.lacks(FEWEST_VALUES)]
    full = [s for s in h.series if not s.lacks(FEWEST_VALUES)]
    if not full:
        return _too_little("control chart", "; ".join(short))
    now = h.ends(h.every)
    reached: list[tuple[float, Series]] = []
    carried: list[float] = []  # how far ahead each record carries: as far again as it is long
    data = []
    for s in full:
        line = trend(s.days, s.values, widen=True)
        far = line.last_time + (line.last_time - line.first_time)
        at = band_reaches(line, s.u or 0.0, s.lower, s.upper, max(far, float(now.toordinal())))
        carried.append(far)
        words = s.in_words(line)
        if at is not None:
            reached.append((at, s))
            words += f"; its band is at the limit on {date.fromordinal(math.floor(at))}"
        data.append(words)
        if at is not None and at <= line.last_time:
            says = f"the next {s.what} may lie outside {s.limits_in_words()} already: no interval is short enough; decide on the item"
            return Proposal("control chart", "no interval", says, tuple(data))
    soonest = min(reached, key=lambda each: each[0], default=None)
    if soonest is not None and date.fromordinal(math.floor(soonest[0])) < now:
        day = date.fromordinal(math.floor(soonest[0]))
        says = f"{soonest[1].what} may reach {soonest[1].limits_in_words()} on {day}"
        every = _until(h, day)
        if every is None:
            return Proposal(
                "control chart", "no interval", f"{says}: no interval is short enough; decide on the item", tuple(data)
            )
        return _changed(h, "control chart", every, says, tuple(data))
    if short:
        return Proposal("control chart", "keep", f"no limit before {now}; not longer: {'; '.join(short)}", tuple(data))
    edge = min([*carried, *(at for at, _ in reached)])
    longer = _not_beyond(h, date.fromordinal(math.floor(edge)))
    if longer is None:
        return Proposal("control chart", "keep", f"no limit before {now}; the record carries no further", tuple(data))
    return _changed(h, "control chart", longer, f"no value may reach its limit before {h.ends(longer)}", tuple(data))


def _not_beyond(h: History, day: date) -> Every | None:
    """Return an interval longer than that in force, due by a day and not more than half as long again; None for none."""
    capped = h.every.scaled(LONGER)
    best = capped if h.ends(capped) <= day else _until(h, day)
    return best if best is not None and h.ends(best) > h.ends(h.every) else None


def _reliability(h: History, target: float) -> Proposal:
    assert h.last_done is not None
    present = h.present_days
    own = [(float(p.lasted or 0), p.in_tolerance) for p in h.ended if p.in_tolerance is not None and p.lasted]
    observed = own + [(float(a.lasted), a.in_tolerance) for a in h.alike]
    r = reliability(observed, target, present)
    if r is None:
        return _too_little("reliability", "no interval has ended with a certificate that says how it was found")
    likely = "" if r.likely is None else f", about {r.likely:.0f} by the share itself"
    longest = "no end" if math.isinf(r.longest) else f"{r.longest:.0f} days"
    items = sorted({a.asset_no for a in h.alike})
    data = (
        f"{r.found} of {r.of} found in tolerance after {r.after:.0f} days or more" + (f", with {', '.join(items)}" if items else ""),
        f"{target:.0%} in tolerance for {r.shortest:.0f} days to {longest} (95 %){likely}",
    )  # fmt: skip
    says = f"{r.found} of {r.of} in tolerance against a target of {target:.0%}"
    if r.longest < present:
        days = r.likely if r.likely is not None else r.longest
        every = _until(h, h.last_done + timedelta(days=math.floor(min(days, r.longest))))
        if every is None:
            return Proposal(
                "reliability", "no interval", f"{says}: no interval is short enough; decide on the item", data
            )
        return _changed(h, "reliability", every, f"{says}, which is significantly fewer", data)
    if r.shortest > present:
        longer = _not_beyond(h, h.last_done + timedelta(days=math.floor(min(r.shortest, 2 * present))))
        if longer is not None:
            return _changed(h, "reliability", longer, f"{says}, which is significantly more", data)
        return Proposal("reliability", "keep", f"{says}, which is significantly more, but for no step longer", data)
    needed = fewest_to_lengthen(target)
    return Proposal(
        "reliability", "keep", f"{says}: neither more nor fewer beyond chance; longer takes {needed} of {needed}", data
    )


def _look_before(h: History, today: date) -> Proposal:
    if h.look_before is None:
        return _too_little("look before", "no drift of its responses has a date")
    data = (h.look_before_says,)
    if h.look_before >= h.ends(h.every):
        return Proposal("look before", "keep", f"its date, {h.look_before}, is not before the due date", data)
    every = _until(h, h.look_before)
    if h.look_before <= today or every is None:
        return Proposal(
            "look before", "no interval", f"its date, {h.look_before}, has come: look at the item now", data
        )
    return _changed(h, "look before", every, f"look at it before {h.look_before}", data)


def _held_back(h: History, p: Proposal, found: list[Proposal]) -> Proposal:
    """Return a longer interval, or 'keep' with what stands against it."""
    against = [f"{o.method} asks for {'a shorter one' if o.outcome == 'shorten' else 'a look at the item'}"
               for o in found if o.outcome in ("shorten", "no interval")]  # fmt: skip
    newest = h.papers[-1] if h.papers else None
    if newest is None or newest.in_tolerance is not True:
        against.append("its own newest certificate does not say that it was found in tolerance")
    if h.set_anew:
        against.append(f"{h.set_anew}: the next certificate decides")
    if not against and h.look_before is not None and p.due_on is not None and h.look_before < p.due_on:
        cut = _not_beyond(h, h.look_before)
        if cut is not None:
            return _to(
                h,
                p.method,
                "lengthen",
                cut,
                f"{p.says}; no further than {h.look_before}: {cut.in_words()}",
                (*p.data, h.look_before_says),
            )
        against.append(f"its drift asks for a look before {h.look_before}")
    if not against:
        return p
    return replace(p, outcome="keep", says=f"{p.says}; not longer: {'; '.join(against)}", every=None, due_on=None)
