"""Setups of rotating probes: what must be given, what does not go together, and how their readings are taken and shown."""

from typing import Any

import pytest

from refstd.base.errors import BadInput
from refstd.desk import checks, setups
from refstd.desk.check_record import check_record
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab
from tests import thin_thread as given

ROTATING = {"scan": "rotating", "rpm": "1500", "high_pass_hz": "80", "low_pass_hz": "400"}
SWEEP = ROTATING | {"screen": "sweep", "measure": "amplitude peak to peak"}


@pytest.fixture
def ready(lab: Lab) -> Lab:
    given.whole(lab)
    return lab


def refused(lab: Lab, **values: str) -> dict[str, tuple[str, str]]:
    """Return by field what is wrong with a setup and what to do."""
    with pytest.raises(BadInput) as refusal:
        given.setup(lab, **values)
    return {p.where: (p.wrong, p.remedy) for p in refusal.value.problems}


@pytest.mark.parametrize("missing", ["rpm", "high_pass_hz", "low_pass_hz"])
def test_a_rotating_scan_needs_its_speed_and_both_filters(ready: Lab, missing: str) -> None:
    wrong = refused(ready, **{k: v for k, v in ROTATING.items() if k != missing})
    assert list(wrong) == [missing]
    assert "depend on it" in wrong[missing][0]
    assert "as the procedure has it" in wrong[missing][1]


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"rpm": "1500"}, "rpm"),
        ({"screen": "sweep", "measure": "vertical peak to peak"}, "screen"),
        (SWEEP | {"measure": "horizontal and vertical"}, "measure"),
        (ROTATING | {"high_pass_hz": "400"}, "high_pass_hz"),
        (ROTATING | {"high_pass_hz": "500"}, "high_pass_hz"),
    ],
)
def test_what_does_not_go_together_is_refused_at_its_field(ready: Lab, values: dict[str, str], field: str) -> None:
    wrong = refused(ready, **values)
    assert list(wrong) == [field]
    assert wrong[field][1]


def test_a_sweep_of_an_amplitude_is_a_setup_of_its_own_with_all_its_conditions(ready: Lab) -> None:
    plane = given.setup(ready, **ROTATING)
    sweep = given.setup(ready, **SWEEP)
    assert plane != sweep
    shown = {s.number: dict(s.conditions) for s in setups.setups(ready, given.when())}
    wanted = {
        "screen": "sweep",
        "rpm": "1500",
        "high_pass_hz": "80",
        "low_pass_hz": "400",
        "measure": "amplitude peak to peak",
    }
    assert shown[sweep].items() >= wanted.items()
    assert shown[plane]["screen"] == "impedance plane"


def amplitude(value: str) -> list[checks.ReadingDraft]:
    return [draft(checks.ReadingDraft, {"notch": n, "vertical": value}, n) for n in given.HEIGHTS]


def keep(lab: Lab, occasion: str, value: str, minutes: float = 0, **values: str) -> checks.CheckVerdict:
    kept = given.check_draft(occasion, setup="S-0002", **values)
    return checks.record_check(lab, kept, amplitude(value), by="TESS", now=given.at(minutes))


def test_an_amplitude_is_read_judged_and_told_as_an_amplitude(ready: Lab) -> None:
    given.setup(ready, **SWEEP)
    start = keep(ready, "start", "80", 10)
    assert start.outcome == "acceptable"
    record = check_record(ready, start.number, given.when())
    assert record.readings.one_figure == "amplitude"
    assert not record.readings.directed
    assert checks.check_shown(ready, start.number, given.when())[1].directed is False
    low = keep(ready, "interim", "60", 20)
    assert low.outcome == "not acceptable"
    assert {r.figure for r in low.reasons if r.rule == "amplitude against start check"} == {"−25.0 % (as seen)"}


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [
        ({"vertical": "-80"}, "is a negative amplitude"),
        ({"vertical": "80", "horizontal": "3"}, "has a horizontal value"),
        ({}, "has no amplitude value"),
    ],
)
def test_what_is_no_amplitude_is_refused(ready: Lab, fields: dict[str, Any], wrong: str) -> None:
    given.setup(ready, **SWEEP)
    read = [draft(checks.ReadingDraft, {"notch": "1.0 mm", **fields}, "1.0 mm")]
    with pytest.raises(BadInput, match=wrong):
        checks.record_check(ready, given.check_draft("start", setup="S-0002"), read, by="TESS", now=given.at(5))


def test_the_preview_has_the_deviation_of_each_notch_with_its_uncertainty(ready: Lab) -> None:
    given.baseline(ready)
    shown = checks.preview_check(ready, given.check_draft("start"), given.readings(), given.when(120))
    assert [c.notch for c in shown.figures] == list(given.HEIGHTS)
    for c in shown.figures:
        assert c.u_db is not None
        assert c.u_deg is not None
        assert c.how == "display undone"
        kept = next(r for r in shown.condition if r.says.startswith(f"notch {c.notch} "))
        assert kept.figure == c.in_words()
