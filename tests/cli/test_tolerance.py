"""The lab's own limits by commands: set, listed, seen on the item's record, judged by, ended, exported and read back."""

import csv
import json
from pathlib import Path

from tests.cli.conftest import Run
from tests.given import KEEPER

SET = ("tolerance", "B-1", "--notch", "1.0 mm", "--lower", "0.95", "--upper", "1.05", "--source", "drawing 7, note 3")
PAPER = "asset_no,number,laboratory,performed_on\nB-1,K-2,a laboratory,2031-03-01\n"
VALUES = (
    "asset_no,certificate,notch,value,expanded_uncertainty,coverage_factor\n"
    "B-1,K-2,1.0 mm,1.060,0.010,2\nB-1,K-2,0.5 mm,0.500,0.010,2\n"
)


def test_a_tolerance_is_set_judged_by_seen_and_ended(refstd: Run, tmp_path: Path) -> None:
    assert refstd(*SET, "--as", "TESS").code == 3
    assert refstd(*SET, "--as", KEEPER).code == 0
    said = refstd(*SET, "--rule", "simple", "--as", KEEPER)
    assert (said.code, "Say why it changes" in said.err) == (3, True)
    said = refstd(*SET, "--rule", "simple", "--why", "the level 3 named a rule", "--as", KEEPER)
    assert said.out == (
        "B-1: notch 1.0 mm, depth: 0.95 to 1.05 mm (drawing 7, note 3), the rule 'simple'; for papers filed from now on\n"
    )
    [row] = json.loads(refstd("list", "tolerances", "--json").out)["rows"]
    assert (row["asset_no"], row["notch"], row["decision_rule"], row["source"]) == (
        "B-1",
        "1.0 mm",
        "simple",
        "drawing 7, note 3",
    )

    (tmp_path / "certificates.csv").write_text(PAPER)
    (tmp_path / "values.csv").write_text(VALUES)
    assert (
        refstd("add", "certificates", tmp_path / "certificates.csv", tmp_path / "values.csv", "--as", KEEPER).code == 0
    )
    lines = json.loads(refstd("show", "B-1", "--json").out)["rows"]
    criterion = next(r for r in lines if r["what"] == "acceptance criterion, notch 1.0 mm, depth")
    assert (criterion["clause"], criterion["limits"], criterion["value"]) == (
        "6.4.13 e",
        "0.95 to 1.05 mm",
        "the rule 'simple'",
    )
    [judged] = [r for r in lines if r["clause"] == "7.8.6"]
    assert (judged["what"], judged["stands"], judged["record"]) == (
        "depth of notch 1.0 mm, as left",
        "fail",
        "certificate K-2",
    )
    assert "fail by the rule 'simple' (tolerance of B-1, drawing 7, note 3), limits 0.95 to 1.05 mm" in judged["value"]
    assert "probability of conformity 2.3 %, risk of a false pass at most 50 % at each limit" in judged["value"]
    assert "limited use, without notch 1.0 mm" in refstd("status", "B-1").out

    end = ("tolerance", "B-1", "--notch", "1.0 mm", "--end", "--as", KEEPER)
    assert refstd(*end).code == 3
    assert refstd(*end, "--lower", "1", "--why", "x").code == 2
    assert (
        refstd(*end, "--why", "the drawing is withdrawn").out == "B-1: the tolerance of notch 1.0 mm, depth is ended\n"
    )
    assert json.loads(refstd("list", "tolerances", "--json").out)["rows"] == []
    assert "limited use, without notch 1.0 mm" in refstd("status", "B-1").out, "what was judged stays judged"


def test_an_export_has_the_tolerances_to_read_back_and_the_outcomes_to_read(refstd: Run, tmp_path: Path) -> None:
    refstd(*SET, "--rule", "guard band", "--ratio", "1", "--as", KEEPER)
    (tmp_path / "certificates.csv").write_text(PAPER)
    (tmp_path / "values.csv").write_text(VALUES)
    refstd("add", "certificates", tmp_path / "certificates.csv", tmp_path / "values.csv", "--as", KEEPER)
    assert refstd("export", tmp_path / "out", "--as", KEEPER).code == 0
    [tolerance] = rows_of(tmp_path / "out" / "tolerances.csv")
    assert (tolerance["lower_limit"], tolerance["decision_rule"], tolerance["guard_ratio"]) == (
        "0.95",
        "guard band",
        "1",
    )
    judged = {r["certificate"]: r for r in rows_of(tmp_path / "out" / "judged.csv")}["K-2"]
    assert (judged["notch"], judged["outcome"], judged["in_force"]) == ("1.0 mm", "conditional fail", "yes")
    assert (judged["conforming_percent"], judged["rule_source"]) == ("2.28", "tolerance of B-1, drawing 7, note 3")


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(newline="") as file:
        return list(csv.DictReader(file))
