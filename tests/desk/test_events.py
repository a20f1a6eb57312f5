"""Events: what may be recorded of which item, how it is corrected, and what counts."""

import pytest
from sqlalchemy import event as watching

from refstd.base.errors import BadInput, NotAllowed, NotFound, Refusal
from refstd.desk import events
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When, verify
from tests import thin_thread as given
from tests.given import KEEPER

TAPE = {"tape": "PTFE", "tape_thickness_mm": "0.10"}


def event(lab: Lab, what: str, minutes: float, asset_no: str = "P-1", by: str = "TESS", **values: str) -> None:
    """Record an event; a renewed tape is named unless said otherwise."""
    more = TAPE if what == "tape renewed" and not values else {}
    fields = {"asset_no": asset_no, "event": what} | more | values
    events.record_event(lab, draft(events.EventDraft, fields, "event"), by=by, now=given.at(minutes))


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
    events.correct_event(ready, "P-1", first.entry, None, "it was the other probe", by="TESS", now=given.at(50))
    assert known(ready) == []
    assert known(ready, When(given.at(60), as_at=given.at(45))) == [("12:30", "P-1: repaired", True)]
