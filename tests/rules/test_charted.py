"""The charts of a single series fire where published examples say, and count from the last break."""

from typing import Any

import numpy as np

from refstd.base.quantity import Unit
from refstd.rules.charted import charted
from refstd.rules.drift import Course
from tests.published import e_handbook as published


def course(values: list[float], half_width: float | None, since: int = 0) -> Course:
    n = len(values)
    fields: dict[str, Any] = {
        "unit": Unit.DB, "days": 7.0 * np.arange(n), "values": np.array(values, dtype=float), "chosen": np.arange(n),
        "since": since, "half_width": half_width, "line": None, "flags": (),
    }  # fmt: skip
    return Course(**fields)


def fires(values: list[float], half_width: float, since: int = 0) -> dict[str, tuple[int, ...]]:
    found = charted(course(values, half_width, since))
    assert found is not None
    return {f.says.split(",")[0].split(":")[0]: f.at for f in found.fired}


def test_the_cusum_signals_from_the_point_of_the_published_example_on() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.3: slack 0.3175 = 0.5 × σ of 0.635; our decision of 5σ lies below the printed one, and
    the sums pass both at the same point. Planted bug that it caught: a decision of 5 units in place of 5σ, a point late."""
    values = [x - published.CUSUM_TARGET for x in published.CUSUM_DATA]
    at = fires(values, 3 * published.CUSUM_SLACK / 0.5)["CUSUM"]
    assert at == tuple(range(published.CUSUM_FIRST_SIGNAL - 1, len(values)))


def test_the_average_leaves_its_limits_when_its_definition_says() -> None:
    """1.2σ from the start: the average is 1.2σ·(1 − 0.8ⁿ), the limit σ·√(1 − 0.8²ⁿ) (e-Handbook 6.3.2.4, solved by hand):
    beyond once 0.8ⁿ < 11/61, from the eighth value on. Planted bug that it caught: limits settled from the first value on."""
    assert fires([1.2] * 10, 3.0)["EWMA"] == (7, 8, 9)


def test_a_run_of_eight_on_one_side_fires_the_fourth_western_electric_rule_alone() -> None:
    """Western Electric, Statistical Quality Control Handbook (1956), MEMORY."""
    found = fires([0.3] * 9, 3.0)
    assert found["run rule 4"] == (7, 8)
    assert found["run rule 1"] == found["run rule 2"] == found["run rule 3"] == ()


def test_what_lies_before_a_break_is_forgotten_and_places_count_from_the_first_value() -> None:
    """Planted bug that it caught: places counted from the break named the wrong checks."""
    found = fires([4.0] * 6 + [0.0] * 4 + [3.5], 3.0, since=6)
    assert found["run rule 1"] == (10,)
    assert found["CUSUM"] == ()
    assert set().union(*found.values()) == {10}


def test_every_rule_names_its_source_and_none_is_asked_without_limits() -> None:
    found = charted(course([0.0] * 8, 3.0))
    assert found is not None
    assert all(f.source for f in found.fired)
    assert {f.source.split(";")[-1].strip() for f in found.fired} == {
        "NIST/SEMATECH e-Handbook 6.3.2.4", "NIST/SEMATECH e-Handbook 6.3.2.3", "e-Handbook 6.3.2",
    }  # fmt: skip
    assert charted(course([0.0] * 8, None)) is None
    assert charted(course([0.0] * 8, 3.0, since=8)) is None
