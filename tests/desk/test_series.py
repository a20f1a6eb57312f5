"""What the records hand over for a series: the last digits as they were written."""

import math

import pytest

from refstd.desk import baselines, checks, series
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.known import of_kind
from refstd.desk.setups import notch_depths
from refstd.desk.store import Lab
from refstd.rules.condition import reading_uncertainty
from tests import thin_thread as given
from tests.given import NOON
from tests.rules.occasions import NAMES, readings

WRITTEN = {"1.5 mm": ("-20", "95"), "1.0 mm": ("-18.0", "80.0"), "0.5 mm": ("-12.00", "40.00")}


@pytest.mark.parametrize("at_once", [1, 3, 10_000])
def test_the_last_digit_is_the_one_that_was_written(lab: Lab, monkeypatch: pytest.MonkeyPatch, at_once: int) -> None:
    """80 and 80.0 are one number and two statements: u = digit/√12 (JCGM 100:2008, 4.3.7), in reading and baseline.

    Planted bug that it caught: the digits of one notch given to another.
    """
    monkeypatch.setattr(series, "AT_ONCE", at_once)
    given.whole(lab)
    seen_so = [
        draft(checks.ReadingDraft, {"notch": n, "horizontal": h, "vertical": v}, n) for n, (h, v) in WRITTEN.items()
    ]
    sets = [(given.check_draft("set-up", happened_at=f"2031-03-14T09:1{i}"), seen_so) for i in range(3)]
    fields = {"setup": "S-0001", "approved_by": "LENA"}
    asked = draft(baselines.BaselineDraft, fields, "baseline")
    baselines.set_baseline_from_readings(lab, asked, sets, by="TESS", now=NOON)
    checks.record_check(lab, given.check_draft("periodic"), seen_so, by="TESS", now=given.at(60))
    with lab.look(given.when()) as look:
        told = {s.notch_id: s.answers.digit_db for s in series.series_within(look)}
        labels = {n: label for n, (label, _) in notch_depths(look, of_kind(look, "B-1", "block").id).items()}
    heights = {name: WRITTEN[label] for name, label in NAMES.items() if label in WRITTEN}
    seen = readings("as seen", gains=("40", "50"), rotation="30", **heights)  # type: ignore[arg-type]
    assert len(told) == len(WRITTEN)
    for number, digit_db in told.items():
        one = seen.on(labels[number])
        assert one is not None
        u_db, _ = reading_uncertainty(seen, one)
        assert u_db is not None
        assert digit_db == pytest.approx(math.sqrt(2) * u_db)
