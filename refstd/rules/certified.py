"""The certified values of one item, from its papers → the values in force, and what stands against each."""

from collections.abc import Iterable
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

    @property
    def limited(self) -> bool:
        return self.lower is not None or self.upper is not None

    @property
    def place(self) -> "Place":
        return place_of(self.notch, self.quantity, self.unit)

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
    """Return the values in force: of the newest paper that has them, as left where it says so.

    `papers` are oldest first, each its (stage, value) pairs. A newer value without limits keeps the limits, their
    source and the rule of the one before: limits are not lost by silence.
    """
    in_force: dict[Place, CertifiedPoint] = {}
    for paper in papers:
        found: dict[Place, CertifiedPoint] = {}
        left: dict[Place, CertifiedPoint] = {}
        for stage, point in paper:
            (left if stage == "as left" else found)[point.place] = point
        for place, newest in (found | left).items():
            first = found.get(place)
            newest = with_limits_of(with_limits_of(newest, first), in_force.get(place))
            before_adjustment = with_limits_of(first, newest) if first is not None and place in left else None
            in_force[place] = replace(newest, as_found=before_adjustment)
    return tuple(in_force.values())


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
    if not point.limited:
        return []
    what = f"notch {point.notch}" if point.notch else point.quantity
    outcome, not_judged = outcome_of(point), why_not_judged(point)
    if outcome in ("pass", "conditional pass"):
        reasons = _found_reasons(asset_no, point)
        if not_judged:
            says = f"{what} of {asset_no} has limits but {not_judged}; it was not judged"
            cure = "have the certificate name the rule, with U and k where the rule needs them"
            return [*reasons, value_reason(point, says, cure, Weight.ADVISES)]
        if outcome == "conditional pass":
            says = f"{what} of {asset_no} does not conform ({point.quantity}, {outcome} by the rule '{point.decision_rule}')"
            return [*reasons, value_reason(point, says, "watch it at the next calibration", Weight.ADVISES)]
        return reasons
    says = f"{what} of {asset_no} does not conform ({point.quantity}, {outcome} by the rule '{point.decision_rule}')"
    if not_judged:
        says = f"{what} of {asset_no} is outside its limits ({point.quantity}, {not_judged}, compared simply)"
    if not point.notch:
        return [value_reason(point, says, "take another item")]
    struck.append(f"notch {point.notch}")
    if needed_by:
        return [value_reason(point, f"{says}, and {needed_by} needs it", "take a block whose notch conforms")]
    return [value_reason(point, says, "do not use this notch", Weight.LIMITS)]


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
    limit = window(point.lower, point.upper, point.unit)
    return Reason("conformity", says, figure, limit, point.limit_source, point.record, cure, weight)


def _found_reasons(asset_no: str, point: CertifiedPoint) -> list[Reason]:
    """An adjustment makes the item good from now on; what was done with it before is not made good by it."""
    found = point.as_found
    if found is None or outcome_of(found) in ("pass", "conditional pass"):
        return []
    what = f"notch {point.notch}" if point.notch else point.quantity
    says = f"{what} of {asset_no} was found outside its limits ({point.quantity}); look back to the last certificate"
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
        inside = (point.lower is None or point.value >= point.lower) and (
            point.upper is None or point.value <= point.upper
        )
        return "pass" if inside else "fail"
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
