"""Whether the one who examines may sign for the lot: qualification and tests of vision on the day of the work.

What the procedure asks for stops when it is missing, too low, failed or past its last day. What nobody asks for but stands on
record stops too once its own last day has passed, since the written practice or the scheme set that day. What is neither asked
for nor on record is told as not recorded, and stops nothing. A last day is a day of validity, as everywhere.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from dateutil.relativedelta import relativedelta

from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.rules.due import due_on, state_of
from refstd.rules.requirements import QualificationNeeded, Requirements, Vision

NEAR_VISION, COLOUR = "near vision", "colour"
KINDS_OF_VISION = (NEAR_VISION, COLOUR)
OTHER_SIGNS = "have another qualified person sign for the lot"
RENEW = f"record the renewed qualification, or {OTHER_SIGNS}"
TO_RECORD = "the custodian records it, so that its last day is seen"
TEST_AGAIN = f"record the new test, or {OTHER_SIGNS}"


def test_of(kind: str) -> str:
    """Return a kind of test of vision in words."""
    return "test of colour vision" if kind == COLOUR else f"test of {kind}"


@dataclass(frozen=True, slots=True)
class Held:
    """A qualification with the employer's authorisation: it counts from the day of that to its last day, both included."""

    method: str
    level: int
    sector: str
    scheme: str
    authorised_on: date
    expires_on: date
    record: str

    def in_words(self) -> str:
        """Return method, level and sector."""
        return f"{self.method} level {self.level}" + (f", sector {self.sector}" if self.sector else "")

    def counts_on(self, day: date) -> bool:
        return self.authorised_on <= day <= self.expires_on

    def meets(self, needed: QualificationNeeded | None) -> bool:
        """Return whether method, level and sector are as needed; a sector that is not stated is none."""
        return needed is None or (
            key(self.method) == key(needed.method)
            and self.level >= needed.level
            and (not needed.sector or key(self.sector) == key(needed.sector))
        )


@dataclass(frozen=True, slots=True)
class Sight:
    """A test of vision. `expires_on` is its last day by the written practice; None for one that was not passed."""

    kind: str
    tested_on: date
    passed: bool
    expires_on: date | None
    practice: str
    record: str


@dataclass(frozen=True, slots=True)
class Examiner:
    """The one who examines, with what is on record and nothing supersedes, in the order in which it was recorded."""

    code: str
    held: tuple[Held, ...] = ()
    sight: tuple[Sight, ...] = ()

    def last_test(self, kind: str, day: date) -> Sight | None:
        """Return the newest test of a kind on a day; it counts whatever it says, and of one day the one recorded last."""
        done = [t for t in self.sight if t.kind == kind and t.tested_on <= day]
        return max(reversed(done), key=lambda t: t.tested_on, default=None)


@dataclass(frozen=True, slots=True)
class Owed:
    """What a person owes: what, when it was done last, its last day, and how that stands."""

    what: str
    last_done_on: date | None
    due_on: date | None
    state: str  # of rules/due.py, or 'not passed'
    source: str
    record: str

    @property
    def short(self) -> str:
        """Return what is owed for a narrow column: near vision, colour, ET level 2."""
        return self.what.removeprefix("test of ").removeprefix("qualification ").replace("colour vision", COLOUR)


def signing_reasons(
    who: Examiner, asked: Requirements, procedure: str, day: date, soon_days: int
) -> tuple[Reason, ...]:
    """Return what stands against somebody's signing for work of a day, and what is in order.

    asked: what the procedure asks for; procedure: its name. ValueError if soon_days is negative.
    """
    if not who.held and not who.sight and asked.qualification is None and not asked.vision:
        says = f"qualification and test of vision of {who.code}: not recorded ({procedure} asks for neither)"
        return (_not_recorded("qualification", says, who),)
    return (
        *_qualification(who, asked.qualification, procedure, day, soon_days),
        *(
            reason
            for kind in KINDS_OF_VISION
            for reason in _vision(who, kind, _asked_of(asked.vision, kind), procedure, day, soon_days)
        ),
    )


def against_signing(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    """Return what stops somebody from signing."""
    return tuple(r for r in reasons if r.weight is Weight.STOPS)


def told_with_a_check(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    """Return what stops somebody from signing, as advice beside a check: the readings stand, whoever made them."""
    return tuple(
        replace(r, says=f"{r.says}: the check is kept, but no lot can be signed", weight=Weight.ADVISES)
        for r in against_signing(reasons)
    )


def _not_recorded(rule: str, says: str, who: Examiner) -> Reason:
    return Reason(rule, says, record=f"person {who.code}", cure=TO_RECORD, weight=Weight.ADVISES)


def _asked_of(vision: Sequence[Vision], kind: str) -> Vision | None:
    return next((v for v in vision if v.kind == kind), None)


def _qualification(
    who: Examiner, needed: QualificationNeeded | None, procedure: str, day: date, soon_days: int
) -> Iterator[Reason]:
    source = f"{procedure}, {needed.paragraph}" if needed else ""
    limit = needed.in_words() if needed else ""
    if not who.held:
        says = f"no qualification is on record for {who.code}"
        if needed:
            yield Reason("qualification", says, "none", limit, source, f"person {who.code}", RENEW)
        else:
            yield _not_recorded("qualification", f"qualification of {who.code}: not recorded", who)
        return
    fitting = [h for h in who.held if h.meets(needed)]
    if not fitting:
        figure = "; ".join(dict.fromkeys(h.in_words() for h in who.held))
        says = f"{who.code} is not qualified as {procedure} asks"
        yield Reason("qualification", says, figure, limit, source, who.held[-1].record, RENEW)
        return
    counting = [h for h in fitting if h.counts_on(day)]
    if counting:
        best = max(counting, key=lambda h: h.expires_on)
        yield _in_order("qualification", f"{who.code}'s {best.in_words()}", best.authorised_on, "authorised on", best.expires_on, source or best.scheme, best.record, day, soon_days)  # fmt: skip
        return
    lapsed = [h for h in fitting if h.expires_on < day]
    if lapsed:
        last = max(lapsed, key=lambda h: h.expires_on)
        says = f"{who.code}'s {last.in_words()} expired on {last.expires_on}"
        yield Reason("qualification", says, _days_past(last.expires_on, day), limit or f"counts to {last.expires_on}", source or last.scheme, last.record, RENEW)  # fmt: skip
        return
    first = min(fitting, key=lambda h: h.authorised_on)
    says = f"the employer authorises {who.code} for {first.in_words()} only from {first.authorised_on}"
    yield Reason("qualification", says, f"{(first.authorised_on - day).days} days too early", limit or f"counts from {first.authorised_on}", source or first.scheme, first.record, OTHER_SIGNS)  # fmt: skip


def _vision(
    who: Examiner, kind: str, asked: Vision | None, procedure: str, day: date, soon_days: int
) -> Iterator[Reason]:
    source = f"{procedure}, {asked.paragraph}" if asked else ""
    last = who.last_test(kind, day)
    if last is None:
        says = f"no {test_of(kind)} is on record for {who.code}"
        if asked:
            yield Reason(kind, says, "none", asked.in_words(), source, f"person {who.code}", TEST_AGAIN)
        elif kind == NEAR_VISION:
            yield _not_recorded(kind, f"{test_of(kind)} of {who.code}: not recorded", who)
        return
    if not last.passed:
        says = f"{who.code} did not pass the {test_of(kind)} of {last.tested_on}"
        yield Reason(kind, says, "not passed", "passed", source or last.practice, last.record, TEST_AGAIN)
        return
    end, from_where = _last_day(last, asked, source)
    if end < day:
        says = f"{who.code}'s {test_of(kind)} counted to {end}"
        yield Reason(kind, says, f"tested on {last.tested_on}, {_days_past(end, day)}", f"counts to {end}", from_where, last.record, TEST_AGAIN)  # fmt: skip
        return
    yield _in_order(kind, f"{who.code}'s {test_of(kind)}", last.tested_on, "tested on", end, from_where, last.record, day, soon_days)  # fmt: skip


def _last_day(test: Sight, asked: Vision | None, source: str) -> tuple[date, str]:
    """Return the last day of a passed test and who sets it: the written practice, or the procedure where that is sooner."""
    assert test.expires_on is not None
    if asked is not None and asked.every_months is not None:
        by_procedure = due_on(test.tested_on, relativedelta(months=asked.every_months))
        if by_procedure < test.expires_on:
            return by_procedure, source
    return test.expires_on, test.practice


def _days_past(end: date, day: date) -> str:
    return f"{(day - end).days} days past it"


def _in_order(
    rule: str, what: str, begun: date, word: str, end: date, source: str, record: str, day: date, soon_days: int
) -> Reason:
    figure, limit = f"{word} {begun}, {(end - day).days} days left", f"counts to {end}"
    if state_of(end, day, soon_days) == "due soon":
        return Reason(rule, f"{what} counts to {end} only", figure, limit, source, record, "plan its renewal", Weight.ADVISES)  # fmt: skip
    return Reason(rule, f"{what} counts to {end}", figure, limit, source, record, weight=Weight.SUPPORTS)


def owed_by(
    who: Examiner, asked: Sequence[tuple[str, Requirements]], today: date, soon_days: int, *, examines: bool
) -> tuple[Owed, ...]:
    """Return what a person owes by qualification and vision.

    asked: (name, requirements) of the procedures in force. examines: what procedures ask for is owed though it was never done.
    """
    found = [_owed_sight(who, kind, asked, today, soon_days, examines) for kind in KINDS_OF_VISION]
    newest: dict[tuple[str, str], Held] = {}
    for h in who.held:
        known = newest.get((key(h.method), key(h.sector)))
        if known is None or (h.expires_on, h.level) > (known.expires_on, known.level):
            newest[key(h.method), key(h.sector)] = h
    found += [
        Owed(f"qualification {h.in_words()}", h.authorised_on, h.expires_on, state_of(h.expires_on, today, soon_days), h.scheme, h.record)
        for h in newest.values()
    ]  # fmt: skip
    missing = {
        q.in_words(): Owed(f"qualification {q.in_words()}", None, None, "never done", f"{name}, {q.paragraph}", f"person {who.code}")
        for name, asks in reversed(asked)
        if examines and (q := asks.qualification) and not any(h.meets(q) for h in who.held)
    }  # fmt: skip
    return (*(o for o in found if o is not None), *missing.values())


def _owed_sight(
    who: Examiner, kind: str, asked: Sequence[tuple[str, Requirements]], today: date, soon_days: int, examines: bool
) -> Owed | None:
    last = who.last_test(kind, today)
    asking = [(name, v) for name, asks in asked if (v := _asked_of(asks.vision, kind))]
    if last is None:
        if not asking or not examines:
            return None
        name, vision = asking[0]
        return Owed(test_of(kind), None, None, "never done", f"{name}, {vision.paragraph}", f"person {who.code}")
    if not last.passed:
        return Owed(test_of(kind), last.tested_on, None, "not passed", last.practice, last.record)
    ends = [_last_day(last, None, "")] + [_last_day(last, v, f"{name}, {v.paragraph}") for name, v in asking]
    end, source = min(ends, key=lambda e: e[0])
    return Owed(test_of(kind), last.tested_on, end, state_of(end, today, soon_days), source, last.record)
