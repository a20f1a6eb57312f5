"""The certified values of one item, from its papers → the values in force, and what stands against each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import cast

from refstd.base.quantity import Unit, plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.eddy.materials import MS_PER_M_AT_100_PERCENT
from refstd.metrology.conformity import Rule, decide


@dataclass(frozen=True, slots=True)
class CertifiedPoint:
    """A certified value, with its U and k as printed, its limits, and the decision rule that the paper names.

    `limits_from` is the earlier record that stated the limits, '' when its own paper does; `as_found` is the value before
    an adjustment, of the same paper. `kept`: the outcome kept with it when it was filed, '' for none; then limits and rule
    are those of that day. `conforming_percent`: the probability of conformity of that day.

    `adjusted_after`: it is the value as found of a paper that adjusted the item. `late`: it had no limits when it was filed,
    and has them from a paper that was filed after it. `beside`: the other values of the same place in the same paper.
    """

    notch: str
    quantity: str
    value: Decimal
    unit: str
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    lower: Decimal | None
    upper: Decimal | None
    limit_source: str
    decision_rule: str
    guard_ratio: Decimal | None
    record: str
    limits_from: str = ""
    as_found: "CertifiedPoint | None" = None
    kept: str = ""
    conforming_percent: Decimal | None = None
    adjusted_after: bool = False
    late: bool = False
    beside: tuple["CertifiedPoint", ...] = ()

    @property
    def limited(self) -> bool:
        return self.lower is not None or self.upper is not None

    @property
    def place(self) -> "Place":
        return place_of(self.notch, self.quantity, self.unit)

    @property
    def inside(self) -> bool:
        """Whether it is inside its limits, both included (simple acceptance)."""
        return (self.lower is None or self.value >= self.lower) and (self.upper is None or self.value <= self.upper)

    @property
    def share(self) -> float | None:
        """How much of the tolerance it used, 1 on a limit; None without two limits."""
        if self.lower is None or self.upper is None or self.lower >= self.upper:
            return None
        return abs(float(2 * self.value - self.lower - self.upper)) / float(self.upper - self.lower)

    @property
    def is_depth(self) -> bool:
        return quantity_key(self.quantity) == DEPTH


DEPTH = "depth"
_SAME_AS_DEPTH = frozenset({"notch depth", "depth of notch", "depth of the notch"})


def quantity_key(quantity: str) -> str:
    """Return the name by which two papers mean the same quantity: 'Notch depth' is the depth."""
    name = key(quantity)
    return DEPTH if name in _SAME_AS_DEPTH else name


# What a unit measures, and how many of the smallest unit of that it is.
_SIZES: dict[str, tuple[str, Decimal]] = {
    Unit.MM: ("length", Decimal(1000)),
    Unit.UM: ("length", Decimal(1)),
    Unit.MS_PER_M: ("conductivity", Decimal(1)),
    Unit.PERCENT_IACS: ("conductivity", Decimal(str(MS_PER_M_AT_100_PERCENT)) / 100),
}
_SHORTEST = -6  # decimals kept of a limit that does not divide evenly: far below any U

Place = tuple[str, str, str]


def place_of(notch: str, quantity: str, unit: str) -> Place:
    """Return what a value is of: notch, quantity, and what its unit measures; the same for two papers about one thing."""
    return key(notch), quantity_key(quantity), _SIZES.get(unit, (unit,))[0]


def points_in_force(papers: Iterable[Iterable[tuple[str, CertifiedPoint]]]) -> tuple[CertifiedPoint, ...]:
    """Return the values in force: of the newest paper that has them, as left where it says so, the worst of several.

    `papers` are oldest first, each its (stage, value) pairs. A newer value without limits keeps the limits, their
    source and the rule of the one before: limits are not lost by silence.
    """
    in_force: dict[Place, CertifiedPoint] = {}
    for paper in papers:
        stages: dict[str, dict[Place, list[CertifiedPoint]]] = {"as found": {}, "as left": {}}
        for stage, point in paper:
            stages[stage].setdefault(point.place, []).append(point)
        found, left = stages["as found"], stages["as left"]
        for place in found | left:
            first, last = found.get(place, []), left.get(place, [])
            stated = next((p for p in (*last, *first) if p.limited), in_force.get(place))
            values = [with_limits_of(p, stated) for p in last or first]
            newest = worst(values)
            before_adjustment = worst([with_limits_of(p, stated) for p in first]) if first and last else None
            beside = tuple(v for v in values if v is not newest)
            in_force[place] = replace(newest, as_found=before_adjustment, beside=beside)
    return tuple(in_force.values())


def worst(points: Sequence[CertifiedPoint]) -> CertifiedPoint:
    """Return, of several values of one place in one paper and stage, the one that counts, in whichever order they stand.

    A fail counts before a pass, then the larger share of the tolerance: a notch is no better than where it is worst.
    Without limits the last one counts.
    """
    return max(reversed(points), key=badness)


_RANKS = {"pass": 0, "conditional pass": 1, "conditional fail": 2, "fail": 3}


def badness(point: CertifiedPoint) -> tuple[int, bool, float, Decimal]:
    """Return what orders values of one place from good to bad: outcome, not judged, share used, nearness to a limit."""
    if not point.limited:
        return -1, False, 0.0, Decimal()
    room = [point.value - point.lower] if point.lower is not None else []
    room += [point.upper - point.value] if point.upper is not None else []
    size = _SIZES.get(point.unit, ("", Decimal(1)))[1]
    return _RANKS[outcome_of(point)], bool(why_not_judged(point)), point.share or 0.0, -min(room) * size


def with_limits_of(point: CertifiedPoint, before: CertifiedPoint | None) -> CertifiedPoint:
    """Return a value with the limits of another one where its own paper has none."""
    if before is None or (before.lower is None and before.upper is None):
        return point
    if point.lower is not None or point.upper is not None:
        return point
    from_earlier = not before.limits_from and before.record != point.record
    return replace(
        point,
        lower=in_unit(before.lower, before.unit, point.unit),
        upper=in_unit(before.upper, before.unit, point.unit),
        limit_source=f"{before.limit_source}, from {before.record}" if from_earlier else before.limit_source,
        limits_from=before.record if from_earlier else before.limits_from,
        decision_rule=point.decision_rule or before.decision_rule,
        guard_ratio=point.guard_ratio if point.decision_rule else before.guard_ratio,
    )


def in_unit(limit: Decimal | None, unit: str, wanted: str) -> Decimal | None:
    """Return a limit in another unit of the same kind, None for none."""
    if limit is None or unit == wanted:
        return limit
    moved = limit * _SIZES[unit][1] / _SIZES[wanted][1]
    return round(moved, -_SHORTEST) if cast(int, moved.as_tuple().exponent) < _SHORTEST else moved


def percent_in_words(percent: Decimal) -> str:
    """Return a probability; one that is nearly nothing or nearly sure is never rounded to it."""
    if percent < Decimal("0.1"):
        return "below 0.1 %"
    return "above 99.9 %" if percent > Decimal("99.9") else f"{percent:.1f} %"


def point_reasons(asset_no: str, point: CertifiedPoint, needed_by: str, struck: list[str]) -> list[Reason]:
    """Return what stands against a certified value, and strike out its notch when it is outside its limits.

    `needed_by` is the procedure that needs the notch, ''. Without a rule, or without the U and k that the rule needs,
    the value is compared simply: outside it strikes the notch, inside it was not judged, and that is said.
    """
    what = f"notch {point.notch}" if point.notch else point.quantity
    if point.adjusted_after:
        says = f"{what} of {asset_no} was adjusted and has no value as left ({point.quantity}, as found before it)"
        cure = "correct the certificate with its value as left, or have it measured again"
        looked_back = _found_reasons(asset_no, point) if point.limited else []
        return [*looked_back, _strike(point, says, cure, needed_by, struck)]
    if not point.limited:
        return []
    outcome, not_judged = outcome_of(point), why_not_judged(point)
    found = [] if point.as_found is None else _found_reasons(asset_no, point.as_found)
    if point.late:
        cure = "correct its certificate with its limits and rule, so that it is judged"
        return [*found, value_reason(point, f"{what} of {asset_no} ({point.quantity}) {late_in_words(point)}", cure, Weight.ADVISES)]  # fmt: skip
    if outcome in ("pass", "conditional pass"):
        if not_judged:
            says = f"{what} of {asset_no} has limits but {not_judged}; it was not judged"
            cure = "have the certificate name the rule, with U and k where the rule needs them"
            return [*found, value_reason(point, says, cure, Weight.ADVISES)]
        if outcome == "conditional pass":
            says = f"{what} of {asset_no} is inside its limits, conformity not proven ({point.quantity}, {outcome} by the rule '{point.decision_rule}')"  # fmt: skip
            return [*found, value_reason(point, says, "watch it at the next calibration", Weight.ADVISES)]
        return found
    says = f"{what} of {asset_no} does not conform ({point.quantity}, {outcome} by the rule '{point.decision_rule}')"
    if not_judged:
        says = f"{what} of {asset_no} is outside its limits ({point.quantity}, {not_judged}, compared simply)"
    return [_strike(point, says, "" if point.notch else "take another item", needed_by, struck)]


def _strike(point: CertifiedPoint, says: str, cure: str, needed_by: str, struck: list[str]) -> Reason:
    """Strike out a value's notch, or stop the item where it is of the whole item or of a notch that is needed."""
    if not point.notch:
        return value_reason(point, says, cure)
    struck.append(f"notch {point.notch}")
    if needed_by:
        return value_reason(point, f"{says}, and {needed_by} needs it", cure or "take a block whose notch conforms")
    return value_reason(point, says, cure or "do not use this notch", Weight.LIMITS)


def late_in_words(point: CertifiedPoint) -> str:
    """Return what is said of a value without limits of its day, beside those that a paper filed later has."""
    beside = "inside" if point.inside else "outside"
    return f"was filed without limits and not judged; compared simply with the limits of {point.limits_from}, filed later, it is {beside}"


def value_reason(point: CertifiedPoint, says: str, cure: str, weight: Weight = Weight.STOPS) -> Reason:
    """Return a reason about a value with limits: the value with U, k and probability, the limits and their source, the paper."""
    figure = f"{plain(point.value)} {point.unit}"
    if point.expanded_uncertainty is not None:
        k = f", k = {plain(point.coverage_factor)}" if point.coverage_factor is not None else ""
        sure = (
            ""
            if point.conforming_percent is None
            else f"; probability of conformity {percent_in_words(point.conforming_percent)}"
        )
        figure += f" (U = {plain(point.expanded_uncertainty)} {point.unit}{k}{sure})"
    limit = window(point.lower, point.upper, point.unit) if point.limited else ""
    return Reason("conformity", says, figure, limit, point.limit_source, point.record, cure, weight)


def _found_reasons(asset_no: str, found: CertifiedPoint) -> list[Reason]:
    """An adjustment makes the item good from now on; what was done with it before is not made good by it."""
    if outcome_of(found) in ("pass", "conditional pass"):
        return []
    what = f"notch {found.notch}" if found.notch else found.quantity
    says = f"{what} of {asset_no} was found outside its limits ({found.quantity}); look back to the last certificate"
    cure = "decide what was examined with it since the certificate before"
    return [value_reason(found, says, cure, Weight.ADVISES)]


def why_not_judged(point: CertifiedPoint) -> str:
    """Return why a value with limits cannot be decided on, '' when it can."""
    if not point.decision_rule:
        return "no decision rule named"
    if point.decision_rule != "simple" and None in (point.expanded_uncertainty, point.coverage_factor):
        return f"no U and k for the rule '{point.decision_rule}'"
    return ""


def outcome_of(point: CertifiedPoint) -> str:
    """Return the decision on a point, by its rule, or by comparing simply where that cannot be; what was kept counts."""
    if point.kept not in ("", "not judged"):
        return point.kept
    lower = None if point.lower is None else float(point.lower)
    upper = None if point.upper is None else float(point.upper)
    if not point.decision_rule or point.expanded_uncertainty is None or point.coverage_factor is None:
        return "pass" if point.inside else "fail"
    return decide(
        float(point.value),
        float(point.expanded_uncertainty),
        float(point.coverage_factor),
        cast(Rule, point.decision_rule),
        lower=lower,
        upper=upper,
        ratio=None if point.guard_ratio is None else float(point.guard_ratio),
    ).outcome


def window(lower: Decimal | None, upper: Decimal | None, unit: str) -> str:
    """Return limits in words, such as '0.45 to 0.55 mm'; at least one is given."""
    if lower is not None and upper is not None:
        return f"{plain(lower)} to {plain(upper)} {unit}"
    return f"at least {plain(lower)} {unit}" if lower is not None else f"at most {plain(upper or Decimal())} {unit}"
