"""Invariant 4: the same verdict in every report, list and refusal, word for word, for labs drawn at random."""

import json
import shutil
import tempfile
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from refstd.base.errors import Refusal
from refstd.base.reason import Weight
from refstd.desk import certificates, custody, equipment, findings, schedules
from refstd.desk.duties import due_list
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.kits import match, match_these
from refstd.desk.search import find
from refstd.desk.serviceability import kit_status, register_status, status
from refstd.desk.store import Lab, When, open_store
from refstd.printing import render
from refstd.printing.sheet import Sheet
from refstd.reports import (
    custody_sheet,
    due_sheet,
    item_sheet,
    kit_sheet,
    match_sheet,
    recall_sheet,
    register_sheet,
    status_sheet,
)
from tests import given as stores
from tests import thin_thread
from tests.given import KEEPER, NOON

ITEMS = ("B-1", "B-2", "I-1", "I-2", "P-1", "P-2")
NOW = When(NOON + timedelta(hours=8))
STATES = ("in service", "in service", "in service", "quarantined", "stored", "lost", "retired", "reference only")


@dataclass(frozen=True)
class Fate:
    """What befell one item."""

    state: str
    calibrated_days_ago: int | None  # None: a schedule and no paper; 0: no schedule at all
    depth: str  # of the 0.5 mm notch, limits 0.45 to 0.55; '' for none
    rule: str
    held: bool
    not_sound: bool


FATES = st.builds(
    Fate,
    st.sampled_from(STATES),
    st.sampled_from([None, 0, 10, 340, 365, 366, 1000]),
    st.sampled_from(["", "0.500", "0.545", "0.560"]),
    st.sampled_from(["simple", "iso 14253-1", ""]),
    st.sampled_from([False, False, True]),
    st.sampled_from([False, False, False, True]),
)
FINE = Fate("in service", 10, "0.500", "simple", held=False, not_sound=False)
ALL_FINE = dict.fromkeys(ITEMS, FINE)
LABS = st.fixed_dictionaries(dict.fromkeys(ITEMS, FATES))


@pytest.fixture(scope="module")
def equipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A lab with two blocks, probes and instruments, a procedure that needs the 0.5 mm notch, a job and a setup."""
    path = tmp_path_factory.mktemp("equipped") / "lab.refstd"
    lab = stores.new_lab(path)
    thin_thread.people_and_material(lab)
    for n in ("1", "2"):
        thin_thread.block(lab, f"B-{n}")
        thin_thread.probe(lab, f"P-{n}", connector="four-pin" if n == "1" else "eleven-pin")
        thin_thread.instrument(lab, f"I-{n}", connector="four-pin" if n == "1" else "eleven-pin")
    limit = {
        "against": "start check",
        "lower": "-10",
        "upper": "10",
        "unit": "%",
        "paragraph": "6.3",
        "notch": "0.5 mm",
    }
    thin_thread.procedure(lab, limits=(limit,))
    thin_thread.job(lab)
    thin_thread.setup(lab)
    lab.close()
    return path


def befall(lab: Lab, fates: dict[str, Fate], setup_held: bool, lent: tuple[str, ...]) -> None:
    """Let the drawn fates befall the lab, through the desk."""
    for number, fate in fates.items():
        _papers(lab, number, fate)
    if lent:
        with suppress(Refusal):
            custody.check_out(lab, "J-1", list(lent), by="TESS", now=NOON)
    for number, fate in fates.items():
        if fate.held:
            _hold(lab, item=number)
        if fate.state == "in service":
            continue
        with suppress(Refusal):  # what is out with somebody is not put into store
            equipment.set_state(lab, number, fate.state, "drawn", by=KEEPER, now=NOON)
    if setup_held:
        _hold(lab, setup="S-0001")


def _papers(lab: Lab, number: str, fate: Fate) -> None:
    if fate.calibrated_days_ago == 0:
        return
    plan = {"asset_no": number, "activity": "calibration", "every_months": "12", "source": "written practice 4.2"}
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, plan, number), by=KEEPER, now=NOON)
    if fate.calibrated_days_ago is None:
        return
    done = (NOON - timedelta(days=fate.calibrated_days_ago)).date().isoformat()
    paper = {
        "asset_no": number,
        "number": "K",
        "laboratory": "a laboratory",
        "performed_on": done,
        "decision_rule": fate.rule,
    }
    paper["result"] = "not sound" if fate.not_sound else "sound"
    value = {"notch": "0.5 mm", "value": fate.depth, "expanded_uncertainty": "0.010", "coverage_factor": "2"}
    value |= {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7"}
    values = [draft(certificates.ValueDraft, value, "value")] if fate.depth and number.startswith("B") else []
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, paper, number), values, by=KEEPER, now=NOON)


def _hold(lab: Lab, **what: str) -> None:
    fields = {"cause": "other", "says": "drawn"} | what
    findings.open_finding(lab, draft(findings.FindingDraft, fields, "finding"), by="AUDE", now=NOON)


def by_name(sheet: Sheet) -> list[dict[str, Any]]:
    """Return a sheet's rows as JSON has them: what a reader of the printed report gets."""
    rows: list[dict[str, Any]] = json.loads(render(sheet, "json"))["rows"]
    return rows


@given(
    fates=LABS,
    setup_held=st.booleans(),
    lent=st.sampled_from([(), ("P-1",), ("B-1", "P-1", "I-1")]),
)
@example(fates=ALL_FINE, setup_held=False, lent=())
@example(fates=ALL_FINE, setup_held=True, lent=())
@example(fates=ALL_FINE | {"B-1": replace(FINE, depth="0.560")}, setup_held=False, lent=("P-2",))
@example(fates=ALL_FINE | {"I-2": replace(FINE, held=True)}, setup_held=True, lent=())
@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_every_report_list_and_refusal_gives_the_same_verdict_word_for_word(
    equipped: Path, fates: dict[str, Fate], setup_held: bool, lent: tuple[str, ...]
) -> None:
    """Planted: the due list judged its items without their findings; the match asked without the procedure's notches."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lab.refstd"
        shutil.copyfile(equipped, path)
        lab = open_store(path)
        try:
            befall(lab, fates, setup_held, lent)
            _one_item_everywhere(lab)
            _one_kit_everywhere(lab)
        finally:
            lab.close()


def _one_item_everywhere(lab: Lab) -> None:
    told = {s.item.asset_no: s.verdict for s in status(lab, ITEMS, NOW)}
    assert {s.item.asset_no: s.verdict for s in register_status(lab, NOW)} == told
    lines = {number: verdict.headline() for number, verdict in told.items()}
    registered = by_name(register_sheet(lab, NOW))
    assert {r["asset_no"]: r["verdict"] for r in registered} == lines
    assert {r["asset_no"]: r["standing"] for r in registered} == {n: str(v.standing) for n, v in told.items()}
    due = by_name(due_sheet(lab, NOW))
    assert all(r["verdict"] == lines[r["asset_no"]] for r in due)
    assert [(r.asset_no, r.verdict.headline()) for r in due_list(lab, NOW)] == [
        (r["asset_no"], r["verdict"]) for r in due
    ]
    sent = by_name(recall_sheet(lab, NOW, 24))
    assert all(r["verdict"] == lines[r["asset_no"]] for r in sent)
    out = [r for r in by_name(custody_sheet(lab, NOW)) if r["state"] in ("out", "out, late")]
    assert all(r["verdict"] == lines[r["asset_no"]] for r in out)
    for number, verdict in told.items():
        (hit,) = (h for h in find(lab, number, NOW) if (h.kind, h.number) == ("item", number))
        assert hit.says.endswith(f"; {lines[number]}") == (verdict.standing != "serviceable")
    shown = by_name(status_sheet(lab, NOW, ITEMS))
    for number, verdict in told.items():
        rows = [r for r in shown if r["subject"] == number]
        assert {r["verdict"] for r in rows} == {lines[number]}
        assert [r["says"] for r in rows if r["says"]] == [r.says for r in verdict.reasons]
        sheet = item_sheet(lab, NOW, number)
        assert dict(sheet.scope)["verdict"] == lines[number]
        (line,) = (r for r in by_name(sheet) if r["what"] == "verdict")
        assert (line["value"], line["stands"]) == (lines[number], str(verdict.standing))
        kept: Any = sheet.extra["verdict"]
        assert kept["reasons"] == [r.as_dict() for r in verdict.reasons]


def _one_kit_everywhere(lab: Lab) -> None:
    """For the job's procedure: what match says of items and kits is what status says, and check-out refuses exactly that."""
    for_job = {s.item.asset_no: s.verdict for s in status(lab, ITEMS, NOW, "PR-1")}
    kits, rejected = match(lab, "J-1", NOW)
    printed = by_name(match_sheet(lab, NOW, "J-1"))
    for number, verdict in for_job.items():
        sheet = by_name(kit_sheet(lab, NOW, ["J-1", number]))
        (told,) = (r["says"] for r in sheet if r["part"] == "items" and r["about"].endswith(f" {number}"))
        assert verdict.headline() in told
        marked = {r["about"] for r in sheet if r["part"] == "set up" and "STRUCK OUT" in r["says"]}
        assert marked == {s for s in verdict.struck if s.startswith("notch ")} & {"notch 0.5 mm"}
    for found in (*kits, *rejected):
        verdict = for_job[found.subject] if len(found.asset_nos) == 1 else kit_status(lab, found.asset_nos, NOW, "PR-1")
        assert found.verdict == verdict
        assert {r["verdict"] for r in printed if r["subject"] == found.subject} == {verdict.headline()}
    fitting = {m.asset_nos for m in kits}
    for kit in product(("B-1", "B-2"), ("P-1", "P-2"), ("I-1", "I-2")):
        stops = [r for m in match_these(lab, "J-1", kit, NOW) for r in m.reasons if r.weight is Weight.STOPS]
        assert (kit in fitting) is (not stops)
        alone = {r for number in kit for r in for_job[number].reasons if r.weight is Weight.STOPS}
        assert alone <= set(stops)
        if stops:
            with pytest.raises(Refusal) as refused:
                custody.check_out(lab, "J-1", kit, by="TESS", now=NOON)
            if not any(r.rule == "custody" for r in stops):
                assert all(r.in_words() in refused.value.wrong for r in stops)
    for suitable in sorted(fitting)[:1]:
        custody.check_out(lab, "J-1", suitable, by="TESS", now=NOON)
