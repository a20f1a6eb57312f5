"""A kit that was a week on a site: its paper sheets are entered afterwards, and mean what they would have meant at once."""

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import given as drawn
from hypothesis import strategies as st

from refstd.base.errors import NotAllowed, Refusal
from refstd.desk import check_record, checks, custody, events, findings, lookback, lots, serviceability
from refstd.desk.certificates import Paper
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.jobs import lots as all_lots
from refstd.desk.lots import close_job
from refstd.desk.store import Lab
from tests import thin_thread as given
from tests.given import KEEPER

DAYS = 6 * 24 * 60  # minutes: the sheets are entered six days later
SCAN = Paper("monday.pdf", b"%PDF-1.7 sheet of Monday")


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything on record that a job's first check needs."""
    given.whole(lab)
    return lab


def entered(
    lab: Lab, occasion: str, scale: float, minutes: int, entered: int = DAYS, sheet: Paper | None = None, **more: str
) -> checks.CheckVerdict:
    """Enter a check that was read some minutes after noon, by the custodian, days later."""
    told = check_draft_at(occasion, minutes, **more)
    return checks.record_check(lab, told, given.readings(scale), sheet=sheet, by=KEEPER, now=given.at(entered))


def check_draft_at(occasion: str, minutes: int, **more: str) -> checks.CheckDraft:
    fields = {"happened_at": given.at(minutes).isoformat(), "done_by": "TESS"}
    return given.check_draft(occasion, **(fields | more))


def lot_at(lab: Lab, start: str, parts: str, minutes: int, entered: int = DAYS) -> lots.LotLogged:
    fields = {"job": "J-1", "start_check": start, "parts": parts, "examined_at": given.at(minutes).isoformat()}
    fields["done_by"] = "TESS"
    return lots.log_lot(lab, draft(lots.LotDraft, fields, "lot"), by=KEEPER, now=given.at(entered))


def test_a_check_read_earlier_says_who_read_it_how_late_it_came_and_has_the_scan_of_its_sheet(ready: Lab) -> None:
    verdict = entered(ready, "start", 1.0, 0, sheet=SCAN)
    record = check_record.check_record(ready, verdict.number, given.when(DAYS + 1))

    assert (verdict.person, verdict.late) == ("TESS", f"recorded 6 days late by {KEEPER}")
    assert verdict.outcome == "acceptable"
    assert record.verdict == verdict
    assert record.sheet == "monday.pdf"
    assert len(record.sheet_sha256) == 64


def test_one_scan_of_two_checks_is_kept_once(ready: Lab) -> None:
    first = entered(ready, "start", 1.0, 0, sheet=SCAN)
    second = entered(ready, "interim", 1.0, 60, sheet=Paper("again.pdf", SCAN.content))
    shas = {
        check_record.check_record(ready, n, given.when(DAYS + 1)).sheet_sha256 for n in (first.number, second.number)
    }
    assert len(shas) == 1


def test_a_check_that_failed_on_site_holds_all_that_was_examined_since_the_last_good_one_and_after_it(
    ready: Lab,
) -> None:
    """ISO 15549:2019, clause 10 (READ). The lots after it were logged in good faith: nobody knew."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 5", 10)
    given.check(ready, "interim", minutes=60)
    for place, minutes in enumerate((70, 130), start=1):
        given.lot(ready, start.number, f"holes {place * 10} to {place * 10 + 5}", minutes)
    assert given.check(ready, "end", minutes=200).outcome == "acceptable"

    failed = entered(ready, "interim", 0.8, 100)
    assert failed.outcome == "not acceptable"
    assert failed.held == ("setup S-0001", "lot L-0002 (panel 4: holes 10-15)", "lot L-0003 (panel 4: holes 20-25)")
    assert [x.number for x in lookback.lookback(ready, failed.number, given.when(DAYS + 1)).lots] == [
        "L-0002",
        "L-0003",
    ]


def test_a_start_check_that_failed_on_site_holds_what_was_examined_under_the_start_that_was_open_then(
    ready: Lab,
) -> None:
    """Planted bug it caught: only lots that no later check covers were held, and the end check of the evening covered all."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 5", 10)
    given.lot(ready, start.number, "holes 6 to 9", 90)
    given.check(ready, "end", minutes=200)

    failed = entered(ready, "start", 0.8, 60)
    assert failed.held == ("setup S-0001", "lot L-0001 (panel 4: holes 1-5)", "lot L-0002 (panel 4: holes 6-9)")


def test_a_check_is_compared_with_the_start_that_was_open_when_it_was_read(ready: Lab) -> None:
    monday, tuesday = entered(ready, "start", 1.0, 0), entered(ready, "start", 1.0, 24 * 60)
    late = entered(ready, "end", 1.0, 120)

    assert late.outcome == "acceptable"
    assert check_record.check_record(ready, late.number, given.when(DAYS + 1)).start_check == monday.number
    assert entered(ready, "end", 1.0, 26 * 60).outcome == "acceptable"
    assert tuesday.late.startswith("recorded 5 days late")


def test_equipment_counts_as_it_stood_when_it_was_read(ready: Lab) -> None:
    """What happened to the kit since then, on record by now, says nothing about those readings, and the other way round."""
    events.record_event(
        ready,
        draft(
            events.EventDraft,
            {"asset_no": "I-1", "event": "firmware changed", "happened_at": given.at(600).isoformat()},
            "e",
        ),
        by=KEEPER,
        now=given.at(DAYS - 9),
    )
    assert serviceability.status(ready, ["I-1"], given.when(DAYS))[0].verdict.standing == "do not use"
    assert entered(ready, "start", 1.0, 0).outcome == "acceptable"

    after = entered(ready, "start", 1.0, 700)
    assert after.outcome == "not conclusive"  # kept, since it was read; but it decides nothing
    assert any("I-1" in r.says for r in after.reasons)


@pytest.mark.parametrize(
    ("minutes", "says"),
    [(DAYS + 30, "the readings lie in the future"), (5, "B-1 was checked out for job J-1 only later")],
)
def test_a_time_in_the_future_or_before_the_check_out_is_refused(ready: Lab, minutes: int, says: str) -> None:
    custody.check_out(ready, "J-1", ["B-1", "P-1", "I-1"], by="TESS", now=given.at(10))
    with pytest.raises(Refusal, match=says):
        entered(ready, "start", 1.0, minutes)
    assert entered(ready, "start", 1.0, 15).outcome == "acceptable"


def test_readings_of_somebody_who_may_make_none_are_refused(ready: Lab) -> None:
    with pytest.raises(NotAllowed, match="AUDE"):
        entered(ready, "start", 1.0, 0, done_by="AUDE")


def test_a_closed_job_takes_what_was_done_before_it_was_closed_and_nothing_else(ready: Lab) -> None:
    start = given.check(ready, "start")
    close_job(ready, "J-1", "all done", by="TESS", now=given.at(300))
    assert entered(ready, "end", 1.0, 120).outcome == "acceptable"
    assert lot_at(ready, start.number, "holes 1 to 5", 60).finding == ""
    with pytest.raises(Refusal, match="job J-1 is closed"):
        lot_at(ready, start.number, "holes 6 to 9", 400)
    with pytest.raises(Refusal, match="job J-1 is closed"):
        entered(ready, "start", 1.0, 400)


def test_a_lot_of_a_closed_job_that_no_check_covers_is_held_at_once(ready: Lab) -> None:
    start = given.check(ready, "start")
    close_job(ready, "J-1", "all done", by="TESS", now=given.at(300))
    logged = lot_at(ready, start.number, "holes 1 to 5", 60)
    assert logged.why == "job J-1 was closed"
    [shown] = [x for x in all_lots(ready, given.when(DAYS + 1)) if x.number == logged.number]
    assert shown.late == f"recorded 6 days late by {KEEPER}"


Step = tuple[str, float, int]
steps = st.lists(
    st.tuples(st.sampled_from(("start", "interim", "end")), st.sampled_from((1.0, 1.0, 0.8)), st.integers(1, 40)),
    min_size=1, max_size=4, unique_by=lambda s: s[2],
)  # fmt: skip


@drawn(steps, st.lists(st.integers(1, 40), min_size=1, max_size=3, unique=True), st.randoms(use_true_random=False))
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_in_whatever_order_sheets_are_entered_every_lot_that_a_failure_leaves_in_doubt_is_held(
    tmp_path_factory: pytest.TempPathFactory, made: list[Step], examined: list[int], order: object
) -> None:
    """Brute force over what is on record in the end: each lot, each failed check, the last good one before it."""
    from random import Random

    from tests.given import new_lab

    assert isinstance(order, Random)
    lab = new_lab(tmp_path_factory.mktemp("late") / "lab.refstd")
    given.whole(lab)
    start = given.check(lab, "start")
    acts: list[tuple[str, Step | int]] = [("check", s) for s in made] + [("lot", m) for m in examined]
    order.shuffle(acts)
    for place, (kind, what) in enumerate(acts):
        try:
            if kind == "lot":
                assert isinstance(what, int)
                lot_at(lab, start.number, f"holes {place * 10 + 1}", what * 10, DAYS + place)
            else:
                assert isinstance(what, tuple)
                entered(lab, what[0], what[1], what[2] * 10, DAYS + place)
        except Refusal:
            continue  # what the record by then contradicts is not kept
    on_record = sorted(checks.checks(lab, given.when(DAYS + 99), job="J-1"), key=lambda c: c.happened_at)
    mine = {c.number: check_record.check_record(lab, c.number, given.when(DAYS + 99)).start_check for c in on_record}
    held = {x.number for f in findings.findings(lab, given.when(DAYS + 99)) for x in f.lots}
    under = [c for c in on_record if mine[c.number] == start.number or c.number == start.number]
    for failed in (c for c in under if c.outcome == "not acceptable"):
        good = [c.happened_at for c in under if c.outcome == "acceptable" and c.happened_at < failed.happened_at]
        for lot in (x for x in all_lots(lab, given.when(DAYS + 99)) if x.start_check == start.number):
            if lot.happened_at >= max(good):
                assert lot.number in held, (failed, lot)
    lab.close()
