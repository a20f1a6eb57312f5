"""What a procedure asks of a block's certified values → is the block out for that procedure, by which figure, limit and rule."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from refstd.base.quantity import plain, with_unit
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.rules.certified import (
    CertifiedPoint,
    Place,
    in_unit,
    outcome_of,
    place_of,
    quantity_key,
    value_reason,
    window,
)
from refstd.rules.conformity import conforming_percent, judge, risk_in_words, rule_in_words

OF_NOTCHES = frozenset({"depth", "length", "width"})  # asked without a notch they are asked of every notch
COVERAGE = Decimal(2)  # a limit of U is held against U at k = 2


@dataclass(frozen=True, slots=True)
class AskedTolerance:
    """What a procedure asks of a certified value: limits in `unit`, of the value or of how far it is from its nominal, and of U.

    `notch`: '' for every notch, or the whole block where the quantity is none of a notch. `against`: 'none' or 'nominal'.
    `largest_uncertainty` in `unit`, `largest_uncertainty_percent` of the value, both of U at k = 2; the lesser counts.
    Without a rule nothing is judged, only compared.
    """

    quantity: str
    notch: str
    against: str
    lower: Decimal | None
    upper: Decimal | None
    largest_uncertainty: Decimal | None
    largest_uncertainty_percent: Decimal | None
    unit: str
    decision_rule: str
    guard_ratio: Decimal | None
    paragraph: str

    def in_words(self) -> str:
        """Return what is asked, with units and the rule."""
        of = (
            f"notch {self.notch}"
            if self.notch
            else "every notch"
            if quantity_key(self.quantity) in OF_NOTCHES
            else "the block"
        )
        said = []
        if self.lower is not None or self.upper is not None:
            near = " from its nominal" if self.against == "nominal" else ""
            rule = rule_in_words(self.decision_rule, self.guard_ratio)
            said.append(f"{window(self.lower, self.upper, self.unit)}{near} by {rule}" if self.decision_rule else
                        f"{window(self.lower, self.upper, self.unit)}{near}, {rule}")  # fmt: skip
        largest = [] if self.largest_uncertainty is None else [with_unit(plain(self.largest_uncertainty), self.unit)]
        largest += (
            []
            if self.largest_uncertainty_percent is None
            else [f"{plain(self.largest_uncertainty_percent)} % of the value"]
        )
        if largest:
            lesser = ", whichever is less," if len(largest) == 2 else ""
            said.append(f"U of {' or '.join(largest)}{lesser} at most (k = {COVERAGE})")
        return f"{self.quantity} of {of}: {'; '.join(said)}"


@dataclass(frozen=True, slots=True)
class Nominal:
    """What a value of an item was made to be, as on record."""

    place: Place
    value: Decimal
    unit: str


def asked_reasons(
    asset_no: str, notches: Sequence[str], points: Iterable[CertifiedPoint], nominals: Iterable[Nominal], procedure: str,
    tolerances: Sequence[AskedTolerance],
) -> list[Reason]:  # fmt: skip
    """Return what a procedure's tolerances say of a block's certified values in force; what stops, stops for this procedure.

    A value that conforms to the item's own limits may be out for a procedure that asks for more. A value that is asked
    for and not on record, or lacks what the procedure's rule needs, shows no conformity, and so stops too.
    """
    known, made = {p.place: p for p in points}, {n.place: n for n in nominals}
    reasons: list[Reason] = []
    for asked in tolerances:
        everywhere = list(notches) if quantity_key(asked.quantity) in OF_NOTCHES else [""]
        for notch in [asked.notch] if asked.notch else everywhere:
            place = place_of(notch, asked.quantity, asked.unit)
            what = f"{f'notch {notch}' if notch else asked.quantity} of {asset_no}"
            source = f"{procedure}, {asked.paragraph}"
            if place not in known:
                if not notch or key(notch) in {
                    key(n) for n in notches
                }:  # a notch that the block lacks is told elsewhere
                    reasons.append(_missing(what if notch else asset_no, asked, procedure, source, asset_no))
                continue
            point = known[place]
            reasons += _of_value(what, asked, point, made, procedure, source)
            for other in point.beside:  # the worst by the item's own limits need not be the worst by these
                said = _of_value(what, asked, other, made, procedure, source)
                reasons += [r for r in said if r.weight is not Weight.SUPPORTS]
    return reasons


def _missing(what: str, asked: AskedTolerance, procedure: str, source: str, asset_no: str) -> Reason:
    says = f"{what} has no certified {asked.quantity}, and {procedure} asks for one"
    return Reason("conformity", says, "none on record", asked.in_words(), source, asset_no, "file a certificate with it, or take another block")  # fmt: skip


def _of_value(
    what: str, asked: AskedTolerance, point: CertifiedPoint, made: Mapping[Place, Nominal], procedure: str, source: str
) -> list[Reason]:
    reasons = []
    if asked.lower is not None or asked.upper is not None:
        reasons.append(_conforms(what, asked, point, made.get(point.place), procedure, source))
    if asked.largest_uncertainty is not None or asked.largest_uncertainty_percent is not None:
        reasons.append(_certain_enough(what, asked, point, procedure, source))
    return reasons


def _conforms(
    what: str, asked: AskedTolerance, point: CertifiedPoint, nominal: Nominal | None, procedure: str, source: str
) -> Reason:
    lower, upper = (in_unit(x, asked.unit, point.unit) for x in (asked.lower, asked.upper))
    if asked.against == "nominal":
        if nominal is None:
            says = f"{what} has no nominal on record, and {procedure} sets limits to how far it may be from it"
            return Reason("conformity", says, "none on record", asked.in_words(), source, point.record, "describe the item with its nominal")  # fmt: skip
        middle = in_unit(nominal.value, nominal.unit, point.unit) or Decimal()
        lower, upper = (None if x is None else middle + x for x in (lower, upper))
    held = replace(
        point, lower=lower, upper=upper, limit_source=source, decision_rule=asked.decision_rule, guard_ratio=asked.guard_ratio,
        kept="", as_found=None,
    )  # fmt: skip
    held = replace(held, conforming_percent=conforming_percent(held))
    judged = judge(held, source)
    rule = rule_in_words(asked.decision_rule, asked.guard_ratio)
    if judged.outcome == "not judged":
        inside = outcome_of(held) == "pass"
        if asked.decision_rule:
            says = f"{what} cannot be judged for {procedure} ({asked.quantity}): no U and k for {rule}"
            return value_reason(held, says, "have the certificate state U and k, or take another block")
        says = f"{what} is {'inside' if inside else 'outside'} what {procedure} asks ({asked.quantity}, {rule}, compared simply)"
        cure = "have the procedure name a decision rule" if inside else "take a block that conforms"
        return value_reason(held, says, cure, Weight.ADVISES if inside else Weight.STOPS)
    how = f"({asked.quantity}, {judged.outcome} by {rule}{risk_in_words(held, judged.outcome)})"
    if judged.outcome == "pass":
        return value_reason(held, f"{what} conforms to what {procedure} asks {how}", "", Weight.SUPPORTS)
    if judged.outcome == "conditional pass":
        return value_reason(held, f"{what} is inside what {procedure} asks, conformity not proven {how}", "watch it at the next calibration", Weight.ADVISES)  # fmt: skip
    return value_reason(held, f"{what} does not conform to what {procedure} asks {how}", "take a block that conforms")


def _certain_enough(what: str, asked: AskedTolerance, point: CertifiedPoint, procedure: str, source: str) -> Reason:
    """Hold U, brought to k = 2, against the largest that is asked for."""
    limits = (
        []
        if asked.largest_uncertainty is None
        else [in_unit(asked.largest_uncertainty, asked.unit, point.unit) or Decimal()]
    )
    if asked.largest_uncertainty_percent is not None:
        limits.append(abs(point.value) * asked.largest_uncertainty_percent / 100)
    limit = min(limits)
    shown = f"at most {with_unit(plain(limit.normalize()), point.unit)} (k = {COVERAGE})"
    u, k = point.expanded_uncertainty, point.coverage_factor
    if u is None or k is None:
        lacks = "U" if u is None else "the k of its U"
        says = f"the certificate of {what} lacks {lacks}, and {procedure} limits U ({asked.quantity})"
        return Reason("uncertainty", says, f"no {lacks}", shown, source, point.record, "have the certificate state U and k, or take another block")  # fmt: skip
    at_two = u if k == COVERAGE else u * COVERAGE / k
    figure = f"{with_unit(plain(point.value), point.unit)}, U = "
    if k == COVERAGE:
        figure += f"{with_unit(plain(u), point.unit)} (k = {COVERAGE})"
    else:
        brought = with_unit(plain(round(at_two, 6).normalize()), point.unit)
        figure += f"{brought} brought from k = {plain(k)} to k = {COVERAGE}"
    if at_two > limit:
        says = f"U of {what} is larger than {procedure} asks ({asked.quantity})"
        return Reason(
            "uncertainty", says, figure, shown, source, point.record, "take a block that is certified more closely"
        )
    says = f"U of {what} is as small as {procedure} asks ({asked.quantity})"
    return Reason("uncertainty", says, figure, shown, source, point.record, weight=Weight.SUPPORTS)
