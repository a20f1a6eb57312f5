"""A certificate of eight notches typed from the paper: keys counted, columns pasted, slips asked about, nothing lost."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from textual.events import Paste

from refstd.desk import equipment
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.history import CertificateShown, item_record
from refstd.desk.store import When, open_store
from tests.tui.busy_lab import TODAY
from tests.tui.driving import Driver, driven

DEPTHS = ("0.5", "1.0", "1.5", "2.0", "2.5", "3.0", "3.5", "4.0")
MEASURED = ("0.502", "1.004", "1.497", "2.007", "2.511", "2.993", "3.505", "4.002")
DAY = datetime(2026, 3, 9, 9, 0, tzinfo=UTC)


@pytest.fixture
def store(busy: Path) -> Path:
    """The busy lab with a block of eight notches."""
    lab = open_store(busy)
    fields = {"asset_no": "B-103", "name": "block", "material": "AL7075", "form": "plate", "thickness_mm": "10"}
    notches = [draft(equipment.NotchDraft, {"label": f"{d} mm", "depth_mm": d}, d) for d in DEPTHS]
    equipment.enter_item(lab, draft(equipment.BlockDraft, fields, "B-103"), notches, by="CUS", now=TODAY)
    lab.close()
    return busy


class Counted:
    """Presses keys and counts them; what is typed from the paper counts apart."""

    def __init__(self, d: Driver) -> None:
        self.d, self.pressed = d, 0

    async def keys(self, *keys: str) -> None:
        self.pressed += len(keys)
        await self.d.keys(*keys)


async def open_block(d: Driver) -> None:
    await d.keys("slash")
    await d.type("B-103")
    await d.keys("enter")


async def head(d: Driver, number: str, *, adjusted: bool = False) -> None:
    """Fill in the head of a certificate and go on to its values."""
    await d.keys("c")
    await d.type(number)
    await d.keys("enter")
    await d.type("Hall lab")
    await d.keys("enter", "enter")
    await d.type("2026-03-05")
    await d.keys(*["enter"] * 7, *(["y"] if adjusted else []), "f2")


async def paste(d: Driver, text: str) -> None:
    """Send what a terminal sends when a clipboard is pasted into it."""
    d.app.post_message(Paste(text))
    await d.settle()


def filed(d: Driver) -> CertificateShown:
    return item_record(d.app.lab, "B-103", When(DAY)).certificates[-1]


async def test_eight_notches_take_few_keys_beside_the_figures(store: Path) -> None:
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        counted = Counted(d)
        await counted.keys("c")
        for typed in ("HM-1", "Hall lab", "", "2026-03-05", "", "replica", "middle", "20.3", "45 % rh", "standard 12"):
            await d.type(typed)
            await counted.keys("enter")
        await counted.keys("f2")
        for typed in ("0.010", "2", "95.45"):
            await d.type(typed)
            await counted.keys("enter")
        await counted.keys("down")
        for typed in MEASURED:
            await d.type(typed)
            await counted.keys("enter")
        await counted.keys("enter")
        assert counted.pressed < 60, counted.pressed
        c = filed(d)
        assert [(v.notch, str(v.value), v.unit) for v in c.values] == [
            (f"{n} mm", m, "mm") for n, m in zip(DEPTHS, MEASURED, strict=True)
        ]
        assert {(str(v.expanded_uncertainty), str(v.coverage_factor), str(v.coverage_probability_percent)) for v in c.values} == {
            ("0.010", "2", "95.45")
        }  # fmt: skip
        assert (c.method, c.place, c.temperature_c, c.environment, c.traceability) == ("replica", "middle", "20.3", "45 % rh", "standard 12")  # fmt: skip


async def test_a_pasted_column_fills_downwards_with_u_beside_it(store: Path) -> None:
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        await head(d, "HM-1")
        await d.keys("down")
        await paste(d, "\r\n".join(f"{m}\t0.01{n}" for n, m in enumerate(MEASURED)) + "\r\n")
        assert "measured, U: 8 of 8 rows filled" in d.notices
        await d.keys("f2")
        assert [(str(v.value), str(v.expanded_uncertainty)) for v in filed(d).values] == [
            (m, f"0.01{n}") for n, m in enumerate(MEASURED)
        ]


async def test_a_column_of_another_length_changes_nothing_and_says_so(store: Path) -> None:
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        await head(d, "HM-1")
        await d.keys("down")
        await d.type("0.502")
        await d.keys("enter")
        await paste(d, "\n".join(MEASURED))
        assert "Nothing was taken from what was pasted. ! the count: 8 lines, but 7 rows from here on" in d.flat
        assert "0.502" in d.text
        await paste(d, "1,004\n2,007\n")
        assert "may mean thousands or decimals" in d.flat
        assert "2.007" not in d.text
        await paste(d, "1,004\n0,512\n")
        assert "decimal commas read as points, 1,004 as 1.004" in d.notices
        assert "? 1.5 mm depth as left: 0.512 mm is 66 % below the nominal 1.5 mm" in d.flat


async def test_a_column_comes_in_by_a_terminal_that_pastes_as_keys(store: Path) -> None:
    """Tab to U and Enter back to the measured column are what such a terminal types."""
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        await head(d, "HM-1")
        await d.keys("down")
        for n, m in enumerate(MEASURED):
            await d.keys(*m, "tab", *f"0.01{n}", "enter")
        await d.keys("enter")
        assert [str(v.expanded_uncertainty) for v in filed(d).values] == [f"0.01{n}" for n in range(8)]


async def test_a_slip_is_asked_about_and_filed_only_when_it_is_meant(store: Path) -> None:
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        await head(d, "HM-1")
        await d.keys("down")
        await paste(d, "\n".join(("5.02", *MEASURED[1:])))
        await d.keys("f2")
        assert "? 0.5 mm depth as left: 5.02 mm is 10.0 times the nominal 0.5 mm" in d.flat
        await d.keys("enter")
        assert "Values of certificate HM-1" in d.text
        assert item_record(d.app.lab, "B-103", When(DAY)).certificates == ()
        await d.keys("f2", "2")
        assert str(filed(d).values[0].value) == "5.02"


async def test_as_found_and_as_left_stand_side_by_side_where_something_was_adjusted(store: Path) -> None:
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        await head(d, "HM-1", adjusted=True)
        assert "as found  as left" in d.text
        await d.type("0.010")
        await d.keys("down")
        for m in (*MEASURED, *MEASURED):  # Enter after the last as found goes on with the first as left
            await d.type(m)
            await d.keys("enter")
        await d.keys("enter")
        assert [(v.notch, v.stage) for v in filed(d).values][:3] == [
            ("0.5 mm", "as found"), ("0.5 mm", "as left"), ("1.0 mm", "as found")
        ]  # fmt: skip
        assert len(filed(d).values) == 16


async def test_going_back_to_the_head_keeps_what_was_typed_and_a_correction_begins_with_it(store: Path) -> None:
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        await head(d, "HM-1")
        await d.type("0.010")
        await d.keys("down")
        await paste(d, "\n".join(MEASURED))
        await d.keys("f7")
        assert "Row in full: 0.5 mm" in d.text
        await d.keys(*["tab"] * 8)
        await d.type("0.45")
        await d.keys("tab", "tab")
        await d.type("drawing 7")
        await d.keys("tab")
        await d.type("1 mm from the end")
        await d.keys("f2", "escape", "f2")
        assert "0.45" in d.text
        await d.keys("f2")
        first = filed(d).values[0]
        assert (str(first.lower_limit), first.limit_source, first.point) == ("0.45", "drawing 7", "1 mm from the end")
        await d.keys("4", "y")
        await d.type("a figure exchanged")
        await d.keys("enter", "f2", "f2")
        again = filed(d)
        assert again.in_force
        assert again.values[0].point == "1 mm from the end"
        assert [str(v.expanded_uncertainty) for v in again.values] == ["0.010"] * 8


async def test_a_renewed_certificate_takes_about_twenty_keys_beside_what_is_typed_from_the_paper(store: Path) -> None:
    """From the custodian's home to what follows from it."""
    async with driven(store, "CUS", now=DAY) as d:
        await open_block(d)
        await head(d, "HM-1")
        for typed in ("0.010", "2"):
            await d.type(typed)
            await d.keys("enter")
        await d.keys("down")
        await paste(d, "\n".join(MEASURED))
        await d.keys("f2", "escape", "escape", "escape")
        assert d.text.splitlines()[0].strip().startswith("Custodian")
        counted, figures = Counted(d), ["B-103", "HM-2", "2026-03-06", *MEASURED]
        given = iter(figures)
        await counted.keys("slash")
        await d.type(next(given))
        await counted.keys("enter", "c")
        await d.type(next(given))
        await counted.keys("enter", "enter", "enter")
        await d.type(next(given))
        await counted.keys("f2")
        for value in given:
            await d.type(value)
            await counted.keys("enter")
        await counted.keys("enter")
        assert d.text.splitlines()[0].strip().startswith("What follows from HM-2")
        assert {(str(v.expanded_uncertainty), str(v.coverage_factor)) for v in filed(d).values} == {("0.010", "2")}
        every = counted.pressed + sum(map(len, figures))
        assert counted.pressed <= 16, counted.pressed
        assert every < 120, every  # half a minute at four keys a second
