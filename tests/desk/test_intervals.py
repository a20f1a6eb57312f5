"""Proposed intervals on a real store: what the certificates on record speak for, and a person's answer."""

from datetime import date

import pytest

from refstd.base.errors import BadInput, NotAllowed, NotFound, Refusal
from refstd.desk import certificates, equipment, events, history, reviews
from refstd.desk.duties import due_list
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.intervals import DutyIntervals, ReviewShown, intervals, intervals_within
from refstd.desk.store import Lab, When
from refstd.reports.intervals import intervals_sheet, reviews_sheet
from tests import thin_thread as given
from tests.given import KEEPER, NOON
from tests.reports import small_lab

LIMITS = {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7"}
NOW = When(given.at(600))


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with a block, B-1, that is calibrated every year, first on 10 January 2027."""
    given.people_and_material(lab)
    given.block(lab)
    small_lab.schedule(lab, "B-1", every_months="12")
    calibrated(lab, "2027-01-10", "0.500", "B-1", 0, "no", **LIMITS)
    return lab


def calibrated(
    lab: Lab, day: str, value: str, asset_no: str = "B-1", minutes: float = 0, adjusted: str = "no", **more: str
) -> None:
    """File a certificate with the depth of the 0.5 mm notch, as left unless said otherwise."""
    paper = {
        "asset_no": asset_no,
        "number": f"K-{asset_no}-{day[:4]}",
        "laboratory": "Depth laboratory",
        "performed_on": day,
    }
    paper["adjusted"] = adjusted
    fields = {"notch": "0.5 mm", "value": value, "expanded_uncertainty": "0.004", "coverage_factor": "2"} | more
    values = [draft(certificates.ValueDraft, fields, "value")] if value else []
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, paper, day), values, by=KEEPER, now=given.at(minutes)
    )  # fmt: skip


def yearly(lab: Lab, *values: str, asset_no: str = "B-1") -> None:
    """File a certificate a year from 2028 on."""
    for year, value in enumerate(values, start=2028):
        calibrated(lab, f"{year}-01-10", value, asset_no)


def duty(lab: Lab, when: When = NOW, asset_no: str = "B-1", target: int = 95) -> DutyIntervals:
    (found,) = intervals(lab, when, asset_no, target_percent=target)
    return found


def said(lab: Lab, method: str, when: When = NOW) -> tuple[str, str, date | None]:
    found = duty(lab, when).of(method)
    assert found is not None
    p = found.proposal
    return p.outcome, p.every.in_words() if p.every else p.says, p.due_on


def answer(lab: Lab, by: str = "LENA", at: float = 60, **more: str) -> ReviewShown:
    fields = {"asset_no": "B-1", "method": "staircase", "why": "same laboratory each time"} | more
    return reviews.review_interval(lab, draft(reviews.ReviewDraft, fields, "review"), by=by, now=given.at(at))


def test_three_good_years_make_it_longer_and_taking_it_sets_the_schedule_in_the_same_act(ready: Lab) -> None:
    yearly(ready, "0.501", "0.502", "0.499", "0.501")
    assert said(ready, "staircase") == ("lengthen", "18 months", date(2032, 7, 10))
    assert due_list(ready, NOW)[0].every == "12 months"  # nothing changed by itself
    shown = answer(ready)
    assert shown.in_words() == (
        "B-1: calibration every 18 months instead of 12 months (staircase) taken by LENA: same laboratory each time"
    )
    assert "certificate K-B-1-2031 of 2031-01-10, 365 days after the one before: in tolerance" in shown.rests_on
    (row,) = due_list(ready, NOW)
    assert (row.every, row.due_on) == ("18 months", date(2032, 7, 10))
    assert row.source.startswith(
        "interval review of 2031-03-14 by LENA: staircase, ILAC-G24:2022 / OIML D 10:2022, 6.2"
    )
    told = [e for e in history.item_record(ready, "B-1", NOW).events if e.kind in ("interval", "schedule")]
    assert len({e.entry for e in told[-2:]}) == 1
    assert "12 months to 18 months, taken by LENA" in next(e.says for e in told if e.kind == "interval")
    outcome, says, _ = said(ready, "staircase")
    assert outcome == "keep"
    assert "not each time after 90%" in says


def test_one_out_of_tolerance_halves_it_once(ready: Lab) -> None:
    """Planted: any newer schedule taken for a changed interval; a new laboratory's name hid what was found out."""
    yearly(ready, "0.501", "0.502", "0.561")
    assert said(ready, "staircase")[:2] == ("shorten", "6 months")
    small_lab.schedule(ready, "B-1", given.at(5), every_months="12", done_by="Hill Metrology", why="other laboratory")
    assert said(ready, "staircase")[0] == "shorten"
    answer(ready)
    assert due_list(ready, NOW)[0].done_by == "Hill Metrology"
    outcome, says, _ = said(ready, "staircase")
    assert outcome == "keep"
    assert "the interval was set anew on 2031-03-14 (log entry" in says


def test_what_was_adjusted_speaks_by_its_values_as_found_only(ready: Lab) -> None:
    calibrated(ready, "2028-01-10", "0.500", adjusted="yes")
    outcome, says, _ = said(ready, "staircase")
    assert outcome == "too little"
    assert "it was adjusted, and no value as found has limits" in says
    calibrated(ready, "2029-01-10", "0.440", stage="as found", adjusted="yes")
    assert said(ready, "staircase")[:2] == ("shorten", "6 months")
    calibrated(ready, "2030-01-10", "0.501", adjusted="yes")
    assert "has 1 of 5 values since it was adjusted on 2030-01-10" in said(ready, "control chart")[1]


def test_the_outcome_kept_with_a_value_counts_before_a_simple_comparison(ready: Lab) -> None:
    """Planted: the limits compared simply in spite of the kept outcome; what passed by its rule counted as out."""
    paper = {"asset_no": "B-1", "number": "K-9", "laboratory": "Depth laboratory", "performed_on": "2028-01-10"}
    paper |= {"decision_rule": "guard band", "guard_ratio": "-1"}
    fields = {"notch": "0.5 mm", "value": "0.502", "expanded_uncertainty": "0.004", "coverage_factor": "2"}
    fields |= {"upper_limit": "0.501", "limit_source": "practice 3"}
    certificates.file_certificate(
        ready, draft(certificates.CertificateDraft, paper, "K-9"), [draft(certificates.ValueDraft, fields, "value")],
        by=KEEPER, now=NOON,
    )  # fmt: skip
    found = duty(ready).of("staircase")
    assert found is not None
    assert "limit at most 0.501 mm (practice 3) (pass as judged when filed)" in found.proposal.data[0]


def test_what_is_from_before_a_repair_is_left_out(ready: Lab) -> None:
    yearly(ready, "0.501", "0.502", "0.499")
    event = {"asset_no": "B-1", "event": "repaired", "happened_at": "2030-06-01"}
    events.record_event(ready, draft(events.EventDraft, event, "repair"), by=KEEPER, now=given.at(1))
    assert "no interval has ended yet" in said(ready, "staircase")[1]


def test_drift_of_the_values_brings_the_date_forward_with_slope_limit_and_u(ready: Lab) -> None:
    yearly(ready, "0.511", "0.519", "0.531", "0.540")
    outcome, _, due = said(ready, "control chart")
    assert outcome == "shorten"
    assert due is not None
    assert due < date(2032, 1, 10)
    found = duty(ready).of("control chart")
    assert found is not None
    assert "+0.01 mm a year" in found.proposal.data[0]
    assert "u 0.002 mm, limits 0.45 to 0.55 mm (drawing 7, from certificate K-B-1-2027)" in found.proposal.data[0]
    assert duty(ready).first.proposal.method == "control chart"


def test_items_of_the_same_part_number_count_together(lab: Lab) -> None:
    given.people_and_material(lab)
    for number in ("B-1", "B-2", "B-3"):
        given.block(lab, number, part_no="TB-3 " if number == "B-2" else "tb-3")
        small_lab.schedule(lab, number, every_months="12")
        calibrated(lab, "2027-01-10", "0.500", number, 0, "no", **LIMITS)
        yearly(lab, "0.56", "0.50", "0.56", asset_no=number)
    found = duty(lab).of("reliability")
    assert found is not None
    assert found.proposal.data[0] == "3 of 9 found in tolerance after 366 days or more, with B-2, B-3"
    assert (found.proposal.outcome, duty(lab, target=50).of("reliability") is not None) == ("shorten", True)
    assert len(intervals(lab, NOW)) == 3
    for d in intervals(lab, NOW):
        assert d == duty(lab, asset_no=d.asset_no)  # the same of all items as of one


def test_a_proposal_turned_down_is_told_until_there_is_other_data(ready: Lab) -> None:
    yearly(ready, "0.501", "0.502", "0.499")
    shown = answer(ready, answer="turn down", why="two laboratories")
    assert not shown.taken
    found = duty(ready).of("staircase")
    assert found is not None
    assert found.review == shown
    assert not found.open
    assert due_list(ready, NOW)[0].every == "12 months"
    with pytest.raises(Refusal, match="turned down already"):
        answer(ready, at=70, answer="turn down")
    cells = dict(
        zip(
            [c.key for c in intervals_sheet(ready, NOW, "B-1").columns],
            intervals_sheet(ready, NOW, "B-1").rows[0],
            strict=True,
        )
    )
    assert cells["answer"] == "turned down by LENA: two laboratories"
    (row,) = reviews_sheet(ready, NOW).rows
    assert row[:7] == ("B-1", "calibration", "staircase", "12 months", "18 months", "turned down", "LENA")
    calibrated(ready, "2031-01-10", "0.500", minutes=80)
    found = duty(ready).of("staircase")
    assert found is not None
    assert found.open


@pytest.mark.parametrize(
    ("by", "values", "refused", "says"),
    [
        (
            KEEPER,
            {},
            NotAllowed,
            "someone with the authority 'quality' or someone with the authority 'responsible level 3'",
        ),
        ("TESS", {}, NotAllowed, "may not review an interval"),
        ("LENA", {"method": "control chart"}, Refusal, "'control chart' proposes no other interval"),
        ("LENA", {"method": "in-use time"}, Refusal, "its uses are not counted"),
        ("LENA", {"activity": "verification"}, NotFound, "owes no verification"),
        (
            "LENA",
            {"proposed": "24 months"},
            Refusal,
            "proposes 18 months for the calibration of B-1 by now, not 24 months",
        ),
    ],
)
def test_an_answer_is_refused_without_the_authority_or_to_what_is_not_proposed(
    ready: Lab, by: str, values: dict[str, str], refused: type[Refusal], says: str
) -> None:
    """Planted: the interval that was shown not compared; somebody took 18 months for 12."""
    yearly(ready, "0.501", "0.502", "0.499")
    with pytest.raises(refused, match=says):
        answer(ready, by, 60, **values)
    assert due_list(ready, NOW)[0].every == "12 months"
    assert reviews_sheet(ready, NOW).rows == ()


def test_an_answer_needs_a_reason_and_a_target_that_makes_sense(ready: Lab) -> None:
    for values in ({"why": " "}, {"target_percent": "100"}, {"method": "a feeling"}):
        with pytest.raises(BadInput):
            answer(ready, "LENA", 60, **values)


def test_passing_checks_alone_propose_nothing_and_as_at_shows_what_was_proposed_then(lab: Lab) -> None:
    given.whole(lab)
    given.baseline(lab)
    for n in range(1, 6):
        given.check(lab, "periodic", 1.0, 24 * 60 * n, job="", procedure="PR-1")
    assert {p.proposal.outcome for d in intervals(lab, When(given.at(9000))) for p in d.proposals} == {"too little"}
    with lab.look(When(given.at(9000), as_at=NOON)) as look:
        assert [d.asset_no for d in intervals_within(look)] == ["B-1", "I-1"]
    state = equipment.set_state
    state(lab, "B-1", "retired", "worn", by=KEEPER, now=given.at(8000))
    assert [d.asset_no for d in intervals(lab, When(given.at(9000)))] == ["I-1"]
