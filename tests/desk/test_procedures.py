"""A procedure's revisions: what they ask for beside their limits."""

import pytest

from refstd.base.errors import BadInput
from refstd.desk import procedures, requirements
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab
from tests import thin_thread as given

ASKED = {
    "scan": ({"largest_speed_mm_s": "50", "least_overlap_percent": "25", "directions": "2", "paragraph": "7.2"},),
    "occasions": ({"occasion": "end", "paragraph": "6.1"}, {"occasion": "power off", "paragraph": "6.2"}),
    "notch_advice": ({"fewest_sizes": "3", "bracketing": "yes", "paragraph": "3.4"},),
    "part_reading": ({"largest_phase_shift_deg": "10", "paragraph": "5.6"},),
    "vision_asked": ({"kind": "near vision", "every_months": "12", "paragraph": "2.2"},),
    "qualification_asked": ({"method": "ET", "level": "2", "sector": "aerospace", "paragraph": "2.1"},),
}


def asked(**rows: tuple[dict[str, str], ...]) -> requirements.Asked:
    """Return the rows of a revision as drafts."""
    return {name: [draft(requirements.ASKED[name][0], row, name) for row in found] for name, found in rows.items()}


@pytest.fixture
def ready(lab: Lab) -> Lab:
    given.people_and_material(lab)
    return lab


def test_what_a_procedure_asks_for_comes_back_as_filed(ready: Lab) -> None:
    given.procedure(ready, asked=asked(**ASKED))
    [shown] = procedures.procedures(ready, given.when())
    assert [(name, x.in_words(), x.paragraph) for name, x in shown.asks.each()] == [
        ("scan", "at most 50 mm/s, overlap of 25 % at least, in two directions", "7.2"),
        ("notches of the block", "3 sizes of notches at least, the target between two of them", "3.4"),
        ("reading on the part", "phase shift from block to part of 10° at most", "5.6"),
        ("qualification", "ET level 2 at least, sector aerospace", "2.1"),
        ("check on occasion", "end", "6.1"),
        ("check on occasion", "power off", "6.2"),
        ("test of vision", "near vision every 12 months", "2.2"),
    ]


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ({"scan": ({"directions": "1", "paragraph": "7"}, {"directions": "2", "paragraph": "8"})}, "scan: stands 2 times"),
        ({"occasions": ({"occasion": "end", "paragraph": "6"}, {"occasion": "end", "paragraph": "7"})}, "'end' stands twice"),
        ({"scan": ({"paragraph": "7"},)}, "asks for nothing"),
        ({"notch_advice": ({"paragraph": "7"},)}, "asks for nothing"),
        ({"scan": ({"least_overlap_percent": "100", "paragraph": "7"},)}, "leaves no way on"),
    ],
)  # fmt: skip
def test_a_requirement_that_says_nothing_or_two_things_is_refused(
    ready: Lab, rows: dict[str, tuple[dict[str, str], ...]], says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        given.procedure(ready, asked=asked(**rows))
    assert procedures.procedures(ready, given.when()) == ()
