"""One control chart by keys: breaks and events, what is not judged, other quantities, the method with its sources."""

from datetime import UTC, datetime
from pathlib import Path

from refstd.desk.entry import draft_or_refuse
from refstd.desk.events import EventDraft, record_event
from refstd.desk.store import make_store, open_store
from tests.tui.busy_lab import TODAY
from tests.tui.driving import driven


def happened(path: Path, **fields: str) -> None:
    lab = open_store(path)
    record_event(lab, draft_or_refuse(EventDraft, fields, "event"), by="CUS", now=TODAY)
    lab.close()


async def test_a_repair_breaks_the_chart_and_a_new_tape_is_marked_by_its_letter(busy: Path) -> None:
    """Planted bug that it caught: letters were given to breaks too, so the marks began with b."""
    happened(busy, asset_no="I-1", event="repaired", happened_at="2025-11-12T12:00")
    happened(
        busy, asset_no="P-1", event="tape renewed", tape="PTFE", tape_thickness_mm="0.10", happened_at="2025-12-20T12:00"
    )  # fmt: skip
    async with driven(busy, "AUD", size=(120, 40)) as d:
        await d.keys("g", "down", "enter")
        chart = d.text.split("◂")[0]
        assert "┊I-1: repaired" in chart
        assert "┊baseline set" in chart
        foot = next(line for line in chart.split("\n")[::-1] if "a" in line.split("│")[-1] and "┊" in line)
        assert foot.count("a") == 1
        assert "a 2025-12-20 P-1: tape renewed, PTFE 0.10 mm" in d.flat
        await d.keys("v")
        rows = d.text.split("\n")
        at = next(n for n, row in enumerate(rows) if "2025-11-12 break: I-1: repaired" in row)
        assert "2025-11-17" in rows[at - 1]
        assert "2025-11-10" in rows[at + 1]
        assert any("2025-12-20 event a: P-1: tape renewed" in row for row in rows)
        await d.keys("m")
        assert "Trend since the last break" in d.text


async def test_the_quantity_changes_from_amplitude_to_phase_to_the_gain_needed(busy: Path) -> None:
    async with driven(busy, "AUD") as d:
        await d.keys("g", "enter")
        assert "notch 1.0 mm: amplitude" in d.text
        assert "−0.25 dB" in d.text
        await d.keys("d")
        assert "notch 1.0 mm: phase" in d.text
        assert "phase, ° from the baseline" in d.text
        await d.keys("d")
        assert "gain needed, dB from the baseline" in d.text
        await d.keys("d")
        assert "notch 1.0 mm: amplitude" in d.text


async def test_the_method_names_the_source_of_every_limit_and_what_fires_for_the_reader(busy: Path) -> None:
    async with driven(busy, "AUD", size=(120, 60)) as d:
        await d.keys("g", "enter", "m")
        for words in (
            "±0.25 dB, the widest of",
            "±0.25 dB from the readings' last digit; individuals chart about the baseline (NIST/SEMATECH e-Handbook 6.3.2.2)",
            "digit/√12 each time (JCGM 100:2008, 4.3.7)",
            "4 independent set-ups",
            "the limits are wide: the baseline has only 4 set-ups",
            "standard uncertainty",
            "straight line by least squares (JCGM 100:2008, H.3)",
            "straight line by least squares since the onset",
            "they name nothing",
            "(NIST/SEMATECH e-Handbook 6.3.2.4)",
            "(NIST/SEMATECH e-Handbook 6.3.2.3)",
            "Western Electric, Statistical Quality Control Handbook (1956)",
        ):
            assert words in d.flat, words
        assert "last C-0026 (2026-02-27)" in d.flat
        await d.keys("m")
        assert "X out of limits" in d.text


async def test_a_chart_with_phase_has_the_plane_beside_it_where_there_is_room(busy: Path) -> None:
    async with driven(busy, "AUD", size=(120, 40)) as d:
        await d.keys("g", "enter")
        assert "+ baseline's mean" in d.text
        assert "✕ the chosen check" in d.text
    async with driven(busy, "AUD", size=(100, 40)) as d:
        await d.keys("g", "enter")
        assert "baseline's mean" not in d.text


async def test_an_empty_lab_says_what_is_missing_and_nothing_breaks(tmp_path: Path) -> None:
    now = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    path = tmp_path / "empty.refstd"
    make_store(path, name="New lab", time_zone="Europe/Dublin", code="CUS", person="Cora Example", now=now).close()
    async with driven(path, "CUS") as d:
        await d.keys("s")
        assert "Nothing can be said yet about which item moved" in d.flat
        assert "freeze baselines of 5 set-ups or more" in d.flat
        await d.keys("g")
        assert "no setup has a baseline, so drift cannot be told" in d.text
