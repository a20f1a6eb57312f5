"""Stored text is text on every screen: no markup, no control character, nothing that acts, whatever a store holds."""

from pathlib import Path

import pytest

from tests.tui.busy_lab import build
from tests.tui.driving import Driver, driven

SPICE = " [/x] [@click=app.quit]x[/]\n\x1b[31m漢字e\u0301\u202e"
CUSTODIAN = ("b", "p", "i", "a", "m", "d", "s", "g", "h", "f", "r", "u", "v", "x")
AUDITOR = ("o", "d", "s", "g", "f", "l", "y", "j", "v", "b", "p", "i", "a", "r", "u")
DEEPER = ("enter", "2", "3", "4", "5", "6", "7", "8", "9", "0", "enter", "2", "3", "m", "v", "escape")


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The busy lab with hostile text behind every free word. The screens only read it."""
    path = tmp_path_factory.mktemp("hostile") / "hostile.refstd"
    build(path, SPICE)
    return path


def refuse_harm(d: Driver) -> None:
    """Fail when the app ended, or a line carries a control character or something that acts on a click."""
    assert d.app.is_running
    assert d.app.return_code is None
    for strip in d.app.screen._compositor.render_strips():
        for segment in strip:
            assert not any(ord(c) < 32 or c in "\x7f\u202e" for c in segment.text), repr(segment.text)
            assert "@click" not in (segment.style.meta if segment.style else {})


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize(("person", "pages"), [("CUS", CUSTODIAN), ("AUD", AUDITOR)])
async def test_every_screen_shows_hostile_text_as_text(
    hostile: Path, person: str, pages: tuple[str, ...], size: tuple[int, int]
) -> None:
    seen = 0
    async with driven(hostile, person, size=size) as d:
        refuse_harm(d)
        for page in pages:
            await d.keys(page)
            for key in DEEPER:
                await d.keys(key)
                refuse_harm(d)
                seen += "[/x]" in d.text
            d.app.go_home()
            await d.settle()
    assert seen > 20


@pytest.mark.parametrize(
    ("kind", "number"),
    [("setup", "S-0001"), ("job", "J-1"), ("finding", "F-0007"), ("check", "C-0027"), ("procedure", "PR-1")],
)
async def test_every_record_page_shows_hostile_text_as_text(hostile: Path, kind: str, number: str) -> None:
    from refstd.tui.opening import page_of

    async with driven(hostile, "CUS") as d:
        page = page_of(kind, number)
        assert page is not None
        d.app.push_screen(page)
        await d.settle()
        for key in ("1", "2", "3", "4", "5"):
            await d.keys(key)
            refuse_harm(d)
        await d.keys("escape", "slash")
        await d.type("[/x]")
        refuse_harm(d)
        assert "[/x]" in d.text


async def test_forms_filled_from_hostile_records_open_and_close(hostile: Path) -> None:
    async with driven(hostile, "CUS") as d:
        for keys in (
            ("b", "enter", "e"),
            ("b", "enter", "c"),
            ("b", "enter", "4", "y"),
            ("r", "enter", "n"),
            ("m", "e"),
            ("u", "e"),
        ):
            await d.keys(*keys)
            refuse_harm(d)
            d.app.go_home()
            await d.settle()
