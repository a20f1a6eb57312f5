"""The guided swap test: exchange one thing at a time, make a check with it, and see whether the deviation stays or goes.

Readings are kept as ordinary response checks on the occasion 'swap test'. They hold nothing, free nothing and cover nothing;
what the steps say together advises.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Refusal, WrongUsage
from refstd.base.reason import Reason, Weight
from refstd.base.text import key, safe
from refstd.desk.check_values import SWAP_TEST, CheckDraft, CheckVerdict, ReadingDraft
from refstd.desk.checks import keep_check
from refstd.desk.entry import Draft, NeededWords, Number, Words
from refstd.desk.items import items
from refstd.desk.known import named, next_number, notches_of
from refstd.desk.people import code_of, may
from refstd.desk.setups import baseline_of
from refstd.desk.suspects import suspects_within
from refstd.desk.swap_guards import (
    begun_from,
    corrected_by,
    ended,
    notch_of_check,
    one_thing_alone,
    refuse_as_origin,
    refuse_ended,
    refuse_step,
)
from refstd.desk.swap_origin import Origin, candidate_of, named_in, notch_in, origin_of, seen_in, suspected_of
from refstd.desk.swap_partners import Partner as Partner
from refstd.desk.swap_partners import sound_for
from refstd.desk.swap_plan import PlannedStep as PlannedStep
from refstd.desk.swap_plan import planned
from refstd.metrology.incidence import confirmation_checks
from refstd.register.checks import ResponseCheck, Setup, SwapStep, SwapTest
from refstd.register.lab import Change, Lab, Look, When
from refstd.rules.swaps import ORDER, Conclusion, Exchanged, Result, Seen, answer, conclude, first_reason

THINGS = ORDER
NO_NUMBER = "another, without a number"


class SwapDraft(Draft):
    """A swap test to begin."""

    check: Number = Field(description="the check that showed the deviation")
    notch: NeededWords = Field(description="the notch that deviates")
    why: Words = ""


@dataclass(frozen=True, slots=True)
class StepShown:
    """A step as kept. instead: what came in. counts: its check is not corrected, else `corrected_by` names the correction."""

    exchanged: str
    instead: str
    setup: str
    check: str
    result: str
    says: str
    person: str
    happened_at: datetime
    corrected_by: str

    @property
    def counts(self) -> bool:
        return not self.corrected_by


@dataclass(frozen=True, slots=True)
class SwapShown:
    """A swap test with its steps, what they say, and what comes next.

    deviation: what it started from. suspected: in words. confirm: kits to confirm with what is left alone, as used before.
    void: why it says nothing any more, ''. ended: why no further step can be made, ''; what it says stands.
    """

    number: str
    check: str
    setup: str
    notch: str
    cable: str
    adapter: str
    procedure: str
    person: str
    happened_at: datetime
    why: str
    suspected: str
    deviation: Reason
    steps: tuple[StepShown, ...]
    conclusion: Conclusion
    confirm: tuple[str, ...]
    plan: tuple[PlannedStep, ...]
    void: str
    ended: str

    @property
    def next(self) -> PlannedStep | None:
        """The next thing to exchange: the first that no check could tell of yet."""
        if self.void or self.ended or self.conclusion.settled:
            return None
        return next((p for p in self.plan if p.possible and not p.told), None)

    def headline(self) -> str:
        """Return what it says by now, in one line."""
        return self.void or self.conclusion.says


@dataclass(frozen=True, slots=True)
class StepKept:
    """What a step brought: the check as judged by the procedure, the step, and the swap test with it."""

    verdict: CheckVerdict
    step: StepShown
    swap: SwapShown


@dataclass(frozen=True, slots=True)
class StepToMake:
    """A step before its readings: what comes in for what, and the asset numbers of the whole kit, cable and adapter too."""

    exchanged: str
    comes_in: str
    in_place_of: str
    setup: str
    cable: str
    adapter: str
    kit: tuple[str, ...]

    def in_words(self) -> str:
        """Return what is exchanged."""
        return f"the {self.exchanged}: {self.comes_in} in place of {self.in_place_of}"


def start_swap(lab: Lab, draft: SwapDraft, *, by: str, now: datetime, operation: str = "") -> SwapShown:
    """Begin a swap test from a check that lies off its baseline; refused where a step could not tell it from chance."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "make a response check")
        check = named(change, ResponseCheck, draft.check)
        notch = notch_of_check(change, check, draft.notch)
        refuse_as_origin(change, check, notch)
        origin = origin_of(change, check, notch.id)
        reason = first_reason(origin.seen, suspects_within(change).spread)
        if reason.weight is Weight.STOPS:
            raise Refusal(f"no swap test from here: {_told(reason)}", reason.record, f"First {reason.cure}.")
        row = change.add(
            SwapTest(
                number=(number := next_number(change, SwapTest, "W")), number_key=key(number), check_id=check.id,
                notch_id=notch.id, suspects=", ".join(suspected_of(change, origin)), person_id=change.by.person_id, why=draft.why,
                happened_at=change.instant,
            )
        )  # fmt: skip
        change.record("swap test begun", swap=number, check=check.number, notch=notch.label)
        return shown_swap(change, row)


def record_step(
    lab: Lab, number: str, exchanged: str, draft: CheckDraft, readings: Sequence[ReadingDraft], *, by: str, now: datetime,
    operation: str = "",
) -> StepKept:  # fmt: skip
    """Keep the check made with one thing exchanged, and whether the deviation stayed or went, in one act."""
    with lab.change(by=by, now=now, operation=operation) as change:
        test = named(change, SwapTest, number)
        thing = _thing(exchanged)
        origin = _origin(change, test)
        setup = named(change, Setup, draft.setup)
        if draft.job:
            raise Refusal("a swap test is made outside a job", f"job {draft.job}", "Leave out the job.")
        cable, adapter = _step_to_make(change, origin, setup, thing, draft.cable or "", draft.adapter or "")
        procedure = draft.procedure or origin.procedure
        draft = draft.model_copy(
            update={"occasion": SWAP_TEST, "procedure": procedure, "cable": cable, "adapter": adapter}
        )
        notch = notch_in(change, origin, setup) or origin.notch
        verdict = keep_check(change, draft, readings)
        check = named(change, ResponseCheck, verdict.number)
        if check.happened_at < origin.check.happened_at:
            raise Refusal(
                f"the readings are older than check {origin.check.number}",
                draft.happened_at,
                "Check the date and time.",
            )
        seen = _with_sound_baseline(change, origin, setup, seen_in(change, check, notch))
        result, reason = answer(origin.seen, seen, suspects_within(change).spread)
        row = change.add(
            SwapStep(
                swap_test_id=test.id, exchanged=thing, check_id=check.id, result=result, says=reason.in_words(),
                happened_at=check.happened_at,
            )
        )  # fmt: skip
        change.record("swap test step", swap=test.number, exchanged=thing, check=check.number, result=result)
        return StepKept(verdict, _step_shown(change, row), shown_swap(change, test))


def step_to_make(lab: Lab, number: str, exchanged: str, setup: str, cable: str, when: When) -> StepToMake:
    """Return the kit of a step that is to be made, or refuse it as `record_step` would: nobody reads for a refusal."""
    with lab.look(when) as look:
        origin, thing = _origin(look, named(look, SwapTest, number)), _thing(exchanged)
        at = named(look, Setup, setup)
        with_cable, adapter = _step_to_make(look, origin, at, thing, cable, "")
        kit = tuple(items(look)[i].asset_no for i in (at.instrument_id, at.probe_id, at.block_id))
        comes_in = with_cable if thing == "cable" else kit[("instrument", "probe", "block").index(thing)]
        first = {"probe": origin.probe, "block": origin.block, "instrument": origin.instrument, "cable": origin.cable}[
            thing
        ]
        return StepToMake(
            thing, comes_in or NO_NUMBER, first or "the first one", at.number, with_cable or "", adapter or "",
            (*kit, *(n for n in (with_cable, adapter) if n)),
        )  # fmt: skip


def _step_to_make(
    look: Look, origin: Origin, setup: Setup, thing: Exchanged, cable: str, adapter: str
) -> tuple[str | None, str | None]:
    _refuse_void(look, origin)
    refuse_ended(look, origin.check)
    made = one_thing_alone(origin, setup, thing, cable, adapter)
    refuse_step(look, origin, setup, thing, cable)
    return made


def swap_shown(lab: Lab, number: str, when: When) -> SwapShown:
    """Return a swap test, or refuse a number that is not on record."""
    with lab.look(when) as look:
        return shown_swap(look, named(look, SwapTest, number))


def swaps(lab: Lab, when: When) -> tuple[SwapShown, ...]:
    """Return the swap tests on record, newest first."""
    with lab.look(when) as look:
        return swaps_in(look)


def swaps_in(look: Look) -> tuple[SwapShown, ...]:
    """Return the swap tests on record within a look, newest first."""
    rows = look.session.execute(select(SwapTest).where(SwapTest.entry <= look.upto).order_by(SwapTest.id.desc()))
    return tuple(shown_swap(look, row) for row in rows.scalars())


def swap_from(lab: Lab, check: str, notch: str, when: When) -> str:
    """Return the number of the swap test that started from a notch of a check; '' for none, or refuse where none can."""
    with lab.look(when) as look:
        row = named(look, ResponseCheck, check)
        marked = notch_of_check(look, row, notch)
        test = begun_from(look, row, marked)
        if test is None:
            refuse_as_origin(look, row, marked)
        return test.number if test else ""


def notches_to_follow(lab: Lab, check: str, when: When) -> tuple[tuple[str, Reason], ...]:
    """Return each notch of a check with how far it lies from its baseline, and whether that can be followed, farthest first."""
    with lab.look(when) as look:
        row = named(look, ResponseCheck, check)
        setup = look.session.get_one(Setup, row.setup_id)
        seen = [(n.label, seen_in(look, row, n.label)) for n in notches_of(look, setup.block_id).values()]
        seen.sort(key=lambda each: -abs(each[1].deviation_db or 0.0))
        spread = suspects_within(look).spread
        return tuple((label, first_reason(s, spread)) for label, s in seen if s.why_not != "was not read")


def shown_swap(look: Look, test: SwapTest) -> SwapShown:
    """Return a swap test within a look."""
    origin, evidence = _origin(look, test), suspects_within(look)
    rows = look.session.execute(
        select(SwapStep).where(SwapStep.swap_test_id == test.id, SwapStep.entry <= look.upto).order_by(SwapStep.id)
    ).scalars()
    steps = tuple(_step_shown(look, row) for row in rows)
    told = tuple((cast(Exchanged, s.exchanged), cast(Result, s.result)) for s in steps if s.counts)
    suspected = cast(tuple[Exchanged, ...], tuple(test.suspects.split(", ")))
    names = origin.names()
    conclusion = conclude(names, suspected, told)
    left = candidate_of(origin, conclusion.left[0]) if conclusion.settled else None
    own = {origin.check.number, *(s.check for s in steps)}
    confirm = confirmation_checks(left, [r for r in evidence.readings if r.check not in own]) if left else ()
    return SwapShown(
        test.number, origin.check.number, origin.setup.number, origin.notch, origin.cable, origin.adapter, origin.procedure,
        code_of(look, test.person_id), test.happened_at, test.why, _suspected_in_words(names, suspected, named_in(look, origin)),
        first_reason(origin.seen, evidence.spread), steps, conclusion,
        tuple(f"{d.instrument}, {d.probe}, {d.block} (as in check {d.check})" for d in confirm),
        planned(look, origin, suspected, told), _void(look, origin), ended(look, origin.check),
    )  # fmt: skip


def _suspected_in_words(
    names: dict[Exchanged, str], suspected: tuple[Exchanged, ...], named_alone: Sequence[str]
) -> str:
    words = ", ".join(names[k] for k in suspected)
    if suspected == ORDER:
        beside = f"; the evidence over the whole lab names {', '.join(named_alone)}" if named_alone else ""
        return f"{words}: everything that took part{beside}"
    return f"{words}: the evidence over the whole lab cannot tell them apart"


def _step_shown(look: Look, row: SwapStep) -> StepShown:
    check = look.session.get_one(ResponseCheck, row.check_id)
    setup = look.session.get_one(Setup, check.setup_id)
    registered = items(look)
    came_in = {
        "cable": check.cable_id, "probe": setup.probe_id, "block": setup.block_id, "instrument": setup.instrument_id
    }[row.exchanged]  # fmt: skip
    return StepShown(
        row.exchanged, registered[came_in].asset_no if came_in else NO_NUMBER, setup.number, check.number,
        row.result, row.says, code_of(look, check.person_id), row.happened_at, corrected_by(look, check),
    )  # fmt: skip


def _origin(look: Look, test: SwapTest) -> Origin:
    return origin_of(look, look.session.get_one(ResponseCheck, test.check_id), test.notch_id)


def _thing(exchanged: str) -> Exchanged:
    thing = next((k for k in ORDER if k == exchanged.strip().casefold()), None)
    if thing is None:
        raise WrongUsage(f"'{safe(exchanged)[:40]}' cannot be exchanged", "", f"Name one of {', '.join(ORDER)}.")
    return thing


def _void(look: Look, origin: Origin) -> str:
    corrected = corrected_by(look, origin.check)
    return (
        f"check {origin.check.number} was corrected by {corrected}: this swap test says nothing any more"
        if corrected
        else ""
    )


def _refuse_void(look: Look, origin: Origin) -> None:
    if void := _void(look, origin):
        raise Refusal(void, "", "Begin another swap test from the correction, if it still deviates.")


def _with_sound_baseline(change: Change, origin: Origin, setup: Setup, seen: Seen) -> Seen:
    """Return what was seen, or nothing where the baseline was taken after the deviation had shown."""
    baseline = baseline_of(change, setup.id)
    if baseline is None:
        return seen
    if setup.id == origin.setup.id:
        if baseline.id == origin.check.baseline_id:
            return seen
    elif sound_for(change, origin, setup, baseline):
        return seen
    why_not = f"has a baseline from after {origin.check.number} only, which may have the deviation in it"
    return Seen(seen.record, None, seen.setups, why_not, "exchange it for one with a baseline from before")


def _told(reason: Reason) -> str:
    return Reason("", reason.says, reason.figure, reason.limit, reason.source).in_words()
