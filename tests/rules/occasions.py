"""Readings and questions for the rules' tests, in a line each."""

from decimal import Decimal

from refstd.eddy.signals import Order
from refstd.rules.readings import JobQuestion, Limit, NotchReading, ReadingSet, Target
from refstd.rules.response import Outcome, judge_response

RS: Order = "rotate-then-scale"
SR: Order = "scale-then-rotate"
FULL = "full screen"
PROCEDURE = "procedure PR-1 issue A"
Seen = str | tuple[str, str]


def number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def reading(notch: str, seen: Seen) -> NotchReading:
    """Return a reading: 'full screen', a vertical value, or (horizontal, vertical)."""
    depth_mm = float(notch.split()[0]) if notch[0].isdigit() else 1.0
    if seen == FULL:
        return NotchReading(notch, depth_mm, None, None, full_screen=True)
    horizontal, vertical = (None, seen) if isinstance(seen, str) else seen
    return NotchReading(notch, depth_mm, number(horizontal), number(vertical))


def readings(
    record: str,
    *,
    rotation: str = "0",
    gains: tuple[str, str] = ("40", "40"),
    order: Order | None = RS,
    unit: str = "% FSH",
    measure: str = "",
    phase_reference: str = "lift-off",
    phase_set: bool = True,
    noise: str | None = None,
    full_screen: str = "",
    **seen: Seen,
) -> ReadingSet:
    """Return the readings of one occasion; notches as keywords, 'n1' becomes '1.0 mm', 'n05' '0.5 mm'."""
    found = tuple(reading(NAMES.get(name, name), value) for name, value in seen.items())
    both = any(r.horizontal is not None for r in found)
    return ReadingSet(
        record, found, Decimal(rotation), Decimal(gains[0]), Decimal(gains[1]), order, unit,
        measure or ("horizontal and vertical" if both else "vertical from balance"), phase_reference, phase_set, number(noise),
        Decimal(full_screen or ("100" if unit == "% FSH" else "10")),
    )  # fmt: skip


NAMES = {"n05": "0.5 mm", "n1": "1.0 mm", "n15": "1.5 mm", "n040": "0.040 in"}


def limit(
    unit: str,
    lower: str | None = None,
    upper: str | None = None,
    *,
    against: str = "start check",
    quantity: str = "amplitude",
    notch: str | None = None,
) -> Limit:
    return Limit(quantity, against, notch, number(lower), number(upper), unit, "6.3")


def target(notch: str, value: str, unit: str = "% FSH") -> Target:
    return Target(notch, Decimal(value), unit, "5.3")


def asked(
    new: ReadingSet,
    *limits: Limit,
    occasion: str = "end",
    start: ReadingSet | None = None,
    baseline: tuple[ReadingSet, ...] = (),
    targets: tuple[Target, ...] = (),
) -> JobQuestion:
    return JobQuestion(occasion, new, start, baseline, limits, targets, PROCEDURE)


def outcome(question: JobQuestion) -> Outcome:
    return judge_response(question)[0]
