"""A picture on a screen: drawn at the size it has, drawn anew when that changes."""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.style import Style
from rich.text import Text
from textual.reactive import reactive
from textual.widget import Widget

from refstd.tui.widgets.canvas import Cell


@dataclass(frozen=True, slots=True)
class Palette:
    """A rich style for each role. Shape, words and '!' carry the meaning; colour only helps."""

    axis: str
    limit: str
    baseline: str
    start: str
    new: str
    failing: str
    words: str = ""

    def style(self, role: str) -> Style:
        """Return the style of a role of the canvas."""
        return Style.parse(getattr(self, role)) if role else Style.null()


# Sky blue, orange and vermilion stay apart for red-green blindness; on light ground they are darker.
DARK = Palette("#8a8a8a", "#b2b2b2", "#b2b2b2", "#e69f00", "#56b4e9", "bold reverse #d55e00")
LIGHT = Palette("#767676", "#5f5f5f", "#5f5f5f", "#8f5f00", "#00629b", "bold reverse #a63c00")
TERMINAL = Palette("dim", "", "", "yellow", "cyan", "bold reverse red")  # the terminal's own colours


def as_text(lines: Sequence[Sequence[Cell]], palette: Palette = DARK) -> Text:
    """Return drawn lines as rich text; a run of cells with one role is one span. Nothing is read as markup."""
    text = Text(no_wrap=True, overflow="crop", end="")
    for n, line in enumerate(lines):
        if n:
            text.append("\n")
        run, role = "", ""
        for character, its_role in line:
            if its_role != role and run:
                text.append(run, palette.style(role))
                run = ""
            run, role = run + character, its_role
        text.append(run, palette.style(role))
    return text


class Drawing(Widget):
    """The thin part that all pictures share: `drawn` is given by each."""

    plain_ascii = reactive(False)

    def drawn(self, width: int, height: int) -> list[list[Cell]]:
        """Return the picture at that size in cells."""
        raise NotImplementedError

    def render(self) -> Text:
        """Return the picture at the size the widget has now."""
        return as_text(self.drawn(self.size.width, self.size.height), self._palette())

    def _palette(self) -> Palette:
        if self.app.native_ansi_color:
            return TERMINAL
        return DARK if self.app.current_theme.dark else LIGHT
