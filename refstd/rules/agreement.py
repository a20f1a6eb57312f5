"""What two papers say of one thing → do they agree within what both laboratories claim, and what is to be asked if not."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from refstd.base.quantity import plain, with_unit
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.metrology.comparison import e_n, zeta
from refstd.rules.certified import Place, in_unit, place_of

LIMIT = Decimal(1)
SOURCE = "ISO 13528:2015, 9.7"  # E_n: |E_n| up to 1 is agreement
ZETA_WARNS, ZETA_ACTS = 2, 3  # ISO 13528:2015, 9.6
COVERAGE = Decimal(2)  # both U are brought to it
CAUTION = "same laboratory and method: correlated, so that E_n comes out too small"
CAUTION_UNKNOWN = "same laboratory, the method is not on both papers: if it is the same, E_n comes out too small"


@dataclass(frozen=True, slots=True)
class Measured:
    """A certified value with what its paper says of how it was measured. `certificate_id` is the paper's internal id."""

    notch: str
    quantity: str
    stage: str
    value: Decimal
    unit: str
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    laboratory: str
    method: str
    point: str
    certificate: str
    certificate_id: int
    performed_on: date
    adjusted: bool = False

    @property
    def place(self) -> Place:
        return place_of(self.notch, self.quantity, self.unit)

    def shortly(self) -> str:
        """Return the value with U as printed, for a narrow column."""
        u = self.expanded_uncertainty
        return with_unit(plain(self.value), self.unit) + (f", U {plain(u)}" if u is not None else ", no U")

    def in_words(self) -> str:
        """Return the value with U and k as printed, how it was found, and on which paper."""
        shown = with_unit(plain(self.value), self.unit)
        u = with_unit(plain(self.expanded_uncertainty), self.unit) if self.expanded_uncertainty is not None else ""
        k = f", k = {plain(self.coverage_factor)}" if self.coverage_factor is not None else ""
        return f"{shown}{f' (U = {u}{k})' if u else ''} {self.stage}, {self.certificate} of {self.performed_on}"


@dataclass(frozen=True, slots=True)
class Agreement:
    """The value that a thing went out with, the one that it came in with next time, and E_n between them.

    `e_n` and `zeta` have no unit; None where they cannot be told, and `why_not` says why. `disagrees` is decided on the
    figures as printed, without rounding. `notes`: what a reader of E_n must know.
    """

    earlier: Measured
    later: Measured
    e_n: float | None
    zeta: float | None
    disagrees: bool
    why_not: str = ""
    notes: tuple[str, ...] = ()

    @property
    def what(self) -> str:
        return f"notch {self.later.notch}, {self.later.quantity}" if self.later.notch else self.later.quantity

    @property
    def outcome(self) -> str:
        if self.e_n is None:
            return "not compared"
        return "disagree" if self.disagrees else "agree"

    def figure(self) -> str:
        """Return |E_n| with two decimals, or as many as tell it from 1; '' where there is none."""
        if self.e_n is None:
            return ""
        for places in range(2, 7):
            shown = f"{abs(self.e_n):.{places}f}"
            if (Decimal(shown) > LIMIT) == self.disagrees:
                break
        return shown

    def in_words(self) -> str:
        """Return what was compared, E_n against its limit and ζ with what it asks for, and what must be known about it."""
        head = f"{self.what}: {self.earlier.in_words()}, then {self.later.in_words()}"
        if self.e_n is None or self.zeta is None:
            return "; ".join((f"{head}: not compared, {self.why_not}", *self.notes))
        says = f"|E_n| = {self.figure()}, limit {LIMIT} ({SOURCE}); |ζ| = {abs(self.zeta):.2f}{zeta_asks(self.zeta)}"
        return "; ".join((f"{head}: {says}", *self.notes))


def zeta_asks(score: float) -> str:
    """Return what a ζ score asks for (ISO 13528:2015, 9.6), with a comma before it; '' for nothing."""
    if abs(score) >= ZETA_ACTS:
        return f", an action (from {ZETA_ACTS})"
    return f", a warning (from {ZETA_WARNS})" if abs(score) >= ZETA_WARNS else ""


def agreements(papers: Iterable[Iterable[Measured]]) -> tuple[Agreement, ...]:
    """Return every comparison of a paper with the newest one before it that has a value of the same thing.

    `papers` are oldest first. A thing goes out as left, and comes in as found; without an adjustment the one value is
    both. Where a paper has several values of one notch, those at the same point of it are compared, else the last.
    """
    out: dict[Place, list[Measured]] = {}
    found: list[Agreement] = []
    for paper in papers:
        by_place: dict[Place, list[Measured]] = {}
        for value in paper:
            by_place.setdefault(value.place, []).append(value)
        for place, values in by_place.items():
            before = out.get(place)
            if before:
                found += [_against(_same_point(before, value), value) for value in _came_in(values)]
            out[place] = [v for v in values if v.stage == "as left"] or values
    return tuple(found)


def _came_in(values: Sequence[Measured]) -> Sequence[Measured]:
    return [v for v in values if v.stage == "as found"] or values


def _same_point(candidates: Sequence[Measured], value: Measured) -> Measured:
    return next((c for c in candidates if key(c.point) == key(value.point)), candidates[-1])


def _against(earlier: Measured, later: Measured) -> Agreement:
    notes = _places_apart(earlier, later)
    why_not = _cannot(earlier, later)
    if why_not:
        return Agreement(earlier, later, None, None, False, why_not, tuple(notes))
    before = in_unit(earlier.value, earlier.unit, later.unit)
    u_before, u_after = _at_coverage(earlier, later.unit), _at_coverage(later, later.unit)
    assert before is not None
    score = float(e_n(float(later.value), float(u_after), float(before), float(u_before)))
    other = float(
        zeta(float(later.value), float(u_after / COVERAGE), float(before), float(u_before / COVERAGE))
    )  # fmt: skip
    # On the decimals as printed: in binary 0.05 against 0.04 and 0.03 is a little more than 1.
    disagrees = (later.value - before) ** 2 > (u_before**2 + u_after**2) * LIMIT**2
    notes += [x for x in (_brought(earlier), _brought(later), _correlated(earlier, later)) if x]
    return Agreement(earlier, later, score, other, disagrees, "", tuple(dict.fromkeys(notes)))


def _cannot(earlier: Measured, later: Measured) -> str:
    if later.adjusted and later.stage != "as found":
        return f"{later.certificate} tells of an adjustment and has no value as found"
    if earlier.adjusted and earlier.stage != "as left":
        return f"{earlier.certificate} tells of an adjustment and has no value as left"
    for value in (earlier, later):
        if value.expanded_uncertainty is None:
            return f"{value.certificate} has no U"
        if value.coverage_factor is None:
            return f"U of {value.certificate} is without its k"
    return ""


def _at_coverage(value: Measured, unit: str) -> Decimal:
    """Return U at k = 2, in a unit."""
    assert value.expanded_uncertainty is not None
    assert value.coverage_factor is not None
    moved = in_unit(value.expanded_uncertainty, value.unit, unit)
    assert moved is not None
    return moved if value.coverage_factor == COVERAGE else moved * COVERAGE / value.coverage_factor


def _brought(value: Measured) -> str:
    if value.coverage_factor in (None, COVERAGE):
        return ""
    shown = with_unit(f"{float(_at_coverage(value, value.unit)):.4g}", value.unit)
    return f"U of {value.certificate} was brought from k = {plain(value.coverage_factor or COVERAGE)} to k = 2: {shown}"


def _correlated(earlier: Measured, later: Measured) -> str:
    if key(earlier.laboratory) != key(later.laboratory):
        return ""
    if not (earlier.method and later.method):
        return CAUTION_UNKNOWN
    return CAUTION if key(earlier.method) == key(later.method) else ""


def _places_apart(earlier: Measured, later: Measured) -> list[str]:
    if not (earlier.point and later.point) or key(earlier.point) == key(later.point):
        return []
    return [f"measured at other points: {earlier.point}, then {later.point}"]


@dataclass(frozen=True, slots=True)
class Question:
    """One usual cause, as a question, with what is on record about it ('' where nothing is)."""

    asks: str
    on_record: str = ""


def questions(
    earlier: Sequence[Measured], later: Sequence[Measured], happened: Sequence[str] = ()
) -> tuple[Question, ...]:
    """Return the usual causes of a disagreement as questions (common practice, no source), with what is known of each.

    `happened`: what is on record about the item between the two papers, in words.
    """
    return (
        Question("Another method?", _both([v.method for v in earlier], [v.method for v in later])),
        Question("Another place of the notch?", _both([v.point for v in earlier], [v.point for v in later])),
        Question("Dirt, oil or the rest of a replica in the notch?"),
        Question("Face dressed, polished or worn since?"),
        Question("Damage: knocked, dropped or repaired since?", "; ".join(happened)),
        Question("Another block, or the notches counted from the other end?"),
        Question("A figure, its unit, U or k read or typed wrongly?"),
    )


def _both(before: Sequence[str], after: Sequence[str]) -> str:
    first, second = (", ".join(dict.fromkeys(x for x in own if x)) for own in (before, after))
    return f"{first or 'not named'}, then {second or 'not named'}" if first or second else ""


def paper_advice(number: str, says: str) -> Reason:
    """Return what an open finding about an item's certificates says on its verdict. It advises: which paper errs is not known."""
    cure = "look into the usual causes, decide the finding, then have it released by someone with the authority"
    return Reason("certificates", says, record=f"finding {number}", cure=cure, weight=Weight.ADVISES)
