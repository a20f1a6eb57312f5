"""A field block compared with its primary: what is kept together, what is filed, what is held, what is refused."""

from datetime import date
from decimal import Decimal

import pytest

from refstd.base.errors import BadInput, NotAllowed, Refusal
from refstd.desk import certificates, comparison_record, comparisons, equipment, findings, schedules
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.history import item_record
from refstd.desk.log import log_entries
from refstd.desk.serviceability import status
from refstd.desk.store import Lab, When, verify
from tests import thin_thread as given
from tests.given import KEEPER, NOON

FIELDS = {
    "primary": "B-1", "secondary": "B-2", "instrument": "I-1", "probe": "P-1", "frequency_khz": "200", "unit": "% FSH",
    "noise": "0.5", "band_db": "1.0", "band_source": "written practice 6.1",
}  # fmt: skip


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A certified primary, a field block that owes a comparison every three months, an instrument, a probe."""
    given.people_and_material(lab)
    given.block(lab, "B-1", grade="primary")
    given.block(lab, "B-2")
    given.probe(lab)
    given.instrument(lab, display_order="unknown")
    for number in ("B-1", "I-1"):
        given.certified(lab, number)
    owes = {"asset_no": "B-2", "activity": "comparison", "every_months": "3", "source": "written practice 6.1"}
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, owes, "B-2"), by=KEEPER, now=NOON)
    return lab


def scans(scale: float = 1.0, turns: str = "ABA", **half: tuple[str, str]) -> list[comparisons.ScanDraft]:
    """Return scans of the three notches in turn, those of the secondary scaled; `B` replaces the 0.5 mm notch's own."""
    found = []
    for notch, (h, v) in given.HEIGHTS.items():
        for turn in turns:
            factor = scale if turn == "B" else 1.0
            values = (f"{float(h) * factor:.1f}", f"{float(v) * factor:.1f}")
            if notch == "0.5 mm":
                values = half.get(turn, values)
            fields = {"block": turn, "notch": notch, "horizontal": values[0], "vertical": values[1]}
            found.append(draft(comparisons.ScanDraft, fields, notch))
    return found


def fields(**values: str) -> comparisons.ComparisonDraft:
    return draft(comparisons.ComparisonDraft, FIELDS | given.SETTINGS | values, "comparison")


def compared(
    lab: Lab, taken: list[comparisons.ScanDraft], minutes: float = 10, by: str = "TESS", supersedes: str = "", why: str = "", **values: str
) -> comparison_record.ComparisonShown:  # fmt: skip
    number = comparisons.compare_blocks(
        lab, fields(**values), taken, supersedes=supersedes, why=why, by=by, now=given.at(minutes)
    )
    return comparison_record.comparison(lab, number, given.when())


def verdict(lab: Lab, asset_no: str = "B-2") -> str:
    return status(lab, [asset_no], given.when())[0].verdict.headline()


def test_a_block_that_agrees_is_in_use_again_until_its_next_date(ready: Lab) -> None:
    """Planted bug it caught: the day of the entry was filed, not that of the scans."""
    assert "comparison of B-2 was never done" in verdict(ready)
    shown = compared(ready, scans(1.02), happened_at="2031-03-13T23:10")
    assert (shown.number, shown.outcome, shown.finding) == ("CB-0001", "agrees", "")
    assert [n.notch for n in shown.notches] == ["1.5 mm", "1.0 mm", "0.5 mm"]
    assert [float(n.ratio_db or 0) for n in shown.notches] == pytest.approx([0.172] * 3, abs=0.02)  # 20·log10(1.02)
    assert shown.next_due == date(2031, 6, 13)
    assert "next comparison due 2031-06-13" in shown.next_in_words()
    assert verdict(ready) == "serviceable"
    record = item_record(ready, "B-2", given.when())
    [paper] = record.certificates
    assert (paper.activity, paper.number, paper.result, paper.performed_on) == (
        "comparison",
        "CB-0001",
        "sound",
        "2031-03-13",
    )
    assert "primary block B-1, certificate K-B-1 of 2031-01-10" in paper.traceability
    assert paper.laboratory == "Surface inspection lab"
    for asset_no in ("B-1", "B-2"):
        events = item_record(ready, asset_no, given.when()).events
        assert [e.says for e in events if e.kind == "comparison"] == [
            "comparison CB-0001 of B-2 with its primary B-1: agrees"
        ]
    assert verify(ready.path, deep=True).whole


def test_everything_of_a_comparison_is_one_act(ready: Lab) -> None:
    before = log_entries(ready, given.when(), count=1)[0].sequence
    compared(ready, scans(0.8))
    entry = log_entries(ready, given.when(), count=1)[0]
    assert entry.sequence == before + 1
    assert dict(entry.tables) == {
        "block_comparison": 1, "comparison_reading": 9, "comparison_result": 3, "certificate": 1, "finding": 1, "finding_hold": 1
    }  # fmt: skip


def test_a_block_that_does_not_agree_is_held_until_the_finding_is_released(ready: Lab) -> None:
    """Planted bug it caught: the finding held the primary."""
    shown = compared(ready, scans(B=("-10.0", "34.0")))
    assert (shown.outcome, shown.finding) == ("does not agree", "F-0001")
    assert "do not use" in verdict(ready)
    assert verdict(ready, "B-1") == "serviceable"
    [found] = findings.findings(ready, given.when())
    assert (found.cause, found.items) == ("does not agree with its primary", ("B-2",))
    assert "notch 0.5 mm" in found.says
    assert "limit ±1.0 dB (written practice 6.1)" in found.says
    assert "1.5 mm" not in found.says
    assert shown.next_due is None
    again = compared(ready, scans(), minutes=30)
    assert again.outcome == "agrees"
    assert "F-0001" in str(status(ready, ["B-2"], given.when())[0].verdict.reasons)
    findings.act_on(ready, "F-0001", "release", "face cleaned, compared anew", by="LENA", now=given.at(40))
    assert verdict(ready) == "serviceable"


def test_what_is_not_conclusive_is_kept_and_counts_as_none(ready: Lab) -> None:
    shown = compared(ready, scans(B=("-0.1", "2.0")), noise="1.0")
    assert (shown.outcome, shown.certificate, shown.finding) == ("not conclusive", "", "")
    assert "counts as no comparison" in shown.headline()


def test_the_scans_are_kept_in_their_order_with_their_rounds(ready: Lab) -> None:
    shown = compared(ready, scans(turns="ABABA"))
    half = [(s.side, s.round) for s in shown.scans if s.notch == "0.5 mm"]
    assert half == [("primary", 1), ("secondary", 1), ("primary", 2), ("secondary", 2), ("primary", 3)]
    assert [s.notch for s in shown.scans][:6] == ["1.5 mm"] * 5 + ["1.0 mm"]
    assert next(s for s in shown.scans if s.notch == "0.5 mm").vertical == Decimal("40.0")


def test_the_next_date_is_shown_with_the_comparison_that_it_counts_from_alone(ready: Lab) -> None:
    """Planted bug it caught: an old comparison showed its successor's next date as its own."""
    compared(ready, scans(), happened_at="2031-02-01T10:00")
    assert compared(ready, scans(), minutes=20, happened_at="2031-03-10T10:00").next_due == date(2031, 6, 10)
    first = comparison_record.comparison(ready, "CB-0001", given.when())
    assert first.next_due is None
    assert first.next_in_words() == "it gives no next date: certificate CB-0002 counts"
    then = comparison_record.comparison(ready, "CB-0001", When(given.at(600), as_at=given.at(15)))
    assert then.next_in_words() == "next comparison due 2031-05-01"


def test_a_correction_takes_the_place_of_its_evidence_and_keeps_the_first_record(ready: Lab) -> None:
    """Planted bug it caught: the corrected comparison's evidence stayed in force beside the new one."""
    compared(ready, scans())
    wrong = compared(ready, scans(B=("-12.0", "54.0")), minutes=20, supersedes="CB-0001", why="34 read for 54")
    assert (wrong.number, wrong.outcome, wrong.corrects) == ("CB-0002", "does not agree", "CB-0001")
    first = comparison_record.comparison(ready, "CB-0001", given.when())
    assert (first.outcome, first.corrected_by) == ("agrees", "CB-0002")
    assert "corrected by CB-0002" in first.headline()
    papers = {c.number: c.in_force for c in item_record(ready, "B-2", given.when()).certificates}
    assert papers == {"CB-0001": False, "CB-0002": True}
    assert comparison_record.comparison(ready, "CB-0001", When(given.at(600), as_at=given.at(15))).corrected_by == ""
    void = compared(ready, scans(B=("-0.1", "2.0")), minutes=30, supersedes="CB-0002", why="noise rose", noise="1.0")
    assert void.outcome == "not conclusive"
    assert not any(c.in_force for c in item_record(ready, "B-2", given.when()).certificates)
    for number, why, wrong_words in (
        ("CB-0001", "again", "corrected already by CB-0002"),
        ("CB-0003", " ", "needs a reason"),
    ):
        with pytest.raises(Refusal, match=wrong_words):
            compared(ready, scans(), minutes=40, supersedes=number, why=why)
    assert verify(ready.path, deep=True).whole


def test_a_primary_or_a_system_that_may_not_be_used_itself_compares_nothing(ready: Lab) -> None:
    """Planted bug it caught: only the primary was asked, and a quarantined probe compared blocks."""
    given.block(ready, "B-3", grade="primary")
    with pytest.raises(Refusal, match="no evidence on record that B-3 is fit"):
        compared(ready, scans(), primary="B-3")
    equipment.set_state(ready, "P-1", "quarantined", "tip chipped", by="TESS", now=given.at(1))
    with pytest.raises(Refusal, match="P-1 is quarantined"):
        compared(ready, scans())
    assert comparison_record.comparisons(ready, given.when()) == ()


def test_scans_entered_late_are_judged_with_the_kit_as_it_stood_when_they_were_made(ready: Lab) -> None:
    """Planted bug it caught: kit judged as of today, so that a calibration made after the scans stood for them."""
    earlier = {"asset_no": "B-1", "number": "K-0", "laboratory": "a laboratory", "performed_on": "2029-02-10"}
    certificates.file_certificate(
        ready, draft(certificates.CertificateDraft, earlier, "K-0"), (), by=KEEPER, now=given.at(1)
    )
    system = earlier | {"asset_no": "I-1", "number": "K-I", "performed_on": "2030-01-20"}
    certificates.file_certificate(
        ready, draft(certificates.CertificateDraft, system, "K-I"), (), by=KEEPER, now=given.at(1)
    )
    with pytest.raises(Refusal, match="B-1 is overdue since 2030-02-10"):  # calibrated again in January 2031 only
        compared(ready, scans(), happened_at="2030-08-01T10:00")
    equipment.set_state(ready, "P-1", "quarantined", "tip chipped", by="TESS", now=given.at(5))
    shown = compared(ready, scans(), happened_at="2030-02-03T10:00")  # the probe was in use then
    assert (shown.outcome, shown.next_due) == ("agrees", date(2030, 5, 3))
    [paper] = item_record(ready, "B-2", given.when()).certificates
    assert "certificate K-0 of 2029-02-10" in paper.traceability
    with pytest.raises(Refusal, match="scans lie in the future"):
        compared(ready, scans(), happened_at="2031-03-15T10:00")


def test_a_primary_that_is_kept_for_comparisons_only_may_be_compared_with(ready: Lab) -> None:
    """Planted bug it caught: 'reference only' stopped the use that it is for."""
    equipment.set_state(ready, "B-1", "reference only", "primary: for comparisons only", by=KEEPER, now=given.at(1))
    assert compared(ready, scans()).outcome == "agrees"


def test_a_struck_notch_of_the_primary_compares_nothing(ready: Lab) -> None:
    paper = {
        "asset_no": "B-1",
        "number": "K-9",
        "laboratory": "a laboratory",
        "performed_on": "2031-03-01",
        "decision_rule": "simple",
    }
    value = {"notch": "0.5 mm", "value": "0.60", "expanded_uncertainty": "0.01", "coverage_factor": "2"}
    value |= {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7"}
    certificates.file_certificate(
        ready, draft(certificates.CertificateDraft, paper, "K-9"), [draft(certificates.ValueDraft, value, "value")], by=KEEPER, now=given.at(1)
    )  # fmt: skip
    with pytest.raises(Refusal, match=r"the primary is limited: notch 0.5 mm is struck out"):
        compared(ready, scans())


@pytest.mark.parametrize(
    ("values", "taken", "wrong"),
    [
        ({"primary": "B-2", "secondary": "B-1"}, scans(), "B-2 is a secondary block, not a primary one"),
        ({}, scans()[:-1], "notch 0.5 mm: was read A-B"),
        ({}, scans()[:6], "notch 0.5 mm: was not read"),
        (
            {"band_deg": "5", "measure": "vertical peak to peak"},
            scans(),
            "band_deg: is given, and vertical peak to peak has no phase",
        ),
    ],
)
def test_bad_input_is_refused_whole(
    ready: Lab, values: dict[str, str], taken: list[comparisons.ScanDraft], wrong: str
) -> None:
    with pytest.raises(BadInput, match=wrong):
        comparisons.compare_blocks(ready, fields(**values), taken, by="TESS", now=given.at(10))
    assert comparison_record.comparisons(ready, given.when()) == ()


def test_every_problem_is_listed(ready: Lab) -> None:
    stranger = draft(comparisons.ScanDraft, {"block": "B-9", "notch": "0.5 mm", "vertical": "1"}, "scan")
    with pytest.raises(BadInput, match="'B-9' is neither of the two blocks"):
        compared(ready, [*scans(), stranger])
    with pytest.raises(Refusal, match="not compared with itself"):
        compared(ready, scans(), secondary="B-1")


def test_the_auditor_compares_nothing(ready: Lab) -> None:
    with pytest.raises(NotAllowed, match="may not compare blocks"):
        compared(ready, scans(), by="AUDE")


def test_the_sheet_offers_the_primaries_and_begins_from_what_was_used_last(ready: Lab) -> None:
    given.block(ready, "B-3", grade="primary", material="TI")
    sheet = comparison_record.comparison_sheet(ready, "B-2", given.when())
    assert [(p.asset_no, bool(p.why_not)) for p in sheet.primaries] == [("B-1", False), ("B-3", True)]
    assert "titanium" in sheet.primaries[1].why_not
    assert sheet.begin_from == {}
    assert [label for label, _ in sheet.notches] == ["1.5 mm", "1.0 mm", "0.5 mm"]
    compared(ready, scans(), note="first", noise="0.5")
    begun = comparison_record.comparison_sheet(ready, "B-2", given.when()).begin_from
    assert begun["band_source"] == "written practice 6.1"
    assert (begun["rotation_deg"], begun["vertical_gain_db"], begun["probe"]) == ("30", "50", "P-1")
    assert not begun.keys() & {"note", "noise", "happened_at"}
    with pytest.raises(Refusal, match="B-1 is a primary block"):
        comparison_record.comparison_sheet(ready, "B-1", given.when())
