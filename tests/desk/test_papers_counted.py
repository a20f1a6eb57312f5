"""Which value of which paper counts: several points of a notch, papers of one day, adjustments, corrections, late papers.

Invented papers; what is expected is common practice, no source, but where a clause is named.
"""

import pytest

from refstd.base.errors import AlreadyOnRecord, BadInput
from refstd.desk import certificates, filed, serviceability
from refstd.desk.depths import depths_in_force
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.found import Papers
from refstd.desk.requirements import AskedToleranceDraft
from refstd.desk.store import Lab
from refstd.register.certificates import CertifiedValue
from refstd.rules.verdict import Verdict
from tests import thin_thread as given
from tests.given import KEEPER

Values = list[dict[str, str]]


@pytest.fixture
def ready(lab: Lab) -> Lab:
    given.people_and_material(lab)
    given.block(lab)
    return lab


def depth(value: str, **more: str) -> dict[str, str]:
    """Return a depth of the 0.5 mm notch with U, k and limits 0.45 to 0.55 mm."""
    limits = {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7"}
    return {"notch": "0.5 mm", "value": value, "expanded_uncertainty": "0.010", "coverage_factor": "2"} | limits | more


def bare(value: str) -> dict[str, str]:
    return {"notch": "0.5 mm", "value": value, "expanded_uncertainty": "0.010", "coverage_factor": "2"}


def keep(lab: Lab, number: str, day: str, values: Values, minutes: float, supersedes: str = "", **paper: str) -> None:
    fields = {"asset_no": "B-1", "number": number, "laboratory": "a laboratory", "performed_on": day} | paper
    if "decision_rule" not in paper:
        fields["decision_rule"] = "simple"
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, fields, number), [draft(certificates.ValueDraft, v, "value") for v in values],
        supersedes=supersedes, why="a typing error" if supersedes else "", by=KEEPER, now=given.at(minutes),
    )  # fmt: skip


def verdict(lab: Lab, procedure: str = "") -> Verdict:
    return serviceability.status(lab, ["B-1"], given.when(), procedure)[0].verdict


def said(lab: Lab) -> str:
    return "\n".join(f"{r.weight}: {r.in_words()}" for r in verdict(lab).reasons)


BOTH_ORDERS = pytest.mark.parametrize("order", [1, -1], ids=["the bad point first", "the bad point last"])


@BOTH_ORDERS
def test_a_notch_measured_at_two_points_is_as_bad_as_its_worse_point(ready: Lab, order: int) -> None:
    """Planted bug it caught: the point that was typed last counted, and 0.70 mm of 0.45 to 0.55 mm was serviceable."""
    points = [depth("0.70", point="deepest"), depth("0.50", point="middle")][::order]
    keep(ready, "K-1", "2030-01-10", [depth("0.50", point="deepest"), depth("0.50", point="middle")], 1)
    keep(ready, "K-2", "2031-01-10", points, 2)
    assert "without notch 0.5 mm" in verdict(ready).headline()
    with ready.look(given.when()) as look:
        papers = Papers(look)
        (item,) = papers.papers
        told = [p.in_tolerance for p in papers.of(item, "calibration").papers]
        (rests_on,) = depths_in_force(papers.papers[item], look, look.today).values()
        used = look.session.get_one(CertifiedValue, rests_on).value
    assert told == [True, False]
    assert str(used) == "0.70"
    assert [f.number for f in filed.filed(ready, "B-1", "K-2", given.when()).findings]


@BOTH_ORDERS
def test_of_two_points_inside_the_one_nearer_to_its_limit_counts(ready: Lab, order: int) -> None:
    keep(ready, "K-1", "2031-01-10", [depth("0.54"), depth("0.50")][::order], 1)
    with ready.look(given.when()) as look:
        papers = Papers(look)
        (item,) = papers.papers
        (found,) = papers.of(item, "calibration").papers
    assert found.share == pytest.approx(0.8)


@BOTH_ORDERS
def test_a_procedure_asks_its_own_limits_of_every_point(ready: Lab, order: int) -> None:
    """0.51 mm uses less of the item's 0.45 to 0.55 mm than 0.48 mm, and only it is out for a procedure that asks 0.47 to 0.505."""
    asks = {"quantity": "depth", "against": "none", "lower": "0.47", "upper": "0.505", "unit": "mm"}
    asks |= {"notch": "0.5 mm", "decision_rule": "simple", "paragraph": "4.2"}
    given.procedure(ready, asked={"tolerances_asked": [draft(AskedToleranceDraft, asks, "asked")]})
    keep(ready, "K-1", "2031-01-10", [depth("0.51"), depth("0.48")][::order], 1)
    assert verdict(ready).standing == "serviceable"
    assert verdict(ready, "PR-1").standing == "do not use"


def test_a_corrected_paper_keeps_its_place_among_those_of_its_day(ready: Lab) -> None:
    """Planted bug it caught: correcting the method of K-1 made it newer than K-2 of the same day, and its pass counted."""
    keep(ready, "K-1", "2031-01-10", [depth("0.50")], 1)
    keep(ready, "K-2", "2031-01-10", [depth("0.70")], 2)
    keep(ready, "K-1", "2031-01-10", [depth("0.50")], 3, "K-1", method="replica")
    assert "without notch 0.5 mm" in verdict(ready).headline()
    assert filed.filed(ready, "B-1", "K-2", given.when()).earlier == "K-1"
    with ready.look(given.when()) as look:
        (papers,) = Papers(look).papers.values()
    assert [p.number for p in papers] == ["K-1", "K-2"]


def test_a_corrected_paper_is_judged_by_the_limits_before_it_and_not_by_those_of_later_the_same_day(ready: Lab) -> None:
    keep(ready, "K-1", "2031-01-10", [bare("0.50")], 1)
    keep(ready, "K-2", "2031-01-10", [depth("0.50")], 2)
    keep(ready, "K-1", "2031-01-10", [bare("0.70")], 3, "K-1")
    (value,) = filed.filed(ready, "B-1", "K-1", given.when()).values
    assert value.outcome == ""


@pytest.mark.parametrize("value", [depth("0.50", stage="as found"), bare("0.50") | {"stage": "as found"}])
def test_what_was_adjusted_without_a_value_as_left_is_struck_out(ready: Lab, value: dict[str, str]) -> None:
    """Planted bug it caught: the value as found stayed in force, though the adjustment had changed it."""
    keep(ready, "K-1", "2031-01-10", [value], 1, adjusted="yes", adjustment="face dressed")
    assert "without notch 0.5 mm" in verdict(ready).headline()
    assert "notch 0.5 mm of B-1 was adjusted and has no value as left (depth, as found before it)" in said(ready)
    keep(ready, "K-2", "2031-01-11", [depth("0.50")], 2)
    assert verdict(ready).standing == "serviceable"


def test_a_value_of_the_whole_item_without_its_value_as_left_stops_the_item(ready: Lab) -> None:
    value = {"quantity": "conductivity", "value": "32", "unit": "%IACS", "stage": "as found"}
    keep(ready, "K-1", "2031-01-10", [value], 1, adjusted="yes", adjustment="heat treated")
    assert verdict(ready).standing == "do not use"


def test_a_correction_may_not_take_the_number_of_another_paper_in_force(ready: Lab) -> None:
    keep(ready, "K-1", "2030-01-10", [depth("0.50")], 1)
    keep(ready, "K-2", "2031-01-10", [depth("0.51")], 2)
    with pytest.raises(AlreadyOnRecord, match="another certificate K-1 in force, of 2030-01-10"):
        keep(ready, "K-1", "2031-01-10", [depth("0.52")], 3, "K-2")
    keep(ready, "K-3", "2031-01-10", [depth("0.52")], 4, "K-2")
    with ready.look(given.when()) as look:
        (papers,) = Papers(look).papers.values()
    assert [p.number for p in papers] == ["K-1", "K-3"]


def test_a_conditional_pass_is_not_proven_and_never_called_not_conforming(ready: Lab) -> None:
    """JCGM 106:2012, clause 8 (MEMORY): on the limit the true value is outside it in half of all cases."""
    keep(ready, "K-1", "2031-01-10", [depth("0.55")], 1, decision_rule="guard band", guard_ratio="1")
    assert "is inside its limits, conformity not proven (depth, conditional pass by the rule 'guard band')" in said(
        ready
    )
    assert "does not conform" not in said(ready)
    (value,) = filed.filed(ready, "B-1", "K-1", given.when()).values
    assert value.conforming_percent == 50
    assert "conformity not proven, risk of a false pass up to 50 % at each limit" in value.in_words()
    assert "2.3 %" not in value.in_words()


@pytest.mark.parametrize(("value", "beside"), [("0.60", "outside"), ("0.50", "inside")])
def test_limits_filed_later_advise_on_a_value_and_do_not_judge_it(ready: Lab, value: str, beside: str) -> None:
    """ISO/IEC 17025:2017, 7.8.6.1 (MEMORY): a value is judged by the rule agreed for it. Planted: it was called a fail."""
    keep(ready, "K-2", "2031-01-10", [bare(value)], 1, decision_rule="")
    keep(ready, "K-1", "2030-01-10", [depth("0.50")], 2)
    assert verdict(ready).standing == "serviceable"
    same = f"filed without limits and not judged; compared simply with the limits of certificate K-1, filed later, it is {beside}"
    assert [line for line in said(ready).splitlines() if same in line and line.startswith("advises")]
    (shown,) = filed.filed(ready, "B-1", "K-2", given.when()).values
    assert shown.outcome == ""
    assert same in shown.in_words()


def test_an_item_found_not_sound_is_sound_again_only_where_a_newer_paper_says_so(ready: Lab) -> None:
    """Planted bug it caught: a newer calibration with an empty result was filed without a word, and cleared nothing."""
    keep(ready, "K-1", "2031-01-10", [], 1, result="not sound")
    (reason,) = [r for r in verdict(ready).reasons if "not sound" in r.says]
    assert reason.cure == "repair it, then file a newer calibration with the result 'sound'"
    with pytest.raises(BadInput, match="calibration K-1 of 2031-01-10 found B-1 not sound"):
        keep(ready, "K-2", "2031-03-01", [depth("0.50")], 2)
    with pytest.raises(BadInput, match="found B-1 not sound"):
        keep(ready, "K-1", "2031-01-10", [depth("0.50")], 3, "K-1")
    keep(ready, "K-0", "2030-01-10", [depth("0.50")], 4)  # an older one says nothing of it
    keep(ready, "R-1", "2031-03-01", [], 5, activity="inspection")
    assert verdict(ready).standing == "do not use"
    keep(ready, "K-2", "2031-03-01", [depth("0.50")], 6, result="sound")
    assert verdict(ready).standing == "serviceable"
