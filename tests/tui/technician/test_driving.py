"""The driver of the screens on a machine that is busy with something else: it reads no screen before it is drawn."""

import time
from pathlib import Path
from typing import Any

import pytest
import textual._wait

from refstd.desk import homes
from tests.tui.driving import driven
from tests.tui.screen_text import refuse_change
from tests.tui.technician.floor import ONE_O_CLOCK


async def test_a_slow_question_of_a_starved_process_is_waited_for(
    started: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Planted bug it caught: the pilot's own pause, which takes a process without a processor for an idle one."""
    asked = homes.technician_home

    def slow(*question: Any) -> Any:
        time.sleep(0.3)  # the question's own time, as on a slow disk; the driver waits for no clock
        return asked(*question)

    monkeypatch.setattr("refstd.tui.technician.home.technician_home", slow)
    monkeypatch.setattr(textual._wait, "process_time", lambda: 0.0)
    for _ in range(4):
        async with driven(started, "TESS", now=ONE_O_CLOCK, size=(120, 40)) as d:
            refuse_change(d.text, "technician-home-120x40")
