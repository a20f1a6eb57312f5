"""Proposed intervals by keys: from the due list to an item's methods, turned down and taken by someone with the authority."""

from pathlib import Path

from refstd.desk import certificates
from refstd.desk.duties import due_list
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.intervals import intervals
from refstd.desk.store import When, open_store
from tests.tui.busy_lab import TODAY
from tests.tui.driving import driven

NOW = When(TODAY)


def with_three_years(path: Path) -> None:
    """File the certificates of the three years before the one on record, all well inside the limits."""
    lab = open_store(path)
    for year in (2022, 2023, 2024):
        head = {"asset_no": "B-1", "number": f"K-{year}", "laboratory": "Cal lab", "performed_on": f"{year}-08-20"}
        value = {"notch": "0.5 mm", "value": "0.511", "expanded_uncertainty": "0.010", "coverage_factor": "2"}
        value |= {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 12, note 3"}
        certificates.file_certificate(
            lab, draft(certificates.CertificateDraft, head, "K"), [draft(certificates.ValueDraft, value, "v")], by="CUS", now=TODAY
        )  # fmt: skip
    lab.close()


async def test_an_interval_is_seen_by_every_method_and_answered_with_a_reason(busy: Path) -> None:
    with_three_years(busy)
    async with driven(busy, "CUS") as d:
        await d.keys("d", "l")
        assert "Intervals (1 proposed of 5)" in d.text
        assert "B-1" in d.text.split("\n")[3]
        await d.keys("enter")
        assert "Intervals of B-1" in d.text
        assert "A proposal changes nothing by itself" in d.text
        assert "lengthen    18 months    2027-02-20" in d.text
        await d.keys("enter")
        assert "calibration every 12 months (written practice 4.2), last done 2025-08-20, due on 2026-08-20" in d.flat
        assert (
            "it would be due on 2027-02-20 method: ILAC-G24:2022 / OIML D 10:2022, 6.2; steps of a half: common practice, no source"
            in d.flat
        )
        assert "K-2024 of 2024-08-20, 366 days after the one before: in tolerance" in d.flat
        assert "Take it" not in d.text  # a custodian without the authority is not offered what would be refused
        await d.keys("y")
        assert due_list(d.app.lab, NOW)[0].every == "12 months"
    async with driven(busy, "LV3", size=(120, 40)) as d:
        await d.keys("slash")
        await d.type("B-1")
        await d.keys("enter", "l")
        assert "lengthen    18 months    2027-02-20 the last 3 found it in tolerance" in d.text
        await d.keys("n")
        assert "Turn down calibration every 18 months instead of 12 months" in d.flat
        await d.type("other method in 2022")
        await d.keys("enter")
        assert "turned down by LV3: other method in 2022" in d.flat
        await d.keys("y")
        await d.type("same replica after all")
        await d.keys("enter")
        assert "(staircase) taken by LV3: same replica after all" in d.notices
        assert "calibration every 18 months (interval review of 2026-03-02 by LV3" in d.flat
        (found,) = intervals(d.app.lab, NOW, "B-1")
        assert found.every_words == "18 months"
        await d.keys("3", "y")
        await d.type("longer")
        await d.keys("enter")
        assert "'control chart' proposes no other interval for the calibration of B-1" in d.notices
