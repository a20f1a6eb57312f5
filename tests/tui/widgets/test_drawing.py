"""The drawings in a running screen: at their size, anew on resize, safe, and readable without colour."""

import os
import subprocess
import sys

import pytest
from textual.app import App, ComposeResult

from refstd.tui.widgets.bars import BarsDrawing, rows_needed
from refstd.tui.widgets.canvas import Cell
from refstd.tui.widgets.control import ControlDrawing
from refstd.tui.widgets.drawing import DARK, LIGHT, TERMINAL, Drawing, as_text
from refstd.tui.widgets.plane import PlaneDrawing
from tests.tui.widgets.pictures import BARS, CONTROL, PLANE


class OneDrawing(App[None]):
    def __init__(self, drawing: Drawing, height: str = "1fr") -> None:
        super().__init__()
        self.drawing = drawing
        drawing.styles.height = height

    def compose(self) -> ComposeResult:
        yield self.drawing


def screen_text(app: App[None]) -> list[str]:
    return ["".join(segment.text for segment in strip) for strip in app.screen._compositor.render_strips()]


def plane() -> PlaneDrawing:
    drawing = PlaneDrawing()
    drawing.picture = PLANE
    return drawing


@pytest.mark.parametrize("size", [(40, 14), (80, 24), (120, 40)])
async def test_the_screen_shows_the_picture_at_its_size_and_anew_after_a_resize(size: tuple[int, int]) -> None:
    drawing = plane()
    app = OneDrawing(drawing)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        assert screen_text(app) == ["".join(c for c, _ in line) for line in drawing.drawn(*size)]
        await pilot.resize_terminal(90, 30)
        await pilot.pause()
        assert screen_text(app) == ["".join(c for c, _ in line) for line in drawing.drawn(90, 30)]


async def test_a_new_picture_or_mode_is_drawn_at_once_and_none_is_blank() -> None:
    drawing = ControlDrawing()
    app = OneDrawing(drawing)
    async with app.run_test(size=(80, 24)) as pilot:
        assert not "".join(screen_text(app)).strip()
        drawing.picture = CONTROL
        await pilot.pause()
        assert "X out of limits: 3 of 60" in screen_text(app)[0]
        drawing.plain_ascii = True
        await pilot.pause()
        assert "".join(screen_text(app)).isascii()


async def test_bars_are_as_high_as_they_need_to_be() -> None:
    drawing = BarsDrawing()
    drawing.picture = BARS
    app = OneDrawing(drawing, "auto")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert drawing.size.height == rows_needed(BARS)


async def test_the_palette_follows_the_theme_and_never_mixes_rgb_into_the_terminals_own_colours() -> None:
    drawing = plane()
    app = OneDrawing(drawing)
    async with app.run_test(size=(80, 24)) as pilot:
        for theme, palette in (("textual-dark", DARK), ("textual-light", LIGHT), ("ansi-dark", TERMINAL)):
            app.theme = theme
            await pilot.pause()
            assert drawing.render() == as_text(drawing.drawn(80, 24), palette)
    assert "#" not in repr(TERMINAL)


def test_text_from_records_is_never_read_as_markup() -> None:
    cells: list[list[Cell]] = [[(c, "new") for c in "[red]x[/] [/y]"]]
    assert as_text(cells).plain == "[red]x[/] [/y]"


def test_without_colour_the_signs_still_say_what_fails() -> None:
    """NO_COLOR is read when an app starts, so it is set for a process of its own."""
    code = (
        "import asyncio\n"
        "from tests.tui.widgets.test_drawing import OneDrawing, plane, screen_text\n"
        "async def go():\n"
        "    app = OneDrawing(plane())\n"
        "    async with app.run_test(size=(80, 24)) as pilot:\n"
        "        await pilot.pause()\n"
        "        strips = app.screen._compositor.render_strips()\n"
        "        triplets = {c.triplet for s in strips for g in s.apply_filter(app._filters[-1], app.background_colors[1])"
        " if g.style for c in (g.style.color, g.style.bgcolor) if c is not None and c.triplet is not None}\n"
        "        assert all(max(t) - min(t) <= 1 for t in triplets), triplets\n"
        "        print('\\n'.join(screen_text(app)))\n"
        "asyncio.run(go())\n"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "NO_COLOR": "1", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert shown.returncode == 0, shown.stderr
    assert "✕N3!" in shown.stdout
    assert "! outside the limit" in shown.stdout
