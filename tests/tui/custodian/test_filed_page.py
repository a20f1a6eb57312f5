"""What follows from a certificate, on one page: verdict, values as judged, procedures, findings, dues, checks; at once after filing, and later."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.tui.driving import Driver, driven

DAY = datetime(2026, 3, 9, 9, 0, tzinfo=UTC)


async def renew(d: Driver, number: str, *measured: str) -> None:
    """Type a renewed certificate of B-1; laboratory, U and k are those of the last one."""
    await d.keys("slash")
    await d.type("B-1")
    await d.keys("enter", "c")
    await d.type(number)
    await d.keys("enter", "enter", "enter")
    await d.type("2026-03-05")
    await d.keys("f2")
    for value in measured:
        await d.type(value)
        await d.keys("enter")
    await d.keys("enter")


async def test_the_verdict_comes_first_and_each_value_beside_its_nominal_with_outcome_rule_and_probability(
    busy: Path,
) -> None:
    """The outcome's sign is the value's own, not the verdict's; the cursor stands on what does not conform."""
    async with driven(busy, "CUS", now=DAY, size=(120, 40)) as d:
        await renew(d, "K-2", "0.212", "0.512", "1.055")
        lines = [line.strip() for line in d.text.splitlines()]
        assert lines[0].startswith("What follows from K-2")
        assert lines[1] == "! B-1 limited use, without notch 1.0 mm, setup S-0001"
        assert "1 of 3 values does not conform; out for PR-1;" in d.flat
        value = next(x for x in lines if "1.055 mm" in x)
        assert " ".join(value.split()).startswith(
            "▸ 1.0 mm 1.0 1.055 mm ✗ fail simple, P 15.9 %; 0.95 to 1.05 mm; U = 0.010 mm"
        )
        assert "limits 0.95 to 1.05 mm (drawing 12, note 3, from certificate K-B-1)" in d.flat
        good = next(x for x in lines if "0.512 mm" in x)
        assert "✓ pass" in good
        assert "Out for (1)" in d.text
        assert "calibration 2027-03-05 not due in 361 days, every 12 months" in d.flat


async def test_a_disagreement_is_told_with_its_finding_and_enter_opens_check_procedure_and_finding(busy: Path) -> None:
    async with driven(busy, "CUS", now=DAY, size=(120, 40)) as d:
        await renew(d, "K-2", "0.212", "0.512", "1.055")
        assert "1.0 mm 1.055 mm ✗ disagree |E_n| = 3.68, limit 1" in d.flat
        await d.keys("down", "enter")
        assert "PR-1" in d.text.splitlines()[0]
        await d.keys("escape", "down", "enter")
        assert d.text.splitlines()[0].strip().startswith("Finding F-")
        await d.keys("escape", "end", "enter")
        assert d.text.splitlines()[0].strip().startswith("Check C-")
        await d.keys("escape")
        assert "What follows from K-2" in d.text


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
async def test_the_finding_shows_both_papers_side_by_side_and_the_usual_causes_as_questions(
    busy: Path, size: tuple[int, int]
) -> None:
    async with driven(busy, "CUS", now=DAY, size=size) as d:
        await renew(d, "K-2", "0.212", "0.512", "1.055")
        await d.keys("down", "down", "enter")
        assert d.text.splitlines()[0].strip().startswith("Finding F-")
        await d.keys("2")
        assert "earlier paper" in d.text
        assert "K-B-1" in d.text
        row = next(line for line in d.text.splitlines() if "disagree" in line and "1.055" in line)
        assert "3.68" in row
        assert "1.003 mm, U 0.010" in row
        assert "the same" in d.text
        await d.keys("3")
        assert d.text.count("?") >= 3


async def test_the_certificate_shows_the_outcome_of_its_day_and_leads_to_what_follows(busy: Path) -> None:
    async with driven(busy, "CUS", now=DAY) as d:
        await renew(d, "K-2", "0.212", "0.512", "1.055")
        await d.keys("c")
        assert "Certificate K-2 of B-1" in d.text
        assert "As judged when filed, by that day's rule." in d.flat
        assert "1.0 mm 1.0 1.055 mm ✗ fail simple, P 15.9 %" in d.flat
        await d.keys("f")
        assert "! B-1 limited use, without notch 1.0 mm" in d.text


async def test_a_superseded_certificate_says_by_what_and_why_and_stays_readable(busy: Path) -> None:
    """Its number alone would open the correction, which bears the same."""
    async with driven(busy, "CUS", now=DAY, size=(120, 40)) as d:
        await renew(d, "K-2", "0.212", "0.512", "1.055")
        await d.keys("i", "4", "y")
        await d.type("a digit was wrong")
        await d.keys("enter", "f2", "down", "down")
        await d.keys("ctrl+u")
        await d.type("1.005")
        await d.keys("f2")
        assert "! B-1 limited use, without setup S-0001" in d.text
        await d.keys("c")
        assert "in force, in the place of an earlier record of K-2: a digit was wrong" in d.flat
        await d.keys("3", "home", "enter")
        assert "SUPERSEDED by K-2, it counts no longer: a digit was wrong" in d.flat
        assert "1.055 mm ✗ fail" in d.flat
        assert "What follows" not in d.text  # of what counts no longer nothing follows


async def test_an_auditor_reads_it_as_at_an_earlier_day(busy: Path) -> None:
    async with driven(busy, "AUD", now=DAY) as d:
        await d.keys("slash")
        await d.type("B-2")
        await d.keys("enter", "4", "enter", "f")
        assert "! B-2 limited use, without notch 0.5 mm" in d.text
        assert "0.5 mm 0.5 0.612 mm ✗ fail simple, P below 0.1 %" in d.flat
