"""A technician's morning: a kit in hand for job J-1, a start check at noon, holes examined since; it is now one o'clock."""

from pathlib import Path

from refstd.desk import checks, custody, lots
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When, open_store
from tests import given, thin_thread
from tests.tui.driving import Driver

ONE_O_CLOCK = thin_thread.at(60)
NOW = When(ONE_O_CLOCK)
KIT = ["B-1", "P-1", "I-1"]
VERTICAL = "vertical from balance"
VERTICALS = {"1.5 mm": "95", "1.0 mm": "80", "0.5 mm": "40"}


def build(path: Path) -> None:
    """Make the lab with kit and baseline, and nothing checked for the job yet."""
    lab = given.new_lab(path)
    thin_thread.whole(lab)
    thin_thread.baseline(lab)
    custody.check_out(lab, "J-1", KIT, by="TESS", now=given.NOON)
    lab.close()


def started(path: Path) -> None:
    """Make the start check at noon, and log holes as examined half an hour later."""
    lab = open_store(path)
    start = thin_thread.check(lab, "start")
    thin_thread.lot(lab, start.number, "holes 1-20", 30)
    lab.close()


def vertical_started(path: Path) -> None:
    """Make a second setup that reads the vertical part only, with its start check and holes examined since."""
    lab = open_store(path)
    number = thin_thread.setup(lab, measure=VERTICAL)
    read = [draft(checks.ReadingDraft, {"notch": n, "vertical": v}, n) for n, v in VERTICALS.items()]
    start = checks.record_check(lab, thin_thread.check_draft("start", setup=number), read, by="TESS", now=given.NOON)
    fields = {"job": "J-1", "start_check": start.number, "parts": "holes 1-20"}
    lots.log_lot(lab, draft(lots.LotDraft, fields, "lot"), by="TESS", now=thin_thread.at(30))
    lab.close()


def last_check(lab: Lab) -> checks.CheckVerdict:
    """Return the newest check of the job."""
    return checks.checks(lab, NOW, job="J-1")[0]


def beside_the_picture(d: Driver) -> str:
    """Return what stands to the left of the picture at 80x24, as one line."""
    return " ".join(" ".join(row[:36] for row in d.text.splitlines()).split())


async def to_notches(d: Driver, noise: str = "4") -> None:
    """From home to the notches of an interim check: kit, occasion and settings confirmed, both boxes ticked, noise typed."""
    await d.keys("c", "enter", "enter", "enter", "space", "space")
    await d.type(noise)
    await d.keys("enter")


async def read(d: Driver, *figures: str) -> None:
    """Type one reading after the other, Enter after each."""
    for figure in figures:
        await d.type(figure)
        await d.keys("enter")
