"""Two papers about one thing: the published scores, the boundary, what cannot be compared, and the laws of E_n."""

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.agreement import CAUTION, CAUTION_UNKNOWN, Agreement, Measured, agreements, questions, zeta_asks
from tests.published import gum, iso_13528


def depth(value: str, u: str = "0.010", k: str = "2", **known: str | int) -> Measured:
    """Return a depth of the 0.5 mm notch as one paper has it; paper 1 unless said otherwise."""
    paper = int(known.get("paper", 1))
    return Measured(
        "0.5 mm", "depth", str(known.get("stage", "as left")), Decimal(value), str(known.get("unit", "mm")),
        Decimal(u) if u else None, Decimal(k) if k else None, str(known.get("laboratory", f"laboratory {paper}")),
        str(known.get("method", "replica")), str(known.get("point", "")), f"certificate K{paper}", paper,
        date(2030, paper, 1),
    )  # fmt: skip


def one(*papers: list[Measured]) -> Agreement:
    [found] = agreements(papers)
    return found


@pytest.mark.parametrize(("value", "u", "reference", "u_reference", "expected"), iso_13528.TRIANGLE)
def test_the_boundary_is_decided_on_the_figures_as_printed(
    value: float, u: float, reference: float, u_reference: float, expected: float
) -> None:
    """ISO 13528 (3-4-5 triangle, CONSTRUCTED): exactly 1 is agreement. Planted bug it caught: decided on binary floats."""
    found = one([depth(str(reference), str(u_reference))], [depth(str(value), str(u), paper=2)])
    assert found.e_n == pytest.approx(expected)
    assert (found.disagrees, found.figure()) == (expected > 1, f"{expected:.2f}")


def test_the_scores_of_two_papers_are_those_of_the_published_listings() -> None:
    """NIST Dataplot reference, GEAR.DAT (READ). Trap: the zeta listing is cut, not rounded; E_n is rounded."""
    u, u_reference = str(2 * iso_13528.U_BATCH_1), str(2 * iso_13528.U_REFERENCE)
    found = [one([depth("1.0", u_reference)], [depth(str(x), u, paper=2)]) for x in iso_13528.BATCH_1[:5]]
    zetas = [math.trunc((a.zeta or 0) * 1000) / 1000 for a in found]
    assert zetas == pytest.approx(iso_13528.ZETA_FIRST_5, abs=1e-9)
    assert [a.e_n for a in found[:4]] == pytest.approx(iso_13528.E_N_FIRST_4, abs=5.1e-4)


@pytest.mark.parametrize(
    ("expanded", "factor", "combined", "said"),
    [
        (gum.H1_U99, gum.H1_T99, gum.H1_COMBINED, "U of certificate K1 was brought from k = 2.92 to k = 2: 63.7 mm"),
        (
            gum.G41_U95,
            gum.G41_T95,
            gum.G41_COMBINED,
            "U of certificate K1 was brought from k = 2.09 to k = 2: 2.105 mm",
        ),
    ],
)
def test_a_u_at_another_k_is_brought_to_2_and_said(expanded: float, factor: float, combined: float, said: str) -> None:
    """JCGM 100:2008 H.1 and G.4.1: half of the U at k = 2 is the combined standard uncertainty there, as rounded in print."""
    apart = str(Decimal("500") + 2 * Decimal(str(combined)))
    found = one([depth("500", str(expanded), str(factor))], [depth(apart, "0.001", paper=2)])
    assert found.e_n == pytest.approx(1, rel=0.025)
    assert found.notes == (said,)


@pytest.mark.parametrize(
    ("earlier", "later", "why"),
    [
        (depth("0.5", k=""), depth("0.6", paper=2), "U of certificate K1 is without its k"),
        (depth("0.5"), depth("0.6", u="", k="", paper=2), "certificate K2 has no U"),
        (depth("0.5"), replace(depth("0.6", paper=2), adjusted=True), "certificate K2 tells of an adjustment and has no value as found"),
        (replace(depth("0.5", stage="as found"), adjusted=True), depth("0.6", paper=2), "certificate K1 tells of an adjustment and has no value as left"),
    ],
)  # fmt: skip
def test_what_cannot_be_compared_says_why_and_is_no_agreement(earlier: Measured, later: Measured, why: str) -> None:
    found = one([earlier], [later])
    assert (found.e_n, found.outcome, found.why_not, found.disagrees) == (None, "not compared", why, False)
    assert f"not compared, {why}" in found.in_words()


def test_the_value_as_left_is_held_against_the_next_one_as_found() -> None:
    """Planted bug it caught: as left against as left, so that what an adjustment hid was never seen."""
    first = [depth("0.550", stage="as found"), depth("0.500", stage="as left")]
    second = [depth("0.540", stage="as found", paper=2), depth("0.501", stage="as left", paper=2)]
    found = one(first, second)
    assert (found.earlier.value, found.later.value) == (Decimal("0.500"), Decimal("0.540"))
    assert found.disagrees


def test_a_paper_without_the_notch_is_passed_over_for_the_newest_that_has_it() -> None:
    other = replace(depth("1.0", paper=2), notch="1.0 mm")
    found = one([depth("0.500")], [other], [depth("0.505", paper=3)])
    assert (found.earlier.certificate, found.later.certificate) == ("certificate K1", "certificate K3")


def test_units_of_one_kind_are_compared_and_others_are_not() -> None:
    """Planted bug it caught: 0.500 mm against 540 µm told 53 000."""
    found = one([depth("0.500", "0.030")], [depth("550", "40", unit="µm", paper=2)])
    assert found.e_n == pytest.approx(1.0)
    assert not found.disagrees
    assert agreements([[depth("0.5")], [replace(depth("3", paper=2), unit="dB")]]) == ()


def test_values_at_the_same_point_of_a_notch_are_compared_and_other_points_are_said() -> None:
    first = [depth("0.500", point="middle"), depth("0.600", point="end")]
    same, other = agreements([first, [depth("0.501", point="Middle", paper=2), depth("0.602", point="edge", paper=2)]])
    assert (same.earlier.point, same.notes) == ("middle", ())
    assert other.notes == ("measured at other points: end, then edge",)


@pytest.mark.parametrize(
    ("laboratory", "methods", "caution"),
    [
        ("Same", ("replica", "Replica"), CAUTION),
        ("Same", ("replica", ""), CAUTION_UNKNOWN),
        ("Same", ("replica", "profile"), None),
        ("Other", ("replica", "replica"), None),
    ],
)
def test_one_laboratory_and_method_are_correlated_and_that_is_said(
    laboratory: str, methods: tuple[str, str], caution: str | None
) -> None:
    """ISO/IEC 17043 and ISO 13528 take the two as independent (MEMORY)."""
    before = depth("0.500", laboratory="same", method=methods[0])
    found = one([before], [depth("0.501", laboratory=laboratory, method=methods[1], paper=2)])
    assert found.notes == ((caution,) if caution else ())


@pytest.mark.parametrize(("score", "says"), [(1.99, ""), (-2.0, ", a warning (from 2)"), (3.0, ", an action (from 3)")])
def test_zeta_warns_from_2_and_asks_for_an_action_from_3(score: float, says: str) -> None:
    """ISO 13528:2015, 9.6 (MEMORY)."""
    assert zeta_asks(score) == says


def test_the_line_shows_both_values_with_u_and_k_the_limit_and_its_source() -> None:
    says = one([depth("0.500")], [depth("0.515", paper=2, stage="as found")]).in_words()
    assert says == (
        "notch 0.5 mm, depth: 0.500 mm (U = 0.010 mm, k = 2) as left, certificate K1 of 2030-01-01, then 0.515 mm "
        "(U = 0.010 mm, k = 2) as found, certificate K2 of 2030-02-01: |E_n| = 1.06, limit 1 (ISO 13528:2015, 9.7); "
        "|ζ| = 2.12, a warning (from 2)"
    )


def test_the_usual_causes_are_questions_with_what_is_on_record() -> None:
    asked = questions([depth("0.5")], [depth("0.6", method="profile", paper=2)], ["2030-01-20: knocked"])
    assert (asked[0].asks, asked[0].on_record) == ("Another method?", "replica, then profile")
    assert [q.on_record for q in asked if "Damage" in q.asks] == ["2030-01-20: knocked"]


figures = st.decimals("0.001", "20", places=3)
spreads = st.decimals("0.001", "1", places=3)


@given(figures, spreads, figures, spreads)
def test_e_n_changes_sign_when_the_papers_are_exchanged_and_the_answer_stays(
    x: Decimal, u: Decimal, y: Decimal, v: Decimal
) -> None:
    a, b = depth(str(x), str(u)), depth(str(y), str(v))
    forth, back = one([a], [replace(b, certificate_id=2)]), one([b], [replace(a, certificate_id=2)])
    assert forth.disagrees == back.disagrees
    assert forth.e_n == pytest.approx(-(back.e_n or 0))
    assert forth.zeta == pytest.approx(2 * (forth.e_n or 0))


@given(figures, spreads, figures, spreads, st.sampled_from([("µm", 1000), ("mm", 1)]))
def test_e_n_does_not_depend_on_the_unit(x: Decimal, u: Decimal, y: Decimal, v: Decimal, to: tuple[str, int]) -> None:
    unit, times = to
    as_is = one([depth(str(x), str(u))], [depth(str(y), str(v), paper=2)])
    moved = one([depth(str(x), str(u))], [depth(str(y * times), str(v * times), unit=unit, paper=2)])
    assert moved.e_n == pytest.approx(as_is.e_n)
    assert (moved.disagrees, moved.figure()) == (as_is.disagrees, as_is.figure())


@given(figures, spreads, figures, spreads, st.integers(2, 6))
def test_a_larger_u_never_turns_agreement_into_disagreement(
    x: Decimal, u: Decimal, y: Decimal, v: Decimal, times: int
) -> None:
    narrow = one([depth(str(x), str(u))], [depth(str(y), str(v), paper=2)])
    wide = one([depth(str(x), str(u * times))], [depth(str(y), str(v), paper=2)])
    assert narrow.disagrees or not wide.disagrees


@given(figures, spreads, figures, spreads)
def test_the_figure_shown_is_on_the_same_side_of_1_as_the_answer(
    x: Decimal, u: Decimal, y: Decimal, v: Decimal
) -> None:
    found = one([depth(str(x), str(u))], [depth(str(y), str(v), paper=2)])
    assert (Decimal(found.figure()) > 1) == found.disagrees
