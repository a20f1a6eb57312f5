"""The list: every line fits its width exactly, the cursor keeps to its record, and length costs nothing to draw."""

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.app import App, ComposeResult

from refstd.tui.widgets.rows import Col, Row, Rows, fitted, heading


@given(st.text(max_size=40), st.integers(1, 30), st.booleans())
def test_any_text_fills_its_column_exactly_and_holds_no_control_character(text: str, width: int, right: bool) -> None:
    shown = fitted(text, width, right=right)
    assert cell_len(shown) == width
    assert not any(ord(c) < 32 for c in shown)


class ListApp(App[None]):
    """A list and nothing else."""

    def compose(self) -> ComposeResult:
        yield Rows(Col("number", 8), Col("what"))


def row(n: int) -> Row:
    return Row((f"N-{n}", f"thing {n}"), ("item", f"N-{n}"))


async def test_the_cursor_skips_headings_and_stays_on_its_record_when_rows_come_and_go() -> None:
    app = ListApp()
    async with app.run_test(size=(40, 12)) as pilot:
        rows = app.query_one(Rows)
        rows.fill([heading("first"), row(1), row(2), heading("second"), row(3)])
        await pilot.press("down", "down")
        assert rows.row == row(3)
        rows.fill([row(9), heading("second"), row(3), row(1)])
        assert rows.row == row(3)
        await pilot.press("home", "up")
        assert rows.row == row(9)
        rows.filter("thing 1")
        assert rows.shown == (row(1),)
        rows.filter("no such thing")
        assert rows.row is None


async def test_a_hundred_thousand_rows_are_drawn_only_where_they_are_seen() -> None:
    drawn = 0

    class Counting(Rows):
        def render_line(self, y: int):  # type: ignore[no-untyped-def]
            nonlocal drawn
            drawn += 1
            return super().render_line(y)

    class CountingApp(App[None]):
        def compose(self) -> ComposeResult:
            yield Counting(Col("number", 8), Col("what"))

    app = CountingApp()
    async with app.run_test(size=(60, 20)) as pilot:
        rows = app.query_one(Rows)
        rows.fill([row(n) for n in range(100_000)])
        await pilot.press("end")
        assert rows.row == row(99_999)
        await pilot.pause()
        assert 0 < drawn < 500
