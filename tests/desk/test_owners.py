"""Customer-owned items: whose, when they go back, who may send them to a laboratory; from entry to report and file."""

from datetime import date

import pytest

from refstd.base.errors import BadInput
from refstd.desk.owners import returns
from refstd.desk.recall import recall
from refstd.desk.reservations import advice_on
from refstd.desk.store import Lab, When
from refstd.exchange.export import export_register
from refstd.reports import due_sheet, item_sheet
from tests import thin_thread as given

THEIRS = {"owner": "customer 7", "return_on": "2031-03-18", "ours_to_recalibrate": "no"}


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A kit and a job to 20 March, and B-2 of customer 7, which goes back on the 18th."""
    given.whole(lab)
    given.block(lab, "B-2", **THEIRS)
    given.certified(lab, "B-2")
    return lab


@pytest.mark.parametrize("wrong", [{"return_on": "2031-03-18"}, {"ours_to_recalibrate": "no"}])
def test_a_return_date_or_a_reserve_without_an_owner_is_refused(ready: Lab, wrong: dict[str, str]) -> None:
    with pytest.raises(BadInput, match="owner: is missing"):
        given.block(ready, "B-3", **wrong)


@pytest.mark.parametrize(("today", "state", "days"), [("2031-03-14", "due soon", 4), ("2031-03-19", "overdue", -1)])
def test_it_stands_in_the_due_list_with_the_day_and_the_owner(ready: Lab, today: str, state: str, days: int) -> None:
    when = When(given.at(1), today=date.fromisoformat(today))
    [back] = returns(ready, when)
    assert (back.asset_no, back.activity, back.state, back.days) == ("B-2", "return to customer 7", state, days)
    sheet = due_sheet(ready, when, 30)
    [row] = [dict(zip([c.key for c in sheet.columns], r, strict=True)) for r in sheet.rows if r[3].startswith("return")]
    assert (row["asset_no"], row["due_on"], row["source"]) == ("B-2", "2031-03-18", "agreed with customer 7")


def test_the_recall_names_the_owner_in_place_of_a_laboratory(ready: Lab) -> None:
    """Who may not have it recalibrated must not read an address to send it to."""
    found = recall(ready, When(given.at(1), today=date(2031, 12, 1)))
    assert {r.due.asset_no: r.laboratory for r in found.sent} == {
        "B-1": "a laboratory", "I-1": "a laboratory", "B-2": "not ours to recalibrate: ask customer 7",
    }  # fmt: skip


def test_it_is_advised_of_before_it_goes_out(ready: Lab) -> None:
    assert [r.says for r in advice_on(ready, "J-1", ["B-2", "P-1", "I-1"], given.when(1)) if r.rule == "owner"] == [
        "B-2 goes back to customer 7 during the job"
    ]


def test_its_report_and_its_file_say_whose_it_is(ready: Lab) -> None:
    words = [r for row in item_sheet(ready, given.when(), "B-2").rows for r in row]
    assert "customer 7; goes back on 2031-03-18; not ours to recalibrate: ask the owner" in words
    head, *rows = export_register(ready, given.when())["blocks.csv"].decode().splitlines()
    named = {r.split(",")[0]: dict(zip(head.split(","), r.split(","), strict=True)) for r in rows}
    assert {k: named["B-2"][k] for k in THEIRS} == THEIRS
    assert named["B-1"]["ours_to_recalibrate"] == "yes"
