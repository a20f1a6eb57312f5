"""Proposed intervals by commands."""

import json

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
