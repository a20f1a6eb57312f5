"""A response check by keys, from home to the verdict, on a real store."""

from pathlib import Path

from textual import events
from textual.widgets import Input

from refstd.desk import checks, equipment, findings, lots, store
from refstd.desk.check_record import check_record
from refstd.tui.technician.check import CheckScreen
from refstd.tui.technician.notches import NotchRow
from refstd.tui.technician.verdict import VerdictScreen
from tests import thin_thread
from tests.tui.driving import Driver, driven
from tests.tui.technician.floor import NOW, ONE_O_CLOCK, beside_the_picture, last_check, read, to_notches

EIGHTEEN = 18  # keys for an interim check of three notches with two-digit figures, vertical only; our own bar


def typed(d: Driver) -> list[str]:
    """Return what stands in the fields of the notches shown."""
    return [row.query_one(Input).value for row in d.app.screen.query(NotchRow) if row.query_one(Input).value]


async def test_an_interim_check_that_holds_takes_eighteen_keys_from_home_to_the_verdict(vertical: Path) -> None:
    keys = [
        "c",
        "enter",
        "enter",
        "enter",
        "space",
        "space",
        "4",
        "enter",
        *"95",
        "enter",
        *"80",
        "enter",
        *"40",
        "enter",
        "y",
    ]
    assert len(keys) <= EIGHTEEN
    async with driven(vertical, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys(*keys)
        kept = last_check(d.app.lab)
        assert (kept.occasion, kept.outcome, kept.person) == ("interim", "acceptable", "TESS")
        assert "✓ ACCEPTABLE" in d.text
        assert kept.covers in d.flat
        await d.keys("escape")
        assert f"✓ {kept.number} on {kept.setup}: acceptable" in d.flat


async def test_a_check_that_fails_says_what_is_held_what_to_do_and_whom_to_tell(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 76", "-18 64", "-12 32")
        assert "NOT ACCEPTABLE" not in d.text  # no verdict before it is kept
        await d.keys("y")
        kept = last_check(d.app.lab)
        (found,) = findings.findings(d.app.lab, NOW)
        assert kept.outcome == "not acceptable"
        assert found.holds() == ("setup S-0001", "lot L-0001 (panel 4: holes 1-20)")
        assert "✗ NOT ACCEPTABLE" in d.text
        assert f"Held {', '.join(kept.held)} (finding {kept.finding})" in d.flat
        assert "Tell the shift lead" in d.flat
        assert kept.do[0] in d.flat
        await d.keys("escape")
        assert f"✗ {found.number} holds setup S-0001" in d.flat


async def test_the_one_repeat_follows_on_a_named_remedy_and_both_sets_are_kept(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 76", "-18 64", "-12 32")
        assert "r repeats once after a remedy (connector, tape, gain, block wiped), both sets are kept" in d.flat
        await d.keys("r", "1")
        assert "after connector" in d.text or "repeat" in d.text
        await read(d, "-20 95", "-18 80", "-12 40")
        await d.keys("r")  # no second repeat
        assert isinstance(d.app.screen, CheckScreen)
        await d.keys("y")
        second, first = checks.checks(d.app.lab, NOW, job="J-1")[:2]
        assert (first.outcome, second.outcome) == ("not acceptable", "acceptable")
        assert second.repeats == first.number
        assert findings.findings(d.app.lab, NOW) == ()
        assert f"of check {first.number} after a remedy" in d.flat


async def test_after_the_remedy_gain_the_repeat_is_kept_and_judged_at_its_own_gain(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 76", "-18 64", "-12 32")
        await d.keys("r", "3")
        assert "gain of the repeat" in d.flat
        await d.keys(*"40", "space", *"52", "enter")
        await read(d, "-20 95", "-18 80", "-12 40")
        await d.keys("y")
        kept = last_check(d.app.lab)
        assert kept.outcome == "not conclusive"  # another gain than the start check's: nothing can be compared
        assert "vertical gain 52 dB" in kept.reasons[0].figure


async def test_a_remedy_that_did_not_help_leaves_the_check_not_acceptable(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 76", "-18 64", "-12 32")
        await d.keys("r", "4")
        await read(d, "-20 76", "-18 64", "-12 33")
        assert "The repeat is used" in d.flat
        await d.keys("y")
        assert last_check(d.app.lab).outcome == "not acceptable"
        assert len(findings.findings(d.app.lab, NOW)) == 1


async def test_likely_slips_are_marked_with_a_sign_and_words_before_anything_is_kept(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 95", "-12 40", "-18 80")  # two notches exchanged
        assert "Likely slips of the pen" in beside_the_picture(d)
        assert "answer the other way round: exchanged?" in beside_the_picture(d)
        assert any("!" in row for row in d.text.splitlines() if "1.0 mm" in row)
        assert len(checks.checks(d.app.lab, NOW, job="J-1")) == 1


async def test_the_same_figures_as_last_time_are_asked_about(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 95", "-18 80", "-12 40")
        assert "copied?" in beside_the_picture(d)


async def test_full_screen_is_one_key_and_decides_nothing_that_needs_a_value(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await d.type("f")
        assert "≥ full screen" in d.text
        await d.keys("enter")
        await read(d, "-18 80", "-12 40")
        await d.keys("y")
        assert last_check(d.app.lab).outcome == "not conclusive"
        assert "? NOT CONCLUSIVE" in d.text
        assert "This counts as no check." in d.flat


async def test_changed_settings_warn_that_the_start_is_closed_first_and_compare_with_nothing(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c", "enter", "enter", "2")
        assert "First close it" in d.flat
        assert "C-0005" in d.flat
        await d.keys("enter", "enter", "end", "backspace", "backspace")
        await d.type("52")
        await d.keys("enter")
        assert "CHANGED: rotation 30°, gain horizontal 40 dB, vertical 52 dB" in d.flat
        await d.keys("space", "space")
        await d.type("4")
        await d.keys("enter")
        await read(d, "-20 95", "-18 80", "-12 40")
        await d.keys("y")
        kept = last_check(d.app.lab)
        assert kept.outcome == "not conclusive"
        assert kept.reasons[0].says in d.flat


async def test_a_figure_that_cannot_be_understood_is_said_and_stays_as_typed(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "95")
        assert "this setup reads horizontal and vertical" in d.flat
        assert typed(d) == ["95"]


async def test_a_refusal_of_the_desk_keeps_everything_that_was_typed(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 93", "-18 79", "-12 40")
        other = store.open_store(started)
        lots.close_job(other, "J-1", "work done", by="TOM", now=ONE_O_CLOCK)
        other.close()
        await d.keys("y")
        assert "job J-1 is closed" in d.flat
        assert "open a new job" in d.flat
        assert typed(d) == ["-20 93", "-18 79", "-12 40"]
        assert len(checks.checks(d.app.lab, NOW, job="J-1")) == 1


async def test_a_key_pressed_twice_records_one_check(started: Path) -> None:
    """Planted bug caught: `LabScreen.act` without its guard recorded two checks."""
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 93", "-18 79", "-12 40")
        for key in ("y", "y", "f2", "y"):  # all before the first act is done
            d.app.post_message(events.Key(key, key if len(key) == 1 else None))
        await d.settle()
        assert len(checks.checks(d.app.lab, NOW, job="J-1")) == 2


async def test_enter_pressed_twice_at_the_last_notch_keeps_nothing_that_nobody_looked_at(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 93", "-18 79")
        await d.type("-12 40")
        await d.pilot.press("enter", "enter", "enter")
        await d.settle()
        await d.keys("enter")
        assert "not on record yet" in d.flat
        assert len(checks.checks(d.app.lab, NOW, job="J-1")) == 1


async def test_escape_goes_one_step_back_and_what_was_typed_stays(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 93", "-18 79")
        await d.keys("escape", "escape", "escape", "escape")
        assert "Are these in hand?" in d.text
        await d.keys("enter", "enter", "enter", "enter")
        assert typed(d) == ["-20 93", "-18 79"]
        assert "noise 4 % FSH" in d.text
        await d.keys(*["escape"] * 5)
        assert "jobs and kits in hand" in d.text


async def test_a_window_that_shrinks_during_a_check_loses_nothing(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 93")
        await d.pilot.resize_terminal(60, 15)
        await d.settle()
        assert "refstd needs 80x24, is 60x15" in d.flat
        await d.keys("9", "enter", "y")
        await d.pilot.resize_terminal(80, 24)
        await d.settle()
        assert typed(d) == ["-20 93"]


async def test_what_was_not_nulled_or_set_is_recorded_so(started: Path) -> None:
    """Planted bug it caught: both boxes came ticked, so that Enter said what nobody had done."""
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c", "enter", "enter", "enter")
        assert "[x]" not in d.text
        await d.keys("space", "enter", "enter")
        assert "nulled, NOT lift-off set horizontal, noise not recorded" in d.flat


async def test_enter_alone_ticks_nothing(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c", "enter", "enter", "enter", "enter", "enter", "enter")
        assert "NOT nulled, NOT lift-off set horizontal" in d.flat


async def test_a_setting_that_cannot_be_read_is_said_by_its_title_at_its_row(started: Path) -> None:
    """Planted bug it caught: 'rotation_deg: …' below the last field, when all three had been typed."""
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c", "enter", "enter", "2", *["backspace"] * 3)
        await d.type("steep")
        await d.keys("enter")
        rows = d.text.splitlines()
        place = next(n for n, row in enumerate(rows) if "rotation, °" in row)
        assert rows[place + 1].strip().startswith("! 'steep' is not a plain number")
        assert "rotation_deg" not in d.text
        assert d.app.focused is not None
        assert d.app.focused.id == "rotation_deg"


async def test_what_stops_a_start_check_is_told_in_the_first_step_with_its_cure(kit_only: Path) -> None:
    lab = store.open_store(kit_only)
    thin_thread.check(lab, "start", minutes=1)
    thin_thread.check(lab, "end", minutes=2)
    equipment.set_state(lab, "P-1", "quarantined", "tip worn", by="KEEPER", now=thin_thread.at(30))
    sheet = checks.check_sheet(lab, "S-0001", "start", NOW, job="J-1")
    lab.close()
    assert sheet.stops
    async with driven(kit_only, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c")
        assert sheet.stops[0].in_words() in d.flat
        await d.keys("enter", "enter")
        assert isinstance(d.app.screen, CheckScreen)
        assert d.app.screen.at == 1  # the occasion: a start check goes no further
        assert sheet.stops[0].in_words() in d.flat


async def test_of_several_setups_one_is_chosen_by_its_digit(vertical: Path) -> None:
    async with driven(vertical, "TESS", now=ONE_O_CLOCK) as d:
        await d.keys("c")
        assert "Which setup is in hand?" in d.text
        await d.keys("2", "enter")
        assert "check, J-1, S-0001" in d.text


async def test_a_note_goes_on_record_with_the_check(started: Path) -> None:
    async with driven(started, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        await read(d, "-20 93", "-18 79", "-12 40")
        await d.keys("n")
        await d.type("probe fell")
        await d.keys("enter", "y")
        assert isinstance(d.app.screen, VerdictScreen)
        assert check_record(d.app.lab, last_check(d.app.lab).number, NOW).note == "probe fell"


async def test_figures_typed_faster_than_the_screen_follows_stay_with_their_notches(vertical: Path) -> None:
    """Planted bug caught: Enter handled by the field's own message, so that a burst over a slow line ran into one field."""
    async with driven(vertical, "TESS", now=ONE_O_CLOCK) as d:
        await to_notches(d)
        for key in ("9", "5", "enter", "8", "0", "enter", "4", "0", "enter", "7", "enter"):
            d.app.post_message(events.Key(key, key if len(key) == 1 else None))
        await d.settle()
        assert typed(d) == ["95", "80", "40"]
        assert "not on record yet" in d.flat
