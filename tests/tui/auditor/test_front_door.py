"""From the front door to the reading behind a red flag, on a past day, in fewer than ten key presses (typing the day apart)."""

from pathlib import Path

from refstd.base.quantity import plain
from refstd.desk.check_record import check_record_within
from refstd.desk.drift import drift_list
from refstd.desk.entry import instant_from_words
from refstd.desk.kept_checks import checks
from refstd.desk.store import When, open_store
from refstd.tui.people import WhoScreen
from tests.tui.busy_lab import TODAY
from tests.tui.driving import driven

DAY = "2026-02-27"
TO_THE_PAST, TO_THE_READING = ("enter", "t"), ("enter", "g", "enter", "left", "enter", "2")


async def test_a_reading_behind_a_flag_on_a_past_day_is_fewer_than_ten_keys_from_the_front_door(busy: Path) -> None:
    """The ten characters of the day are typed or pasted; they are not a way through the screens and are not counted."""
    assert len(TO_THE_PAST + TO_THE_READING) < 10
    async with driven(busy, "AUD", size=(120, 40)) as d:
        await d.keys("w")
        assert isinstance(d.app.screen, WhoScreen)  # where refstd begins
        await d.keys(*TO_THE_PAST)
        await d.type(DAY)
        await d.keys(*TO_THE_READING)
        assert f"RECORDS AS AT {DAY}" in d.text
        shown, zone = d.flat, d.app.zone
    lab = open_store(busy)
    when = When(TODAY, as_at=instant_from_words(DAY, zone))
    (flagged,) = (x for x in drift_list(lab, when) if x.flags)
    check = next(c for c in checks(lab, when) if f"Check {c.number} " in shown)
    assert check.setup == flagged.setup.number
    with lab.look(when) as look:
        (reading,) = (r for r in check_record_within(look, check.number).readings.readings if r.notch == flagged.notch)
    lab.close()
    assert f"{flagged.notch} " in shown
    assert reading.horizontal is not None
    assert reading.vertical is not None
    for value in (reading.horizontal, reading.vertical):
        assert f" {plain(value)} " in f"{shown} "
