"""Proposed intervals by commands."""

import csv
import json
from pathlib import Path

from tests.cli.conftest import Run
from tests.given import KEEPER


def rows(refstd: Run, *more: str) -> list[dict[str, str]]:
    found: list[dict[str, str]] = json.loads(refstd("intervals", "--json", *more).out)["rows"]
    return found


def test_what_is_missing_is_said_and_what_was_found_out_shortens_when_taken(refstd: Run) -> None:
    (first, *_) = rows(refstd, "I-1")
    assert (first["method"], first["outcome"]) == ("staircase", "too little")
    assert "no interval has ended yet" in first["missing"]
    assert {r["asset_no"] for r in rows(refstd)} == {"B-1", "I-1"}
    assert refstd("intervals", "I-9").code == 3
    assert refstd("intervals", "I-1", "--target", "5").code == 2
    taking = ("review", "I-1", "--take", "staircase", "--why", "found out")
    said = refstd(*taking, "--as", "LENA")
    assert said.code == 3
    assert "See `refstd intervals I-1`" in said.err
    assert refstd("review", "I-1", "--why", "x", "--as", "LENA").code == 2
    assert refstd(*taking, "--as", KEEPER).code == 3


def test_a_calibration_not_sound_halves_the_interval_when_somebody_takes_it(refstd: Run, tmp_path: Path) -> None:
    head = "asset_no,number,laboratory,performed_on,result\n"
    (tmp_path / "certificates.csv").write_text(head + "I-1,K-9,Hill Metrology,2031-03-10,not sound\n")
    assert refstd("add", "certificates", tmp_path / "certificates.csv", "--as", KEEPER).code == 0
    (first, *_) = rows(refstd, "I-1")
    assert (first["outcome"], first["proposed"], first["would_be_due_on"]) == ("shorten", "6 months", "2031-07-10")
    assert first["method_source"] == "ILAC-G24:2022 / OIML D 10:2022, 6.2; steps of a half: common practice, no source"
    said = refstd("review", "I-1", "--take", "staircase", "--why", "found out", "--as", "LENA", "--json")
    shown = json.loads(said.out)
    assert (said.code, shown["schema"], shown["taken"], shown["interval_proposed"]) == (
        0,
        "refstd.review/1",
        True,
        "6 months",
    )
    assert shown["rests_on"].startswith("certificate K-9 of 2031-03-10, 59 days after the one before: OUT of tolerance")
    assert json.loads(refstd("due", "--json").out)["rows"][0]["due_on"] == "2031-07-10"
    (listed,) = json.loads(refstd("list", "reviews", "--json").out)["rows"]
    assert (listed["answer"], listed["person"], listed["why"]) == ("taken", "LENA", "found out")
    assert rows(refstd, "I-1", "--as-at", "2031-03-14")[0]["outcome"] == "too little"
    assert refstd("export", tmp_path / "out").code == 0
    with (tmp_path / "out" / "interval_reviews.csv").open(newline="") as file:
        (written,) = csv.DictReader(file)
    assert (written["interval_before"], written["interval_proposed"], written["person"]) == (
        "12 months",
        "6 months",
        "LENA",
    )
    assert (written["asset_no"], written["rests_on"]) == ("I-1", shown["rests_on"])
