"""`refstd order-test`: what it tells, what it keeps, how it ends."""

import json
from pathlib import Path

from tests.cli.conftest import Run, state_of
from tests.given import KEEPER
from tests.published import display_transforms
from tests.published.display_transforms import RS, SR


def readings(order: str) -> list[str]:
    """Return the reference readings as they are typed."""
    rows = [row[1:] for row in display_transforms.STATIC if row[0] == order]
    first, second = ([str(rotation), f"{h:.2f}", f"{v:.2f}"] for rotation, h, v in rows)
    return ["--gains", "40", "52", "--first", *first, "--second", *second]


def test_a_preview_tells_and_keeps_nothing(refstd: Run, workshop: Path) -> None:
    before = state_of(workshop)
    said = refstd("order-test", "I-1", *readings(SR), "--preview")
    assert said.code == 0
    assert "I-1: scale-then-rotate (nothing was kept)" in said.out
    assert (
        "scale-then-rotate: the amplitude as seen differs by 0.01 dB between the rotations; the last digits allow 0.05 dB"
        in said.out
    )
    assert "rotate-then-scale: the amplitude with the gains undone differs by" in said.out
    unclear = refstd("order-test", "I-1", *readings(SR), "--second", "5", "2.00", "3.98", "--preview", "--json")
    assert unclear.code == 6
    told = json.loads(unclear.out)
    assert (told["order"], told["kept"]) == (None, False)
    assert "differ by 5°" in told["why_not"]
    assert "best 40° to 60°" in told["cure"]
    equal = refstd("order-test", "I-1", *readings(SR), "--gains", "40", "41", "--preview")
    assert equal.code == 2
    assert "vertical_gain_db: the gains differ by 1 dB" in equal.err
    assert state_of(workshop) == before


def test_it_is_kept_and_stands_on_the_items_record_with_its_readings(refstd: Run) -> None:
    said = refstd("order-test", "I-1", *readings(RS), "--note", "1.0 mm notch, probe in a fixture", "--as", KEEPER)
    assert (said.code, said.out.splitlines()[0]) == (0, "I-1: rotate-then-scale")
    rows = json.loads(refstd("show", "I-1", "--json").out)["rows"]
    order = next(r for r in rows if r["what"] == "order of rotation and gain")
    assert (order["value"], order["source"]) == (RS, "two readings, 2031-03-15, KEEPER")
    test = next(r for r in rows if r["what"] == "order test" and r["clause"] == "6.4.13 a")
    for words in ("at 0° horizontal 2.00, vertical 3.98 div", "at 40° horizontal 0.89, vertical 8.17 div", "gains 40 and 52 dB",
                  "in a fixture", "rotate-then-scale: the amplitude with the gains undone differs by 0.00 dB"):  # fmt: skip
        assert words in test["value"]
    assert test["by"] == KEEPER


def test_a_contradiction_is_refused_until_it_is_explained(refstd: Run) -> None:
    refused = refstd("order-test", "I-1", *readings(SR), "--as", KEEPER)
    assert refused.code == 3
    assert "the readings tell scale-then-rotate, and on record is rotate-then-scale" in refused.err
    assert "say why" in refused.err
    assert refstd("order-test", "I-1", *readings(SR), "--why", "entered by hearsay", "--as", KEEPER).code == 0
    assert refstd("order-test", "I-1", *readings(SR), "--as", "TESS").code == 3


def test_a_test_that_says_the_order_no_longer_names_what_says_it_since(refstd: Run) -> None:
    """Planted bug it caught: the later test not looked for."""
    refstd("order-test", "I-1", *readings(RS), "--as", KEEPER)
    refstd("order-test", "I-1", *readings(SR), "--why", "read on another one", "--as", KEEPER)
    rows = json.loads(refstd("show", "I-1", "--json").out)["rows"]
    first, second = (r for r in rows if r["what"] == "order test" and r["clause"] == "6.4.13 a")
    assert first["stands"].startswith("superseded by the order test of 2031-03-15")
    assert first["stands"].endswith(f"log entry {second['entry']}")
    assert second["stands"] == "in force"
