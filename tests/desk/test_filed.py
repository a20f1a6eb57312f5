"""Filing a certificate: each value judged by the rule of the day for good, and the answer to what it changes."""

import pytest

from refstd.base.errors import NotFound
from refstd.desk import certificates, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.filed import Filed, filed
from refstd.desk.store import Lab, When
from tests import thin_thread as given
from tests.given import KEEPER


def renew(
    lab: Lab, number: str, *values: dict[str, str], minutes: float = 60, supersedes: str = "", **head: str
) -> None:
    """File a certificate of B-1 with depths of U = 0.010 mm, k = 2."""
    fields = {"asset_no": "B-1", "number": number, "laboratory": "a laboratory", "performed_on": "2031-03-14"} | head
    usual = {"notch": "1.0 mm", "expanded_uncertainty": "0.010", "coverage_factor": "2"}
    rows = [draft(certificates.ValueDraft, usual | v, "value") for v in values]
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, fields, number), rows, supersedes=supersedes,
        why="a digit was wrong" if supersedes else "", by=KEEPER, now=given.at(minutes),
    )  # fmt: skip


LIMITS = {"lower_limit": "0.95", "upper_limit": "1.05", "limit_source": "drawing 7"}


def answer(lab: Lab, number: str) -> Filed:
    return filed(lab, "B-1", number, given.when())


def test_a_renewed_block_with_one_notch_out_says_all_that_follows_from_it(lab: Lab) -> None:
    """Planted: checks told by their day, with notches that no paper measured; the procedure asked without its notches."""
    given.whole(lab)
    renew(lab, "K-1", {"value": "1.000", **LIMITS}, minutes=1, performed_on="2031-02-01", decision_rule="simple")
    start = given.check(lab, "start", minutes=5).number
    renew(
        lab,
        "K-2",
        {"value": "1.060"},
        {"notch": "0.5 mm", "value": "0.500"},
        decision_rule="guard band",
        guard_ratio="1",
    )
    found = answer(lab, "K-2")
    out, bare = found.values
    assert (out.outcome, str(out.nominal_mm), out.limit_source) == (
        "conditional fail",
        "1.0",
        "drawing 7, from certificate K-1",
    )
    assert (str(out.conforming_percent), out.rule_source, str(out.guard_ratio)) == ("2.28", "certificate K-2", "1")
    assert (bare.outcome, bare.says) == ("", "")
    assert found.verdict.headline() == "limited use, without notch 1.0 mm"
    [procedure] = found.out_for
    assert procedure.procedure == "procedure PR-1 issue B"
    assert "PR-1 issue B needs it" in procedure.why
    assert (found.earlier, [c.number for c in found.checks]) == ("K-1", [start])
    assert found.checks[0].notches == ("1.0 mm",), "no paper had measured the other notch"
    [duty] = found.due
    assert (duty.activity, str(duty.due_on), duty.state) == ("calibration", "2032-03-14", "not due")
    words = "\n".join(found.in_words())
    assert (
        "notch 1.0 mm, depth: nominal 1.0 mm, as left 1.060 mm (U = 0.010 mm, k = 2): conditional fail by the rule"
        in words
    )
    assert f"1 check used the depths from before: {start} (1.0 mm)" in words
    assert found.as_dict()["headline"] == found.verdict.headline()


def test_the_outcome_of_the_day_stays_whatever_is_filed_later(lab: Lab) -> None:
    """ISO/IEC 17025:2017, 7.8.6. Planted: limits and rule looked up anew at each question."""
    given.whole(lab)
    renew(lab, "K-1", {"value": "1.060", **LIMITS}, minutes=1, performed_on="2031-02-01", decision_rule="simple")
    renew(lab, "K-2", {"value": "1.060", **LIMITS, "upper_limit": "1.07"}, decision_rule="simple")
    assert [answer(lab, n).values[0].outcome for n in ("K-1", "K-2")] == ["fail", "pass"]
    early = serviceability.status(lab, ["B-1"], When(given.at(600), as_at=given.at(30)))[0].verdict
    assert early.headline() == "limited use, without notch 1.0 mm"


def test_a_correction_is_judged_anew_and_names_the_one_it_takes_the_place_of(lab: Lab) -> None:
    given.whole(lab)
    renew(lab, "K-1", {"value": "1.040", **LIMITS}, minutes=1, decision_rule="simple")
    given.check(lab, "start", minutes=5)
    renew(lab, "K-1a", {"value": "1.060", **LIMITS}, supersedes="K-1", decision_rule="simple")
    found = answer(lab, "K-1a")
    assert (found.earlier, len(found.checks), len(found.not_conforming)) == ("K-1", 1, 1)
    with pytest.raises(NotFound):
        answer(lab, "K-1")


def test_a_check_between_the_measurement_and_its_filing_used_the_old_depth(lab: Lab) -> None:
    """Planted: only checks before the day of the measurement, which leaves those out that were made while the paper was on its way."""
    given.whole(lab)
    renew(lab, "K-0", {"value": "1.010"}, {"notch": "0.5 mm", "value": "0.500"}, minutes=1, performed_on="2031-01-05")
    renew(lab, "K-1", {"value": "1.000"}, minutes=2, performed_on="2031-02-01")
    start = given.check(lab, "start", minutes=30).number
    renew(lab, "K-2", {"value": "1.005"}, {"notch": "0.5 mm", "value": "0.501"}, performed_on="2031-03-12", minutes=60)
    after = given.check(lab, "interim", minutes=90).number
    renew(lab, "K-3", {"value": "1.006"}, performed_on="2031-03-13", minutes=120)
    assert [(c.number, set(c.notches)) for c in answer(lab, "K-2").checks] == [(start, {"0.5 mm", "1.0 mm"})]
    assert [(c.number, c.notches) for c in answer(lab, "K-3").checks] == [(after, ("1.0 mm",))]
    assert "no check used the depths from before" in answer(lab, "K-1").in_words()


def test_the_answer_tells_whether_both_papers_agree_by_the_figures_of_the_standard(lab: Lab) -> None:
    """ISO 13528:2015, 9.7: 0.05 between U = 0.04 and U = 0.03 is |E_n| = 1, in agreement; one more digit is not."""
    given.whole(lab)
    renew(lab, "K-1", {"value": "1.00", "expanded_uncertainty": "0.03"}, minutes=1, performed_on="2031-02-01")
    renew(
        lab, "K-2", {"value": "1.05", "expanded_uncertainty": "0.04"}, performed_on="2031-03-01", laboratory="another"
    )
    renew(
        lab, "K-3", {"value": "0.999", "expanded_uncertainty": "0.03"}, performed_on="2031-03-14", laboratory="a third"
    )
    [agrees] = answer(lab, "K-1").agreements
    before, after = answer(lab, "K-2").agreements
    assert agrees == before
    assert [(a.outcome, a.figure()) for a in (before, after)] == [("agree", "1.00"), ("disagree", "1.02")]
    found = answer(lab, "K-3")
    line = next(x for x in found.in_words() if "|E_n|" in x)
    assert "certificate K-2 of 2031-03-01, then 0.999 mm" in line
    assert "|E_n| = 1.02, limit 1 (ISO 13528:2015, 9.7)" in line
    told = found.as_dict()["agreements"]
    assert isinstance(told, list)
    assert (told[0]["outcome"], told[0]["later"], told[0]["source"]) == (
        "disagree",
        "certificate K-3",
        "ISO 13528:2015, 9.7",
    )


def test_a_correction_still_tells_the_findings_that_the_corrected_paper_opened(lab: Lab) -> None:
    """Planted: only the findings of the correction itself, so that a laboratory's name put right hid what was in doubt."""
    given.whole(lab)
    renew(lab, "K-1", {"value": "1.00"}, minutes=1, performed_on="2031-02-01")
    renew(lab, "K-2", {"value": "1.10"}, performed_on="2031-03-01")
    opened = [f.number for f in answer(lab, "K-2").findings]
    renew(
        lab,
        "K-2a",
        {"value": "1.10"},
        performed_on="2031-03-01",
        minutes=70,
        supersedes="K-2",
        laboratory="named right",
    )
    assert opened
    assert [f.number for f in answer(lab, "K-2a").findings] == opened
