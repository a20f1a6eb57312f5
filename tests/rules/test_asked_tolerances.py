"""What a procedure asks of a block's certified values: out for that procedure alone, with figure, limit, source, rule and risk."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.rules.asked_tolerances import AskedTolerance, Nominal, asked_reasons
from refstd.rules.certified import CertifiedPoint, place_of
from refstd.rules.serviceability import ItemFacts, ProcedureNeeds, serviceability
from refstd.rules.verdict import Standing
from tests.published import iso_14253_1, mil_std_1537c
from tests.rules.test_serviceability import TODAY, facts, point

PROCEDURE = "procedure PR-1 issue A"
ASKED = AskedTolerance(
    "depth", "0.5 mm", "none", Decimal("0.48"), Decimal("0.52"), None, None, "mm", "simple", None, "5.2"
)


def asked(**values: object) -> AskedTolerance:
    numbers = ("lower", "upper", "largest_uncertainty", "largest_uncertainty_percent", "guard_ratio")
    return replace(ASKED, **{k: Decimal(str(v)) if k in numbers and v is not None else v for k, v in values.items()})  # type: ignore[arg-type]


def verdict(item: ItemFacts, *tolerances: AskedTolerance) -> Standing:
    return serviceability(item, TODAY, 30, ProcedureNeeds(PROCEDURE, ("0.5 mm",), tolerances)).standing


def reasons(p: CertifiedPoint, t: AskedTolerance, *nominals: Nominal) -> list[tuple[Weight, str]]:
    return [(r.weight, r.in_words()) for r in asked_reasons("B-1", ("0.5 mm", "1.0 mm"), [p], nominals, PROCEDURE, [t])]


def test_a_value_inside_the_items_limits_is_out_for_the_procedure_that_asks_for_more_and_for_no_other() -> None:
    """Planted: the item's own limits held against the value instead of the procedure's."""
    block = facts(points=(point("0.530"),))
    assert serviceability(block, TODAY, 30).standing is Standing.SERVICEABLE
    assert verdict(block) is Standing.SERVICEABLE
    assert verdict(block, ASKED) is Standing.DO_NOT_USE
    [(weight, says)] = reasons(point("0.530"), ASKED)
    assert weight is Weight.STOPS
    assert says == (
        "notch 0.5 mm of B-1 does not conform to what procedure PR-1 issue A asks (depth, fail by the rule 'simple', risk of a "
        "false pass at most 50 % at each limit) 0.530 mm (U = 0.010 mm, k = 2; probability of conformity 2.3 %), limit 0.48 to "
        "0.52 mm (procedure PR-1 issue A, 5.2) [certificate K-1] → take a block that conforms"
    )


@pytest.mark.parametrize(("value", "proven"), iso_14253_1.EDITION_2017)
def test_the_rule_that_the_procedure_names_judges_as_published(value: float, proven: bool | None) -> None:
    """ISO 14253-1: conformity proven lets in, proven non-conformity keeps out, and between them the limit itself decides."""
    lower, upper = iso_14253_1.LOWER, iso_14253_1.UPPER
    p = replace(
        point(str(value), u=str(iso_14253_1.U)), lower=None, upper=None, decision_rule="", notch="0.5 mm"
    )  # fmt: skip
    [(weight, says)] = reasons(p, asked(lower=lower, upper=upper, decision_rule="iso 14253-1"))
    between = (Weight.ADVISES, "conditional pass") if lower <= value <= upper else (Weight.STOPS, "conditional fail")
    expected, outcome = {True: (Weight.SUPPORTS, "pass"), False: (Weight.STOPS, "fail"), None: between}[proven]
    assert (weight, f", {outcome} by the rule 'iso 14253-1'" in says) == (expected, True)


def test_without_a_rule_a_value_is_compared_and_that_is_said() -> None:
    """There is no default rule. Planted: 'simple' taken for none."""
    inside, outside = (reasons(point(v), asked(decision_rule=""))[0] for v in ("0.510", "0.521"))
    assert (inside[0], outside[0]) == (Weight.ADVISES, Weight.STOPS)
    assert "is inside what procedure PR-1 issue A asks (depth, no decision rule named, compared simply)" in inside[1]
    assert "have the procedure name a decision rule" in inside[1]


def test_what_cannot_be_judged_by_the_rule_that_is_named_shows_no_conformity() -> None:
    bare = replace(point("0.500"), expanded_uncertainty=None, coverage_factor=None)
    [(weight, says)] = reasons(bare, asked(decision_rule="guard band", guard_ratio="1"))
    assert (weight, "cannot be judged" in says, "no U and k for the rule 'guard band' with r = 1" in says) == (
        Weight.STOPS,
        True,
        True,
    )


def test_a_value_that_is_asked_for_and_not_on_record_stops() -> None:
    [(weight, says)] = reasons(point("0.500"), asked(notch="1.0 mm"))
    assert (weight, says.startswith("notch 1.0 mm of B-1 has no certified depth")) == (Weight.STOPS, True)
    both = reasons(point("0.500"), asked(notch=""))
    assert [w for w, _ in both] == [Weight.SUPPORTS, Weight.STOPS], "asked without a notch it is asked of every notch"
    assert reasons(point("0.500"), LABORATORY)[0][1].startswith(
        "B-1 has no certified conductivity, and procedure PR-1 issue A asks"
    )
    assert reasons(point("0.500"), asked(notch="9 mm")) == [], "a notch that the block lacks is told by the match"


def test_limits_about_the_nominal_are_moved_to_it_in_the_papers_own_unit() -> None:
    nominal = Nominal(place_of("0.5 mm", "depth", "mm"), Decimal("0.5"), "mm")
    near = asked(lower="-20", upper="20", unit="µm", against="nominal")
    assert reasons(point("0.520"), near, nominal)[0][0] is Weight.SUPPORTS
    weight, says = reasons(point("0.521"), near, nominal)[0]
    assert (weight, "limit 0.48 to 0.52 mm (procedure PR-1 issue A, 5.2)" in says) == (Weight.STOPS, True)
    assert "has no nominal on record" in reasons(point("0.500"), near)[0][1]


def standard(value: str, u: str, k: str = "2") -> CertifiedPoint:
    return replace(
        point(value, notch=""), quantity="conductivity", unit="%IACS", expanded_uncertainty=Decimal(u), coverage_factor=Decimal(k), lower=None,
        upper=None,
    )  # fmt: skip


LABORATORY = asked(
    quantity="conductivity", notch="", lower=None, upper=None, largest_uncertainty=mil_std_1537c.LABORATORY_IACS, unit="%IACS",
    largest_uncertainty_percent=mil_std_1537c.LABORATORY_PERCENT, decision_rule="", paragraph=f"5.1 ({mil_std_1537c.LABORATORY_CLAUSE})",
)  # fmt: skip


@pytest.mark.parametrize(("value", "limit"), mil_std_1537c.LIMITS)
def test_a_conductivity_standard_is_held_to_the_lesser_of_both_published_limits(value: str, limit: str) -> None:
    """MIL-STD-1537C, 4.2.1. Planted: the greater of the two; the last digit beyond the limit let pass."""
    weight, says = reasons(standard(value, limit), LABORATORY)[0]
    assert (weight, "MIL-STD-1537C, 4.2.1" in says) == (Weight.SUPPORTS, True)
    beyond = str(Decimal(limit) + Decimal("0.01"))
    weight, says = reasons(standard(value, beyond), LABORATORY)[0]
    assert (weight, "is larger than procedure PR-1 issue A asks" in says) == (Weight.STOPS, True)
    assert f"{value} %IACS, U = {beyond} %IACS (k = 2), limit at most {Decimal(limit).normalize()} %IACS" in says


def test_an_uncertainty_of_another_k_is_brought_to_two_and_one_without_k_is_not_taken() -> None:
    """GUM 6.2: U = k·u. Planted: U taken as printed."""
    assert reasons(standard("40", "0.52", "3"), LABORATORY)[0][0] is Weight.SUPPORTS
    weight, says = reasons(standard("40", "0.20", "1"), LABORATORY)[0]
    assert (weight, "U = 0.4 %IACS brought from k = 1 to k = 2" in says) == (Weight.STOPS, True)
    bare = replace(standard("40", "0.20"), coverage_factor=None)
    assert "lacks the k of its U" in reasons(bare, LABORATORY)[0][1]


@given(
    st.decimals("0.40", "0.60", places=3),
    st.decimals("0.001", "0.05", places=3),
    st.sampled_from(["simple", "iso 14253-1"]),
)
def test_tighter_limits_never_let_in_what_wider_ones_keep_out(value: Decimal, u: Decimal, rule: str) -> None:
    p = point(str(value), u=str(u))
    [wide], [tight] = (
        reasons(p, asked(lower=a, upper=b, decision_rule=rule)) for a, b in (("0.45", "0.55"), ("0.48", "0.52"))
    )
    assert not (wide[0] is Weight.STOPS and tight[0] is not Weight.STOPS)
