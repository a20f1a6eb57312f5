"""What the log proves, on screen, and a checkpoint written from there."""

from pathlib import Path

from refstd.desk.checkpoints import checkpoint_from
from refstd.desk.proof import ATTEMPTS
from refstd.desk.store import verify
from tests.tui.driving import driven


async def test_every_attempt_stands_on_the_screen_with_what_shows_it(busy: Path) -> None:
    async with driven(busy, "AUD", size=(120, 40)) as d:
        await d.keys("v", "p")
        for attempt in ATTEMPTS:
            assert attempt.attempt in d.flat
            assert attempt.shown_by in d.flat
            await d.keys("down")


async def test_a_checkpoint_is_written_recorded_and_counted_from(busy: Path, tmp_path: Path) -> None:
    target = tmp_path / "head.txt"
    async with driven(busy, "AUD") as d:
        await d.keys("v")
        assert "no checkpoint was ever made" in d.flat
        for _ in range(2):
            await d.keys("c", *["backspace"] * 40)
            await d.type(str(target))
            await d.keys("enter")
        assert "exists and is not overwritten" in d.notices
        assert "1 entries since then could be cut unseen" in d.flat
    assert verify(busy, deep=True, checkpoint=checkpoint_from(target.read_text(), "")).whole
