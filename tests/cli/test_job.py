"""A job by command: its parts and what is known of them, and how far it is, by part and hole."""

from tests.cli.conftest import Run
from tests.cli.test_a_days_work import members, started

__all__ = ["started"]  # the fixture

DAYS = ("--starts-on", "2031-03-15", "--ends-on", "2031-03-16", "--as", "TESS")
WHAT = ("--procedure", "PR-1", "--material", "AL", "--form", "plate", "--frequency-khz", "200")


def test_a_job_is_opened_described_and_read_by_part_and_hole(refstd: Run) -> None:
    parts = ("--parts", "SN-1: holes 1-12, 15; SN-2, zone web")
    assert refstd("job", "open", "J-7", *parts, *WHAT, "--coating-mm", "0.08", *DAYS).code == 0
    assert refstd("job", "describe", "J-7", "--shims", "0.05 + 0.03 mm", "--why", "measured", "--as", "TESS").code == 0
    answer = members(refstd("report", "job", "J-7", "--json"))
    said = {row["about"]: row["says"] for row in answer["rows"]}
    assert (said["coating"], said["shims"]) == ("0.08 mm", "0.05 + 0.03 mm")  # what was left out stays
    assert answer["left"] == [
        {"serial": "SN-1", "zone": "", "holes": "1-12, 15"}, {"serial": "SN-2", "zone": "web", "holes": ""},
    ]  # fmt: skip
    assert refstd("job", "describe", "J-7", "--coating-mm", "", "--why", "not coated", "--as", "TESS").code == 0
    assert "0.08" not in refstd("show", "J-7").out


def test_what_cannot_be_read_of_parts_is_said_with_what_to_write(refstd: Run, started: Run) -> None:
    said = refstd("job", "open", "J-8", "--parts", "SN-1, SN-2", *WHAT, *DAYS)
    assert said.code == 2
    assert "Write parts as 'SN-1: holes 1-12, 15; SN-2, zone web'." in said.err
    said = started("lot", "J-1", "--start-check", "C-0001", "--parts", "holes 20 to 22", "--as", "TESS")
    assert said.code == 3
    assert "hole 20 of panel 4 stands in lot L-0001" in said.err
    assert members(started("report", "job", "J-1", "--json"))["left"] == []
