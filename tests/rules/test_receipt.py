"""Receipt inspection: every point is answered, a limit decides on either side, and what is needed is never left out."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.quantity import Unit
from refstd.register.equipment import KINDS
from refstd.rules.receipt import (
    IN_ORDER,
    NOT_IN_ORDER,
    NOT_LOOKED_AT,
    POINTS,
    Answer,
    Point,
    Received,
    inspect,
    points_of,
    received,
)

SEEN = Answer("", IN_ORDER, "", None, "", None, None, "")


def answer(point: Point) -> Answer:
    """Return an answer that is in order."""
    if not point.measured:
        return replace(SEEN, point=point.name)
    return Answer(point.name, "", "", Decimal("5.0"), point.units[0], Decimal("4.0"), Decimal("6.0"), "order 7")


def answers(kind: str, notches: tuple[str, ...] = (), **other: Answer) -> list[Answer]:
    found = [answer(p) for p in points_of(kind, notches)]
    return [other.get(a.point.replace(" ", "_").replace("-", "_"), a) for a in found]


def test_every_kind_has_points_in_known_units_and_something_that_is_needed() -> None:
    assert set(POINTS) == set(KINDS)
    for kind, points in POINTS.items():
        assert any(p.needed for p in points), kind
        assert {u for p in points for u in p.units} <= set(Unit)


def test_what_is_asked_of_a_probe_and_of_each_notch_of_a_block() -> None:
    """What a written practice asks when a probe or a block comes in (common practice, no source)."""
    assert {p.name for p in points_of("probe", ())} >= {
        "signal to noise", "noise peak to peak", "circuit", "lift-off", "response", "effective width", "tilt",
    }  # fmt: skip
    block = [p.name for p in points_of("block", ("0.5 mm", "1.0 mm"))]
    assert block == ["certificate", "depth of notch 0.5 mm", "depth of notch 1.0 mm", "conductivity", "serial number"]
    assert "firmware" in [p.name for p in points_of("instrument", ())]


@pytest.mark.parametrize("kind", KINDS)
def test_all_in_order_is_as_ordered(kind: str) -> None:
    results, problems = inspect(points_of(kind, ("0.5 mm",)), answers(kind, ("0.5 mm",)))
    assert (problems, received(results)) == ([], Received.AS_ORDERED)


def test_one_point_out_of_order_decides() -> None:
    """Planted bug it caught: the last point alone decided."""
    worn = replace(SEEN, point="circuit", outcome=NOT_IN_ORDER, found="coils differ")
    results, problems = inspect(points_of("probe", ()), answers("probe", circuit=worn))
    assert (problems, received(results)) == ([], Received.NOT_AS_ORDERED)
    assert "circuit: not in order; coils differ" in [r.in_words() for r in results]


@given(
    st.decimals(-100, 100, places=2),
    st.decimals(-100, 100, places=2) | st.none(),
    st.decimals(-100, 100, places=2) | st.none(),
)
def test_a_measured_point_is_in_order_within_its_limits_on_them_included(
    value: Decimal, lower: Decimal | None, upper: Decimal | None
) -> None:
    """Law, against plain arithmetic. Planted bug it caught: a value on its upper limit was out."""
    measured = Answer("effective width", "", "", value, "mm", lower, upper, "order 7")
    results, problems = inspect(points_of("probe", ()), answers("probe", effective_width=measured))
    if (lower is None and upper is None) or (lower is not None and upper is not None and lower > upper):
        assert [p.where for p in problems] == ["effective width"]
        return
    expected = not ((lower is not None and value < lower) or (upper is not None and value > upper))
    assert [r.outcome == IN_ORDER for r in results if r.point.name == "effective width"] == [expected]


WIDTH = Answer("effective width", "", "", Decimal(5), "mm", Decimal(4), None, "order 7")


@pytest.mark.parametrize(
    ("given_answer", "wrong"),
    [
        (replace(WIDTH, value=None), "has no value"),
        (replace(WIDTH, unit="dB"), "is measured in mm"),
        (replace(WIDTH, lower=None), "has no limit"),
        (replace(WIDTH, limit_source=""), "has a limit without its source"),
        (replace(WIDTH, outcome=IN_ORDER), "value and limit decide"),
        (replace(WIDTH, outcome=NOT_LOOKED_AT), "a reason is needed and no value"),
        (replace(WIDTH, outcome=NOT_LOOKED_AT, value=None), "a reason is needed and no value"),
    ],
)
def test_a_measured_point_has_value_unit_limit_and_source_or_a_reason(given_answer: Answer, wrong: str) -> None:
    """Planted bug it caught: a limit without its source was taken."""
    _, problems = inspect(points_of("probe", ()), answers("probe", effective_width=given_answer))
    [problem] = problems
    assert wrong in problem.wrong
    assert problem.remedy


@pytest.mark.parametrize(
    ("given_answer", "wrong"),
    [
        (replace(SEEN, point="circuit", outcome=""), "has no outcome"),
        (replace(SEEN, point="circuit", outcome=NOT_IN_ORDER), "nobody says what was found"),
        (replace(SEEN, point="circuit", value=Decimal(1)), "is looked at, not measured"),
        (replace(SEEN, point="circuit", outcome=NOT_LOOKED_AT, found="no time"), "may not be left out"),
    ],
)
def test_a_point_that_is_looked_at_has_an_outcome(given_answer: Answer, wrong: str) -> None:
    """Planted bug it caught: an item was received without anybody having looked at what it cannot be judged without."""
    _, problems = inspect(points_of("probe", ()), answers("probe", circuit=given_answer))
    assert [wrong in p.wrong for p in problems] == [True]


def test_what_may_be_left_out_says_why_and_takes_nothing_away() -> None:
    left = Answer("tilt", NOT_LOOKED_AT, "no goniometer", None, "", None, None, "")
    results, problems = inspect(points_of("probe", ()), answers("probe", tilt=left))
    assert (problems, received(results)) == ([], Received.AS_ORDERED)


def test_every_point_is_answered_once_and_no_other() -> None:
    points = points_of("instrument", ())
    full = answers("instrument")
    _, missing = inspect(points, full[1:])
    assert [(p.where, p.wrong) for p in missing] == [("firmware", "is not answered")]
    _, twice = inspect(points, [*full, full[0]])
    assert "is answered twice" in [p.wrong for p in twice]
    _, strange = inspect(points, [*full, replace(SEEN, point="colour")])
    assert [(p.where, p.wrong) for p in strange] == [("colour", "is not a point of this kind")]
