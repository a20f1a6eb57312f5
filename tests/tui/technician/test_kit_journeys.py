"""Kits, jobs, lots, setups and baselines by keys, on a real store."""

from pathlib import Path

import pytest
from textual.widgets import Input

from refstd.desk import baselines, custody, equipment, findings, jobs, setups
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.jobs import lots
from refstd.desk.store import Lab, When, open_store
from refstd.tui.forms import ChoiceField, FormScreen
from refstd.tui.technician.match import MatchScreen
from tests import given, thin_thread
from tests.tui.driving import Driver, driven
from tests.tui.technician.floor import KIT, NOW, ONE_O_CLOCK, read


@pytest.fixture
def shelf(kit_only: Path) -> Path:
    """A store whose kit lies on the shelf."""
    lab = open_store(kit_only)
    custody.check_in(lab, KIT, by="TESS", now=thin_thread.at(5))
    lab.close()
    return kit_only


def out(d: Driver) -> list[tuple[str, str]]:
    """Return what is out and with whom."""
    return sorted((o.asset_no, o.loan.holder) for o in custody.out_now(d.app.lab, NOW))


async def test_a_kit_is_matched_and_checked_out_by_two_keys(shelf: Path) -> None:
    async with driven(shelf, "TOM", now=ONE_O_CLOCK) as d:
        await d.keys("m")
        assert "1. B-1 + P-1 + I-1" in d.text
        await d.keys("enter")
        assert out(d) == [("B-1", "TOM"), ("I-1", "TOM"), ("P-1", "TOM")]
        assert "next check start check before the first part" in d.flat


async def test_a_kit_of_which_one_item_went_out_meanwhile_is_refused_whole_in_the_desks_words(shelf: Path) -> None:
    async with driven(shelf, "TOM", now=ONE_O_CLOCK) as d:
        await d.keys("m")
        other = open_store(shelf)
        custody.check_out(other, "J-1", ["P-1"], by="TESS", now=thin_thread.at(30))
        other.close()
        await d.keys("enter")
        assert isinstance(d.app.screen, MatchScreen)
        assert "✗ P-1 is out with TESS (job J-1, since 2031-03-14 12:30)." in d.flat
        assert out(d) == [("P-1", "TESS")]


async def test_an_item_that_does_not_suit_says_why_and_what_would_cure_it(kit_only: Path) -> None:
    async with driven(kit_only, "TOM", now=ONE_O_CLOCK, size=(100, 60)) as d:
        await d.keys("m")
        assert "✗ B-1 is out with TESS for job J-1" in d.flat
        assert "→ have it checked in first" in d.flat
        await d.keys("f", "enter")
        assert "This item does not suit the job" in d.flat
        assert len(out(d)) == 3


async def test_what_comes_back_not_sound_is_held_and_the_rest_stays_out(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("i", "space", "down", "space", "enter")  # only the probe stays marked
        await d.keys("2", "enter")
        await d.type("tip chipped")
        await d.keys("enter", "enter")
        assert out(d) == [("B-1", "TESS"), ("I-1", "TESS")]
        (found,) = findings.findings(d.app.lab, NOW)
        assert (found.items, found.cause) == (("P-1",), "damage")
        assert f"Held by {found.number}" in d.notices


async def test_a_check_in_without_a_condition_is_refused_and_loses_nothing(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("i", "enter", "enter", "home", *["delete"] * 5, "f2")
        assert "the condition is missing" in d.flat
        assert len(out(d)) == 3


async def test_a_job_is_opened_by_its_form_with_procedure_and_material_chosen_by_key(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("n")
        await d.type("j-7")
        await d.keys("enter", "1", "enter", "enter")
        await d.type("panel 9")
        await d.keys("enter", "1", "enter", "p", "enter", "enter")
        await d.type("200")
        await d.keys(*["enter"] * 4)
        await d.type("2031-03-01")
        await d.keys("f2")  # ends before it starts
        assert "! is before the first day. Exchange the two." in d.flat
        await d.keys("home", *["delete"] * 10)
        await d.type("2031-03-21")
        await d.keys("f2")
        assert "J-7" in {j.number for j in jobs.jobs(d.app.lab, NOW)}
        assert "J-7 panel 9" in d.flat


async def test_a_form_says_every_problem_below_its_field_and_keeps_what_was_typed(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK, size=(80, 40)) as d:
        await d.keys("n")
        await d.type("J 8!")
        await d.keys("f2")
        rows = d.text.splitlines()
        place = next(n for n, row in enumerate(rows) if row.strip().startswith("number"))
        assert "'J 8!' is not a number of ours" in rows[place + 1]
        assert "J 8!" in rows[place]
        assert d.text.count("! is missing.") >= 3
        assert isinstance(d.app.screen, FormScreen)


async def test_a_lot_is_logged_under_the_start_check_that_stands(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("l", "a")
        await d.type("holes 21-40")
        await d.keys("f2")
        logged = lots(d.app.lab, NOW)[-1]
        assert (logged.examined, logged.start_check) == ("panel 4: holes 21-40", "C-0005")
        assert f"lot {logged.number}: panel 4: holes 21-40" in d.flat


async def test_a_lot_logged_late_under_an_old_start_says_which_finding_holds_it(started: Path) -> None:
    lab = open_store(started)
    newer = thin_thread.check(lab, "start", minutes=50)
    lab.close()
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("l", "a")
        form = d.app.screen
        assert isinstance(form, FormScreen)
        form.query_one("#field-start_check", ChoiceField).value = "C-0005"
        form.query_one("#field-examined_at", Input).value = "2031-03-14T12:40"
        await d.type("holes 21-40")
        await d.keys("f2")
        assert f"start check {newer.number} has begun new work" in d.notices


async def test_no_lot_is_logged_before_a_start_check(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("l", "a")
        assert "Parts are examined after an acceptable start check." in d.notices
        assert lots(d.app.lab, NOW) == ()


async def test_a_setup_is_put_on_record_and_its_baseline_taken_and_frozen(store: Path) -> None:
    lab = open_for_setups(store)
    lab.close()
    minute = iter(range(60, 1000))
    async with driven(store, "TESS", now=ONE_O_CLOCK) as d:
        d.app.now = lambda: thin_thread.at(next(minute) / 6)  # time passes between one set-up and the next
        await d.keys("s", "n")
        await d.type("200")
        await d.keys(*["enter"] * 6, "3", "enter", "2", "f2")
        (made,) = setups.setups(d.app.lab, When(thin_thread.at(600)))
        assert (made.measure, made.unit) == ("horizontal and vertical", "% FSH")
        for figures in (("-20 95", "-18 80", "-12 40"), ("-20 96", "-18 81", "-12 40"), ("-20 94", "-18 79", "-12 41")):
            await d.keys("t", "enter")
            assert "set-up check" in d.text
            assert "occasion" not in d.text  # it is fixed
            for name, value in thin_thread.SETTINGS.items():
                d.app.screen.query_one(f"#{name}").value = ""  # type: ignore[attr-defined]
                await d.type(value)
                await d.keys("enter")
            await d.keys("space", "space")
            await d.type("4")
            await d.keys("enter")
            await read(d, *figures)
            await d.keys("y", "escape")
        waiting = baselines.waiting_set_ups(d.app.lab, made.number, When(thin_thread.at(600)))
        assert len(waiting) == 3
        assert f"3 set-ups wait to be frozen: {', '.join(waiting)}" in d.flat
        await d.keys("b", "1", "f2")
        shown = baselines.baseline_shown(d.app.lab, made.number, When(thin_thread.at(600)))
        assert shown is not None
        assert (shown.approved_by, shown.checks) == ("LENA", waiting)


def open_for_setups(path: Path) -> Lab:
    """Put items, procedure and people on record, and no setup yet."""
    lab = open_store(path)
    thin_thread.people_and_material(lab)
    thin_thread.block(lab)
    thin_thread.probe(lab)
    thin_thread.instrument(lab)
    thin_thread.procedure(lab)
    return lab


async def test_who_works_here_is_chosen_and_is_said_to_be_no_protection(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("w")
        assert "attribution, not protection" in d.flat
        place = next(n for n, row in enumerate(d.text.splitlines()) if row.lstrip("0123456789 ").startswith("TOM"))
        digit = d.text.splitlines()[place].strip()[0]
        await d.keys(digit)
        assert d.app.person is not None
        assert d.app.person.code == "TOM"
        assert "nothing; m matches a kit to an open job" in d.text


async def test_nothing_is_recorded_while_the_past_is_shown(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        d.app.as_at = given.NOON
        await d.keys("i")
        assert "the records are shown as at" in d.notices
        assert len(out(d)) == 3


async def test_a_job_without_a_kit_is_told_how_to_get_one(shelf: Path) -> None:
    async with driven(shelf, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c")
        assert "No kit is in hand for this job" in d.notices
        assert "m matches a kit" in d.notices


async def test_a_job_closed_without_an_end_check_says_which_finding_holds_its_lots(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("x")
        await d.type("work done")
        await d.keys("enter")
        (found,) = findings.findings(d.app.lab, NOW)
        assert not jobs.jobs(d.app.lab, NOW, only_open=True)
        assert f"held by {found.number}" in d.notices


async def test_another_alloy_is_explained_beside_the_kit_and_in_full_a_key_away(kit_only: Path) -> None:
    lab = open_store(kit_only)
    custody.check_in(lab, KIT, by="TESS", now=thin_thread.at(5))
    fields = {
        "code": "AL-2",
        "name": "AL-2",
        "family": "aluminium alloy",
        "magnetic_class": "non-magnetic",
        "source": "test",
    }
    fields["conductivity_percent_iacs"] = "42"
    equipment.enter_material(
        lab, draft(equipment.MaterialDraft, fields, "AL-2"), by=given.KEEPER, now=thin_thread.at(6)
    )
    sizes = {"coil_inner_mm": "1", "coil_outer_mm": "2", "coil_height_mm": "0.75", "coil_gap_mm": "0.2"}
    thin_thread.probe(lab, "P-2", **sizes)
    thin_thread.job(lab, "J-2", material="AL-2")
    lab.close()
    async with driven(kit_only, "TOM", now=ONE_O_CLOCK) as d:
        await d.app.push_screen(MatchScreen("J-2"))
        await d.settle()
        assert "P-2" in d.text
        assert "moves by about as much as 0.03 mm of lift-off would" in d.flat
        assert "(calculated, not measured; e explains)" in d.flat
        assert all(len(row) <= 80 for row in d.text.splitlines())
        await d.keys("e")  # the kit whose setup has a baseline comes first; its coil's size is not known
        assert "enter the size of the coil on the record of P-1" in d.flat
        await d.keys("escape", "down", "e")
        assert "the reading has NOT been corrected for this" in d.flat
        assert "→ if in doubt use a block of matching conductivity, or ask the responsible level 3" in d.flat
        assert "None of these figures passes, fails, ranks or corrects anything." in d.flat
        assert out(d) == []


async def test_a_kit_is_out_and_its_sheet_written_to_paper_by_a_few_keys(shelf: Path) -> None:
    paper = shelf.parent / "kit.pdf"
    async with driven(shelf, "TOM", now=ONE_O_CLOCK) as d:
        await d.keys("m", "enter", "k")
        assert "Kit for job J-1" in d.text
        assert "B-1, P-1, I-1" in d.text
        await d.keys("2")
        assert "turn until lift-off lies horizontal" in d.flat
        await d.keys("o", *["backspace"] * len("kit-J-1-2031-03-14.pdf"))
        await d.type(str(paper))
        await d.keys("enter")
    assert paper.read_bytes().startswith(b"%PDF")


async def test_a_sheet_of_a_kit_that_is_not_out_says_what_to_do(shelf: Path) -> None:
    async with driven(shelf, "TOM", now=ONE_O_CLOCK) as d:
        await d.keys("k")
        assert "nothing is out for job J-1" in d.flat
        assert "Check a kit out" in d.flat


async def choose_tom(d: Driver) -> None:
    line = next(line for line in d.text.splitlines() if "TOM" in line)
    await d.keys(line.split("TOM")[0].strip().strip("│┃|▏ ").strip(".")[-1])


async def test_a_job_goes_on_with_the_next_shift_from_the_home_with_its_condition(kit_only: Path) -> None:
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("g")
        assert "Job J-1 goes on with B-1, I-1, P-1." in d.flat
        assert "nothing was at work" in d.flat
        assert "AUDE" not in d.text
        assert "TESS Person" not in d.text
        await choose_tom(d)
        assert "no closing check possible" not in d.flat
        await d.keys("f2")
        assert out(d) == [("B-1", "TOM"), ("I-1", "TOM"), ("P-1", "TOM")]
        assert "Job J-1 with TOM now" in d.notices


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_missing_closing_check_is_said_before_anybody_is_chosen(started: Path, size: tuple[int, int]) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK, size=size) as d:
        await d.keys("g")
        assert "✗ no end check of setup S-0001 since start check C-0005: make it" in d.flat
        await choose_tom(d)
        assert "no closing check possible: why" in d.flat
        await d.keys("f2")
        assert "Make the end check first" in d.flat
        assert out(d)[0] == ("B-1", "TESS")
        await d.keys("down")
        await d.type("tip broken")
        await d.keys("f2")
        assert out(d)[0] == ("B-1", "TOM")
        assert "none possible: tip broken" in d.notices


@pytest.fixture
def with_shims(shelf: Path) -> Path:
    """A box of three shims is out with TESS beside the shelf's kit."""
    lab = open_store(shelf)
    values = {"asset_no": "K-1", "name": "shims", "form": "shim", "pieces": "shim=3; tip=2"}
    equipment.enter_item(lab, draft(equipment.AccessoryDraft, values, "K-1"), by=given.KEEPER, now=thin_thread.at(6))
    custody.check_out(lab, "J-1", [*KIT, "K-1"], counted=["shim=3; tip=2"], by="TESS", now=thin_thread.at(7))
    lab.close()
    return shelf


async def test_pieces_are_counted_in_one_by_one_and_a_missing_one_asks_where_to_look(with_shims: Path) -> None:
    async with driven(with_shims, "TESS", now=ONE_O_CLOCK, size=(80, 24)) as d:
        await d.keys("i", "f2")
        assert "K-1: how many 'shim' do you count in?" in d.flat
        assert "piece 1 of 2; 3 went out" in d.flat
        await d.keys("2", "enter", "2", "enter")
        assert "K-1 shim: 3 went out, 2 came back. Esc to count again" in d.flat
        await d.keys("1")
        assert "In which area of" in d.flat
        await d.keys("w", "e", "b", "enter")
        assert out(d) == []
        (found,) = findings.findings(d.app.lab, NOW)
        assert found.cause == "piece unaccounted for"
        assert found.says.endswith(", web, of job J-1")
        assert f"Held by {found.number}" in d.notices


async def test_a_count_that_is_broken_off_loses_nothing(with_shims: Path) -> None:
    async with driven(with_shims, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("i", "f2", "2", "enter", "escape")
        assert len(out(d)) == 4
        await d.keys("f2", "x", "enter", "2", "enter")
        assert "is not a piece with its count" in d.flat
        assert len(out(d)) == 4
        await d.keys("f2", "3", "enter", "2", "enter")
        assert out(d) == []
