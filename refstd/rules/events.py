"""What may happen to an item without anybody exchanging it, which items it can happen to, and what it asks for.

Which event suits which kind, and what cures it: common practice, no source. A new standardize after anything that may have
changed how the equipment answers: ISO 15549:2019, clause 10 (functional checks whenever a doubt arises or a part changes).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from refstd.base.reason import Reason, Weight

TAPE_RENEWED = "tape renewed"
HANDED_ON = (
    "handed on to the next shift without a closing check"  # of a job, not of an item: nobody records it as an event
)
LARGEST_TAPE_MM = Decimal(1)  # protective tape on a tip is some tenths thick; common practice, no source
ROTATING_FORMS = ("rotating bolt-hole", "rotating drive")


@dataclass(frozen=True, slots=True)
class EventRule:
    """One kind of event. `kinds` are kinds of equipment or forms of them; `breaks`: before and after is not one record.

    `cure` is the next step while the item is as the event left it, '' where the event itself leaves nothing to mend;
    `cured_by` are the events that end that. `proved_by` are the activities of which one, done since, is asked for before the
    item is used again (ISO/IEC 17025:2017, 6.4.4: verified before it is returned to service).
    """

    event: str
    kinds: tuple[str, ...]
    breaks: bool = False
    cure: str = ""
    cured_by: tuple[str, ...] = ()
    proved_by: tuple[str, ...] = ()


_ALL = ("block", "probe", "instrument", "accessory")
_MENDED = ("repaired", "part exchanged")
RULES = {
    rule.event: rule
    for rule in (
        EventRule(TAPE_RENEWED, ("probe",)),
        EventRule(
            "tip worn", ("probe",), cure="renew the tape or have the tip repaired, then check the response",
            cured_by=(TAPE_RENEWED, *_MENDED),
        ),
        EventRule("tip cleaned", ("probe",)),
        EventRule(
            "reading moves with the cable", ("probe", "cable", "adapter"),
            cure="exchange the cable or have it repaired, then check the response", cured_by=_MENDED,
        ),
        EventRule(
            "play in the bearing", ROTATING_FORMS, cure="have the bearing repaired or exchanged, then check the response",
            cured_by=_MENDED,
        ),
        EventRule("knocked", _ALL, cure="look it over and check the response", cured_by=_MENDED),
        EventRule("power off", ("instrument",)),
        EventRule("program recalled", ("instrument",)),
        EventRule("repaired", _ALL, breaks=True),
        EventRule("part exchanged", ("probe", "instrument", "accessory"), breaks=True),
        EventRule("firmware changed", ("instrument",), breaks=True, proved_by=("verification", "calibration")),
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Happened:
    """Something that happened to an item. `at` is the instant in the lab's zone, in words."""

    equipment_id: int
    asset_no: str
    event: str
    happened_at: datetime
    at: str

    @property
    def breaks(self) -> bool:
        return breaks(self.event)

    def in_words(self) -> str:
        """Return item, event and time, such as 'P-202: tape renewed 2031-03-14 10:40'."""
        return f"{self.asset_no}: {self.event} {self.at}"


def breaks(event: str) -> bool:
    """Return whether what was before and after an event is not one record of one thing."""
    return event != HANDED_ON and RULES[event].breaks


def suitable(kind: str, form: str) -> tuple[str, ...]:
    """Return the events that can happen to an item of a kind and form."""
    return tuple(name for name, rule in RULES.items() if kind in rule.kinds or form in rule.kinds)


def objection(event: str, kind: str, form: str) -> tuple[str, str]:
    """Return why an event cannot have happened to an item and what to do, or ('', '')."""
    fitting = suitable(kind, form)
    if event in fitting:
        return "", ""
    what = form if form in ("cable", "adapter", "rotating drive", "shim") else kind
    return f"'{event}' does not happen to a {what}{_told(kind, form)}", f"Use one of: {', '.join(fitting)}."


def _told(kind: str, form: str) -> str:
    return f" of the form {form}" if kind == "probe" and form else ""


EVENT = "event"  # the rule by which an event after the start check speaks in a check's verdict
CLAUSE = "ISO 15549:2019, clause 10"
NEW_START = "make a new start check before more parts are examined"


def reasons_after_start(events: Sequence[Happened], start: str, occasion: str) -> tuple[Reason, ...]:
    """Return what events after a start check mean for a later check under it: each asks for a new start check.

    events: those of the kit between the start and the check, oldest first. After one that breaks the record a comparison
    with the start says nothing about the work before it, so the check counts as none.
    """
    found = []
    for e in events:
        says = _after(e, start)
        if e.breaks:
            says += (
                ": before and after it is not one record of one thing, so this check says nothing of the work before"
            )
        elif occasion == "end":
            says += f": {_END_MEANS.get(e.event, _AS_IT_IS)}"
        weight = Weight.UNDECIDED if e.breaks else Weight.ADVISES
        found.append(Reason(EVENT, says, source=CLAUSE, record=f"check {start}", cure=NEW_START, weight=weight))
    return tuple(found)


def _after(e: Happened, start: str) -> str:
    return f"{e.in_words()}, after start check {start}"


@dataclass(frozen=True, slots=True)
class Ended:
    """A start check of an open job that covers no more work, by number, with what happened to its kit since, oldest first."""

    setup: str
    job: str
    start: str
    events: tuple[Happened, ...]


ASKS_ANEW = "new start"  # the rule by which an event asks for a new start check in an item's verdict


def asked_anew(own: Sequence[Happened], ended: Sequence[Ended], checked_at: datetime | None) -> list[Reason]:
    """Return what asks for a new start check of one item, by what happened to it: it advises, the next start check answers.

    own: what happened to the item, oldest first. ended: the starts of kits with it that events ended. checked_at: its last
    acceptable check on whichever setup, None if it never had one; then nothing was covered before, and nothing is asked anew.
    """
    found, told = [], set()
    for start in ended:
        for e in start.events:
            if e in own:
                told.add(e)
                says = f"{_after(e, start.start)} of setup {start.setup} on job {start.job}: a new start check is asked for since then"
                found.append(_asks(says, f"check {start.start}"))
    for e in own:
        leaves_something = bool(RULES[e.event].cure)  # then its own advice asks for the check
        if checked_at is not None and checked_at <= e.happened_at and e not in told and not leaves_something:
            says = f"{e.in_words()}, and no acceptable check after it: a new start check is asked for since then"
            found.append(_asks(says, e.asset_no))
    return found


def _asks(says: str, record: str) -> Reason:
    return Reason(ASKS_ANEW, says, source=CLAUSE, record=record, cure=NEW_START, weight=Weight.ADVISES)


_AS_IT_IS = "the check was read with the equipment as it is now, and closes the work before it"
_END_MEANS = {
    TAPE_RENEWED: "the check was read through the new tape, and closes the work before it as far as both tapes answer alike",
}


def baseline_reasons(setup: str, taken_at: datetime, events: Sequence[Happened]) -> tuple[Reason, ...]:
    """Return the advice that a baseline is from before something that broke the record of its setup's items.

    taken_at: the instant of the baseline's first set-up. It advises; a baseline never stops a job by its age.
    """
    return tuple(
        Reason(
            "baseline", f"the baseline of setup {setup} is from before {e.in_words()}", record=f"setup {setup}",
            cure="take a new baseline", weight=Weight.ADVISES,
        )
        for e in events
        if e.breaks and e.happened_at >= taken_at
    )  # fmt: skip


def ailments(events: Sequence[Happened]) -> tuple[Happened, ...]:
    """Return the events of one item that leave something to mend and that no later event cured, newest first."""
    return tuple(
        e
        for place, e in reversed(list(enumerate(events)))
        if RULES[e.event].cure and not any(later.event in RULES[e.event].cured_by for later in events[place + 1 :])
    )


def ailment_reasons(found: Sequence[Happened], checked_at: datetime | None) -> list[Reason]:
    """Return the advice on an item that something happened to, each with its cure, unless it was checked acceptable since.

    checked_at: the item's last acceptable check, on whichever setup.
    """
    return [
        Reason(EVENT, e.in_words(), record=e.asset_no, cure=RULES[e.event].cure, weight=Weight.ADVISES)
        for e in found
        if checked_at is None or checked_at <= e.happened_at
    ]


VERIFIED = "ISO/IEC 17025:2017, 6.4.4"


def unverified_reasons(events: Sequence[tuple[Happened, date]], done: Sequence[tuple[str, date]]) -> list[Reason]:
    """Return what stops an item of which something changed that asks for a verification, until one is on record.

    events: what happened to one item, oldest first, with the civil day. done: activity and day of each paper in force that
    does not say 'not sound'. One done on the day of the change counts: nobody verifies a version that is not there yet.
    """
    for e, day in reversed(events):
        proved_by = RULES[e.event].proved_by
        if proved_by and not any(activity in proved_by and on >= day for activity, on in done):
            says = f"{e.in_words()}, and no {' or '.join(proved_by)} since then is on record"
            cure = f"do the {proved_by[0]}, then file its evidence"
            return [Reason(EVENT, says, source=VERIFIED, record=e.asset_no, cure=cure)]
    return []
