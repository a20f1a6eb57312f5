"""The lab's own limits by keys: set for the notch under the cursor, changed with a reason, ended."""

from pathlib import Path

import pytest

from refstd.desk.store import When
from refstd.desk.tolerances import tolerances
from tests.tui.busy_lab import TODAY
from tests.tui.driving import driven


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_tolerance_of_a_notch_is_set_seen_changed_and_ended(busy: Path, size: tuple[int, int]) -> None:
    """Planted: the limits of the one in force left out of the form that changes it."""
    async with driven(busy, "CUS", size=size) as d:
        await d.keys("slash")
        await d.type("B-1")
        await d.keys("enter", "3", "t")
        assert "Tolerance of B-1" in d.text
        assert "there is no default rule" in d.flat
        await d.type("drawing 12, note 3")
        await d.keys("enter")
        await d.type("0.18")
        await d.keys("enter")
        await d.type("0.12")
        await d.keys("f2")
        assert "is not below the upper limit" in d.flat
        await d.keys("enter")
        assert "is not below the upper limit" in d.flat, "it stays until something is mended"
        await d.keys("backspace", "backspace")
        await d.type("22")
        await d.keys("f2")
        [shown] = tolerances(d.app.lab, When(TODAY))
        assert (shown.notch, str(shown.lower_limit), str(shown.upper_limit), shown.person) == (
            "0.2 mm",
            "0.18",
            "0.22",
            "CUS",
        )
        assert "tolerance: notch 0.2 mm, depth: 0.18 to 0.22 mm (drawing 12, note 3)" in d.flat

        await d.keys("t")
        assert "Tolerances of notch 0.2 mm of B-1" in d.text
        await d.keys("enter", "enter")
        assert "0.18" in d.text
        await d.keys("f2")
        assert "Say why it changes" in d.flat
        await d.keys("escape", "enter")
        await d.keys("t", "enter", "2")
        assert "Why does the tolerance of notch 0.2 mm, depth hold no longer?" in d.flat
        await d.type("the drawing is withdrawn")
        await d.keys("enter")
        assert tolerances(d.app.lab, When(TODAY)) == ()
