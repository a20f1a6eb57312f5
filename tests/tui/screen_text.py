"""A screen as plain text: what a person reads, without styles."""

from textual.app import App


def screen_text(app: App[int]) -> str:
    """Return the screen as drawn, one line a row, without trailing blanks."""
    rows = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in row).rstrip() for row in rows)
