"""Four setups that differ in one thing each from the first, all with a baseline: what a swap test needs. All of it is invented."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

from refstd.desk import baselines, checks, equipment
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, make_store
from tests import thin_thread as given
from tests.given import KEEPER, MORNING, NOON, made_once

FIRST, OTHER_PROBE, OTHER_BLOCK, OTHER_INSTRUMENT = "S-0001", "S-0002", "S-0003", "S-0004"
SETUP_OF = {"cable": FIRST, "probe": OTHER_PROBE, "block": OTHER_BLOCK, "instrument": OTHER_INSTRUMENT}
# How high each setup reads: a step must be held against its own baseline, not the first one's.
LEVELS = {FIRST: 1.0, OTHER_PROBE: 1.05, OTHER_BLOCK: 0.95, OTHER_INSTRUMENT: 1.05}
SCALES = (1.0, 1.012, 0.99, 1.02, 0.98)  # of the five set-ups of each baseline
NOTCH = "0.5 mm"
OFF = 0.8  # −1.9 dB, more than ten times the spread of SCALES


@made_once
def build(lab: Lab, *, without: tuple[str, ...] = ()) -> None:
    """Put the lab on record; the setups named in `without` get no baseline."""
    given.whole(lab)
    given.block(lab, "B-2")
    given.probe(lab, "P-2")
    given.instrument(lab, "I-2")
    for number in ("B-2", "I-2"):
        given.certified(lab, number)
    for number, form in (("A-1", "cable"), ("A-2", "cable")):
        fields = {"asset_no": number, "name": "cable", "form": form}
        equipment.enter_item(lab, draft(equipment.AccessoryDraft, fields, number), by=KEEPER, now=NOON)
    given.setup(lab, probe="P-2")
    given.setup(lab, block="B-2")
    given.setup(lab, instrument="I-2")
    for minutes, setup in enumerate(SETUP_OF.values()):
        if setup not in without:
            baseline(lab, setup, minutes)


def made(path: Path) -> Lab:
    """Make a store with the lab on a day of its story, for commands."""
    lab = make_store(
        path, name="Surface lab", time_zone="Europe/Dublin", code=KEEPER, person="First Custodian", now=MORNING,
        story_day=date(2031, 3, 15),
    )  # fmt: skip
    build(lab)
    return lab


def baseline(lab: Lab, setup: str, minutes: float = 0) -> None:
    """Freeze a baseline of a setup, so many minutes after noon."""
    sets = [
        (
            given.check_draft("set-up", setup=setup, happened_at=f"2031-03-14T09:{10 + i}"),
            given_readings(dict.fromkeys(given.HEIGHTS, scale * LEVELS[setup])),
        )
        for i, scale in enumerate(SCALES)
    ]
    fields = {"setup": setup, "approved_by": "LENA"}
    made = draft(baselines.BaselineDraft, fields, "baseline")
    baselines.set_baseline_from_readings(lab, made, sets, by="TESS", now=given.at(minutes / 10))


def given_readings(scales: Mapping[str, float]) -> list[checks.ReadingDraft]:
    """Return readings of notches, each with its own scale, to a tenth."""
    return [
        draft(
            checks.ReadingDraft,
            {"notch": n, "horizontal": f"{float(h) * scales[n]:.1f}", "vertical": f"{float(v) * scales[n]:.1f}"}, n,
        )
        for n, (h, v) in given.HEIGHTS.items()
        if n in scales
    ]  # fmt: skip


def seen(culprit: str, step: str = "") -> list[checks.ReadingDraft]:
    """Return what is read while a thing has moved (0.8 of before): with everything as it was, or with one thing exchanged.

    A moved block shows it on one notch, anything else on all.
    """
    moved = {NOTCH} if culprit == "block" else set(given.HEIGHTS)
    scale = 1.0 if culprit == step else OFF
    level = LEVELS[SETUP_OF[step]] if step else 1.0
    return given_readings({n: level * (scale if n in moved else 1.0) for n in given.HEIGHTS})


def step_draft(thing: str, **values: str) -> checks.CheckDraft:
    """Return the check of a step with the setup made for it."""
    fields = (
        {"setup": SETUP_OF[thing], "procedure": "", "job": ""} | ({"cable": "A-2"} if thing == "cable" else {}) | values
    )
    return given.check_draft("swap test", **fields)


def deviating(lab: Lab, culprit: str, minutes: float = 30, **values: str) -> str:
    """Make the check that shows the deviation and return its number."""
    fields = {"job": "", "procedure": "PR-1", "cable": "A-1"} | values
    made = given.check_draft("periodic", **fields)
    return checks.record_check(lab, made, seen(culprit), by="TESS", now=given.at(minutes)).number
