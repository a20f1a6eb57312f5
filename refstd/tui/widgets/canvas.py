"""A sheet of braille dots with text on top, as pure data: what a picture in the terminal is drawn on.

A terminal cell holds 2 x 4 braille dots and is about twice as high as wide, so dots are nearly square: one scale for
both axes keeps a circle round. A cell has one style; the highest layer that touched it gives it.
"""

import math
import unicodedata

from rich.cells import cell_len

from refstd.base.text import safe

Cell = tuple[str, str]  # what stands there, and its role (see ROLES); '' follows a character two cells wide
ROLES = ("", "axis", "limit", "baseline", "start", "new", "failing", "words")
# Dots on, dots off.
SOLID, LONG_DASHED, DASHED, DOTTED, SPARSE = (1, 0), (9, 4), (4, 3), (1, 1), (1, 5)

_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # Unicode block U+2800: bit by row and column
_IN_ASCII = {
    **{"○": "o", "□": "#", "✕": "x", "●": "*", "─": "-", "│": "|", "└": "+", "┴": "+", "┤": "+", "┊": ":", "…": "~"},
    **{"−": "-", "–": "-", "—": "-", "↑": "^", "→": ">", "×": "x", "±": "+/-", "°": " deg", "µ": "u", "≥": ">="},
    **{"≤": "<=", "█": "#", "▒": "=", "░": "-", "»": ">", "·": ".", "Ω": "ohm", "⌀": "dia ", "┄": "-"},
}


class Canvas:
    """A grid of `width` x `height` cells. Dots are counted from the upper left, x to 2·width − 1, y to 4·height − 1.

    Whatever lies outside is left out. With `ascii` a cell that holds dots shows the plain sign of its stroke.
    """

    def __init__(self, width: int, height: int, *, ascii: bool = False) -> None:
        self.width, self.height, self.ascii = max(width, 0), max(height, 0), ascii
        self._dots: dict[tuple[int, int], tuple[int, int, str, str]] = {}  # cell: layer, bits, role, plain sign
        self._text: dict[tuple[int, int], tuple[int, str, str]] = {}  # cell: layer, character, role

    def dot(self, x: float, y: float, role: str = "", layer: int = 0, sign: str = "*") -> None:
        """Set the dot nearest to x, y."""
        column, row = math.floor(x + 0.5), math.floor(y + 0.5)
        cell = (column // 2, row // 4)
        if not (0 <= cell[0] < self.width and 0 <= cell[1] < self.height):
            return
        bit = _BITS[row % 4][column % 2]
        old = self._dots.get(cell)
        if old is None or layer >= old[0]:
            self._dots[cell] = (layer, bit | (old[1] if old else 0), role, sign)
        else:
            self._dots[cell] = (old[0], old[1] | bit, old[2], old[3])

    def blob(self, x: float, y: float, role: str = "", layer: int = 0, sign: str = "*") -> None:
        """Set 2 x 2 dots at x, y, in ASCII one sign: a point that stands out from a line."""
        if self.ascii:
            self.dot(x, y, role, layer, sign)
            return
        for across in (0, 1):
            for down in (0, 1):
                self.dot(math.floor(x) + across, math.floor(y) + down, role, layer, sign)

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        role: str = "",
        layer: int = 0,
        dash: tuple[int, int] = SOLID,
        sign: str = "*",
    ) -> None:
        """Draw a straight line between two dots; the part outside costs nothing."""
        (x0, y0), (x1, y1) = start, end
        steps = max(1, math.ceil(max(abs(x1 - x0), abs(y1 - y0))))
        first, last = _inside(start, end, 2 * self.width - 1, 4 * self.height - 1)
        on, off = dash
        for i in range(math.floor(first * steps), math.ceil(last * steps) + 1):
            if i % (on + off) < on:
                self.dot(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps, role, layer, sign)

    def arc(
        self,
        centre: tuple[float, float],
        radius: float,
        from_deg: float = 0.0,
        to_deg: float = 360.0,
        role: str = "",
        layer: int = 0,
        dash: tuple[int, int] = SOLID,
        sign: str = ".",
    ) -> None:
        """Draw an arc, counter-clockwise from one angle to another (0 is to the right); a circle by default."""
        turn = math.radians(to_deg - from_deg)
        steps = min(max(8, math.ceil(radius * abs(turn))), 20_000)
        on, off = dash
        for i in range(steps + 1):
            if i % (on + off) < on:
                angle = math.radians(from_deg) + turn * i / steps
                x, y = centre[0] + radius * math.cos(angle), centre[1] - radius * math.sin(angle)
                self.dot(x, y, role, layer, sign)

    def words(self, text: str) -> str:
        """Return text as this canvas shows it: safe, one line, in ASCII if that is the mode."""
        shown = safe(unicodedata.normalize("NFC", text))
        if self.ascii:
            shown = "".join(_IN_ASCII.get(c) or _nearest_ascii(c) for c in shown)
        return "".join(_one_cell(c) for c in shown)

    def text(self, column: int, row: int, text: str, role: str = "words", layer: int = 100) -> None:
        """Write text over the dots, from a cell to the right; what does not fit is left out."""
        if not 0 <= row < self.height:
            return
        for character in self.words(text):
            wide = cell_len(character) == 2
            if column >= 0 and column + wide < self.width:
                self._put((column, row), character, role, layer)
                if wide:
                    self._put((column + 1, row), "", role, layer)
            column += 1 + wide

    def is_free(self, column: int, row: int, cells: int) -> bool:
        """Return whether all those cells exist and hold no text."""
        inside = 0 <= row < self.height and column >= 0 and column + cells <= self.width
        return inside and all((column + i, row) not in self._text for i in range(cells))

    def is_blank(self, column: int, row: int, cells: int) -> bool:
        """Return whether all those cells exist and hold neither text nor dots."""
        return self.is_free(column, row, cells) and all((column + i, row) not in self._dots for i in range(cells))

    def paste(self, other: "Canvas", column: int, row: int) -> None:
        """Lay another canvas on this one, its upper left cell at that cell."""
        for (x, y), dots in other._dots.items():
            if 0 <= x + column < self.width and 0 <= y + row < self.height:
                self._dots[x + column, y + row] = dots
        for (x, y), (layer, character, role) in other._text.items():
            if 0 <= x + column < self.width and 0 <= y + row < self.height:
                self._text[x + column, y + row] = (layer, character, role)

    def lines(self) -> list[list[Cell]]:
        """Return the rows from the top, each with one (character, role) per cell."""
        return [[self._cell(column, row) for column in range(self.width)] for row in range(self.height)]

    def _put(self, cell: tuple[int, int], character: str, role: str, layer: int) -> None:
        old = self._text.get(cell)
        if old is not None and layer < old[0]:
            return
        column, row = cell
        if old is not None and old[1] == "" and character != "":
            self._text[column - 1, row] = (old[0], " ", old[2])  # no half of a wide character is left behind
        if old is not None and cell_len(old[1]) == 2:
            self._text[column + 1, row] = (old[0], " ", old[2])
        self._text[cell] = (layer, character, role)

    def _cell(self, column: int, row: int) -> Cell:
        text = self._text.get((column, row))
        if text is not None:
            return text[1], text[2]
        dots = self._dots.get((column, row))
        if dots is None:
            return " ", ""
        return (dots[3] if self.ascii else chr(0x2800 + dots[1])), dots[2]


def text_width(text: str) -> int:
    """Return how many cells words of `Canvas.words` take."""
    return sum(cell_len(character) for character in text)


def shortened(text: str, cells: int) -> str:
    """Return words that take at most that many cells, the cut marked by '…'; a table beside a picture has them all."""
    if text_width(text) <= cells:
        return text
    while text and text_width(text) > max(cells - 1, 0):
        text = text[:-1]
    return f"{text.rstrip()}…" if cells > 0 else ""


def too_small(width: int, height: int, least: tuple[int, int]) -> list[list[Cell]] | None:
    """Return what stands in place of a picture that would not be legible at that size, or None."""
    if width >= least[0] and height >= least[1]:
        return None
    canvas = Canvas(width, height)
    words = f"picture needs {least[0]} x {least[1]} cells, has {width} x {height}".split(" ")
    row, column = 0, 0
    for word in words:
        if column and column + len(word) > width:
            row, column = row + 1, 0
        canvas.text(column, row, word)
        column += len(word) + 1
    return canvas.lines()


def _nearest_ascii(character: str) -> str:
    """Return the letter without its marks (u for ü), or '?'."""
    return (
        character
        if character.isascii()
        else unicodedata.normalize("NFKD", character).encode("ascii", "ignore").decode() or "?"
    )


def _one_cell(character: str) -> str:
    """Return a character that takes one cell by itself, or two as a wide letter; '?' for all that terminals differ on."""
    category = unicodedata.category(character)
    if category == "Zs":
        return " "
    plain = cell_len(character) == 1 and character.isprintable()
    return character if plain or (cell_len(character) == 2 and category == "Lo") else "?"


def _inside(start: tuple[float, float], end: tuple[float, float], right: float, bottom: float) -> tuple[float, float]:
    """Return the part of a line (as shares of its length) that may touch the canvas (Liang and Barsky's clipping)."""
    first, last = 0.0, 1.0
    for from_, to, limit in ((start[0], end[0], right), (start[1], end[1], bottom)):
        step = to - from_
        if step == 0:
            if not -1 <= from_ <= limit + 1:
                return 1.0, -1.0
            continue
        near, far = sorted(((-1 - from_) / step, (limit + 1 - from_) / step))
        first, last = max(first, near), min(last, far)
    return (first, last) if first <= last else (1.0, -1.0)
