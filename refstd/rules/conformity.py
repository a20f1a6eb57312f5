"""A certified value with its limits → the outcome, its probability, and the rule with its risk in words, as they are kept."""

from dataclasses import dataclass
from decimal import Decimal
from math import erfc, sqrt

from refstd.base.errors import Problem
from refstd.base.quantity import plain
from refstd.metrology.conformity import ISO_14253_1_FACTOR, probability
from refstd.rules.certified import CertifiedPoint, outcome_of, percent_in_words, why_not_judged, window

STRIKES = ("fail", "conditional fail")


@dataclass(frozen=True, slots=True)
class Judged:
    """How a value was decided on. conforming_percent: probability of conformity, None without U and k.

    says: rule, r, limits with their source, probability, and the risk of a false pass (ISO/IEC 17025:2017, 7.8.6).
    """

    outcome: str
    conforming_percent: Decimal | None
    says: str


def judge(point: CertifiedPoint, rule_source: str) -> Judged:
    """Return how a value with limits is decided on; 'not judged' with why, where no rule was named or it lacks U and k.

    rule_source: who named the rule, such as 'certificate K-7'.
    """
    why = why_not_judged(point)
    sure = conforming_percent(point)
    limits = f"limits {window(point.lower, point.upper, point.unit)} ({point.limit_source})"
    chance = "" if sure is None else f", probability of conformity {percent_in_words(sure)}"
    if why:
        inside = outcome_of(point) == "pass"
        return Judged(
            "not judged", sure, f"not judged: {why}; compared simply it is {'inside' if inside else 'outside'}, {limits}{chance}"
        )  # fmt: skip
    outcome = outcome_of(point)
    rule = rule_in_words(point.decision_rule, point.guard_ratio)
    return Judged(
        outcome, sure, f"{outcome} by {rule} ({rule_source}), {limits}{chance}{risk_in_words(point, outcome)}"
    )  # fmt: skip


def rule_in_words(rule: str, ratio: Decimal | None) -> str:
    """Return a decision rule with its r, or that none is named."""
    if not rule:
        return "no decision rule named"
    return f"the rule '{rule}'" + ("" if ratio is None else f" with r = {plain(ratio)}")


def rule_problems(rule: str, ratio: Decimal | None) -> list[Problem]:
    """Return what is wrong with a rule and its guard band ratio r: each needs the other for a guard band, and only there."""
    if (rule == "guard band") is (ratio is not None):
        return []
    if ratio is None:
        return [Problem("guard_ratio", "is missing: the rule 'guard band' has a ratio r", "Give r, or another rule.")]
    named = f"the rule is '{rule}'" if rule else "no rule is named"
    return [
        Problem("guard_ratio", f"belongs to the rule 'guard band', and {named}", "Leave r empty, or name 'guard band'.")
    ]


def limit_problems(lower: Decimal | None, upper: Decimal | None, where: str = "lower_limit") -> list[Problem]:
    """Return what is wrong with two limits: the lower one lies below the upper one."""
    if lower is None or upper is None or lower < upper:
        return []
    return [Problem(where, "is not below the upper limit", "Exchange the two, or correct one.")]


def rule_in_short(rule: str, ratio: Decimal | None, percent: Decimal | None) -> str:
    """Return rule, r and probability of conformity (%) of a kept outcome, short enough to stand beside the value."""
    named = f"{rule}{'' if ratio is None else f' r = {plain(ratio)}'}" if rule else "no rule named"
    return named + ("" if percent is None else f", P {percent_in_words(percent)}")


def conforming_percent(point: CertifiedPoint) -> Decimal | None:
    """Return the probability that the true value is inside the limits, in %, two decimals (JCGM 106:2012, clause 7)."""
    if point.expanded_uncertainty is None or point.coverage_factor is None:
        return None
    u = float(point.expanded_uncertainty / point.coverage_factor)
    lower, upper = (None if x is None else float(x) for x in (point.lower, point.upper))
    return Decimal(f"{100 * probability(float(point.value), u, lower, upper):.2f}")


def risk_of_false_pass(rule: str, ratio: Decimal | None, coverage_factor: Decimal) -> float:
    """Return the largest probability, 0 to 1, that a value which passes is outside the limit that it is next to.

    ILAC-G8:09/2019 4.2.3: Φ(−w/u); w/u = r·k for a guard band, 1.65 for ISO 14253-1, 0 for simple acceptance.
    """
    share = {"simple": 0.0, "iso 14253-1": ISO_14253_1_FACTOR}.get(rule, float((ratio or 0) * coverage_factor))
    return 0.5 * erfc(share / sqrt(2))


def risk_in_words(point: CertifiedPoint, outcome: str) -> str:
    """Return the risk of a false pass of a point's rule, with a comma before it; '' without k.

    A conditional pass lies between the acceptance limit and the limit itself, where the guard band guards nothing: up to
    50 %, as by simple acceptance (JCGM 106:2012, clause 8; ISO/IEC 17025:2017, 7.8.6).
    """
    if point.coverage_factor is None:
        return ""
    if outcome == "conditional pass":
        return ", inside its limits but conformity not proven, risk of a false pass up to 50 % at each limit"
    risk = 100 * risk_of_false_pass(point.decision_rule, point.guard_ratio, point.coverage_factor)
    return f", risk of a false pass at most {risk:.2g} % at each limit"
