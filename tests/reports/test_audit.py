"""A job's papers, decisions by authority, equipment by material and form: complete, filtered, as at, and what is missing told."""

import pytest

from refstd.base.errors import NotFound, Refusal
from refstd.desk import custody, findings
from refstd.desk.against import Decided
from refstd.desk.certificates import CertificateDraft, ValueDraft, file_certificate
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When
from refstd.reports import decisions_sheet, equipment_sheet, register_sheet, traceability_sheet
from tests import thin_thread as given
from tests.given import KEEPER


def cells(sheet: object, **where: str) -> list[dict[str, str]]:
    names = [c.key for c in sheet.columns]  # type: ignore[attr-defined]
    rows = [dict(zip(names, row, strict=True)) for row in sheet.rows]  # type: ignore[attr-defined]
    return [r for r in rows if all(r[n] == v for n, v in where.items())]


def filed(lab: Lab, number: str, on: str, minute: int, **more: str) -> None:
    head = {"asset_no": "B-1", "number": number, "laboratory": "Cal lab", "performed_on": on, **more}
    value = {"notch": "1.0 mm", "value": "1.003", "expanded_uncertainty": "0.010", "coverage_factor": "2"}
    file_certificate(
        lab, draft(CertificateDraft, head, "c"), [draft(ValueDraft, value, "v")], by=KEEPER, now=given.at(minute)
    )


def test_a_job_traces_to_the_certificate_of_each_day_with_laboratory_statement_and_u(lab: Lab) -> None:
    """Planted bug that it caught: the newest certificate of all, also one done after the check."""
    given.whole(lab)
    given.check(lab, "start")
    filed(lab, "K-1", "2031-03-01", 60, accreditation="CAL 17", traceability="to the national standard of length")
    filed(lab, "K-2", "2031-02-01", 61)
    day = traceability_sheet(lab, given.when(), "J-1").rows[0][0]
    (row,) = cells(traceability_sheet(lab, given.when(), "J-1"), asset_no="B-1", activity="calibration")
    assert (row["certificate"], row["performed_on"], row["laboratory"]) == ("K-1", "2031-03-01", "Cal lab")
    assert (row["accreditation"], row["traceability"]) == ("CAL 17", "to the national standard of length")
    assert row["values"] == "1.0 mm: 1.003 mm, U 0.010 mm (k = 2)"
    assert row["open"] == "no paper attached"
    assert "start: acceptable" in row["checks"]
    assert row["day"] == day
    (probe,) = cells(traceability_sheet(lab, given.when(), "J-1"), asset_no="P-1")
    assert (probe["through"], probe["open"]) == ("nothing", "no certificate for that day on record")


def test_as_at_before_a_paper_was_filed_the_job_traces_to_nothing(lab: Lab) -> None:
    given.whole(lab)
    given.check(lab, "start")
    filed(lab, "K-1", "2031-03-01", 600)
    before = When(given.at(999), as_at=given.at(599))
    assert "K-1" not in {r["certificate"] for r in cells(traceability_sheet(lab, before, "J-1"))}
    after = When(given.at(999), as_at=given.at(600))
    assert "K-1" in {r["certificate"] for r in cells(traceability_sheet(lab, after, "J-1"))}


def test_decisions_stand_with_authority_and_reason_and_a_note_is_none(small: Lab) -> None:
    from tests.reports.small_lab import ASKED

    every = cells(decisions_sheet(small, ASKED))
    kept = [(f.number, a.says) for f in findings.findings(small, ASKED) for a in f.actions if a.kind != "note"]
    assert sorted(
        (r["record"], r["why"]) for r in every if r["kind"] in ("hold released", "finding decided")
    ) == sorted(kept)
    assert all(r["why"] and r["person"] for r in every)


def test_the_days_of_a_period_both_count(small: Lab) -> None:
    from tests.reports.small_lab import ASKED

    every = decisions_sheet(small, ASKED).rows
    assert every
    first, last = every[-1][0][:10], every[0][0][:10]
    assert decisions_sheet(small, ASKED, [first, last]).rows == every
    assert decisions_sheet(small, ASKED, ["1999-01-01", "1999-12-31"]).rows == ()
    with pytest.raises(Refusal):
        decisions_sheet(small, ASKED, [last, "1999-01-01"])


def test_equipment_by_material_and_form_is_the_register_in_another_order_and_each_word_narrows_it(small: Lab) -> None:
    from tests.reports.small_lab import ASKED

    whole = equipment_sheet(small, ASKED)
    assert sorted(r[3] for r in whole.rows) == sorted(r[0] for r in register_sheet(small, ASKED).rows)
    assert sum(int(n) for name, n in whole.scope if name != "only") == len(whole.rows)
    blocks = equipment_sheet(small, ASKED, ["block"])
    assert {r[2] for r in blocks.rows} == {"block"}
    material = blocks.rows[0][0]
    assert {r[0] for r in equipment_sheet(small, ASKED, [material, "BLOCK"]).rows} == {material}
    with pytest.raises(NotFound):
        equipment_sheet(small, ASKED, ["unobtainium"])


def test_a_kit_that_went_out_against_advice_stands_among_the_decisions_with_what_was_advised(lab: Lab) -> None:
    given.whole(lab)
    given.job(lab, "J-2", material="TI")
    custody.check_out(lab, "J-2", ["B-1"], against=Decided("LENA", "read beside B-2"), by="TESS", now=given.at(1))
    (row,) = cells(decisions_sheet(lab, given.when()), kind="against advice")
    assert (row["record"], row["person"], row["authority"], row["why"]) == (
        "J-2", "LENA", "responsible level 3", "read beside B-2",
    )  # fmt: skip
    assert "aluminium" in row["says"]
