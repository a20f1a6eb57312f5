"""A certificate file on the screens: the newest one is offered, each unknown place is asked for once, Enter stores it."""

import shutil
from pathlib import Path

import pytest

from refstd.desk import equipment
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.history import item_record
from refstd.desk.store import When, open_store
from tests.exchange.certificate_files import OURS, edited, ours
from tests.tui.busy_lab import TODAY
from tests.tui.driving import driven

DEPTHS = ("0.5", "1.0", "1.5", "2.0", "2.5", "3.0", "3.5", "4.0")


@pytest.fixture
def folder(busy: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the sample's certificate, from which refstd was started, in a lab that has the block."""
    lab = open_store(busy)
    fields = {"asset_no": "B-103", "name": "block", "material": "AL7075", "form": "plate", "thickness_mm": "10"}
    notches = [draft(equipment.NotchDraft, {"label": f"{d} mm", "depth_mm": d}, d) for d in DEPTHS]
    equipment.enter_item(lab, draft(equipment.BlockDraft, fields, "B-103"), notches, by="CUS", now=TODAY)
    lab.close()
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    shutil.copy(OURS, inbox)
    monkeypatch.chdir(inbox)
    monkeypatch.setenv("XDG_DOWNLOAD_DIR", str(tmp_path / "none"))
    return inbox


async def test_the_first_time_each_place_is_asked_for_and_the_next_time_it_is_three_keys(
    busy: Path, folder: Path
) -> None:
    day = TODAY.replace(day=9)
    async with driven(busy, "CUS", now=day) as d:
        await d.keys("x")
        assert "HM-26-1031.xml" in d.text
        await d.keys("enter")
        assert "Enter says which notch; not yet: N1: nobody has said which notch of B-103 it is" in d.flat
        for n in range(1, 9):
            await d.keys("enter", str(n))
        assert "nothing stands against it: Enter stores it" in d.flat
        assert "1.571 mm, U 0.010, k 2.00" in d.text
        assert "1.45…1.55, fail" in d.text
        await d.keys("2")
        assert "Temperature of the room: 293.55 K (20.40 °C)" in d.flat
        await d.keys("3")
        assert "administrativeData/dccSoftware: Hallway certificate writer 2" in d.flat
        await d.keys("enter")
        assert "certificate HM-26-1031 of B-103 filed" in d.notices
        assert d.text.splitlines()[1].strip() == "! B-103 limited use, without notch 1.5 mm"
        assert "1.5 mm 1.5 1.571 mm ✗ fail simple, P below 0.1 %" in d.flat
        (folder / OURS.name).unlink()
        (folder / "later.xml").write_bytes(edited(ours(), ("<dcc:uniqueIdentifier>HM-26-1031<", "<dcc:uniqueIdentifier>HM-26-1039<")))  # fmt: skip
        await d.keys("escape", "escape")
        await d.keys("x", "enter", "enter")  # three keys, and a look before the third
        assert "certificate HM-26-1039 of B-103 filed" in d.notices
        assert d.text.splitlines()[0].strip().startswith("What follows from HM-26-1039")
        record = item_record(d.app.lab, "B-103", When(day))
        assert [c.number for c in record.certificates] == ["HM-26-1031", "HM-26-1039"]


async def test_a_file_that_names_another_item_is_refused_from_the_items_page(busy: Path, folder: Path) -> None:
    async with driven(busy, "CUS", now=TODAY.replace(day=9)) as d:
        await d.keys("slash")
        await d.type("B-1")
        await d.keys("enter", "i", "enter")
        assert "the certificate is about B-103, not about B-1" in d.notices
        assert "Import a certificate of B-1" in d.flat


async def test_a_damaged_file_says_why_and_stores_nothing(busy: Path, folder: Path) -> None:
    (folder / OURS.name).write_bytes(ours()[:4000])
    async with driven(busy, "CUS", now=TODAY.replace(day=9)) as d:
        await d.keys("x", "enter")
        assert "NOTHING WAS WRITTEN the file is not whole XML" in d.flat
        assert item_record(d.app.lab, "B-103", When(TODAY.replace(day=9))).certificates == ()


async def test_an_item_that_the_certificate_does_not_tell_is_asked_for_once(busy: Path, folder: Path) -> None:
    (folder / OURS.name).write_bytes(edited(ours(), (">owner<", ">calibrationLaboratory<")))
    async with driven(busy, "CUS", now=TODAY.replace(day=9)) as d:
        await d.keys("x", "enter")
        assert "no item of the register fits the certificate" in d.flat
        await d.type("B-103")
        await d.keys("enter")
        assert "B-103 block, as you said" in d.flat
        assert "nothing but your word says that it is B-103" in d.flat
        await d.keys("escape", "enter", "escape")
        assert "Import" in d.text.splitlines()[0]  # asked again, and nobody said
