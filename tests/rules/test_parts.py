"""Parts and holes in one line: what is read is what was meant, and what cannot be read is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import Problem
from refstd.rules.parts import Part, holes_from, holes_in_words, in_words, left, merged, of_job, parts_from


def one_to(last: int, letters: str = "") -> tuple[tuple[str, int], ...]:
    return tuple((letters, n) for n in range(1, last + 1))


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("SN-1: holes 1-12, 15; SN-2", (Part("SN-1", "", (*one_to(12), ("", 15))), Part("SN-2"))),
        ("tail 7, zone lower flange: holes 1 to 4", (Part("tail 7", "lower flange", one_to(4)),)),
        ("tail 7 zone web, hole 3", (Part("tail 7", "web", (("", 3),)),)),
        ("holes 15, 1–2", (Part("", "", (("", 1), ("", 2), ("", 15))),)),
        ("SN-1: holes a1-a3, B7", (Part("SN-1", "", (*one_to(3, "A"), ("B", 7))),)),
        ("crane jib, zone welds W1 to W9", (Part("crane jib", "welds W1 to W9"),)),
        ("SN-1;\nSN-2; ", (Part("SN-1"), Part("SN-2"))),
        ("wheel half 3", (Part("wheel half 3"),)),
    ],
)
def test_a_line_is_read_as_it_is_meant(line: str, parts: tuple[Part, ...]) -> None:
    assert parts_from(line) == parts


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("", "names no part"),
        (" ; ", "names no part"),
        ("SN-1, SN-2", "has a ','"),
        ("SN-1: web", "has a ':'"),
        ("SN-1: all holes", "a hole is missing"),
        ("SN-1: holes", "a hole is missing"),
        ("SN-1: holes 1-12,, 15", "a hole is missing"),
        ("SN-1: holes 1-12 and 15", "is not a hole"),
        ("SN-1: holes one", "is not a hole"),
        ("SN-1: holes 12-1", "runs backwards"),
        ("SN-1: holes 1-12, 5", "hole 5 stands twice"),
        ("SN-1: holes A1-B9", "from one letter to another"),
        ("SN-1: holes 1-99999", "more than 5000 holes"),
        ("SN-1: holes 1; sn-1: holes 2", "sn-1 stands twice"),
        ("SN-1 holes 1-3 not 2", "is not a hole"),
    ],
)
def test_what_cannot_be_read_is_refused_and_not_guessed(line: str, says: str) -> None:
    found = parts_from(line)
    assert isinstance(found, Problem), found
    assert says in found.wrong
    assert found.remedy


NAMES = st.text("ABCxyz 0123456789-/.", min_size=1, max_size=12).map(lambda t: " ".join(t.split())).filter(bool)
HOLES = st.sets(st.tuples(st.sampled_from(("", "A", "BL")), st.integers(0, 400)), max_size=40)


@given(HOLES.filter(bool))
def test_holes_in_words_are_read_back_as_the_same_holes(holes: set[tuple[str, int]]) -> None:
    """Planted: ranges joined over a gap of two; holes that nobody examined came back."""
    assert holes_from(holes_in_words(holes)) == tuple(sorted(holes))


@given(
    st.lists(st.builds(Part, NAMES, st.just("") | NAMES, HOLES.map(lambda h: tuple(sorted(h)))), min_size=1, max_size=4)
)
def test_parts_in_words_are_read_back_as_the_same_parts(parts: list[Part]) -> None:
    found = parts_from(in_words(merged(parts)))
    assert found == merged(parts)


JOB = (Part("SN-1", "", one_to(20)), Part("SN-2", "web"), Part("SN-2", "flange", one_to(4)), Part("SN-3"))


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("SN-1: holes 3-5", (0, Part("SN-1", "", (("", 3), ("", 4), ("", 5))))),
        ("sn-1", (0, Part("SN-1", "", one_to(20)))),
        ("SN-2, zone Flange", (2, Part("SN-2", "Flange", one_to(4)))),
        ("SN-3, zone left: holes 8", (3, Part("SN-3", "left", (("", 8),)))),
        ("SN-1: holes 19-21", "hole 21 of SN-1: not among those of the job"),
        ("SN-2", "does not say which part is meant"),
        ("SN-2, zone tip", "is not a zone of the job"),
        ("SN-9", "is not a part of the job"),
        ("holes 1-4", "does not say which part is meant"),
    ],
)
def test_what_a_lot_names_is_found_in_its_job_or_refused(said: str, meant: tuple[int, Part] | str) -> None:
    parts = parts_from(said)
    assert not isinstance(parts, Problem)
    found = of_job(JOB, parts[0])
    if isinstance(found, Problem):
        assert isinstance(meant, str)
        assert meant in found.wrong
        assert found.remedy
    else:
        assert found == meant


def test_of_a_job_with_one_part_the_holes_alone_will_do() -> None:
    assert of_job((Part("panel 4"),), Part("", "", one_to(3))) == (0, Part("panel 4", "", one_to(3)))


def test_what_is_left_of_a_job_is_what_no_lot_names() -> None:
    done = [(0, Part("SN-1", "", one_to(18))), (1, Part("SN-2", "web"))]
    assert in_words(left(JOB, done)) == "SN-1: holes 19-20; SN-2, zone flange: holes 1-4; SN-3"


def test_merged_names_each_hole_once_and_whole_parts_whole() -> None:
    parts = (Part("SN-1", "", one_to(3)), Part("SN-1", "", one_to(5)), Part("SN-3", "", one_to(2)), Part("SN-3"))
    assert in_words(merged(parts)) == "SN-1: holes 1-5; SN-3"
