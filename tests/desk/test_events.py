"""Events: what may be recorded of which item, how it is corrected, and what counts."""

import pytest
from sqlalchemy import event as watching

from refstd.base.errors import BadInput, NotAllowed, NotFound, Refusal
from refstd.base.reason import Weight
from refstd.desk import baselines, certificates, checks, drift, equipment, events, findings, kits, lots, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.history import item_record
from refstd.desk.log import log_entries
from refstd.desk.series import breaks_within, days_of
from refstd.desk.store import Lab, When, verify
from tests import thin_thread as given
from tests.given import KEEPER, NOON

TAPE = {"tape": "PTFE", "tape_thickness_mm": "0.10"}


def event(
    lab: Lab, what: str, minutes: float, asset_no: str = "P-1", by: str = "TESS", **values: str
) -> tuple[str, ...]:
    """Record an event and return the findings; a renewed tape is named unless said otherwise."""
    more = TAPE if what == "tape renewed" and not values else {}
    fields = {"asset_no": asset_no, "event": what} | more | values
    return events.record_event(lab, draft(events.EventDraft, fields, "event"), by=by, now=given.at(minutes))


def known(lab: Lab, when: When | None = None) -> list[tuple[str, str, bool]]:
    """Return when, what and whether it breaks a series, of all items."""
    with lab.look(when or given.when()) as look:
        return [(f"{e.happened_at:%H:%M}", e.in_words(), e.breaks) for e in events.events_of(look)]


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with everything on record that a job's first check needs."""
    given.whole(lab)
    return lab


def test_events_are_told_oldest_first_with_what_breaks_a_series(ready: Lab) -> None:
    event(ready, "repaired", 30, "I-1")
    event(ready, "tape renewed", 35, **TAPE, happened_at="2031-03-14T12:20")
    event(ready, "knocked", 40, "B-1", happened_at="2031-03-14T12:05")
    assert known(ready) == [
        ("12:05", "B-1: knocked", False),
        ("12:20", "P-1: tape renewed, PTFE 0.10 mm", False),
        ("12:30", "I-1: repaired", True),
    ]
    assert verify(ready.path, deep=True).whole


def test_events_of_some_items_come_in_one_query(ready: Lab) -> None:
    """The drift of a whole lab asks for all events at once."""
    event(ready, "repaired", 30, "I-1")
    event(ready, "tip cleaned", 40)
    with ready.look(given.when()) as look:
        asked: list[str] = []
        connection = look.session.connection()
        watching.listen(connection, "before_cursor_execute", lambda *a: asked.append(a[2]))
        found = events.events_of(look, range(1, 10))
        assert len(asked) == 1
    assert [e.asset_no for e in found] == ["I-1", "P-1"]


@pytest.mark.parametrize(
    ("what", "asset_no"),
    [("firmware changed", "P-1"), ("tape renewed", "B-1"), ("play in the bearing", "P-1"), ("tip worn", "I-1"),
     ("reading moves with the cable", "I-1"), ("part exchanged", "B-1")],
)  # fmt: skip
def test_an_event_that_cannot_happen_to_an_item_is_refused_with_those_that_can(
    ready: Lab, what: str, asset_no: str
) -> None:
    with pytest.raises(Refusal, match="does not happen to") as refused:
        event(ready, what, 5, asset_no)
    assert "knocked" in refused.value.remedy
    assert known(ready) == []


@pytest.mark.parametrize(
    ("what", "values"),
    [("tape renewed", {"tape": "PTFE"}), ("tape renewed", {"tape_thickness_mm": "0.1"}), ("tip worn", TAPE),
     ("knocked", {"tape": "PTFE"})],
)  # fmt: skip
def test_a_renewed_tape_is_named_whole_and_nothing_else_has_one(ready: Lab, what: str, values: dict[str, str]) -> None:
    with pytest.raises(BadInput):
        event(ready, what, 5, **values)
    assert known(ready) == []


def test_a_tape_thicker_than_any_is_refused_with_the_limit(ready: Lab) -> None:
    """The limit: common practice, no source. Planted bug: the comparison taken out, and 1000 mm went in."""
    with pytest.raises(BadInput, match="limit is 1 mm"):
        event(ready, "tape renewed", 5, tape="PTFE", tape_thickness_mm="1000")
    event(ready, "tape renewed", 5, tape="PTFE", tape_thickness_mm="1")


def test_the_same_event_is_not_recorded_twice_but_is_corrected(ready: Lab) -> None:
    """Planted bug: the instant left out of the comparison, and a second knock of the day was refused."""
    event(ready, "knocked", 5, happened_at="2031-03-14T12:02")
    with pytest.raises(Refusal, match="on record already"):
        event(ready, "knocked", 6, happened_at="2031-03-14T12:02")
    event(ready, "knocked", 7, happened_at="2031-03-14T12:03")
    with ready.look(given.when()) as look:
        entry = events.events_of(look)[0].entry
    again = draft(events.EventDraft, {"asset_no": "P-1", "event": "knocked", "note": "on the floor"}, "event")
    events.correct_event(ready, "P-1", entry, again, "note was missing", by="TESS", now=given.at(8))
    assert [at for at, _, _ in known(ready)] == ["12:02", "12:03"]


def test_a_day_alone_counts_from_its_start_and_today_is_not_the_future(ready: Lab) -> None:
    """Planted bug: the last moment of the day, as elsewhere, and lots of that day stayed covered."""
    event(ready, "knocked", 5, happened_at="2031-03-14")
    assert known(ready) == [("00:00", "P-1: knocked", False)]


def test_the_log_says_that_no_lot_is_held(ready: Lab) -> None:
    event(ready, "knocked", 5)
    assert (
        log_entries(ready, given.when(), count=1)[0].in_words()
        == "event recorded: event knocked, findings none, item P-1"
    )


def test_the_auditor_records_no_event(ready: Lab) -> None:
    with pytest.raises(NotAllowed):
        event(ready, "knocked", 5, by="AUDE")
    event(ready, "knocked", 5, by=KEEPER)


def test_a_corrected_event_counts_as_corrected_and_the_first_stays_on_record(ready: Lab) -> None:
    event(ready, "repaired", 30)
    with ready.look(given.when()) as look:
        [first] = events.events_of(look)
    better = draft(events.EventDraft, {"asset_no": "P-1", "event": "tip cleaned"}, "event")
    with pytest.raises(Refusal, match="needs a reason"):
        events.correct_event(ready, "P-1", first.entry, better, " ", by="TESS", now=given.at(40))
    events.correct_event(ready, "P-1", first.entry, better, "wrong key", by="TOM", now=given.at(50))
    assert known(ready) == [("12:30", "P-1: tip cleaned", False)]
    assert known(ready, When(given.at(60), as_at=given.at(45))) == [("12:30", "P-1: repaired", True)]
    with pytest.raises(NotFound, match="no event of P-1 that still counts"):
        events.correct_event(ready, "P-1", first.entry, better, "again", by="TESS", now=given.at(60))


def test_an_event_that_did_not_happen_is_withdrawn_with_the_reason(ready: Lab) -> None:
    event(ready, "repaired", 30)
    with ready.look(given.when()) as look:
        [first] = events.events_of(look)
    events.correct_event(ready, "P-1", first.entry, None, "it was the other probe", by="TOM", now=given.at(50))
    assert known(ready) == []
    assert known(ready, When(given.at(60), as_at=given.at(45))) == [("12:30", "P-1: repaired", True)]


@pytest.mark.parametrize("what", ["repaired", "part exchanged"])
def test_who_recorded_a_break_neither_withdraws_nor_corrects_it_alone(ready: Lab, what: str) -> None:
    """Planted: only the withdrawal guarded; 'repaired' was corrected to 'tip cleaned' by the one who had recorded it."""
    event(ready, what, 30)
    with ready.look(given.when()) as look:
        [first] = events.events_of(look)
    milder = draft(events.EventDraft, {"asset_no": "P-1", "event": "tip cleaned"}, "event")
    for better in (None, milder):
        with pytest.raises(NotAllowed, match=f"'{what}' of P-1: it rests on TESS's own work") as refused:
            events.correct_event(ready, "P-1", first.entry, better, "not so", by="TESS", now=given.at(40))
        assert "a second person who may record events" in refused.value.remedy
    events.correct_event(ready, "P-1", first.entry, milder, "not so", by="TOM", now=given.at(50))
    assert known(ready) == [("12:30", "P-1: tip cleaned", False)]


def test_what_breaks_no_record_is_corrected_by_whoever_recorded_it(ready: Lab) -> None:
    event(ready, "knocked", 30)
    with ready.look(given.when()) as look:
        [first] = events.events_of(look)
    events.correct_event(ready, "P-1", first.entry, None, "it was P-2", by="TESS", now=given.at(40))
    assert known(ready) == []


def held(lab: Lab, finding: str) -> list[str]:
    """Return the lots that a finding holds."""
    return [x.number for x in findings.finding(lab, finding, given.when()).lots]


def test_parts_examined_after_an_event_are_not_logged_under_the_old_start(ready: Lab) -> None:
    """ISO 15549:2019, clause 10 (READ): check again whenever something changed. Planted: events left out of `keep_lot`."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    assert event(ready, "tape renewed", 20) == ()
    with pytest.raises(Refusal, match="P-1: tape renewed 2031-03-14 12:20; make a new start check first"):
        given.lot(ready, start.number, "holes 10 to 19", 30)
    again = given.check(ready, "start", minutes=40)
    given.lot(ready, again.number, "holes 10 to 19", 50)
    assert [f.number for f in findings.findings(ready, given.when())] == ["F-0001"]  # L-0001: no check closed it
    assert held(ready, "F-0001") == ["L-0001"]


def test_an_end_check_after_a_renewed_tape_closes_the_work_before_it_and_says_what_it_means(ready: Lab) -> None:
    """Planted: the lots before the tape taken as uncovered; the new start held what the end check had closed."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    event(ready, "tape renewed", 20)
    end = given.check(ready, "end", minutes=30)

    assert end.outcome == "acceptable"
    [told] = [r for r in end.reasons if r.rule == "event"]
    assert told.says == (
        "P-1: tape renewed 2031-03-14 12:20, after start check C-0001: the check was read through the new tape, and closes "
        "the work before it as far as both tapes answer alike"
    )
    assert end.covers == "the work before P-1: tape renewed 2031-03-14 12:20; then a new start check"
    assert end.do[-1] == "Make a new start check before more parts are examined."
    given.check(ready, "start", minutes=40)
    assert findings.findings(ready, given.when()) == ()


def test_a_failed_check_after_an_event_holds_the_lots_before_it_too(ready: Lab) -> None:
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    event(ready, "knocked", 20, "B-1")
    failed = given.check(ready, "interim", 0.7, 30)
    assert failed.outcome == "not acceptable"
    assert failed.held == ("setup S-0001", "lot L-0001 (panel 4: holes 1-9)")


def test_after_a_repair_no_check_speaks_for_the_work_before_and_its_lots_are_held_at_once(ready: Lab) -> None:
    """Planted: the reason of a break only advising; the end check after the repair was acceptable."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    given.check(ready, "interim", minutes=20)
    given.lot(ready, start.number, "holes 10 to 19", 30)
    assert event(ready, "part exchanged", 40) == ("F-0001",)
    assert held(ready, "F-0001") == ["L-0002"]
    end = given.check(ready, "end", minutes=50)
    assert end.outcome == "not conclusive"
    assert end.covers == ""
    assert "new start check" in end.do[0]
    given.check(ready, "start", minutes=60)
    assert len(findings.findings(ready, given.when())) == 1


def test_lots_logged_before_an_event_became_known_are_held(ready: Lab) -> None:
    """Planted: nothing held for lots under a start whose job was closed."""
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    given.lot(ready, start.number, "holes 10 to 19", 30)
    given.check(ready, "end", minutes=40)
    lots.close_job(ready, "J-1", "done", by=KEEPER, now=given.at(50))
    assert event(ready, "tip worn", 60, happened_at="2031-03-14T12:20") == ("F-0001",)
    assert held(ready, "F-0001") == ["L-0002"]
    assert "P-1: tip worn at 2031-03-14 12:20" in findings.finding(ready, "F-0001", given.when()).says


def test_a_repair_before_a_check_that_was_taken_as_good_takes_its_cover_away(ready: Lab) -> None:
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    given.check(ready, "end", minutes=40)
    assert event(ready, "repaired", 60, "I-1", happened_at="2031-03-14T12:20") == ("F-0001",)
    assert held(ready, "F-0001") == ["L-0001"]


def test_a_corrected_event_holds_what_it_reaches_now(ready: Lab) -> None:
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 10)
    event(ready, "knocked", 20)
    with ready.look(given.when()) as look:
        [first] = events.events_of(look)
    fields = {"asset_no": "P-1", "event": "knocked", "happened_at": "2031-03-14T12:05"}
    better = draft(events.EventDraft, fields, "event")
    found = events.correct_event(ready, "P-1", first.entry, better, "earlier", by="TESS", now=given.at(30))
    assert held(ready, found[0]) == ["L-0001"]


def two_cables(lab: Lab) -> None:
    """Enter the cables A-1 and A-2."""
    for number in ("A-1", "A-2"):
        fields = {"asset_no": number, "name": "cable", "form": "cable", "instrument_connector": "four-pin"}
        fields |= {"probe_connector": "four-pin"}
        equipment.enter_item(lab, draft(equipment.AccessoryDraft, fields, number), by=KEEPER, now=given.at(0))


def test_an_event_on_the_cable_of_the_start_check_counts_and_one_on_another_does_not(ready: Lab) -> None:
    two_cables(ready)
    start = given.check(ready, "start", cable="A-1")
    event(ready, "reading moves with the cable", 10, "A-2")
    given.lot(ready, start.number, "holes 1 to 9", 20)
    event(ready, "reading moves with the cable", 30, "A-1")
    with pytest.raises(Refusal, match="A-1: reading moves with the cable"):
        given.lot(ready, start.number, "holes 10 to 19", 40)


def test_an_item_back_from_repair_has_the_repair_on_record_without_a_second_entry(ready: Lab) -> None:
    """Planted: only the state just before looked at; a repair followed by 'calibrate before use' was lost."""
    for minutes, state in ((10, "in repair"), (20, "calibrate before use"), (30, "in service")):
        if state == "in service":
            paper = {"asset_no": "I-1", "number": "K-9", "laboratory": "x", "performed_on": "2031-03-14"}
            certificates.file_certificate(
                ready, draft(certificates.CertificateDraft, paper, "K-9"), by=KEEPER, now=given.at(25)
            )
        equipment.set_state(ready, "I-1", state, "amplifier noisy", by=KEEPER, now=given.at(minutes))
    assert known(ready) == [("12:10", "I-1: repaired", True)]
    equipment.set_state(ready, "I-1", "stored", "x", by=KEEPER, now=given.at(40))
    equipment.set_state(ready, "I-1", "in service", "x", by=KEEPER, now=given.at(50))
    assert len(known(ready)) == 1


def test_what_was_done_in_a_repair_is_not_recorded_twice(ready: Lab) -> None:
    equipment.set_state(ready, "I-1", "in repair", "noisy", by=KEEPER, now=given.at(10))
    event(ready, "part exchanged", 20, "I-1", by=KEEPER)
    equipment.set_state(ready, "I-1", "in service", "back", by=KEEPER, now=given.at(30))
    assert known(ready) == [("12:20", "I-1: part exchanged", True)]


def test_a_repair_of_an_item_in_an_open_job_holds_what_no_check_had_closed(ready: Lab) -> None:
    start = given.check(ready, "start")
    given.lot(ready, start.number, "holes 1 to 9", 5)
    equipment.set_state(ready, "I-1", "in repair", "noisy", by=KEEPER, now=given.at(10))
    assert equipment.set_state(ready, "I-1", "in service", "back", by=KEEPER, now=given.at(30)) == ("F-0001",)
    assert held(ready, "F-0001") == ["L-0001"]


def advice(lab: Lab, minutes: float, asset_no: str = "P-1") -> list[str]:
    """Return what events advise about an item."""
    [status] = serviceability.status(lab, [asset_no], given.when(minutes))
    return [r.in_words() for r in status.verdict.reasons if r.rule == "event" and r.weight is Weight.ADVISES]


def test_an_item_that_something_happened_to_advises_the_cure_until_an_acceptable_check(ready: Lab) -> None:
    """Planted: any check taken, also one that was not acceptable."""
    given.check(ready, "start")
    assert advice(ready, 5) == []
    event(ready, "tip worn", 10)
    said = "P-1: tip worn 2031-03-14 12:10 [P-1] → renew the tape or have the tip repaired, then check the response"
    assert advice(ready, 11) == [said]
    given.check(ready, "start", 0.5, 20)
    assert advice(ready, 21) == [said]
    given.check(ready, "start", 1.0, 30)
    assert advice(ready, 31) == []
    assert advice(ready, 31, "I-1") == []


@pytest.mark.parametrize(("what", "asset_no"), [("tape renewed", "P-1"), ("repaired", "I-1"), ("tip cleaned", "P-1")])
def test_the_status_asks_for_a_new_start_check_since_an_event_until_it_is_made(
    ready: Lab, what: str, asset_no: str
) -> None:
    """ISO 15549:2019, clause 10. Planted bug: the ended start not asked for, and the status was silent."""

    def asked(minutes: float) -> list[str]:
        [status] = serviceability.status(ready, [asset_no], given.when(minutes))
        return [r.says for r in status.verdict.reasons if r.rule == "new start"]

    given.check(ready, "start", minutes=0)
    event(ready, what, 10, asset_no)
    [says] = asked(11)
    assert says == (
        f"{asset_no}: {what} 2031-03-14 12:10, after start check C-0001 of setup S-0001 on job J-1: "
        "a new start check is asked for since then"
    )
    anew = given.check(ready, "start", minutes=20)
    assert asked(21) == []
    assert not [r for r in anew.kit if r.rule == "new start"]


def test_an_instrument_with_changed_firmware_is_out_of_use_until_it_is_verified(ready: Lab) -> None:
    """Planted bug it caught: a verification that says 'not sound' brought it back."""

    def headline() -> str:
        return serviceability.status(ready, ["I-1"], given.when())[0].verdict.headline()

    def verified(number: str, result: str, minutes: float) -> None:
        paper = {"asset_no": "I-1", "activity": "verification", "number": number, "laboratory": "this lab"}
        paper |= {"performed_on": "2031-03-14", "result": result}
        kept = draft(certificates.CertificateDraft, paper, number)
        certificates.file_certificate(ready, kept, by=KEEPER, now=given.at(minutes))

    event(ready, "firmware changed", 30, "I-1", note="version 2.4")
    stopped = (
        "do not use: I-1: firmware changed 2031-03-14 12:30, and no verification or calibration since then is on record"
    )
    assert headline() == stopped
    verified("V-1", "not sound", 40)
    assert headline() != "serviceable"
    reasons = serviceability.status(ready, ["I-1"], given.when())[0].verdict.reasons
    assert any("firmware changed" in r.says for r in reasons)
    verified("V-2", "sound", 50)
    assert headline() == "serviceable"


def test_a_baseline_from_before_a_repair_is_told_in_the_condition_and_in_the_match(ready: Lab) -> None:
    """Planted: the instant of freezing compared, not that of the first set-up."""
    given.baseline(ready)
    event(ready, "repaired", 10, "I-1", by=KEEPER, happened_at="2031-03-14T09:11")
    says = "the baseline of setup S-0001 is from before I-1: repaired 2031-03-14 09:11"
    verdict = given.check(ready, "start", minutes=20)
    assert verdict.outcome == "acceptable"
    [told] = [r for r in verdict.condition if r.rule == "baseline"]
    assert (told.says, told.cure, told.weight) == (says, "take a new baseline", Weight.ADVISES)
    fits, _ = kits.match(ready, "J-1", given.when(30))
    assert says in [r.says for r in fits[0].reasons]


@pytest.mark.parametrize(
    ("before", "since", "broken"),
    [("A-1", "A-1", True), ("A-1", "", True), ("A-1", "A-2", False), ("A-2", "A-1", False), ("", "", False)],
)
def test_a_repaired_cable_breaks_the_series_of_the_checks_made_with_it(
    ready: Lab, before: str, since: str, broken: bool
) -> None:
    """Planted: only block, probe and instrument known; drift ran on over a repaired cable."""
    two_cables(ready)
    sets = [
        (
            given.check_draft("set-up", happened_at=f"2031-03-14T09:1{i}", cable=before),
            given.readings(),
        )
        for i in range(3)
    ]
    fields = {"setup": "S-0001", "approved_by": "LENA"}
    baseline = draft(baselines.BaselineDraft, fields, "baseline")
    baselines.set_baseline_from_readings(ready, baseline, sets, by="TESS", now=NOON)
    event(ready, "repaired", 10, "A-1")
    given.check(ready, "start", minutes=20, cable=since)

    with ready.look(given.when()) as look:
        assert breaks_within(look) == {1: (days_of(given.at(10)),) if broken else ()}
    told = drift.drift_list(ready, given.when())
    assert [[e.in_words() for e in d.events] for d in told] == [["A-1: repaired"] if broken else []] * 3
    assert [bool(d.drift.answers.breaks) for d in told] == [broken] * 3
    says = [r.says for r in checks.checks(ready, given.when())[0].condition if r.rule == "baseline"]
    assert bool(says) is (before == "A-1")  # judged before the check itself, with its cable, was on record


def test_another_firmware_in_a_description_is_an_event_that_asks_for_a_verification(lab: Lab) -> None:
    """Planted: the text changed and nothing else; the instrument stayed serviceable and its series went on unbroken.

    Named once: not when the event was recorded before, when the version was not known, or when it only left the text.
    """
    given.whole(lab)

    def described(firmware: str, minutes: float) -> None:
        fields = {
            "asset_no": "I-1",
            "name": "instrument",
            "lowest_khz": "10",
            "highest_khz": "10000",
            "connector": "four-pin",
        }
        fields |= {"display_order": "rotate-then-scale", "firmware": firmware}
        new = draft(equipment.InstrumentDraft, fields, "I-1")
        equipment.revise_item(lab, new, "read on its screen", by=KEEPER, now=given.at(minutes))

    def firmware_events() -> list[str]:
        return [e.says for e in item_record(lab, "I-1", given.when()).events if "firmware changed" in e.says]

    described("5.1", 1)
    described("", 2)
    assert firmware_events() == []
    described("5.2", 3)
    assert len(firmware_events()) == 1
    assert "version 5.2, was 5.1; described anew: read on its screen" in firmware_events()[0]
    verdict = serviceability.status(lab, ["I-1"], given.when())[0].verdict
    assert verdict.standing == "do not use"
    assert any("firmware changed" in r.says and "verification" in r.cure for r in verdict.reasons)
    described("5.2 ", 4)
    event = {"asset_no": "I-1", "event": "firmware changed", "note": "5.3"}
    events.record_event(lab, draft(events.EventDraft, event, "event"), by=KEEPER, now=given.at(5))
    described("5.3", 6)
    assert len(firmware_events()) == 2
