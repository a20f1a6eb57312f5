"""What may happen to an item without anybody exchanging it, which items it can happen to, and what it asks for.

Which event suits which kind, and what cures it: common practice, no source. A new standardize after anything that may have
changed how the equipment answers: ISO 15549:2019, clause 10 (functional checks whenever a doubt arises or a part changes).
"""

from dataclasses import dataclass

TAPE_RENEWED = "tape renewed"
ROTATING_FORMS = ("rotating bolt-hole", "rotating drive")


@dataclass(frozen=True, slots=True)
class EventRule:
    """One kind of event. `kinds` are kinds of equipment or forms of them; `breaks`: before and after is not one record.

    `cure` is the next step while the item is as the event left it, '' where the event itself leaves nothing to mend;
    `cured_by` are the events that end that.
    """

    event: str
    kinds: tuple[str, ...]
    breaks: bool = False
    cure: str = ""
    cured_by: tuple[str, ...] = ()


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
        EventRule("repaired", _ALL, breaks=True),
        EventRule("part exchanged", ("probe", "instrument", "accessory"), breaks=True),
        EventRule("firmware changed", ("instrument",), breaks=True),
    )
}  # fmt: skip


def breaks(event: str) -> bool:
    """Return whether what was before and after an event is not one record of one thing."""
    return RULES[event].breaks


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
