"""The look at what was read: which figure is which, and what each deviation is worth."""

from decimal import Decimal

import pytest

from refstd.desk.checks import Picture, Preview, ReadingDraft
from refstd.rules.condition import condition
from refstd.tui.technician.preview import _marks, _table
from tests.rules.occasions import readings

AMPLITUDE = "amplitude peak to peak"


def preview(measure: str, noise: str = "2") -> Preview:
    past = tuple(readings(f"set-up {n}", n1="80", n05="40", measure=measure, noise=noise) for n in range(3))
    new = readings("new", n1="72", n05="8", measure=measure, noise=noise)
    picture = Picture("% FSH", 100, False, (), ())
    return Preview("acceptable", (), (), (), picture, False, condition(new, past, ()))


@pytest.mark.parametrize(
    ("measure", "columns"),
    [
        ("horizontal and vertical", ["notch", "horizontal", "vertical", ""]),
        ("vertical from balance", ["notch", "vertical", ""]),
        (AMPLITUDE, ["notch", "amplitude", ""]),
    ],
)
def test_the_figures_are_called_what_they_are(measure: str, columns: list[str]) -> None:
    read = [ReadingDraft(notch="1.0 mm", vertical=Decimal(72))]
    assert [c.header for c in _table(preview(AMPLITUDE), read, measure).columns] == columns


def test_each_compared_notch_has_its_deviation_its_uncertainty_and_what_both_rest_on() -> None:
    """72 after 80 is 20·log10(0.9) = −0.92 dB; a notch that sank into the noise has no figure to show."""
    lines = _marks(preview(AMPLITUDE)).plain.split("\n")
    found = lines[lines.index("Against the baseline (decides nothing):") + 1 :]
    assert found == ["· 1.0 mm: −0.92 dB (u 0.16 dB)", "  gain undone, u from last digits and noise"]


def test_without_a_baseline_nothing_is_said_of_one() -> None:
    bare = Preview("acceptable", (), (), (), Picture("% FSH", 100, False, (), ()), False)
    assert "baseline" not in _marks(bare).plain
