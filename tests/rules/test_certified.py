"""Certified values of several papers: which are in force, with whose limits, and what stands against them."""

from decimal import Decimal

import pytest

from refstd.base.reason import Reason, Weight
from refstd.rules.certified import CertifiedPoint, point_reasons, points_in_force


def depth(
    value: str, record: str = "K-1", limits: tuple[str, str] | None = ("0.450", "0.550"), **known: str
) -> CertifiedPoint:
    """Return a certified depth of the 0.5 mm notch, U = 0.010 with k = 2, unless said otherwise."""
    u, rule = known.get("u", "0.010"), known.get("rule", "")
    return CertifiedPoint(
        "0.5 mm", known.get("quantity", "depth"), Decimal(value), known.get("unit", "mm"), Decimal(u) if u else None,
        Decimal(2) if u else None, Decimal(limits[0]) if limits else None, Decimal(limits[1]) if limits else None,
        "drawing 7" if limits else "", rule, Decimal(1) if rule == "guard band" else None, f"certificate {record}",
    )  # fmt: skip


def told(point: CertifiedPoint) -> tuple[list[Reason], list[str]]:
    struck: list[str] = []
    return point_reasons("B-1", point, "", struck), struck


def left(*points: CertifiedPoint) -> CertifiedPoint:
    """Return the one value in force of papers with one value each, oldest first."""
    (point,) = points_in_force([("as left", p)] for p in points)
    return point


def test_a_value_outside_its_limits_without_a_rule_is_compared_simply_and_limits_the_item() -> None:
    [reason], struck = told(depth("0.90"))
    assert reason.says == "notch 0.5 mm of B-1 is outside its limits (depth, no decision rule named, compared simply)"
    assert (reason.limit, reason.source, reason.weight) == ("0.450 to 0.550 mm", "drawing 7", Weight.LIMITS)
    assert struck == ["notch 0.5 mm"]
    [inside], struck = told(depth("0.550"))
    assert (inside.weight, struck) == (Weight.ADVISES, [])


def test_limits_survive_any_number_of_papers_that_are_silent_and_name_the_one_that_stated_them() -> None:
    """Planted bug it caught: 'drawing 7, from certificate K-1, from certificate K-2'."""
    point = left(
        depth("0.500", "K-1", rule="guard band"),
        depth("0.501", "K-2", None, quantity=" Depth "),
        depth("0.900", "K-3", None, quantity="DEPTH"),
    )
    [reason], struck = told(point)
    assert (reason.record, reason.source) == ("certificate K-3", "drawing 7, from certificate K-1")
    assert "by the rule 'guard band'" in reason.says
    assert struck == ["notch 0.5 mm"]


@pytest.mark.parametrize("quantity", ["Depth", " notch  DEPTH ", "Depth of notch"])
def test_a_depth_is_one_however_its_paper_writes_it(quantity: str) -> None:
    """Common practice, no source. Planted: compared letter by letter; both depths were in force, and one on no page."""
    newer = depth("0.520", "K-2", quantity=quantity)
    assert newer.is_depth
    assert left(depth("0.500", "K-1"), newer).value == Decimal("0.520")
    assert not depth("0.1", quantity="width").is_depth


def test_limits_of_its_own_paper_replace_the_ones_before_and_need_a_rule_of_their_own() -> None:
    point = left(depth("0.500", "K-1", rule="simple"), depth("0.600", "K-2", ("0.550", "0.650")))
    assert (point.lower, point.decision_rule, point.limit_source) == (Decimal("0.550"), "", "drawing 7")


@pytest.mark.parametrize(
    ("value", "unit", "fits"), [("500", "µm", True), ("449", "µm", False), ("551", "µm", False), ("0.449", "mm", False)]
)
def test_limits_follow_into_the_unit_of_the_newer_paper(value: str, unit: str, fits: bool) -> None:
    """Planted bug it caught: 500 µm held against 0.450 to 0.550 without a unit."""
    [reason], struck = told(left(depth("0.500"), depth(value, "K-2", None, unit=unit, u="")))
    assert (struck == []) is fits
    assert reason.limit.endswith(f" {unit}")


def test_conductivity_limits_follow_from_iacs_to_siemens() -> None:
    """ASTM E1004, scope 1.4: 100 %IACS is 0.58 × 10^8 S/m at 20 °C, so 50 and 60 %IACS are 29 and 34.8 MS/m."""
    first = depth("55", "K-1", ("50", "60"), quantity="conductivity", unit="%IACS")
    point = left(first, depth("31.9", "K-2", None, quantity="conductivity", unit="MS/m"))
    assert (point.lower, point.upper) == (Decimal(29), Decimal("34.8"))
    back = left(depth("31.9", "K-1", ("29", "34.9"), unit="MS/m"), depth("55", "K-2", None, unit="%IACS"))
    assert (back.lower, back.upper) == (Decimal(50), Decimal("60.172414"))


def test_a_rule_that_needs_an_uncertainty_is_not_said_to_have_judged_a_value_without_one() -> None:
    """ILAC-G8:09/2019, 4.2.3 (MEMORY): the guard band is a share of U; without U there is none."""
    inside, outside = (
        told(left(depth("0.500", rule="guard band"), depth(v, "K-2", None, u=""))) for v in ("0.549", "0.551")
    )
    assert [(r.weight, "no U and k for the rule 'guard band'" in r.says) for r in inside[0]] == [(Weight.ADVISES, True)]
    assert [(r.weight, "compared simply" in r.says) for r in outside[0]] == [(Weight.LIMITS, True)]


def test_an_item_found_outside_and_left_inside_serves_and_asks_to_look_back() -> None:
    """ISO/IEC 17025:2017, 7.10 and 6.4.9 (MEMORY): what nonconforming equipment did before is looked into."""
    (point,) = points_in_force(
        [[("as left", depth("0.510", rule="simple", u="0.004")), ("as found", depth("0.600", rule="simple"))]]
    )
    [reason], struck = told(point)
    assert struck == []
    assert reason.weight is Weight.ADVISES
    assert reason.says == (
        "notch 0.5 mm of B-1 was found outside its limits (depth); look back to the last certificate"
    )
    assert (reason.figure, reason.limit) == ("0.600 mm (U = 0.010 mm, k = 2)", "0.450 to 0.550 mm")
    assert (reason.source, reason.record) == ("drawing 7", "certificate K-1")
    assert reason.cure


@pytest.mark.parametrize(("found", "bare"), [("0.600", "as found"), ("0.600", "as left"), ("0.600", "both")])
def test_the_value_as_found_is_held_against_the_limits_whichever_value_they_are_printed_at(
    found: str, bare: str
) -> None:
    limits = ("0.450", "0.550")
    one = ("as found", depth(found, "K-2", None if bare != "as left" else limits, rule="simple"))
    two = ("as left", depth("0.510", "K-2", None if bare != "as found" else limits, rule="simple"))
    (point,) = points_in_force([[("as left", depth("0.500", "K-1", rule="simple"))], [one, two]])
    [reason], _ = told(point)
    assert "was found outside" in reason.says
    source = "drawing 7, from certificate K-1" if bare == "both" else "drawing 7"
    assert (reason.source, point.limit_source) == (source, source)


def test_a_newer_certificate_that_found_it_inside_ends_the_looking_back() -> None:
    first = [("as found", depth("0.600", rule="simple")), ("as left", depth("0.510", rule="simple"))]
    (point,) = points_in_force([first, [("as left", depth("0.511", "K-2", rule="simple"))]])
    assert told(point) == ([], [])
