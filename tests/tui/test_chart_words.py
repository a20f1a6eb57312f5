"""A chart as data: what is hollow, what is out, the plane about the baseline, the date with its caution."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from refstd.desk.charts import LOOK_BEFORE_CAUTION, NotchChart, quantities
from refstd.desk.drift import NotchDrift
from refstd.rules.drift import drift_of
from refstd.rules.lookbefore import BaselineLimit, look_before
from refstd.rules.series import Answers
from refstd.tui import chartwords
from tests.rules.test_drift import answers

ZONE = ZoneInfo("Europe/Dublin")
LIMIT = BaselineLimit(-2.0, "-2 dB", "PR-1, 7.3")
BEGUN = datetime(1970, 1, 1, tzinfo=UTC) - timedelta(days=1)


def chart(a: Answers, events: tuple[Any, ...] = (), limits: tuple[BaselineLimit, ...] = ()) -> NotchChart:
    drift = drift_of(a)
    setup: Any = SimpleNamespace(
        number="S-1", instrument="I-1", probe="P-1", block="B-1", in_words=lambda: "S-1: I-1, P-1, B-1"
    )
    d = NotchDrift(setup, "0.5 mm", 0.5, BEGUN, drift, events, look_before(drift.amplitude, limits))
    return NotchChart(d, None, {}, ())


def event(day: float, words: str, breaks: bool = False) -> Any:
    return SimpleNamespace(
        happened_at=datetime(1970, 1, 1, tzinfo=UTC) + timedelta(days=day), breaks=breaks, in_words=lambda: words
    )


def test_a_check_without_a_set_up_of_its_own_is_hollow_and_never_out() -> None:
    """Planted bug that it caught: one beyond a limit was marked out although it is not judged."""
    shown = chart(answers([0.1, -0.1] * 6 + [5.0, 0.0], sd=0.1, follows=frozenset({12})))
    (amplitude,) = quantities(shown.drift)
    picture = chartwords.chart_of(shown, amplitude, ZONE, 0)
    assert [p.hollow for p in picture.points] == [False] * 12 + [True, False]
    assert not any(p.out for p in picture.points)
    assert chartwords.point_row(shown, amplitude, 12, ZONE).cells[-1].startswith("○ shown, not judged")


def test_a_check_that_cannot_be_compared_is_not_drawn_and_its_row_says_why() -> None:
    a = answers([0.1, -0.1] * 6, sd=0.1)
    a.deviation_db[3] = math.nan
    shown = chart(replace(a, why_not={3: "is not comparable: the gains differ"}))
    (amplitude,) = quantities(shown.drift)
    assert len(chartwords.chart_of(shown, amplitude, ZONE, 0).points) == 11
    row = chartwords.point_row(shown, amplitude, 3, ZONE)
    assert row.cells[-1] == "not judged: is not comparable: the gains differ"
    assert row.tone == "quiet"


def test_events_have_letters_in_time_order_and_breaks_have_their_words() -> None:
    happened = (event(50, "P-1: tip cleaned"), event(20, "P-1: tape renewed"), event(30, "I-1: repaired", breaks=True))
    shown = chart(answers([0.1, -0.1] * 6, sd=0.1), happened)
    (amplitude,) = quantities(shown.drift)
    picture = chartwords.chart_of(shown, amplitude, ZONE, 0)
    assert picture.events == ((20.0, "a"), (50.0, "b"))
    assert [words for _, words in picture.breaks] == ["baseline set", "I-1: repaired"]
    assert "a 1970-01-21 P-1: tape renewed; b 1970-02-20 P-1: tip cleaned" in chartwords.chart_about(
        shown, amplitude, ZONE
    )


def test_the_plane_has_the_baselines_mean_at_its_origin_and_its_direction_to_the_right() -> None:
    """Twice the amplitude (6.0206 dB) lies 100 % along; turned by 90° as well it lies 100 % back and 200 % up."""
    a = answers([20 * math.log10(2), 20 * math.log10(2)], sd=0.1)
    found = chartwords.plane_of(chart(replace(a, deviation_deg=np.array([0.0, 90.0]))), 1)
    assert found is not None
    points = {s.name: s.points for s in found.series}
    (first,) = points["newest 1"]
    (chosen,) = points["the chosen check"]
    assert (first.x, first.y) == pytest.approx((100.0, 0.0))
    assert (chosen.x, chosen.y) == pytest.approx((-100.0, 200.0))
    assert chartwords.plane_of(chart(a), 1) is None


def test_a_date_to_look_before_comes_with_its_caution_and_no_date_with_the_reason() -> None:
    falling = answers([-0.05 * i + (0.03 if i % 2 else -0.03) for i in range(30)], sd=0.05)
    dated, undated = chart(falling, limits=(LIMIT,)), chart(falling)
    (amplitude,) = quantities(dated.drift)
    says = chartwords.method_words(dated, amplitude, ZONE)
    assert "look at it before 19" in says
    assert "PR-1, 7.3" in says
    assert LOOK_BEFORE_CAUTION in says
    without = chartwords.method_words(undated, amplitude, ZONE)
    assert "no date: no procedure in use limits this notch" in without
    assert LOOK_BEFORE_CAUTION not in without
