"""The canvas: dots land where they are set, nothing falls outside, text is one cell a letter and safe."""

import math

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from refstd.tui.widgets.canvas import DASHED, Canvas, Cell, shortened, text_width, too_small

# The Unicode Standard, code chart U+2800: dot numbers 1 to 8 are bits 0 to 7. (MEMORY) Dots 1-3, 7 are on the left.
DOT_PLACES = {0: (0, 0), 1: (0, 1), 2: (0, 2), 3: (1, 0), 4: (1, 1), 5: (1, 2), 6: (0, 3), 7: (1, 3)}


def dots(lines: list[list[Cell]]) -> set[tuple[int, int]]:
    """Return the dots of a drawing, decoded from its braille characters."""
    return {
        (2 * column + DOT_PLACES[bit][0], 4 * row + DOT_PLACES[bit][1])
        for row, line in enumerate(lines)
        for column, (character, _) in enumerate(line)
        if character and 0x2800 <= ord(character) <= 0x28FF
        for bit in range(8)
        if ord(character) - 0x2800 >> bit & 1
    }


def plain(lines: list[list[Cell]]) -> str:
    return "\n".join("".join(character for character, _ in line) for line in lines)


@given(st.sets(st.tuples(st.integers(-3, 20), st.integers(-3, 24))))
def test_each_dot_stands_where_it_was_set_and_none_outside(places: set[tuple[int, int]]) -> None:
    canvas = Canvas(8, 5)
    for place in places:
        canvas.dot(*place)
    assert dots(canvas.lines()) == {(x, y) for x, y in places if 0 <= x < 16 and 0 <= y < 20}


def test_a_circle_is_as_wide_as_high_in_dots() -> None:
    canvas = Canvas(40, 20)
    canvas.arc((40, 40), 30)
    seen = dots(canvas.lines())
    assert {max(x for x, _ in seen) - min(x for x, _ in seen), max(y for _, y in seen) - min(y for _, y in seen)} == {
        60
    }
    assert all(abs(math.hypot(x - 40, y - 40) - 30) <= 0.75 for x, y in seen)


def test_an_arc_runs_counter_clockwise_from_the_right() -> None:
    canvas = Canvas(40, 20)
    canvas.arc((40, 40), 30, 0, 90)
    assert {(x >= 40, y <= 40) for x, y in dots(canvas.lines())} == {(True, True)}


ends = st.tuples(st.integers(-200, 200), st.integers(-200, 200))


@given(ends, ends)
def test_a_line_keeps_to_its_course_and_clipping_loses_no_dot(start: tuple[int, int], end: tuple[int, int]) -> None:
    canvas = Canvas(10, 5)
    canvas.line(start, end)
    steps = max(1, abs(end[0] - start[0]), abs(end[1] - start[1]))
    course = {
        tuple(math.floor(a + (b - a) * i / steps + 0.5) for a, b in zip(start, end, strict=True))
        for i in range(steps + 1)
    }
    assert dots(canvas.lines()) == {(x, y) for x, y in course if 0 <= x < 20 and 0 <= y < 20}


def test_a_line_from_very_far_away_is_drawn_at_once() -> None:
    canvas = Canvas(10, 5)
    canvas.line((-1e9, 10), (1e9, 10))
    assert len(dots(canvas.lines())) == 20


def test_dashes_leave_gaps() -> None:
    canvas = Canvas(7, 1)
    canvas.line((0, 0), (13, 0), dash=DASHED)
    assert dots(canvas.lines()) == {(x, 0) for x in (0, 1, 2, 3, 7, 8, 9, 10)}


def test_the_highest_layer_gives_the_cell_its_role_whatever_the_order() -> None:
    for layers in ((1, 2), (2, 1)):
        canvas = Canvas(1, 1)
        for layer in layers:
            canvas.dot(0, layer, f"role {layer}", layer)
        assert canvas.lines() == [[(chr(0x2800 + 0b110), "role 2")]]


def test_text_stands_over_dots_and_the_higher_layer_over_the_lower() -> None:
    canvas = Canvas(5, 1)
    canvas.line((0, 0), (9, 0))
    canvas.text(1, 0, "abc", layer=100)
    canvas.text(2, 0, "X", layer=200)
    canvas.text(1, 0, "-----", layer=50)
    assert plain(canvas.lines()) == "⠉aXc-"


@given(st.lists(st.tuples(st.integers(-5, 12), st.integers(-1, 3), st.text(max_size=8)), max_size=6), st.booleans())
def test_any_text_anywhere_leaves_every_row_exactly_as_wide_as_the_canvas(
    texts: list[tuple[int, int, str]], ascii: bool
) -> None:
    canvas = Canvas(10, 3, ascii=ascii)
    for column, row, text in texts:
        canvas.text(column, row, text)
    lines = canvas.lines()
    assert [len(line) for line in lines] == [10, 10, 10]
    assert [cell_len("".join(c for c, _ in line)) for line in lines] == [10, 10, 10]
    shown = plain(lines).replace("\n", "")
    assert shown.isprintable()
    assert not ascii or shown.isascii()


def test_ascii_mode_shows_signs_and_words_without_braille() -> None:
    canvas = Canvas(30, 2, ascii=True)
    canvas.line((0, 0), (9, 0), sign="-")
    canvas.text(0, 1, "± 2° µ Ω ≥ ○ □ ✕ für")
    assert plain(canvas.lines()) == "-----" + " " * 25 + "\n" + "+/- 2 deg u ohm >= o # x fur".ljust(30)


@given(st.text(max_size=30), st.integers(0, 20))
def test_shortened_words_fit_and_whole_ones_are_left_alone(text: str, cells: int) -> None:
    words = Canvas(1, 1).words(text)
    assert text_width(shortened(words, cells)) <= cells
    if text_width(words) <= cells:
        assert shortened(words, cells) == words


@given(st.integers(0, 50), st.integers(0, 20))
def test_too_small_a_picture_says_what_it_needs(width: int, height: int) -> None:
    lines = too_small(width, height, (30, 10))
    if width >= 30 and height >= 10:
        assert lines is None
        return
    assert lines is not None
    assert [len(line) for line in lines] == [width] * height
    if width >= 10 and height >= 5:
        assert f"30 x 10 cells, has {width} x {height}".split() == plain(lines).split()[2:]
