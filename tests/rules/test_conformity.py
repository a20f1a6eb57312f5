"""How a value is judged when it is filed: outcome, probability and risk, against published figures."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.certified import CertifiedPoint, percent_in_words
from refstd.rules.conformity import conforming_percent, judge, risk_of_false_pass


def point(
    value: str, u: str, lower: str | None, upper: str | None, rule: str = "simple", r: str = ""
) -> CertifiedPoint:
    """Return a value with U = 2u, k = 2, unless u is ''."""
    low, high = (None if x is None else Decimal(x) for x in (lower, upper))
    expanded, k = (Decimal(u) * 2, Decimal(2)) if u else (None, None)
    return CertifiedPoint(
        "0.5 mm", "depth", Decimal(value), "mm", expanded, k, low, high, "drawing 7", rule, Decimal(r) if r else None, "certificate K-1"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("value", "u", "lower", "upper", "printed"),
    [
        ("-5.47", "0.05", None, "-5.40", 0.92),
        ("507.8", "8.6", "490", None, 0.98),
        ("13.6", "1.8", "12.5", "16.3", 0.66),
    ],
)
def test_the_probability_of_conformity_is_that_of_the_published_examples(
    value: str, u: str, lower: str | None, upper: str | None, printed: float
) -> None:
    """JCGM 106:2012, clause 7, the examples of breakdown voltage, burst strength and viscosity (from MEMORY)."""
    found = conforming_percent(point(value, u, lower, upper))
    assert found is not None
    assert round(float(found) / 100, 2) == printed


@pytest.mark.parametrize(("ratio", "below"), [("1.5", 0.0016), ("1", 0.025), ("0.83", 0.05)])
def test_the_risk_of_a_false_pass_is_that_of_the_table_of_guard_bands(ratio: str, below: float) -> None:
    """ILAC-G8:09/2019, 4.2.3: stated risk of r = 1 (read second hand), 1.5 and 0.83 (MEMORY). Planted: w/u = r."""
    risk = risk_of_false_pass("guard band", Decimal(ratio), Decimal(2))
    assert 0.8 * below < risk < below


def test_simple_acceptance_shares_the_risk_and_iso_14253_1_keeps_it_below_five_percent() -> None:
    """ILAC-G8:09/2019, 4.2.3: below 50 %; ISO 14253-1:2017: conformance probability of 95 % (MEMORY)."""
    assert risk_of_false_pass("simple", None, Decimal(2)) == 0.5
    assert 0.049 < risk_of_false_pass("iso 14253-1", None, Decimal(2)) < 0.05


@pytest.mark.parametrize(
    ("error", "outcome"), [("0.0017", "pass"), ("0.0025", "conditional pass"), ("0.0035", "conditional fail"), ("0.0041", "fail")]
)  # fmt: skip
def test_the_four_outcomes_follow_the_guard_band_and_say_rule_limits_and_risk(error: str, outcome: str) -> None:
    """A laboratory's public page on ILAC-G8: ±0.003 mm, U 0.0010 mm: 0.0017 passes, 0.0025 conditionally; the others constructed."""
    risk = "up to 50 %" if outcome == "conditional pass" else "at most 2.3 %"
    judged = judge(point(error, "0.0005", "-0.003", "0.003", "guard band", "1"), "certificate K-1")
    assert judged.outcome == outcome
    assert judged.says.startswith(
        f"{outcome} by the rule 'guard band' with r = 1 (certificate K-1), limits -0.003 to 0.003 mm (drawing 7), probability of"
    )
    assert judged.says.endswith(f"risk of a false pass {risk} at each limit")


def test_without_a_rule_or_the_u_that_it_needs_nothing_is_judged_and_it_says_why() -> None:
    """ISO/IEC 17025:2017, 7.8.6.1: a statement of conformity needs its rule. Planted: simple acceptance by default."""
    bare = judge(point("0.58", "0.005", "0.45", "0.55", ""), "")
    assert (bare.outcome, bare.conforming_percent) == ("not judged", Decimal("0.00"))
    assert bare.says.startswith(
        "not judged: no decision rule named; compared simply it is outside, limits 0.45 to 0.55 mm (drawing 7)"
    )
    assert judge(point("0.50", "", "0.45", "0.55", "iso 14253-1"), "x").says.startswith("not judged: no U and k")
    assert judge(point("0.50", "", "0.45", "0.55"), "certificate K-1").outcome == "pass"


@pytest.mark.parametrize(
    ("percent", "words"), [("0.04", "below 0.1 %"), ("97.72", "97.7 %"), ("99.95", "above 99.9 %"), ("100", "above 99.9 %")]
)  # fmt: skip
def test_a_probability_is_never_rounded_to_none_or_to_certainty(percent: str, words: str) -> None:
    assert percent_in_words(Decimal(percent)) == words


@given(
    value=st.decimals(-20, 20, places=2), u=st.decimals("0.1", 5, places=1), r=st.decimals("0.1", 2, places=1),
    step=st.decimals("0.01", 2, places=2),
)  # fmt: skip
def test_a_guarded_pass_passes_simply_and_nearer_the_middle_is_never_less_sure(
    value: Decimal, u: Decimal, r: Decimal, step: Decimal
) -> None:
    """Laws: the guard band draws the zone in; between limits about 0 the probability falls with the distance from 0."""
    guarded = point(str(value), str(u), "-10", "10", "guard band", str(r))
    simple = judge(replace(guarded, decision_rule="simple", guard_ratio=None), "x")
    outcome = judge(guarded, "x").outcome
    assert (outcome in ("pass", "conditional pass")) == (simple.outcome == "pass")
    farther = conforming_percent(replace(guarded, value=value + step if value >= 0 else value - step))
    nearer = conforming_percent(guarded)
    assert farther is not None
    assert nearer is not None
    assert farther <= nearer
