"""Counting pieces: nothing is counted by guess, and every difference is told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import Problem
from refstd.base.text import key
from refstd.rules.pieces import Piece, counts_from, differences, in_words, pieces_from

NAMES = st.lists(st.text("abc ö0.", min_size=1, max_size=6).map(str.strip).filter(bool), max_size=4, unique_by=key)
PIECES = NAMES.flatmap(lambda names: st.tuples(*(st.builds(Piece, st.just(n), st.integers(0, 10_000)) for n in names)))


@given(PIECES)
def test_what_is_kept_is_read_back(pieces: tuple[Piece, ...]) -> None:
    assert pieces_from(in_words(pieces)) == pieces


@given(PIECES, st.data())
def test_a_count_tells_exactly_what_differs(pieces: tuple[Piece, ...], data: st.DataObject) -> None:
    back = tuple(Piece(p.name, data.draw(st.integers(0, 10_000))) for p in pieces)
    counted = counts_from([p.in_words() for p in back], {"K-1": pieces, "K-2": ()})
    assert counted == ({"K-1": back} if pieces else {})
    told = {d.name: (d.went_out, d.came_back) for d in differences(pieces, back)}
    assert told == {p.name: (p.count, b.count) for p, b in zip(pieces, back, strict=True) if p.count != b.count}


@pytest.mark.parametrize("text", ["shim", "shim=", "=3", "shim=x", "shim=-1", "shim=10001", "shim=1; Shim=2", "a:b=1"])
def test_what_cannot_be_read_as_a_count_is_refused(text: str) -> None:
    assert isinstance(pieces_from(text), Problem)


SHIMS, TIPS = Piece("shim", 3), Piece("tip", 2)


@pytest.mark.parametrize(
    ("lines", "wrong"),
    [
        ([], "not counted: K-1: shim, K-2: shim, K-2: tip"), (["tip=2"], "not counted: K-1: shim, K-2: shim"),
        (["shim=3"], "shim is a piece of several items"), (["K-1: tip=1"], "tip is no piece of these items that is counted"),
        (["K-1: shim=3; shim=3"], "shim stands twice"), (["K-1: shim=3", "k-1: SHIM=2"], "SHIM of K-1 is counted twice"),
        (["tape=1"], "tape is no piece of these items that is counted"),
    ],
)  # fmt: skip
def test_a_count_that_leaves_something_open_is_refused(lines: list[str], wrong: str) -> None:
    found = counts_from(lines, {"K-1": (SHIMS,), "K-2": (SHIMS, TIPS)})
    assert isinstance(found, list)
    assert found[0].wrong == wrong
    assert found[0].remedy
