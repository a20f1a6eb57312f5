"""Draw the pictures of the README from the sample lab, as a person would see the screens.

Run: python -m sample_db.draw_pictures
"""

import asyncio
import re
import tempfile
from collections.abc import Sequence
from datetime import datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

from textual.pilot import Pilot

from refstd.desk.kept_checks import check_shown
from refstd.desk.people import actor
from refstd.desk.store import Lab, When, open_store
from refstd.tui.app import RefstdApp

from . import STORY_DAY, build

FOLDER = Path(__file__).parent / "pictures"
EARLY = datetime.combine(STORY_DAY, time(6, 5), ZoneInfo("Europe/Dublin"))
START_CHECK = "J-26-04"
WIDE, NARROW = (120, 36), (80, 24)


def main() -> None:
    """Build the lab in a folder that goes away, walk to each screen, and keep what it shows."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        lab = open_store(build(Path(folder) / "demo.refstd"))
        asyncio.run(_verdict(lab))
        asyncio.run(_screen(lab, "ORLA", "custodian", (), WIDE))
        asyncio.run(_screen(lab, "ANSEL", "auditor", (), WIDE))
        asyncio.run(_screen(lab, "TAM", "technician", (), NARROW))
        lab.close()


async def _screen(lab: Lab, person: str, name: str, keys: Sequence[str], size: tuple[int, int]) -> None:
    app = RefstdApp(lab, lambda: EARLY, actor(lab, person, When(EARLY)))
    async with app.run_test(size=size) as pilot:
        await _settled(pilot)
        for key in keys:
            await pilot.press(key)
            await _settled(pilot)
        _keep(app, name)


async def _verdict(lab: Lab) -> None:
    """Make an interim check whose notches answer 15 % less than in the start check, and keep look and verdict."""
    app = RefstdApp(lab, lambda: EARLY, actor(lab, "TAM", When(EARLY)))
    async with app.run_test(size=WIDE) as pilot:
        await _settled(pilot)
        for keys in (["c"], ["enter"], ["enter"], ["enter"], [*"2.0", "enter"]):
            await pilot.press(*keys)
            await _settled(pilot)
        for horizontal, vertical in _readings(lab):
            await _typed(pilot, f"{horizontal * 0.85:.1f} {vertical * 0.85:.1f}")
        await _settled(pilot)
        _keep(app, "look")
        await pilot.press("f2")
        await _settled(pilot)
        _keep(app, "verdict")


def _readings(lab: Lab) -> list[tuple[float, float]]:
    """Return the start check's readings of the kit in hand, deepest notch first."""
    from refstd.desk.homes import technician_home

    [hand] = [j for j in technician_home(lab, "TAM", When(EARLY)).jobs if j.job.number == START_CHECK]
    _, picture = check_shown(lab, hand.last_check, When(EARLY))
    points = next(s for s in picture.series if s.name == "now").points
    ordered = sorted(points, key=lambda p: -float(p[0].split()[0]))
    return [(h or 0.0, v) for _, h, v in ordered]


async def _typed(pilot: Pilot[int], text: str) -> None:
    names = {" ": "space", "-": "minus", ".": "full_stop"}
    await pilot.press(*(names.get(c, c) for c in text), "enter")
    await _settled(pilot)


async def _settled(pilot: Pilot[int]) -> None:
    for _ in range(4):
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()


def _keep(app: RefstdApp, name: str) -> None:
    """Write the screen as SVG, without the addresses of fonts on the net that the library puts in."""
    svg = app.export_screenshot(title="refstd")
    svg = re.sub(r"@font-face \{.*?\}\s*", "", svg, flags=re.S)
    svg = re.sub(r"<circle [^>]*/>", "", svg)  # no window of some desktop around our screen
    (FOLDER / f"{name}.svg").write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    main()
