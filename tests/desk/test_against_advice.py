"""Against advice: who may let a kit go, for which reasons and for which never, and on which papers it stands after."""

import pytest

from refstd.base.errors import NotAllowed, Refusal
from refstd.base.reason import Reason, Weight
from refstd.desk import certificates, checks, custody, equipment, findings, lost
from refstd.desk.against import Decided, against_advice
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.homes import auditor_home
from refstd.desk.store import Lab, When
from refstd.exchange.export import export_register
from refstd.register.integrity import verify_lab
from refstd.reports import check_sheet, custody_sheet, item_sheet, job_sheet, kit_sheet
from refstd.rules.against import OVERRIDABLE, may_be_overridden
from tests import thin_thread as given
from tests.given import KEEPER

KIT = ["B-1", "P-1", "I-1"]
WHY = "part is read beside B-1"
LENA = Decided("LENA", WHY)


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """Job J-2 is on titanium, for which the aluminium kit is rejected; J-1 suits it."""
    given.whole(lab)
    given.job(lab, "J-2", material="TI")
    return lab


def taken(
    lab: Lab, by: str = "TESS", decided: Decided | None = LENA, minutes: float = 1, items: list[str] = KIT
) -> None:
    custody.check_out(lab, "J-2", items, against=decided, by=by, now=given.at(minutes))


def test_a_refusal_that_can_be_set_aside_says_who_may(ready: Lab) -> None:
    with pytest.raises(Refusal, match="B-1 is aluminium alloy, the part is titanium alloy") as refused:
        taken(ready, decided=None)
    assert "responsible level 3" in refused.value.remedy


def test_it_goes_out_with_name_authority_and_reason(ready: Lab) -> None:
    taken(ready)
    [a] = against_advice(ready, given.when())
    assert (a.items, a.decided_by, a.authority, a.taken_by, a.why) == (
        tuple(KIT), "LENA", "responsible level 3", "TESS", WHY,
    )  # fmt: skip
    assert any("B-1 is aluminium alloy" in line for line in a.advised)


@pytest.mark.parametrize(
    ("by", "decided", "error", "says"),
    [
        ("TESS", Decided("TOM", WHY), NotAllowed, "TOM .* may not override advice"),
        ("TESS", Decided("KEEPER", WHY), NotAllowed, "may not override advice"),
        ("LENA", LENA, NotAllowed, "rests on LENA's own work"),
        ("TESS", Decided("LENA", " "), Refusal, "needs a reason"),
        ("AUDE", LENA, NotAllowed, "AUDE .* may not check out"),
    ],
)
def test_nobody_else_decides_and_never_for_themselves(
    ready: Lab, by: str, decided: Decided, error: type[Exception], says: str
) -> None:
    with pytest.raises(error, match=says):
        taken(ready, by, decided)
    assert custody.out_now(ready, given.when()) == ()


def overdue(lab: Lab) -> When:
    given.certified(lab, "P-1", "2030-01-10")
    return given.when(5)


def put(state: str) -> object:
    return lambda lab: equipment.set_state(lab, "P-1", state, "x", by=KEEPER, now=given.at(1))


def gone(lab: Lab) -> None:
    lost.report_lost(lab, draft(lost.LossDraft, {"asset_no": "P-1", "last_seen": "x"}, "x"), by="TESS", now=given.at(1))


def held(lab: Lab) -> None:
    findings.open_finding(lab, draft(findings.FindingDraft, {"cause": "damage", "says": "x", "item": "P-1"}, "x"), by="TOM", now=given.at(1))  # fmt: skip


def failed(lab: Lab) -> None:
    paper = {"asset_no": "P-1", "activity": "inspection", "number": "R-1", "laboratory": "x", "performed_on": "2031-03-14", "result": "not sound"}  # fmt: skip
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, paper, "x"), by=KEEPER, now=given.at(1))


def out(lab: Lab) -> None:
    custody.check_out(lab, "J-1", ["P-1"], by="TOM", now=given.at(1))


NEVER = {
    "overdue": overdue, "quarantined": put("quarantined"), "in repair": put("in repair"), "stored": put("stored"),
    "calibrate before use": put("calibrate before use"), "awaiting receipt": put("awaiting receipt"), "lost": gone, "held": held,
    "failed": failed, "out": out,
}  # fmt: skip


@pytest.mark.parametrize("what", NEVER)
def test_what_nobody_may_take(ready: Lab, what: str) -> None:
    """Planted bug it caught: 'state' among the reasons that may be set aside; a quarantined probe went out."""
    NEVER[what](ready)  # type: ignore[operator]
    with pytest.raises(Refusal):
        taken(ready, minutes=6)
    assert "P-1" not in [o.asset_no for o in custody.out_now(ready, given.when()) if o.loan.job == "J-2"]
    assert against_advice(ready, given.when()) == ()


@pytest.mark.parametrize(
    "rule", ["state", "due", "finding", "setup hold", "evidence", "unproved", "custody", "connectors", "certified"]
)
def test_how_an_item_stands_is_never_set_aside(rule: str) -> None:
    assert not may_be_overridden(Reason(rule, "x", weight=Weight.STOPS))
    assert rule not in OVERRIDABLE


def test_ferromagnetic_and_non_magnetic_never_match_whoever_decides(ready: Lab) -> None:
    given.job(ready, "J-3", material="CS")
    with pytest.raises(Refusal, match="nobody may take this kit"):
        custody.check_out(ready, "J-3", KIT, against=LENA, by="TESS", now=given.at(1))


def test_a_kit_that_nothing_stands_against_is_not_taken_against_advice(ready: Lab) -> None:
    with pytest.raises(Refusal, match="nothing stands against this kit"):
        custody.check_out(ready, "J-1", ["P-1"], against=LENA, by="TESS", now=given.at(1))


def test_a_check_is_made_with_it_and_says_so(ready: Lab) -> None:
    with pytest.raises(Refusal):
        given.check(ready, "start", minutes=2, job="J-2")
    taken(ready, minutes=3)
    verdict = given.check(ready, "start", minutes=5, job="J-2")
    assert verdict.outcome == "acceptable"
    words = " ".join(v for _, v in check_sheet(ready, given.when(), verdict.number).scope)
    assert f"taken against advice for job J-2: decided by LENA (responsible level 3), {WHY}" in words


def test_who_decided_makes_no_check_with_it(ready: Lab) -> None:
    """Planted bug it caught: the one who makes the check not asked for; LENA let herself off."""
    taken(ready)
    custody.hand_over(ready, KIT, "LENA", by="TESS", now=given.at(2))
    with pytest.raises(Refusal, match="B-1 is aluminium alloy"):
        given.check(ready, "start", minutes=5, job="J-2", by="LENA")
    assert checks.check_sheet(ready, "S-0001", "start", given.when(5), job="J-2", by="LENA").stops
    assert not checks.check_sheet(ready, "S-0001", "start", given.when(5), job="J-2", by="TESS").stops


def test_what_comes_up_later_still_stops(ready: Lab) -> None:
    taken(ready)
    equipment.set_state(ready, "P-1", "quarantined", "tip chipped", by=KEEPER, now=given.at(4))
    with pytest.raises(Refusal, match="P-1 is quarantined"):
        given.check(ready, "start", minutes=5, job="J-2")


def test_it_stands_on_each_paper_and_in_the_auditors_number(ready: Lab) -> None:
    taken(ready)
    when, says = given.when(), f"decided by LENA (responsible level 3), {WHY}"
    for sheet in (
        kit_sheet(ready, when, ["J-2"]), job_sheet(ready, when, "J-2"), item_sheet(ready, when, "B-1"), custody_sheet(ready, when, ["B-1"]),
    ):  # fmt: skip
        assert says in " ".join([*(w for row in sheet.rows for w in row), *(v for _, v in sheet.scope)]), sheet.title
    assert kit_sheet(ready, when, ["J-2"]).extra["fits"]
    assert len(auditor_home(ready, when).overridden) == 1
    assert WHY in export_register(ready, when)["against_advice.csv"].decode()
    assert verify_lab(ready, deep=True).whole
