"""A swap test by commands: begin, step, show, list, and how each ends."""

import json
from pathlib import Path

import pytest

from tests import swap_lab
from tests.cli.conftest import Run
from tests.cli.test_bad_input import assert_refused, readings_file

SOUND = swap_lab.LEVELS[swap_lab.OTHER_PROBE]


@pytest.fixture
def worn(refstd: Run, workshop: Path) -> Run:
    """Commands on a store where a check of 14 March lies off its baseline: the probe has moved."""
    workshop.unlink()
    lab = swap_lab.made(workshop)
    swap_lab.deviating(lab, "probe")
    lab.close()
    return refstd


def read(folder: Path, scale: float, happened_at: str = "") -> Path:
    """Write a readings file of a step; its own column says another occasion, as a copied file does."""
    rows = ((n, h * scale, v * scale) for n, h, v in (("1.5 mm", -20, 95), ("1.0 mm", -18, 80), ("0.5 mm", -12, 40)))
    return readings_file(
        folder, tuple((n, f"{h:.1f}", f"{v:.1f}") for n, h, v in rows), happened_at=happened_at, occasion="periodic"
    )


def test_from_the_check_to_what_is_left(worn: Run, tmp_path: Path) -> None:
    said = worn("swap", "start", "C-0021", "--notch", "0.5 mm", "--why", "low since Monday", "--as", "TESS")
    assert (said.code, said.err) == (0, "")
    assert "swap test W-0001: check C-0021, setup S-0001, notch 0.5 mm, by TESS" in said.out
    assert "off its baseline by −1.94 dB, limit at least ±0.65 dB (prediction interval" in said.out
    assert (
        "next: exchange the cable: another one in place of cable A-1 (setup S-0001), everything else as it is"
        in said.out
    )

    said = worn("swap", "step", "W-0001", "cable", read(tmp_path, 0.8), "--cable", "A-2", "--as", "TESS")
    assert said.code == 0
    assert "check C-0022, swap test, setup S-0001, by TESS" in said.out
    assert "cable exchanged: the deviation stayed: −1.94 dB now, −1.94 dB before" in said.out
    assert "\nheld:" not in said.out
    assert "\nfinding:" not in said.out

    said = worn("swap", "step", "W-0001", "probe", read(tmp_path, SOUND), "--as", "TESS")  # the setup proposed
    assert said.code == 0
    assert "check C-0023, swap test, setup S-0002, by TESS" in said.out
    assert "the deviation went with the probe: P-1 is left → put the first probe back" in said.out

    said = worn("swap", "show", "W-0001")
    assert said.code == 0
    assert "cable, A-2 in its place, check C-0022 by TESS: the deviation stayed:" in said.out
    assert "probe, P-2 in its place, check C-0023 by TESS: the deviation went:" in said.out
    assert said.out.endswith("certified personnel decide.\n")
    assert "W-0001" in worn("swap", "list").out
    assert worn("verify", "--deep").code == 0


def test_the_same_in_json(worn: Run, tmp_path: Path) -> None:
    worn("swap", "start", "C-0021", "--notch", "0.5 mm", "--as", "TESS")
    answer = json.loads(worn("swap", "step", "W-0001", "probe", read(tmp_path, SOUND), "--as", "TESS", "--json").out)
    assert answer["schema"] == "refstd.swap_step/1"
    assert (answer["step"]["result"], answer["check"]["occasion"], answer["settled"]) == ("went", "swap test", True)
    assert answer["left"] == ["probe"]
    shown = json.loads(worn("swap", "show", "W-0001", "--json").out)
    assert [s["check"] for s in shown["steps"]] == ["C-0022"]
    assert shown["deviation"]["limit"] == "at least ±0.65 dB"
    rows = json.loads(worn("report", "swaps", "W-0001", "--json").out)["rows"]
    assert [(r["exchanged"], r["step_check"], r["result"]) for r in rows] == [("probe", "C-0022", "went")]
    assert "NIST/SEMATECH" in rows[0]["limit_from"]


def test_a_step_that_cannot_tell_ends_with_6(worn: Run, tmp_path: Path) -> None:
    worn("swap", "start", "C-0021", "--notch", "0.5 mm", "--as", "TESS")
    said = worn("swap", "step", "W-0001", "probe", read(tmp_path, 0.92 * SOUND), "--as", "TESS")
    assert said.code == 6
    assert "probe exchanged: cannot tell: −0.7" in said.out
    assert "exchange the same thing once more" in said.out


def test_refusals_say_what_to_do(worn: Run, tmp_path: Path) -> None:
    assert_refused(
        worn("swap", "show", "W-0009"), 3, "a swap test with the number 'W-0009' is not on record", "refstd list swaps"
    )
    assert_refused(
        worn("swap", "start", "C-0021", "--notch", "9 mm", "--as", "TESS"), 3, "B-1 has no notch '9 mm'", "Its notches"
    )
    worn("swap", "start", "C-0021", "--notch", "0.5 mm", "--as", "TESS")
    said = worn("swap", "step", "W-0001", "person", read(tmp_path, 1.0), "--as", "TESS")
    assert_refused(said, 2, "'person' cannot be exchanged", "Name one of cable, probe, block, instrument.")
    said = worn("swap", "step", "W-0001", "cable", read(tmp_path, 1.0), "--cable", "A-1", "--as", "TESS")
    assert_refused(said, 3, "it is cable A-1 again", "Take another cable.")
    both = tmp_path / "both.csv"
    text = read(tmp_path, 1.0).read_text(encoding="utf-8")
    both.write_text(text + "".join(f"2{line[1:]}\n" for line in text.splitlines()[1:]), encoding="utf-8")
    assert_refused(
        worn("swap", "step", "W-0001", "probe", both, "--as", "TESS"),
        2,
        "there are 2; a step has one",
        "Make each step apart.",
    )
    assert "swap test" in worn("show", "W-0001").out.lower()
    assert (
        worn(
            "check", "S-0002", read(tmp_path, 0.8), "--procedure", "PR-1", "--occasion", "swap test", "--as", "TESS"
        ).code
        == 3
    )


def test_the_record_of_an_item_tells_its_swap_tests(worn: Run, tmp_path: Path) -> None:
    worn("swap", "start", "C-0021", "--notch", "0.5 mm", "--as", "TESS")
    worn("swap", "step", "W-0001", "probe", read(tmp_path, SOUND), "--as", "TESS")
    for item in ("P-1", "P-2", "B-1"):
        rows = json.loads(worn("report", "item", item, "--json").out)["rows"]
        told = [r["value"] for r in rows if r["what"] == "swap test"]
        step = "swap test W-0001: probe exchanged, check C-0022: the deviation went"
        assert (step in told) is (item != "P-1")
        assert any("begun from check C-0021" in t for t in told) is (item != "P-2")
    assert "W-0001" in worn("find", "W-0001").out
