"""Receipt inspection: which points are looked at when an item comes in, by its kind, and what the answers say together.

Which points suit which kind: common practice, no source. No limit is built in: each measured point is held against the limit
that is given with its source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from refstd.base.errors import Problem
from refstd.base.quantity import Unit, plain, with_unit
from refstd.base.text import key

IN_ORDER, NOT_IN_ORDER, NOT_LOOKED_AT = "in order", "not in order", "not looked at"


class Received(StrEnum):
    """What a receipt inspection says of the item."""

    AS_ORDERED = "as ordered"
    NOT_AS_ORDERED = "not as ordered"


@dataclass(frozen=True, slots=True)
class Point:
    """One point to look at. units: in which it is measured, () where it is looked at; needed: it may not be left out."""

    name: str
    asks: str
    units: tuple[str, ...] = ()
    needed: bool = False

    @property
    def measured(self) -> bool:
        return bool(self.units)


_SERIAL = Point("serial number", "legible, and as described", needed=True)
_READ = (Unit.DIVISION, Unit.PERCENT_FSH)
POINTS: dict[str, tuple[Point, ...]] = {
    "block": (
        Point("certificate", "there, and what was ordered: material, notches, method, traceability", needed=True),
        Point("conductivity", "of the block, as certified or measured", (Unit.PERCENT_IACS, Unit.MS_PER_M)),
        _SERIAL,
    ),
    "probe": (
        Point("signal to noise", "vertical over noise on the fixed notch", (Unit.RATIO, Unit.DB), needed=True),
        Point("noise peak to peak", "over a sound part, at the gain of the fixed notch", _READ),
        Point("circuit", "circuit and coils as described, with this instrument and cable", needed=True),
        Point("lift-off", "signal of lifting off by the lab's shim, against the fixed notch", (Unit.PERCENT, Unit.DB)),
        Point("response", "of the fixed notch on the lab's house instrument and block", _READ, needed=True),
        Point("effective width", "of the path in which the fixed notch is seen", (Unit.MM,)),
        Point("tilt", "at which the fixed notch loses half its amplitude", (Unit.DEGREE,)),
        _SERIAL,
    ),
    "instrument": (
        Point("firmware", "version as described and as ordered", needed=True),
        _SERIAL,
    ),
    "accessory": (Point("connectors", "as described, whole and clean", needed=True),),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found at a point: words, or a value with its unit, limits and their source. outcome: '' for a measured one."""

    point: str
    outcome: str
    found: str
    value: Decimal | None
    unit: str
    lower: Decimal | None
    upper: Decimal | None
    limit_source: str


@dataclass(frozen=True, slots=True)
class PointResult:
    """A point with what was found and its outcome."""

    point: Point
    answer: Answer
    outcome: str

    def in_words(self) -> str:
        """Return the point in one line: what was found, against which limit from where."""
        a = self.answer
        parts = [f"{self.point.name}: {self.outcome}"]
        if a.value is not None:
            parts.append(
                f"{with_unit(plain(a.value), a.unit)}, limit {limits_in_words(a.lower, a.upper, a.unit)} ({a.limit_source})"
            )
        if a.found:
            parts.append(a.found)
        return "; ".join(parts)


def limits_in_words(lower: Decimal | None, upper: Decimal | None, unit: str) -> str:
    """Return limits with their unit; '' for none."""
    if lower is not None and upper is not None:
        return f"{plain(lower)} to {with_unit(plain(upper), unit)}"
    if lower is not None:
        return f"at least {with_unit(plain(lower), unit)}"
    return f"at most {with_unit(plain(upper), unit)}" if upper is not None else ""


def notch_point(label: str) -> str:
    """Return the name of the point that a notch of a block is."""
    return f"depth of notch {label}"


def points_of(kind: str, notches: Sequence[str]) -> tuple[Point, ...]:
    """Return the points for an item of a kind; each notch of a block is one of its own, behind the certificate."""
    first, *rest = POINTS[kind]
    depths = [Point(notch_point(n), "as certified or measured", (Unit.MM, Unit.UM), needed=True) for n in notches]
    return (first, *depths, *rest)


def inspect(points: Sequence[Point], answers: Sequence[Answer]) -> tuple[tuple[PointResult, ...], list[Problem]]:
    """Return every point with its outcome, or what is wrong with the answers.

    A measured point is in order within its limits, on them included. One that was not looked at says why; what an item
    cannot be judged without is always looked at.
    """
    problems, results = [], []
    by_name: dict[str, Answer] = {}
    for a in answers:
        if key(a.point) not in {key(p.name) for p in points}:
            problems.append(
                Problem(a.point, "is not a point of this kind", f"Its points: {', '.join(p.name for p in points)}.")
            )
        elif key(a.point) in by_name:
            problems.append(Problem(a.point, "is answered twice", "Keep one of the two."))
        by_name[key(a.point)] = a
    for point in points:
        answer = by_name.get(key(point.name))
        found = _problem(point, answer)
        if found:
            problems.append(Problem(point.name, *found))
        elif answer is not None:
            results.append(PointResult(point, answer, _outcome(point, answer)))
    return tuple(results), problems


def received(results: Sequence[PointResult]) -> Received:
    """Return what the points say together: one that is not in order decides."""
    wrong = any(r.outcome == NOT_IN_ORDER for r in results)
    return Received.NOT_AS_ORDERED if wrong else Received.AS_ORDERED


def _outcome(point: Point, a: Answer) -> str:
    if a.outcome == NOT_LOOKED_AT or not point.measured:
        return a.outcome
    assert a.value is not None
    low, high = a.lower is None or a.value >= a.lower, a.upper is None or a.value <= a.upper
    return IN_ORDER if low and high else NOT_IN_ORDER


def _problem(point: Point, a: Answer | None) -> tuple[str, str] | None:
    """Return what is wrong with the answer to a point and what to do, or None."""
    if a is None:
        return "is not answered", "Say what was found, or 'not looked at' with the reason."
    if a.outcome == NOT_LOOKED_AT:
        if point.needed:
            return "may not be left out", f"Look at it: {point.asks}."
        if a.value is not None or not a.found:
            return "was not looked at, and a reason is needed and no value", "Say why in 'found'."
        return None
    return _measured_problem(point, a) if point.measured else _seen_problem(a)


def _seen_problem(a: Answer) -> tuple[str, str] | None:
    if a.value is not None or a.lower is not None or a.upper is not None:
        return "is looked at, not measured", "Leave value and limits out."
    if not a.outcome:
        return "has no outcome", "Say in order, not in order, or not looked at with the reason."
    if a.outcome == NOT_IN_ORDER and not a.found:
        return "is not in order, and nobody says what was found", "Say it in 'found'."
    return None


def _measured_problem(point: Point, a: Answer) -> tuple[str, str] | None:
    if a.outcome:
        return "is measured: value and limit decide", f"Give the value, or {NOT_LOOKED_AT} with the reason."
    if a.value is None:
        return "has no value", "Give it, or 'not looked at' with the reason."
    if a.unit not in point.units:
        return f"is measured in {' or '.join(point.units)}", "Give the value and its limits in that unit."
    if a.lower is None and a.upper is None:
        return "has no limit", "Give the limit that the order or the procedure states."
    if a.lower is not None and a.upper is not None and a.lower > a.upper:
        return "has its limits upside down", "Exchange the two."
    if not a.limit_source:
        return "has a limit without its source", "Say where the limit comes from: order, procedure and paragraph."
    return None
