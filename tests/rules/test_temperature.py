"""Temperature of part against block: the procedure's band is a limit; 3 °C in conductivity work is advice (MIL-STD-1537C, 5.1.2: READ)."""

from dataclasses import replace
from decimal import Decimal

import pytest

from refstd.base.reason import Reason, Weight
from refstd.rules.readings import JobQuestion
from refstd.rules.response import Outcome, judge_response
from tests.rules.occasions import asked, limit, readings, target

PUBLISHED_C, PUBLISHED_F = Decimal("3"), Decimal("5.4")  # MIL-STD-1537C, 5.1.2, as printed


def question(
    block: str | None, part: str | None, band: str | None, occasion: str = "start", *, conductivity: bool = False
) -> JobQuestion:
    """Return a check of a good response with these temperatures."""
    seen = replace(
        readings("check C-2", n1="80"),
        block_temperature_c=None if block is None else Decimal(block),
        part_temperature_c=None if part is None else Decimal(part),
    )
    on_target = (target("1.0 mm", "80"),)
    against = "target" if occasion == "start" else "start check"
    band_of_response = limit("% FSH", "-5", "5", against=against)
    asks = asked(seen, band_of_response, occasion=occasion, start=readings("start", n1="80"), targets=on_target)
    return replace(
        asks, temperature_band_c=None if band is None else Decimal(band), temperature_paragraph="4.4", conductivity_work=conductivity,
    )  # fmt: skip


def told(asks: JobQuestion) -> tuple[Outcome, list[Reason]]:
    """Return the outcome and what was said about temperature."""
    outcome, reasons = judge_response(asks)
    return outcome, [r for r in reasons if r.rule == "temperature"]


@pytest.mark.parametrize(
    ("block", "part", "expected"),
    [
        ("20", "25", Outcome.ACCEPTABLE),  # on the band is inside
        ("25", "20", Outcome.ACCEPTABLE),
        ("20", "25.1", Outcome.NOT_ACCEPTABLE),
        ("25.1", "20", Outcome.NOT_ACCEPTABLE),
        ("-2", "3.5", Outcome.NOT_ACCEPTABLE),
    ],
)
@pytest.mark.parametrize("occasion", ["start", "interim", "end"])
def test_beyond_the_procedures_band_a_check_is_not_acceptable(
    occasion: str, block: str, part: str, expected: Outcome
) -> None:
    """Planted bug that this caught: the part below the block never judged, for the difference kept its sign."""
    outcome, [reason] = told(question(block, part, "5", occasion))
    assert outcome is expected
    assert (reason.limit, reason.source) == ("±5 °C of part against block", "procedure PR-1 issue A, 4.4")
    assert reason.record == "check C-2"


@pytest.mark.parametrize(("block", "part", "lacks"), [(None, "20", "the block"), ("20", None, "the part"),
                                                      (None, None, "the block and the part")])  # fmt: skip
def test_a_start_check_without_both_temperatures_decides_nothing(
    block: str | None, part: str | None, lacks: str
) -> None:
    """Planted bug that this caught: a missing temperature taken as no difference."""
    outcome, [reason] = told(question(block, part, "5"))
    assert outcome is Outcome.NOT_CONCLUSIVE
    assert reason.says == f"the temperature of {lacks} is not recorded"
    assert "measure both" in reason.cure
    assert told(question(block, part, "5", "interim")) == (Outcome.ACCEPTABLE, [])


def test_without_a_band_conductivity_work_is_advised_by_the_published_3_degrees() -> None:
    """The two printed units agree: 3 K are 5.4 °F. Planted bug that this caught: the advice stopped the check."""
    assert PUBLISHED_C * Decimal("1.8") == PUBLISHED_F
    outcome, [reason] = told(question("20", "23.1", None, conductivity=True))
    assert (outcome, reason.weight) == (Outcome.ACCEPTABLE, Weight.ADVISES)
    assert (reason.limit, reason.source) == ("±3 °C of each other", "MIL-STD-1537C, 5.1.2")
    assert told(question("20", str(20 + PUBLISHED_C), None, conductivity=True))[1] == []
    assert told(question("20", None, None, conductivity=True))[1] == []


def test_without_a_band_other_work_hears_nothing_of_temperature() -> None:
    assert told(question("0", "40", None)) == (Outcome.ACCEPTABLE, [])
    assert told(question(None, None, None)) == (Outcome.ACCEPTABLE, [])


def test_the_procedures_own_band_stands_before_the_published_one() -> None:
    outcome, [reason] = told(question("20", "28", "10", conductivity=True))
    assert (outcome, reason.weight) == (Outcome.ACCEPTABLE, Weight.SUPPORTS)
    assert reason.source == "procedure PR-1 issue A, 4.4"
