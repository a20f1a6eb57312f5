"""The self-test: its figures are the published ones, it sees a computation that went wrong, and it needs no store."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from refstd.cli import run_command
from refstd.eddy import penetration
from refstd.printing import render
from refstd.reports import published as shipped
from refstd.reports.selftest import selftest_sheet
from tests.published import (
    calendar_arithmetic,
    coil_over_half_space,
    display_transforms,
    e_handbook,
    gum,
    iacs,
    ilac_g8,
    iso_13528,
    iso_14253_1,
    jcgm_106,
    recalibration,
    run_rules,
    standard_depth,
)

NOW = datetime(2026, 3, 9, 9, 0, tzinfo=UTC)


def printed(part: str) -> list[str]:
    return [v.printed for v in shipped.CHECK_VALUES if v.subject == part]


def test_everything_agrees_on_this_machine() -> None:
    sheet = selftest_sheet(NOW)
    assert [row for row in sheet.rows if row[6] != "yes"] == []
    assert sheet.extra == {"agrees": True, "failing": 0}
    assert len(sheet.rows) == len(shipped.CHECK_VALUES) > 40


@pytest.mark.parametrize(
    ("part", "values"),
    [
        ("conductivity", [iacs.DEFINITION[1], iacs.ET_TABLES[9][1]]),
        ("signals", [-6, 3, display_transforms.UNDONE[4][9], display_transforms.UNDONE[5][9]]),
        ("coil", [coil_over_half_space.COIL_1_ELEMENTS_H, coil_over_half_space.ON_PLATE[4]]),
        ("uncertainty", [gum.H3_INTERCEPT, gum.H3_U_INTERCEPT, gum.H3_SLOPE, gum.G41_DOF, gum.G2[10][2], gum.G2[4][4]]),
        ("agreement", [iso_13528.E_N_FIRST_4[0], iso_13528.TRIANGLE[1][4]]),
        ("intervals", [recalibration.SHARES[0][3], recalibration.EXAMPLES[1][3]]),
    ],
)
def test_the_figures_that_travel_are_those_of_the_published_data(part: str, values: list[float]) -> None:
    assert [float(p) for p in printed(part)] == values


def test_so_are_depths_conformity_charts_and_dates() -> None:
    depth = [float(p) for p in printed("depth of penetration")]
    skin = standard_depth.SKIN_MM[0][3][standard_depth.SKIN_HZ.index(60)]
    derived = standard_depth.DERIVED[0][3]
    share = standard_depth.DENSITY[1][1]
    assert depth == [standard_depth.STAINLESS_300_SERIES[2], skin, derived, share, standard_depth.LAG_PER_DEPTH_DEG]
    conformity = printed("conformity")
    assert [float(p) for p in conformity[:3]] == [row[4] for row in jcgm_106.PROBABILITIES]
    assert conformity[3:5] == [outcome for _, outcome in ilac_g8.NON_BINARY[:2]]
    assert conformity[5:] == ["pass" if dict(iso_14253_1.EDITION_2017)[9.917] else "?", "fail"]
    drift = printed("drift")
    flow = [e_handbook.FLOW_CENTRE, e_handbook.FLOW_LOWER, e_handbook.FLOW_UPPER]
    settled = [e_handbook.EWMA[-1], e_handbook.EWMA_UPPER, e_handbook.CUSUM_FIRST_SIGNAL]
    assert [float(p) for p in drift[:6]] == [*flow, *settled]
    signals = [f"rule {s[0]} at point {s[1]}" if s else "no signal" for s in (run_rules.CASES[i][1] for i in (1, 4, 6))]
    assert drift[6:] == signals
    told = {(a, n): result for a, n, result in calendar_arithmetic.DOCUMENTED}
    asked = [("2003-01-31", 1), ("2000-02-29", 12), ("2003-01-31", 2)]
    assert printed("due dates") == [told[pair] for pair in asked]


def test_a_computation_that_went_wrong_is_named_and_the_command_answers_no(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Planted bug: depth of penetration 2 % too large."""
    right = penetration.standard_depth_mm
    monkeypatch.setattr(penetration, "standard_depth_mm", lambda *a, **k: 1.02 * right(*a, **k))
    assert run_command(["selftest", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    wrong = [row["asked"] for row in told["rows"] if row["agrees"] == "NO"]
    assert wrong == ["1.4 MS/m at 100 kHz", "copper, 0.017 µΩ m, at 60 Hz", "19.1 MS/m at 100 kHz"]
    assert "3 OF" in told["scope"]["result"]


def test_a_computation_that_fails_is_a_row_and_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> float:
        raise ArithmeticError("no such figure")

    monkeypatch.setattr(penetration, "phase_lag_deg", broken)
    sheet = selftest_sheet(NOW)
    failed = [row for row in sheet.rows if row[6] == "NO"]
    assert [row[3] for row in failed] == ["failed: ArithmeticError: no such figure"]
    assert len(sheet.rows) == len(shipped.CHECK_VALUES)


def test_it_is_written_as_a_sheet_to_sign_and_reads_no_store(tmp_path: Path) -> None:
    target = tmp_path / "selftest.pdf"
    assert run_command(["selftest", "--db", str(tmp_path / "missing.refstd"), "-o", str(target)]) == 0
    assert target.read_bytes().startswith(b"%PDF")
    text = render(selftest_sheet(NOW), "txt").decode()
    assert "signature" in text
    assert "ISO/IEC 17025:2017, 7.11.2" in text
    assert all(v.source and v.known for v in shipped.CHECK_VALUES)
