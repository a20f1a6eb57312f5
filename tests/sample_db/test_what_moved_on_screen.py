"""Fresh eyes, by screen alone: which probe wears, which block was dropped, which instrument stepped, and nobody else.

The sample lab is an invented scenario; what was put into it stands sealed in sample_db/stories.
"""

import json
import re
import shutil
from pathlib import Path

import pytest

from refstd.cli import run_command
from refstd.desk.checks import CheckDraft, ReadingDraft, record_check
from refstd.desk.clock import now_in
from refstd.desk.custody import check_in, check_out
from refstd.desk.entry import draft_or_refuse
from refstd.desk.jobs import JobDraft, enter_job
from refstd.desk.store import open_store
from tests.tui.driving import driven

MOVED = {"block B-104, notch 0.5 mm", "instrument I-302", "probe P-202"}
# their partners in the same checks
INNOCENT = re.compile(r"I-30[1345678]|P-20[13-9]|P-2[1-9]\d|B-10[2356]|B-11\d|1\.[05] mm|2\.0 mm")


def opened_at(sample: Path) -> object:
    lab = open_store(sample)
    now = now_in(lab)
    lab.close()
    return now


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize("person", ["ANSEL", "ORLA"])
async def test_the_three_that_moved_stand_on_the_home_and_on_the_list_and_nobody_else(
    sample: Path, person: str, size: tuple[int, int]
) -> None:
    now = opened_at(sample)
    async with driven(sample, person, now=now, size=size) as d:  # type: ignore[arg-type]
        home = [row for row in d.text.split("\n") if re.search(r"\bmoved\b", row)]
        assert {n for n in ("B-104", "I-302", "P-202") if any(n in row for row in home)} == {"B-104", "I-302", "P-202"}
        assert not any(INNOCENT.search(row) for row in home)
        await d.keys("s")
        assert "Suspects (3 named)" in d.text
        rows = [row for row in d.text.split("\n") if "confirm it" in row and " in 26 wk" in row]
        assert {re.split(r"\s{2,}", row.strip("▸ "))[0] for row in rows} == MOVED
        assert not any(INNOCENT.search(row) for row in rows)


async def test_how_each_moved_is_told_in_words_and_leads_to_the_readings_and_their_check(sample: Path) -> None:
    now = opened_at(sample)
    async with driven(sample, "ANSEL", now=now) as d:  # type: ignore[arg-type]
        await d.keys("s")
        assert "2 stepped (2025-10-" in d.flat  # the drop of 8 October 2025
        await d.keys("down")
        assert "5 beyond the limits since I-302: repaired, 2025-08-18" in d.flat
        await d.keys("down")
        assert re.search(r"of its 7 charts: .*\d rising", d.flat)
        await d.keys("enter")
        assert "Moved: probe P-202" in d.text
        assert "Asked which single item" in d.flat
        await d.keys("2")
        assert "» probe P-202" in d.text
        await d.keys("3")
        number = re.search(r"▸ (C-\d+)", d.text)
        assert number is not None
        await d.keys("enter")
        assert f"Check {number[1]}" in d.text
        await d.keys("escape", "4")
        assert "B-103 again, balanced and set up anew" in d.flat
        await d.keys("5", "enter")
        assert "moved: probe P-202" in d.flat
        await d.keys("escape", "i")
        assert d.text.startswith(" P-202 ")
        await d.keys("0")
        assert "! score 11." in d.text


async def test_the_drift_list_has_the_series_of_the_three_first(sample: Path) -> None:
    now = opened_at(sample)
    async with driven(sample, "ANSEL", now=now, size=(120, 60)) as d:  # type: ignore[arg-type]
        await d.keys("g")
        rows = d.text.split("\n")
        heads = [row for row in rows if row.startswith(("moved:", "no item of these"))]
        assert [row.split(":")[1].strip() for row in heads[:3]] == [
            "block B-104, notch 0.5 mm",
            "instrument I-302",
            "probe P-202",
        ]
        flagged = [n for n, row in enumerate(rows) if " ! " in row]
        assert max(flagged) < rows.index(heads[3])


async def test_the_list_is_found_by_its_name(sample: Path) -> None:
    now = opened_at(sample)
    async with driven(sample, "TAM", now=now) as d:  # type: ignore[arg-type]
        await d.keys("slash")
        await d.type("suspects")
        await d.keys("enter")
        assert "Suspects (3 named)" in d.text


def test_the_report_names_the_three_with_the_next_best_and_no_hint(
    sample: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run_command(["suspects", "--json", "--db", str(sample)])
    sheet = json.loads(capsys.readouterr().out)
    rows = sheet["rows"]
    named = {f"{r['kind']} {r['item']} {r['notch']}".strip() for r in rows if r["role"] == "named"}
    assert named == {"notch B-104 0.5 mm", "instrument I-302", "probe P-202"}
    assert {r["role"] for r in rows} == {"named", "next best"}
    assert all(float(r["score"]) >= float(r["bar"]) for r in rows if r["role"] == "named")
    assert [r["bar"] for r in rows if r["role"] == "named"] == ["5", "6", "6"]
    notes = " ".join(sheet["notes"])
    for words in ("Asked which single item", "no published source", "degrees of freedom", "no probability of a fault"):
        assert words in notes, words


async def test_a_technician_with_the_worn_probe_in_hand_is_told_at_home_and_after_the_check(
    sample: Path, tmp_path: Path
) -> None:
    """The outcome and what to do stay in view at 80x24 above the advice, which does not stop the work."""
    path = tmp_path / "demo.refstd"
    shutil.copyfile(sample, path)
    lab = open_store(path)
    check_in(lab, ["I-301", "K-401"], by="TAM", now=now_in(lab))
    job = {
        "number": "J-26-06", "procedure": "ET-AL-01", "parts": "wing skin panel 16", "material": "AL-7075-T6", "form": "plate",
        "frequency_khz": "200", "starts_on": "2026-03-09", "ends_on": "2026-03-10",
    }  # fmt: skip
    enter_job(lab, draft_or_refuse(JobDraft, job, "job"), by="WREN", now=now_in(lab))
    check_out(lab, "J-26-06", ["P-202", "B-103", "I-301", "K-401"], by="WREN", now=now_in(lab))
    fields = {
        "setup": "S-0003", "occasion": "start", "job": "J-26-06", "rotation_deg": "33", "horizontal_gain_db": "43.5",
        "vertical_gain_db": "49.5", "noise": "2.5", "nulled": "yes", "phase_set": "yes", "cable": "K-401",
    }  # fmt: skip
    read = (
        ("2.0 mm", "-72.1", "96.7"),
        ("1.5 mm", "-61.0", "76.9"),
        ("1.0 mm", "-52.0", "59.7"),
        ("0.5 mm", "-28.5", "24.0"),
    )
    readings = [
        draft_or_refuse(ReadingDraft, {"notch": n, "horizontal": across, "vertical": up}, n) for n, across, up in read
    ]
    check = record_check(lab, draft_or_refuse(CheckDraft, fields, "check"), readings, by="WREN", now=now_in(lab))
    now = now_in(lab)
    lab.close()
    assert check.outcome == "acceptable"
    async with driven(path, "WREN", now=now) as d:
        home = d.flat[d.flat.index("! moved") :]
        assert home.startswith("! moved P-202 answers more than it used to")
        assert "confirm it with two partners" in home
        await d.keys("v")
        lines = d.text.split("\n")
        assert "✓ ACCEPTABLE" in lines[1]
        (at,) = (n for n, line in enumerate(lines) if line.strip().startswith("Moved"))
        assert any(line.strip().startswith("Do now") for line in lines[:at])
        assert "P-202 answers more than it used to" in lines[at]
