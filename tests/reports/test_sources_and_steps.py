"""Invariant 6: every limit shown has a source; every reason that stops or leaves open has a record and a next step."""

import json
import shutil
import tempfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from refstd.desk.serviceability import CAUTION
from refstd.desk.store import Lab, open_store
from refstd.printing import render
from refstd.printing.sheet import Sheet
from refstd.reports import LISTS, REPORTS, register_sheet, status_sheet
from refstd.rules.readings import JobQuestion, Limit
from refstd.rules.response import judge_response
from tests.reports import small_lab, test_one_verdict
from tests.reports.test_one_verdict import FATES, ITEMS, equipped
from tests.rules.occasions import FULL, PROCEDURE, RS, SR, readings, target

__all__ = ["equipped"]  # the fixture

ASKED: dict[str, list[dict[str, object]]] = {
    "item": [{"asset_no": n} for n in ("A-1", "B-1", "B-2", "B-3", "I-1", "I-2", "P-1", "P-3")],
    "job": [{"job": "J-3"}],
    "traceability": [{"job": n} for n in ("J-1", "J-2", "J-3")],
    "kit": [{"about": ("J-1", "B-1", "P-1", "I-1")}],
    "lookback": [{"about": ("B-1", "2020-01-01")}, {"about": ("J-3",)}],
    "match": [{"job": n} for n in ("J-1", "J-2", "J-3")],
    "status": [{"asset_nos": ["B-1", "B-2", "P-1", "P-3", "I-2"], "procedure": "PR-1"}],
    "check": [{"number": f"C-{n:04}"} for n in (1, 5, 15, 16, 17)],
}
SHEETS = [(name, argument) for name in REPORTS | LISTS for argument in ASKED.get(name, [{}])]


def reasons(member: object) -> Iterator[dict[str, str]]:
    """Yield every reason inside a sheet's JSON."""
    if isinstance(member, dict):
        if {"says", "figure", "limit", "source", "record", "cure", "weight"} <= member.keys():
            yield {name: str(value or "") for name, value in member.items()}
        for value in member.values():
            yield from reasons(value)
    elif isinstance(member, list):
        for value in member:
            yield from reasons(value)


def hold(sheet: Sheet) -> int:
    """See that a sheet keeps the invariant, and return how many limits it showed."""
    printed: dict[str, Any] = json.loads(render(sheet, "json"))
    assert CAUTION in printed["notes"]
    shown = 0
    for reason in reasons(printed):
        shown += bool(reason["limit"])
        assert not reason["limit"] or reason["source"], reason
        if reason["weight"] in ("stops", "undecided", "limits"):
            assert reason["record"], reason
            assert reason["cure"], reason
    for row in printed["rows"]:
        if row.get("limits"):  # the item's record
            assert row["source"], row
            shown += 1
        if row.get("every"):  # the due list
            assert row["source"], row
            shown += 1
        if row.get("upper_db"):  # the drift report names its method and source in the notes
            assert any("NIST/SEMATECH e-Handbook 6.3.2.2" in note for note in printed["notes"])
            shown += 1
        if row.get("states") in ("limit", "target", "frequency", "check every", "baseline", "conductivity"):
            assert row["paragraph"], row
            shown += 1
    return shown


@pytest.mark.parametrize(("name", "argument"), SHEETS, ids=lambda x: str(x))
def test_every_report_shows_no_limit_without_a_source_and_no_stop_without_a_step(
    small: Lab, name: str, argument: dict[str, object]
) -> None:
    """Planted: the source struck from an overdue duty's reason; register, status, item and match failed."""
    hold((REPORTS | LISTS)[name][1](small, small_lab.ASKED, **argument))


def test_the_reports_do_show_limits(small: Lab) -> None:
    """Or the test above would look at nothing."""
    shown = sum(hold((REPORTS | LISTS)[name][1](small, small_lab.ASKED, **argument)) for name, argument in SHEETS)
    assert shown > 100


@given(fates=st.fixed_dictionaries(dict.fromkeys(ITEMS, FATES)), setup_held=st.booleans())
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_random_labs_verdicts_keep_it_too(
    equipped: Path, fates: dict[str, test_one_verdict.Fate], setup_held: bool
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lab.refstd"
        shutil.copyfile(equipped, path)
        lab = open_store(path)
        try:
            test_one_verdict.befall(lab, fates, setup_held, ())
            for sheet in (
                register_sheet(lab, test_one_verdict.NOW),
                status_sheet(lab, test_one_verdict.NOW, ITEMS, "PR-1"),
                REPORTS["match"][1](lab, test_one_verdict.NOW, job="J-1"),
            ):
                hold(sheet)
        finally:
            lab.close()


SEEN = st.sampled_from(["0", "80", "80.4", "12", FULL]) | st.tuples(
    st.sampled_from(["-20", "0"]), st.sampled_from(["0", "80"])
)
BAND = st.builds(
    Limit,
    st.sampled_from(["amplitude", "phase", "signal to noise"]),
    st.sampled_from(["none", "target", "start check", "baseline"]),
    st.sampled_from([None, "1.0 mm", "0.5 mm", "9 mm"]),
    st.sampled_from([Decimal("-10"), Decimal("70")]),
    st.sampled_from([None, Decimal("95"), Decimal("300")]),
    st.sampled_from(["%", "% FSH", "div", "dB", "°", "ratio"]),
    st.just("6.3"),
)


def sensible(band: Limit) -> bool:
    """Whether a procedure with this limit can be filed (the desk refuses the others)."""
    if band.quantity == "phase":
        return band.unit == "°" and band.against in ("start check", "baseline")
    if band.quantity == "signal to noise":
        return band.unit in ("ratio", "dB") and band.against == "none"
    return band.unit in (("% FSH", "div") if band.against == "none" else ("%", "% FSH", "div", "dB"))


def sets(record: str) -> st.SearchStrategy[Any]:
    return st.builds(
        lambda n1, n05, rotation, gains, order, noise: readings(
            record, n1=n1, n05=n05, rotation=rotation, gains=gains, order=order, noise=noise
        ),
        SEEN, SEEN, st.sampled_from(["0", "30"]), st.sampled_from([("40", "40"), ("40", "46")]), st.sampled_from([RS, SR, None]),
        st.sampled_from([None, "0", "4"]),
    )  # fmt: skip


@given(
    st.sampled_from(["start", "end", "periodic", "interim"]), sets("new"), st.none() | sets("start"), st.lists(sets("set-up"), max_size=2),
    st.lists(BAND.filter(sensible), max_size=3),
)  # fmt: skip
@settings(max_examples=500)
def test_every_reason_of_a_response_check_has_its_record_and_where_it_stops_or_stays_open_a_cure(
    occasion: str, new: Any, start: Any, baseline: list[Any], bands: list[Limit]
) -> None:
    """Planted: the record struck from 'states no limit for this occasion'."""
    question = JobQuestion(occasion, new, start, tuple(baseline), tuple(bands), (target("1.0 mm", "80"),), PROCEDURE)
    outcome, found = judge_response(question)
    assert found
    for reason in found:
        assert reason.record, reason
        assert not reason.limit or reason.source, reason
        if reason.weight in ("stops", "undecided", "limits"):
            assert reason.cure, reason
    weights = {str(r.weight) for r in found}
    assert outcome == (
        "not acceptable" if "stops" in weights else "not conclusive" if "undecided" in weights else "acceptable"
    )
