"""A screen as plain text: what a person reads, without styles."""

import os
from pathlib import Path

from textual.app import App

SNAPSHOTS = Path(__file__).parent / "snapshots"


def screen_text(app: App[int]) -> str:
    """Return the screen as drawn, one line a row, without trailing blanks."""
    rows = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in row).rstrip() for row in rows)


def refuse_change(text: str, name: str) -> None:
    """Fail when a screen no longer reads as its snapshot does. REFSTD_SNAPSHOTS=write keeps what is there now."""
    path = SNAPSHOTS / f"{name}.txt"
    if os.environ.get("REFSTD_SNAPSHOTS") == "write":
        path.parent.mkdir(exist_ok=True)
        path.write_text(text + "\n", encoding="utf-8")
    assert path.exists(), f"no snapshot {path.name}: look at the screen, then run once with REFSTD_SNAPSHOTS=write"
    assert text + "\n" == path.read_text(encoding="utf-8")
