"""What an event will cause is told before it is kept: the law is that nothing else happens then."""

from collections.abc import Callable

import pytest

from refstd.base.errors import BadInput, NotAllowed, Refusal
from refstd.base.reason import Weight
from refstd.desk import caused, drift, events, findings, jobs, lots, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.log import log_entries
from refstd.desk.store import Lab, verify
from refstd.exchange.export import export_register
from tests import thin_thread as given
from tests.given import KEEPER

TAPE = {"tape": "PTFE", "tape_thickness_mm": "0.10"}


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything on record that a job's first check needs, and a baseline."""
    given.whole(lab)
    given.baseline(lab)
    return lab


def nothing(_lab: Lab) -> None:
    """Nothing has been checked for the job yet."""


def work_open(lab: Lab) -> None:
    """Holes examined before and after an interim check, and still at work."""
    start = given.check(lab, "start", minutes=1)
    given.lot(lab, start.number, "holes 1 to 9", 10)
    given.check(lab, "interim", minutes=20)
    given.lot(lab, start.number, "holes 10 to 19", 30)


def ended_already(lab: Lab) -> None:
    """A knock has ended the start check already."""
    work_open(lab)
    keep(lab, "knocked", 35, "B-1")


def work_closed(lab: Lab) -> None:
    """The work is closed by an end check, and the job is closed."""
    work_open(lab)
    given.check(lab, "end", minutes=40)
    lots.close_job(lab, "J-1", "done", by=KEEPER, now=given.at(50))


def end_checked(lab: Lab) -> None:
    """An end check closed the work; the job is open."""
    work_open(lab)
    given.check(lab, "end", minutes=40)


def failed(lab: Lab) -> None:
    """The last check was not acceptable and holds what it left in doubt."""
    work_open(lab)
    given.check(lab, "interim", 0.5, 40)


STORIES: tuple[Callable[[Lab], None], ...] = (nothing, work_open, ended_already, work_closed, end_checked, failed)
EVENTS = (
    ("tape renewed", "P-1", ""),
    ("tip worn", "P-1", "2031-03-14T12:25"),
    ("knocked", "B-1", "2031-03-14T12:05"),
    ("repaired", "I-1", ""),
    ("part exchanged", "P-1", "2031-03-14T12:15"),
    ("firmware changed", "I-1", "2031-03-14T08:00"),
)


def event_draft(what: str, asset_no: str, happened_at: str = "") -> events.EventDraft:
    """Return an event; a renewed tape is named."""
    fields = {"asset_no": asset_no, "event": what, "happened_at": happened_at}
    return draft(events.EventDraft, fields | (TAPE if what == "tape renewed" else {}), "event")


def keep(lab: Lab, what: str, minutes: float, asset_no: str, happened_at: str = "", by: str = "TESS") -> int:
    """Record an event and return its log entry."""
    events.record_event(lab, event_draft(what, asset_no, happened_at), by=by, now=given.at(minutes))
    return log_entries(lab, given.when(minutes), count=1)[0].sequence


def stops(lab: Lab, asset_no: str) -> set[str]:
    """Return what stops an item."""
    [shown] = serviceability.status(lab, [asset_no], given.when(61))
    return {r.says for r in shown.verdict.reasons if r.weight is Weight.STOPS}


def breaks(lab: Lab) -> set[str]:
    """Return the setups in whose series a break stands."""
    return {d.setup.number for d in drift.drift_list(lab, given.when(61)) if d.drift.answers.breaks}


def may_log(lab: Lab, start: str) -> bool:
    """Return whether parts examined now would be taken under a start check; the lot that says so is not kept."""
    fields = {"job": "J-1", "start_check": start, "parts": "holes 30 to 39"}
    try:
        with lab.change(by="TESS", now=given.at(61)) as change:
            lots.keep_lot(change, draft(lots.LotDraft, fields, "lot"))
            raise LookupError
    except LookupError:
        return True
    except Refusal:
        return False


@pytest.mark.parametrize("story", STORIES, ids=lambda s: s.__name__)
@pytest.mark.parametrize(("what", "asset_no", "happened_at"), EVENTS, ids=lambda x: str(x))
def test_what_is_told_before_is_what_happens(
    ready: Lab, story: Callable[[Lab], None], what: str, asset_no: str, happened_at: str
) -> None:
    """Each fact that is told before is held against what the lab shows after, by other questions than the preview's own.

    Planted bug it caught: the lots of earlier findings told as held by this one.
    """
    story(ready)
    stopped, broken = stops(ready, asset_no), breaks(ready)
    open_before = may_log(ready, "C-0005") if story is not nothing else False
    head = log_entries(ready, given.when(60), count=1)[0].sequence

    told = caused.preview_event(ready, event_draft(what, asset_no, happened_at), by="TESS", now=given.at(60))

    assert log_entries(ready, given.when(60), count=1)[0].sequence == head
    assert (stops(ready, asset_no), breaks(ready)) == (stopped, broken)  # nothing of the preview is remembered
    found = events.record_event(ready, event_draft(what, asset_no, happened_at), by="TESS", now=given.at(60))
    held = [x for number in found for x in findings.finding(ready, number, given.when(61)).lots]
    assert list(told.held) == [f"lot {x.number} ({x.examined})" for x in held]
    assert told.stops == bool(stops(ready, asset_no) - stopped)
    assert set(told.broken) == breaks(ready) - broken
    ended = {start.start for start, _ in told.ended}
    if open_before:
        assert ("C-0005" in ended) is not may_log(ready, "C-0005")
    for _, waiting in told.ended:
        with ready.look(given.when(61)) as look:
            [job] = [j for j in jobs.jobs_in(look) if j.number == "J-1"]
            left = {f"lot {x.number}" for x in lots.uncovered(look, job.job_id, 1)}
        assert {w.split(" (")[0] for w in waiting} == left
    assert verify(ready.path, deep=True).whole


def test_the_same_is_told_on_the_record_afterwards(ready: Lab) -> None:
    work_open(ready)
    told = caused.preview_event(ready, event_draft("repaired", "I-1"), by="TESS", now=given.at(40))
    entry = keep(ready, "repaired", 40, "I-1")
    given.check(ready, "start", minutes=50)
    with ready.look(given.when(90)) as look:
        after = caused.caused_by_entry(look, 3, entry, given.at(40))
    assert after == told


def test_the_words_say_what_ends_what_is_held_what_breaks_and_what_to_do(ready: Lab) -> None:
    work_open(ready)
    tape = caused.preview_event(ready, event_draft("tape renewed", "P-1"), by="TESS", now=given.at(40))
    assert tape.in_words() == (
        "Start check C-0005 of setup S-0001 on job J-1 covers no more work: make a new start check before more parts are "
        "examined (ISO 15549:2019, clause 10).",
        "In doubt until an end check: lot L-0002 (panel 4: holes 10-19). Made with the kit as it is now, it still closes "
        "them; a new start check without it holds them.",
    )
    firmware = caused.preview_event(ready, event_draft("firmware changed", "I-1"), by="TESS", now=given.at(40))
    assert firmware.in_words() == (
        "Do not use it: I-1: firmware changed 2031-03-14 12:40, and no verification or calibration since then is on record "
        "(ISO/IEC 17025:2017, 6.4.4) → do the verification, then file its evidence.",
        "Start check C-0005 of setup S-0001 on job J-1 covers no more work: make a new start check before more parts are "
        "examined (ISO 15549:2019, clause 10).",
        "No end check can close the work under it: before and after is not one record of one thing.",
        "Held by a finding, since no check can cover them any more: lot L-0002 (panel 4: holes 10-19).",
        "The record of setup S-0001 breaks: readings before and after are not compared. Take its baseline anew.",
    )


def test_an_event_that_touches_nothing_says_so(ready: Lab) -> None:
    given.probe(ready, "P-9")
    told = caused.preview_event(ready, event_draft("tip cleaned", "P-9"), by="TESS", now=given.at(10))
    assert told.in_words() == ("No running start check, no lot and no series with a baseline is touched.",)


def test_a_withdrawal_tells_what_it_takes_back_and_that_holds_stay(ready: Lab) -> None:
    work_open(ready)
    entry = keep(ready, "repaired", 40, "I-1")
    told = caused.preview_correction(ready, "I-1", entry, None, "it was I-2", by="TOM", now=given.at(50))
    assert told.in_words() == (
        "Start check C-0005 of setup S-0001 on job J-1 covers work again.",
        "The record of setup S-0001 is one again.",
    )
    events.correct_event(ready, "I-1", entry, None, "it was I-2", by="TOM", now=given.at(50))
    assert may_log(ready, "C-0005")
    assert breaks(ready) == set()
    assert [x.number for x in findings.finding(ready, "F-0001", given.when(61)).lots] == ["L-0002"]


def test_what_would_be_refused_is_refused_before(ready: Lab) -> None:
    wrong = draft(events.EventDraft, {"asset_no": "P-1", "event": "tape renewed"}, "event")
    with pytest.raises(BadInput, match="is missing with 'tape renewed'"):
        caused.preview_event(ready, wrong, by="TESS", now=given.at(10))
    with pytest.raises(NotAllowed):
        caused.preview_event(ready, event_draft("knocked", "P-1"), by="AUDE", now=given.at(10))
    entry = keep(ready, "repaired", 10, "I-1")
    with pytest.raises(NotAllowed, match="it rests on TESS's own work"):
        caused.preview_correction(ready, "I-1", entry, None, "x", by="TESS", now=given.at(20))


def test_every_record_of_an_event_is_exported_with_all_its_fields(ready: Lab) -> None:
    entry = keep(ready, "tape renewed", 10, "P-1")
    events.correct_event(ready, "P-1", entry, None, "it was P-2", by="TESS", now=given.at(20))
    rows = export_register(ready, given.when(30))["events.csv"].decode().splitlines()
    assert rows[0] == (
        "asset_no,ref,event,tape,tape_thickness_mm,happened_at,recorded_at,person,note,corrects,withdrawn,why"
    )
    assert rows[1].startswith(f"P-1,{entry},tape renewed,PTFE,0.10,2031-03-14T12:10")
    assert rows[2].endswith(f",TESS,,{entry},yes,it was P-2")
