"""The auditor's questions by keys: numbers with their records, drift, the past, the log, reports on file."""

import json
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from refstd.desk import equipment, people
from refstd.desk.duties import due_list
from refstd.desk.entry import draft_or_refuse
from refstd.desk.homes import auditor_home
from refstd.desk.log import log_entries
from refstd.desk.serviceability import status
from refstd.desk.store import When, open_store
from tests.tui.busy_lab import TODAY
from tests.tui.driving import driven

NOW = When(TODAY)


async def test_each_number_at_home_is_that_of_the_desk_and_opens_the_records_behind_it(busy: Path) -> None:
    lab = open_store(busy)
    found = auditor_home(lab, NOW)
    lab.close()
    async with driven(busy, "AUD") as d:
        for place, (count, title) in enumerate(
            (
                ("—", "Suspects (not judged)"), (len(found.overdue), "Overdue"), (len(found.deferred), "Deferred"), (len(found.decided), "Decisions by authority"), (len(found.drifting), "Drift"), (len(found.findings), "Findings"),
                (len(found.late), "Late returns"), (len(found.overridden), "Kits taken against advice"), (len(found.unverified), "In service without evidence"), (found.log_sequence, "Log"),
            )
        ):  # fmt: skip
            row = d.text.split("\n")[5 + place]
            assert row.split()[row.startswith("▸")] == str(count), row
            await d.keys("enter")
            assert d.text.split("\n")[0].startswith(f" {title}")
            await d.keys("escape", "down")


async def test_drift_that_stands_out_leads_by_its_chart_to_the_check_behind_a_point(busy: Path) -> None:
    async with driven(busy, "AUD") as d:
        await d.keys("g")
        assert "1 of 2 notches stand out" in d.text
        assert "! falling" in d.text
        assert "beyond the limits, falling" in d.flat
        await d.keys("enter")
        assert "X out of limits" in d.text
        assert "+0.25 dB" in d.text
        assert "23 of 23 ▸ C-0027" in d.flat
        assert "○ shown, not judged" in d.flat
        await d.keys("left")
        assert "22 of 23 ▸ C-0026" in d.flat
        await d.keys("enter")
        assert "Check C-0026" in d.text
        await d.keys("2")
        assert "-18" in d.text
        await d.keys("3")
        assert "✕ now" in d.text
        await d.keys("escape", "v", "down", "enter")
        assert "Check C-0026" in d.text


async def test_as_at_a_past_day_shows_the_verdict_of_that_day_and_marks_every_screen(busy: Path) -> None:
    lab = open_store(busy)
    yesterday = datetime(2026, 2, 26, 23, 59, tzinfo=ZoneInfo("Europe/Dublin")) + timedelta(
        seconds=59, microseconds=999_999
    )
    then = status(lab, ["P-2"], When(TODAY, as_at=yesterday))[0].verdict.headline()
    now = status(lab, ["P-2"], NOW)[0].verdict.headline()
    lab.close()
    assert then != now
    async with driven(busy, "AUD") as d:
        await d.keys("p", "down", "enter")
        assert " ".join(now.split()) in d.flat
        await d.keys("escape", "escape", "t")
        await d.type("2026-02-26")
        await d.keys("enter")
        mark = "RECORDS AS AT 2026-02-26 23:59 (Europe/Dublin). Nothing can be recorded here."
        assert mark in d.text
        for key in ("o", "d", "g", "f", "l", "y", "j", "v", "b", "p", "i", "a", "r", "u", "slash"):
            await d.keys(key)
            assert d.text.count("RECORDS AS AT") == 1, key
            await d.keys("escape")
        await d.keys("p", "down", "enter")
        assert mark in d.text
        assert f"✓ {then.upper()}" in d.text
        await d.keys("o")
        assert "nothing is recorded in the past" in d.notices
        await d.keys("escape", "escape", "t", *["backspace"] * 16, "enter")
        assert "RECORDS AS AT" not in d.text


@pytest.mark.parametrize(
    ("typed", "says"),
    [("2027-01-01", "future"), ("2020-01-01", "nothing from that long ago"), ("26.2.2026", "not an instant")],
)
async def test_an_instant_that_cannot_be_shown_is_refused_with_the_reason(busy: Path, typed: str, says: str) -> None:
    async with driven(busy, "AUD") as d:
        await d.keys("t")
        await d.type(typed)
        await d.keys("enter")
        assert says in d.notices
        assert "RECORDS AS AT" not in d.text


async def test_the_log_is_read_to_its_first_entry_a_page_at_a_time(busy: Path) -> None:
    lab = open_store(busy)
    for n in range(400):
        fields = {
            "code": "AL7075",
            "name": f"bar {n}",
            "family": "aluminium alloy",
            "magnetic_class": "non-magnetic",
            "source": "x",
        }
        equipment.enter_material(lab, draft_or_refuse(equipment.MaterialDraft, fields, "m"), by="CUS", now=TODAY)
    newest = log_entries(lab, NOW, count=1)[0].sequence
    lab.close()
    async with driven(busy, "AUD") as d:
        await d.keys("j")
        assert f"Log ({newest} entries)" in d.text
        assert f"▸ {newest:>7}" in d.text
        await d.keys("end", "end", "end", "end")
        assert "▸       1" in d.text
        assert "Surface lab" in d.text


def test_log_entries_follow_on_without_gap_or_repeat(busy: Path) -> None:
    lab = open_store(busy)
    pages: list[int] = []
    before: int | None = None
    while found := log_entries(lab, NOW, before=before, count=7):
        pages += [e.sequence for e in found]
        before = pages[-1]
    lab.close()
    assert pages == list(range(pages[0], 0, -1))


async def test_verify_from_the_log_says_whole_and_a_changed_byte_is_found_and_located(busy: Path) -> None:
    async with driven(busy, "AUD") as d:
        await d.keys("j", "v")
        assert "✓ whole" in d.flat
    _alter_entry(busy, 12)
    async with driven(busy, "AUD") as d:
        await d.keys("v", "v")
        assert "✗ NOT WHOLE" in d.text
        assert "log entry 12" in d.flat


def _alter_entry(path: Path, sequence: int) -> None:
    import sqlite3

    connection = sqlite3.connect(path)
    guards = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE type='trigger' AND tbl_name='log_entry'"
    ).fetchall()
    for name, _ in guards:
        connection.execute(f'DROP TRIGGER "{name}"')
    connection.execute("UPDATE log_entry SET person_name = 'Somebody Else' WHERE sequence = ?", (sequence,))
    for _, made in guards:
        connection.execute(made)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(("key", "schema"), [("d", "refstd.due/1"), ("g", "refstd.drift/1")])
async def test_a_report_is_written_where_asked_and_never_over_a_file(
    busy: Path, tmp_path: Path, key: str, schema: str
) -> None:
    target = tmp_path / "report.json"
    async with driven(busy, "AUD") as d:
        for _ in range(2):
            await d.keys(key, "o", *["backspace"] * 22)
            await d.type(str(target))
            await d.keys("enter")
            await d.keys("escape")
        assert "exists and is not overwritten" in d.notices
    assert json.loads(target.read_text())["schema"] == schema


async def test_an_item_page_offers_an_auditor_only_what_an_auditor_may_do(busy: Path) -> None:
    """Planted bug it caught: every act offered to everyone, and refused after the form was filled in."""
    async with driven(busy, "AUD", size=(120, 40)) as d:
        await d.keys("b", "enter")
        page = d.text
        assert "o Finding" in page.split("\n")[-1]
        for word in ("e Describe", "s State", "c Certificate", "d Schedule", "h Happened"):
            assert word not in page.split("\n")[-1], word
        await d.keys("s", "e", "c", "d", "h", "4", "y", "z")
        await d.keys("1")
        assert d.text == page
        await d.keys("question_mark")
        assert "Put something wrong on record" in d.flat
        assert "File a certificate" not in d.flat
    async with driven(busy, "TEC", size=(120, 40)) as d:
        await d.keys("slash")
        await d.type("B-1")
        await d.keys("enter")
        assert "s State" in d.text
        assert "c Certificate" not in d.text


async def test_quality_defers_a_due_date_on_the_record_and_the_auditor_sees_it(busy: Path) -> None:
    async with driven(busy, "AUD") as d:
        lab, by = d.app.lab, d.app.by
        grant = {"person": by, "authority": "quality", "granted_on": "2026-01-01", "why": "appointed"}
        people.grant(lab, draft_or_refuse(people.GrantDraft, grant, "grant"), by="CUS", now=NOW.now)
        d.app.act_as(people.actor(lab, by, NOW))
        await d.settle()
        (due,) = (r for r in due_list(lab, NOW) if r.asset_no == "I-1")
        assert due.due_on
        await d.keys("i", "enter", "f")
        assert "Defer the calibration of I-1" in d.text
        await d.type(str(due.due_on + timedelta(days=30)))
        await d.keys("tab")
        await d.type("no place before")
        await d.keys("f2")
        assert f"deferred to {due.due_on + timedelta(days=30)} by {by}: no place before" in d.notices
        await d.keys("escape", "escape")
        assert "1 due dates deferred I-1" in d.flat
        await d.keys("down", "down", "enter")
        assert "Deferred (1)" in d.text
        await d.keys("enter", "5", "x")
        await d.type("a place is free")
        await d.keys("enter")
        assert "is withdrawn: a place is free" in d.notices
