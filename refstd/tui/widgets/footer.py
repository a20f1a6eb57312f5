"""The keys of a screen in its last line: whole ones, as many as fit, and where the rest is told."""

from rich.cells import cell_len
from textual import events
from textual.app import ComposeResult
from textual.widget import Widget
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

ALWAYS = ("back", "help")
MORE = "Help: more keys"


class KeyFooter(Footer):
    """The footer of every screen. Where not all keys fit, the last are left out and the help key says that it has more."""

    def __init__(self) -> None:
        super().__init__(show_command_palette=False, compact=True)
        self._drawn_for = 0

    def compose(self) -> ComposeResult:
        """Yield the keys that fit side by side."""
        self._drawn_for = self.app.size.width
        keys = list(super().compose())
        if _width(keys) <= self._drawn_for:
            yield from keys
            return
        for key in keys:
            if isinstance(key, FooterKey) and key.action == "help":
                key.description = MORE
        while _width(keys) > self._drawn_for and (last := _left_out_next(keys)) is not None:
            keys.remove(last)
        yield from keys

    def on_resize(self, event: events.Resize) -> None:
        if self.app.size.width != self._drawn_for:
            self.call_after_refresh(self.recompose)


def _width(keys: list[Widget]) -> int:
    """Return how many columns the keys take, one between any two."""
    sizes = [cell_len(k.key_display) + 1 + cell_len(k.description) for k in keys if isinstance(k, FooterKey)]
    return sum(sizes) + max(len(sizes) - 1, 0)


def _left_out_next(keys: list[Widget]) -> Widget | None:
    return next((k for k in reversed(keys) if isinstance(k, FooterKey) and k.action not in ALWAYS), None)
