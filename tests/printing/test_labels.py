"""Labels: the code read from a picture of the page by a reader that is not ours (zxing-cpp), the words by pypdf."""

import io
import shutil
import subprocess
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest

from refstd.base.errors import Refusal, WrongUsage
from refstd.cli import run_command
from refstd.desk import clock, states
from refstd.desk.labels import Label, labels
from refstd.desk.store import Lab, When
from refstd.printing.labels import SIZES, USUAL, size_of, to_labels
from tests import thin_thread as given
from tests.given import KEEPER, NOON

zxingcpp = pytest.importorskip("zxingcpp", reason="there is no wheel of zxing-cpp for this machine")
ASKED = When(NOON)
DAY = date(2031, 3, 14)
MANY = [Label(f"RB-{n:04}", "block", "in service", "", ("calibration due 2032-01-10",), False, DAY) for n in range(26)]


def pictures_of(content: bytes, dpi: int) -> list[Any]:
    """Return the pages as grey pictures at this resolution."""
    if not shutil.which("pdftoppm"):
        pytest.skip("pdftoppm is not on this machine")
    shown = subprocess.run(["pdftoppm", "-gray", "-r", str(dpi), "-"], input=content, capture_output=True, check=True)
    found, rest = [], shown.stdout
    while rest:  # PGM: P5, width height, 255, then the bytes
        _, size, _, body = rest.split(b"\n", 3)
        wide, high = map(int, size.split())
        found.append(np.frombuffer(body[: wide * high], np.uint8).reshape(high, wide))
        rest = body[wide * high :]
    return found


def codes_in(content: bytes, dpi: int) -> list[str]:
    """Return the texts of all codes on the pages, page by page and from the top."""
    found: list[str] = []
    for picture in pictures_of(content, dpi):
        read = sorted(
            zxingcpp.read_barcodes(picture), key=lambda r: (r.position.top_left.y // 20, r.position.top_left.x)
        )
        assert {r.format for r in read} <= {zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.QRCodeModel2}
        found += [r.text for r in read]
    return found


def words(content: bytes) -> str:
    return " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(content)).pages).split())


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("dpi", [203, 300])
def test_every_code_is_read_back_as_the_asset_number_and_nothing_else(size: str, dpi: int) -> None:
    """ISO/IEC 18004 by an independent reader."""
    assert codes_in(to_labels(MANY, SIZES[size]), dpi) == [x.asset_no for x in MANY]


def test_four_modules_around_a_code_stay_blank() -> None:
    """ISO/IEC 18004: the quiet zone of a QR code (from memory). Planted bug that it caught: a code drawn without it."""
    label = Label("B-1", "WWWW WWWW", "in service", "LIMITED USE", ("WWWWWWWW WWWWWWWW",), False, DAY)
    (picture,) = pictures_of(to_labels([label], SIZES["50x25"]), 600)
    (read,) = zxingcpp.read_barcodes(picture)
    left, top, right = read.position.top_left.x, read.position.top_left.y, read.position.top_right.x
    zone = round((right - left) / 21 * 3.8)  # 21 modules a side; a little less than four, for the picture's own dots
    around = picture[top - zone : top + (right - left) + zone, left - zone : right + zone].copy()
    assert around.shape[0] == around.shape[1]
    around[zone - 3 : -zone + 3, zone - 3 : -zone + 3] = 255
    assert around.min() > 128


@pytest.mark.parametrize("asset_no", ["b 1/2-x", "ÄÖ-1", "0042", "X" * 40])
def test_any_asset_number_comes_back_as_it_is_written(asset_no: str) -> None:
    label = Label(asset_no, "", "in service", "", (), False, DAY)
    assert codes_in(to_labels([label], SIZES[USUAL]), 300) == [asset_no]


def test_a_part_used_sheet_begins_at_its_first_free_place() -> None:
    content = to_labels(MANY[:3], SIZES["70x37"], first=23)
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    assert [p.extract_text().count("RB-") for p in pages] == [2, 1]
    assert [float(pages[0].mediabox.width), float(pages[0].mediabox.height)] == pytest.approx([595.28, 841.89], abs=0.1)
    with pytest.raises(WrongUsage, match="no place 25"):
        to_labels(MANY[:1], SIZES["70x37"], first=25)


def test_words_that_do_not_fit_are_refused_and_never_cut() -> None:
    long = Label(
        "B-1",
        "block",
        "in service",
        "LIMITED USE",
        (f"without {', '.join(f'notch N{n}' for n in range(40))}",),
        False,
        DAY,
    )
    with pytest.raises(Refusal, match=r"B-1 says more than 50 x 25 mm hold"):
        to_labels([long], SIZES["50x25"])
    assert "notch N39" in words(to_labels([long], size_of("120x80")))


@pytest.mark.parametrize("size", ["", "70", "0x0", "1000x10", "70x37x2", "-70x37", "39x20"])
def test_a_size_that_cannot_be_printed_is_refused(size: str) -> None:
    with pytest.raises(WrongUsage) as refusal:
        size_of(size)
    assert "mm" in refusal.value.remedy


def test_an_item_in_service_bears_its_state_due_date_and_the_day_of_printing(lab: Lab) -> None:
    given.whole(lab)
    (label,) = labels(lab, ASKED, ["B-1"])
    said = words(to_labels([label]))
    for part in ("B-1", "calibration due 2032-01-10", "in service; printed 2031-03-14"):
        assert part in said
    assert "NOT FOR USE" not in said


@pytest.mark.parametrize("state", ["quarantined", "in repair", "retired", "reference only"])
def test_an_item_out_of_service_bears_not_for_use_and_no_due_date(lab: Lab, state: str) -> None:
    """Planted bug that it caught: the due date of a quarantined block printed on its label."""
    given.whole(lab)
    states.set_state(lab, "B-1", state, "dropped", by=KEEPER, now=NOON)
    (label,) = labels(lab, ASKED, ["B-1"])
    said = words(to_labels([label]))
    assert "NOT FOR USE" in said
    assert state in said
    assert "due" not in said
    assert "2032" not in said


def test_an_overdue_item_is_not_for_use_either(lab: Lab) -> None:
    given.whole(lab)
    (label,) = labels(lab, When(NOON.replace(year=2033)), ["B-1"])
    assert (label.heading, label.not_for_use) == ("NOT FOR USE", True)
    assert "overdue" in label.lines[0]


def test_limited_use_names_the_notches_that_are_struck_out(lab: Lab) -> None:
    given.whole(lab)
    given.block(lab, "B-2")
    given.certified(lab, "B-2", value="0.600")
    (label,) = labels(lab, ASKED, ["B-2"])
    said = words(to_labels([label]))
    assert "LIMITED USE" in said
    assert "without notch 0.5 mm" in said


def test_the_command_writes_them_and_says_which_are_not_for_use(
    lab: Lab, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "now_in", lambda lab: NOON)
    given.whole(lab)
    states.set_state(lab, "P-1", "quarantined", "tip worn", by=KEEPER, now=NOON)
    lab.close()
    target = tmp_path / "labels.pdf"
    assert run_command(["--db", str(lab.path), "labels", "P-1", "-o", str(target), "--size", "50x25"]) == 0
    assert "P-1 is not for use: quarantined" in capsys.readouterr().out
    assert codes_in(target.read_bytes(), 300) == ["P-1"]
    assert run_command(["--db", str(lab.path), "labels", "P-1", "-o", str(tmp_path / "labels.txt")]) == 2
    assert run_command(["--db", str(lab.path), "labels", "NONE", "-o", str(target)]) != 0
    assert run_command(["--db", str(lab.path), "labels", "P-1", "-o", str(target), "--today", "2031-04-01"]) == 2
