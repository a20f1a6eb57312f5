"""Text for a terminal or a pipe: everything is there, nothing is cut, nothing reaches the terminal raw."""

import unicodedata
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.printing.sheet import Column, Kind, Sheet
from refstd.printing.text import display_width, folded, heading_of, to_text
from tests.printing.sheets import LONG_WORD, SIGNS, due_sheet, hard_sheet


def one_column(*cells: str, kind: Kind = Kind.TEXT) -> Sheet:
    return replace(due_sheet(1), columns=(Column("a", "A", kind),), rows=tuple((c,) for c in cells), charts=())


def body(text: str) -> str:
    """Return the text with all blanks gone, so that wrapping does not matter."""
    return "".join(text.split())


def test_the_heading_says_what_was_asked_of_whom_and_at_which_state_of_the_log() -> None:
    lines = to_text(due_sheet(1)).split("\n")
    assert lines[:6] == [
        "Due list",
        "Calibration room Nord (invented)",
        "as at 2026-11-25T09:30:00+00:00 (UTC), day 2026-11-25",
        "log 812 3f9a2c7b41de, rules version 3",
        "within: 400 days",
        "kinds: all",
    ]


def test_a_pipe_gets_one_line_a_row_and_nothing_cut() -> None:
    sheet = hard_sheet()
    lines = to_text(sheet).split("\n")
    for row in sheet.rows:
        assert sum(line.startswith(row[0]) for line in lines) == 1
    text = "\n".join(lines)
    assert LONG_WORD in text
    assert SIGNS in text
    assert "[red]x[/] *b* #panic()" in text
    assert "first line ¶ second line" in text


@pytest.mark.parametrize("width", [20, 40, 80, 120, 200])
@pytest.mark.parametrize("sheet", [hard_sheet(), due_sheet()], ids=["hard", "due"])
def test_no_line_is_wider_than_the_terminal_and_no_word_is_lost(sheet: Sheet, width: int) -> None:
    text = to_text(sheet, width)
    assert max(map(display_width, text.split("\n"))) <= width
    for row in sheet.rows:
        assert body(row[0]) in body(text)
    if width >= 120:
        return
    for word in ("notch", "procedure") if sheet.schema == "refstd.hard/1" else ("primary", "verification"):
        assert word in text, f"'{word}' was broken although it fits"


def test_columns_too_many_for_the_width_become_blocks_of_name_and_value() -> None:
    text = to_text(due_sheet(2), 80)
    assert "Asset          RB-0001\n" in text
    assert "Interval from  PR-200 rev C, para 4.3\n" in text
    assert "---" not in text


def test_a_narrow_terminal_is_spared_what_is_empty_and_a_pipe_gets_every_column() -> None:
    """Planted bug it caught: a line 'Due back' with nothing behind it for each of forty probes."""
    sheet = due_sheet(3)
    last, state = ([c.key for c in sheet.columns].index(k) for k in ("last_on", "state"))
    rows = [list(row) for row in sheet.rows]
    for n, row in enumerate(rows):
        row[last] = ""
        row[state] = "" if n else "overdue"
    sheet = replace(sheet, rows=tuple(map(tuple, rows)))
    heads = [heading_of(sheet.columns[i]) for i in (last, state)]
    for width in (40, 80):
        names = [line[: len(heads[0]) + 1].strip() for line in to_text(sheet, width).split("\n")]
        assert names.count(heads[0]) == 0
        assert names.count(heads[1]) == 1
    assert all(head in to_text(sheet) for head in heads)


@given(st.text(alphabet="ab  日\u0301", max_size=80), st.integers(0, 8), st.integers(20, 60))
def test_a_line_is_folded_between_words_under_its_indent_and_loses_nothing(text: str, indent: int, room: int) -> None:
    line = " " * indent + text
    lines = folded(line, room).split("\n")
    assert max(map(display_width, lines)) <= room
    assert body("".join(lines)) == body(line)
    assert folded(line, None) == line


def test_a_folded_line_hangs_under_its_indent() -> None:
    """Planted bug it caught: words cut by the terminal at its edge."""
    assert folded("  P-1 is held: came back not sound", 20) == "  P-1 is held:\n    came back not\n    sound"


def test_numbers_are_right_aligned_under_a_heading_with_their_unit() -> None:
    lines = to_text(due_sheet(20)).split("\n")
    head = next(line for line in lines if line.startswith("Asset"))
    edge = head.index("(days)") + len("(days)")
    figures = [line[:edge].split()[-1] for line in lines if line.startswith("RB-")]
    assert figures == [str(n * 7 - 40) for n in range(1, 21)]


def test_notes_stand_at_the_foot_and_a_chart_is_named() -> None:
    text = to_text(due_sheet(1))
    assert text.index("chart in the PDF and HTML: Setup S-012") < text.index("- Due dates: last date")
    assert text.endswith("see the look-back report.\n")


def test_a_sheet_without_rows_says_so() -> None:
    assert "\nno rows\n" in to_text(replace(due_sheet(1), rows=()), 80)


@given(st.lists(st.text(max_size=60), min_size=1, max_size=4), st.one_of(st.none(), st.integers(20, 120)))
def test_no_control_character_of_a_record_reaches_the_terminal(cells: list[str], width: int | None) -> None:
    text = to_text(one_column(*cells), width)
    assert not [c for c in text if unicodedata.category(c) in ("Cc", "Cs") and c != "\n"]
    assert not set("\u202e\u2066\u200b\u200f\ufeff") & set(text)


def test_wide_and_combining_characters_keep_the_columns_aligned() -> None:
    # Unicode Standard Annex 11: Wide characters take two cells. From memory: no combining mark takes one.
    sheet = replace(
        due_sheet(1),
        columns=(Column("a", "A"), Column("b", "B")),
        rows=(("日本", "x"), ("e\u0301e", "x"), ("abcd", "x")),
    )
    table = to_text(sheet).split("\n\n")[1]
    assert table.split("\n")[2:] == ["日本  x", "e\u0301e    x", "abcd  x"]
