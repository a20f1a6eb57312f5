"""Certificates held against each other on a real store: what opens a finding, once, and what its answer shows."""

from typing import Any, cast

import pytest

from refstd.desk import certificates, events, findings, history, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When
from refstd.exchange.export import export_register
from refstd.reports import REPORTS, papers
from tests import thin_thread as given
from tests.given import KEEPER

NOTCHES = ("1.5 mm", "1.0 mm", "0.5 mm")


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with people, materials and one block."""
    given.people_and_material(lab)
    given.block(lab)
    return lab


def file(
    lab: Lab, number: str, done: str, values: dict[str, str], *, minutes: float = 1, supersedes: str = "", **fields: str
) -> None:
    """File a calibration of B-1 with the depth of each notch, U = 0.010 mm, k = 2; 'a/b' is found and left."""
    head = {"asset_no": "B-1", "number": number, "laboratory": f"laboratory of {number}", "performed_on": done}
    head |= {"method": "replica"} | fields
    rows = []
    for notch, both in values.items():
        stages = ("as found", "as left") if "/" in both else ("as left",)
        for stage, value in zip(stages, both.split("/"), strict=True):
            row = {
                "notch": notch,
                "value": value,
                "stage": stage,
                "expanded_uncertainty": "0.010",
                "coverage_factor": "2",
            }
            rows.append(draft(certificates.ValueDraft, row, notch))
    why = "read wrongly" if supersedes else ""
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, head, number), rows, supersedes=supersedes, why=why, by=KEEPER,
        now=given.at(minutes),
    )  # fmt: skip


def told(lab: Lab, when: When | None = None) -> list[findings.FindingShown]:
    return list(findings.findings(lab, when or given.when()))


def test_a_new_value_far_from_the_old_one_opens_a_finding_with_both_papers_and_the_usual_causes(ready: Lab) -> None:
    """The figures: |0.530 − 0.501| / √(0.010² + 0.010²) = 2.05, by hand."""
    file(ready, "K1", "2029-01-10", {"1.0 mm": "1.000", "0.5 mm": "0.501"})
    event = {"asset_no": "B-1", "event": "knocked", "happened_at": "2030-02-03"}
    events.record_event(ready, draft(events.EventDraft, event, "event"), by=KEEPER, now=given.at(2))
    file(ready, "K2", "2031-01-10", {"1.0 mm": "1.003", "0.5 mm": "0.530"}, minutes=3, method="profile")

    [found] = told(ready)
    assert (found.cause, found.asset_no, found.certificate) == ("certificates disagree", "B-1", "K2")
    assert found.says == (
        "certificates K1 of 2029-01-10 and K2 of 2031-01-10 of B-1 disagree: notch 0.5 mm, depth |E_n| = 2.05; "
        "limit 1 (ISO 13528:2015, 9.7)"
    )
    assert found.holds() == ()
    papers = found.papers
    assert papers is not None
    assert (papers.earlier.number, papers.later.number, papers.later.method) == ("K1", "K2", "profile")
    assert [(a.later.notch, a.outcome, str(a.earlier.value), str(a.later.value)) for a in papers.rows] == [
        ("0.5 mm", "disagree", "0.501", "0.530"),
        ("1.0 mm", "agree", "1.000", "1.003"),
    ]
    asked = {q.asks: q.on_record for q in papers.questions}
    assert asked["Another method?"] == "replica, then profile"
    assert asked["Damage: knocked, dropped or repaired since?"] == "2030-02-03 knocked"


def test_papers_that_agree_and_the_papers_of_an_instrument_open_nothing(ready: Lab) -> None:
    """An instrument drifts between two calibrations; its limits judge that."""
    file(ready, "K1", "2029-01-10", {"0.5 mm": "0.501"})
    file(ready, "K2", "2031-01-10", {"0.5 mm": "0.515"}, minutes=2)  # |E_n| = 0.99
    given.instrument(ready)
    for number, done, value in (("G1", "2029-01-10", "0.0"), ("G2", "2031-01-10", "0.4")):
        head = {"asset_no": "I-1", "number": number, "laboratory": "x", "performed_on": done}
        row = {
            "quantity": "gain error",
            "unit": "dB",
            "value": value,
            "expanded_uncertainty": "0.1",
            "coverage_factor": "2",
        }
        certificates.file_certificate(
            ready, draft(certificates.CertificateDraft, head, number), [draft(certificates.ValueDraft, row, "gain")], by=KEEPER,
            now=given.at(3),
        )  # fmt: skip
    assert told(ready) == []


def test_what_an_adjustment_left_is_held_against_the_next_value_as_found(ready: Lab) -> None:
    file(ready, "K1", "2029-01-10", {"0.5 mm": "0.560/0.500"}, adjusted="yes", adjustment="re-cut")
    file(ready, "K2", "2031-01-10", {"0.5 mm": "0.502/0.560"}, minutes=2, adjusted="yes", adjustment="re-cut")
    assert told(ready) == []
    file(ready, "K3", "2031-02-10", {"0.5 mm": "0.502"}, minutes=3)
    assert [f.papers and f.papers.later.number for f in told(ready)] == ["K3"]


def test_an_older_paper_filed_late_is_held_against_both_its_neighbours(ready: Lab) -> None:
    """Planted bug it caught: held against the paper before it alone, so the disagreement with the one after was silent."""
    file(ready, "K1", "2028-01-10", {"0.5 mm": "0.500"})
    file(ready, "K3", "2031-01-10", {"0.5 mm": "0.502"}, minutes=2)
    assert told(ready) == []
    file(ready, "K2", "2029-06-10", {"0.5 mm": "0.540"}, minutes=3)
    pairs = [(f.papers.earlier.number, f.papers.later.number) for f in told(ready) if f.papers]
    assert pairs == [("K1", "K2"), ("K2", "K3")]


def test_a_disagreement_is_told_once_and_a_withdrawn_paper_makes_neighbours_of_the_others(ready: Lab) -> None:
    """Planted bug it caught: each later certificate of the block opened the old findings anew."""
    file(ready, "K1", "2028-01-10", {"0.5 mm": "0.500"})
    file(ready, "K2", "2029-01-10", {"0.5 mm": "0.511"}, minutes=2)
    file(ready, "K3", "2030-01-10", {"0.5 mm": "0.522"}, minutes=3)
    assert told(ready) == []
    certificates.withdraw_certificate(ready, "B-1", "K2", "of another block", by=KEEPER, now=given.at(4))
    [found] = told(ready)
    assert found.papers is not None
    assert (found.papers.earlier.number, found.papers.later.number) == ("K1", "K3")
    file(ready, "K4", "2031-01-10", {"0.5 mm": "0.522"}, minutes=5)
    assert len(told(ready)) == 1
    assert told(ready, When(given.at(600), as_at=given.at(3.5))) == []


def test_a_corrected_paper_is_held_against_the_others_in_place_of_the_one_that_it_corrects(ready: Lab) -> None:
    file(ready, "K1", "2028-01-10", {"0.5 mm": "0.500"})
    file(ready, "K2", "2029-01-10", {"0.5 mm": "0.550"}, minutes=2)
    file(ready, "K2-A", "2029-01-10", {"0.5 mm": "0.505"}, minutes=3, supersedes="K2")
    [found] = told(ready)
    assert (found.certificate, found.says.split(" disagree")[0]) == (
        "K2",
        "certificates K1 of 2028-01-10 and K2 of 2029-01-10 of B-1",
    )
    assert found.papers is not None
    assert (found.papers.later.number, found.papers.later.in_force) == ("K2-A", True)
    assert [a.says for a in found.actions] == [
        "certificate K2 is corrected by K2-A (read wrongly); the two do not disagree any more"
    ]


def test_a_correction_that_disagrees_still_belongs_to_the_finding_that_is_open(ready: Lab) -> None:
    """|0.540 − 0.500| / √(0.010² + 0.010²) = 2.83, by hand. Planted: the correction opened a second finding beside the open one.

    Once somebody has released the finding, another correction is another question.
    """
    file(ready, "K1", "2028-01-10", {"0.5 mm": "0.500"})
    file(ready, "K2", "2029-01-10", {"0.5 mm": "0.550"}, minutes=2)
    file(ready, "K2-A", "2029-01-10", {"0.5 mm": "0.540"}, minutes=3, supersedes="K2")
    [found] = told(ready)
    assert [a.says for a in found.actions] == [
        "certificate K2 is corrected by K2-A (read wrongly); the two disagree still: notch 0.5 mm, depth |E_n| = 2.83"
    ]
    assert [str(r.later.value) for r in found.papers.rows] == ["0.540"] if found.papers else False
    file(ready, "K9", "2031-01-10", {"1.0 mm": "1.000"}, minutes=4)  # of another notch: it asks nothing anew
    assert [len(f.actions) for f in told(ready)] == [1]
    findings.act_on(ready, found.number, "release", "K1 was of another point", by="LENA", now=given.at(5))
    file(ready, "K2-B", "2029-01-10", {"0.5 mm": "0.545"}, minutes=6, supersedes="K2-A")
    first, second = told(ready)
    assert first.papers
    assert (first.papers.later.number, len(first.actions)) == ("K2-A", 2)
    assert (second.certificate, second.actions) == ("K2-B", ())


def test_a_withdrawn_paper_is_told_on_the_finding_that_names_it(ready: Lab) -> None:
    file(ready, "K1", "2028-01-10", {"0.5 mm": "0.500"})
    file(ready, "K2", "2029-01-10", {"0.5 mm": "0.550"}, minutes=2)
    certificates.withdraw_certificate(ready, "B-1", "K2", "of another block", by=KEEPER, now=given.at(3))
    [found] = told(ready)
    assert [a.says for a in found.actions] == ["certificate K2 is withdrawn (of another block)"]
    assert found.papers
    assert not found.papers.later.in_force


def test_the_disagreement_stands_on_the_record_of_the_item(ready: Lab) -> None:
    file(ready, "K1", "2029-01-10", {"0.5 mm": "0.500"})
    file(ready, "K2", "2031-01-10", {"0.5 mm": "0.530"}, minutes=3)
    [found] = told(ready)
    record = history.item_record(ready, "B-1", given.when())
    assert [f.number for f in record.findings] == [found.number]


def test_a_disagreement_advises_on_the_verdict_until_it_is_released(ready: Lab) -> None:
    """It stops nothing: which of the papers errs is not known. Planted bug it caught: a released finding still advised."""
    file(ready, "K1", "2029-01-10", {"0.5 mm": "0.500"}, result="sound")
    before = serviceability.status(ready, ["B-1"], given.when())[0].verdict
    file(ready, "K2", "2031-01-10", {"0.5 mm": "0.530"}, minutes=3, result="sound")
    verdict = serviceability.status(ready, ["B-1"], given.when())[0].verdict
    assert verdict.headline() == before.headline()
    [reason] = [r for r in verdict.reasons if r.rule == "certificates"]
    assert (reason.record, str(reason.weight)) == ("finding F-0001", "advises")
    assert reason.says.startswith("certificates K1 of 2029-01-10 and K2 of 2031-01-10 of B-1 disagree: notch 0.5 mm")
    findings.act_on(ready, "F-0001", "release", "measured again: K2 holds", by="LENA", now=given.at(4))
    assert "certificates" not in {
        r.rule for r in serviceability.status(ready, ["B-1"], given.when())[0].verdict.reasons
    }


def test_every_report_of_the_finding_shows_both_papers(ready: Lab) -> None:
    file(ready, "K1", "2029-01-10", {"0.5 mm": "0.501"})
    file(ready, "K2", "2031-01-10", {"0.5 mm": "0.530"}, minutes=3)
    page = papers.papers_sheet(ready, given.when(), "F-0001")
    row = dict(zip((c.key for c in page.columns), page.rows[0], strict=True))
    assert (row["earlier_value"], row["later_value"], row["e_n"], row["limit"]) == ("0.501", "0.530", "2.05", "1")
    assert dict(page.scope)["later certificate"] == "K2 of 2031-01-10; laboratory of K2; replica"
    [listed] = cast(Any, REPORTS["findings"][1](ready, given.when()).extra["papers"])
    assert (listed["finding"], listed["earlier"]["number"], listed["rows"][0]["outcome"]) == (
        "F-0001",
        "K1",
        "disagree",
    )
    record = REPORTS["item"][1](ready, given.when(), asset_no="B-1")
    assert ("|E_n| of notch 0.5 mm, depth", "disagree") in {(r[1], r[-1]) for r in record.rows}
    written = export_register(ready, given.when())["findings.csv"]
    assert b"K2,K1" in written
