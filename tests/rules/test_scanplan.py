"""What a scan plan says, and that it says what is missing in place of assuming it."""

from dataclasses import replace
from decimal import Decimal

from refstd.rules.requirements import Scan
from refstd.rules.scanplan import TWO_DIRECTIONS, Area, ScanPlan, scan_plan

D = Decimal
ASKED = Scan(D(20), D(25), None, 2, "paragraph 8.2")
PLATE = Area("plate", D(100), D(50))
BORE = Area("bore", bore_diameter_mm=D("6.35"), bores=12, bore_depth_mm=D(10))


def said(plan: ScanPlan) -> dict[str, tuple[str, str]]:
    """Return what a plan says by what it is about."""
    return {line.about: (line.says, line.source) for line in plan.lines()}


def test_a_plate_is_planned_in_two_directions_with_path_and_time() -> None:
    """Worked by hand: 17 tracks of 100 mm and 16 steps of 2.88 mm; 33 of 50 mm and 32 of 3 mm; 3492.08 mm at 20 mm/s."""
    plan = scan_plan(PLATE, "pencil", D(4), "description of P-1", ASKED)
    found = said(plan)
    assert found["index"] == (
        "3.00 mm at most", "calculated: effective width x (1 - overlap), the procedure, paragraph 8.2",
    )  # fmt: skip
    assert found["along the length"] == (
        "17 passes of 100.0 mm, the first 2.00 mm from the edge, then every 2.88 mm",
        "calculated: 100.0 % covered, overlap 28.0 %",
    )
    assert plan.path_mm == D("3492.08")
    assert found["path"][0] == "3.5 m in all"
    assert found["time"][0].startswith("2.9 min at least")
    assert plan.missing == ()


def test_one_direction_is_planned_only_where_the_procedure_says_one() -> None:
    assert len(scan_plan(PLATE, "pencil", D(4), "", replace(ASKED, directions=1)).tracks) == 1
    unsaid = scan_plan(PLATE, "pencil", D(4), "", None)
    assert len(unsaid.tracks) == 2
    assert said(unsaid)["directions"][1] == TWO_DIRECTIONS


def test_bores_are_turned_by_hand_or_fed_through_and_counted() -> None:
    by_hand = scan_plan(BORE, "manual bolt-hole", D(3), "", ASKED)
    fed = scan_plan(BORE, "rotating bolt-hole", D(3), "", ASKED)
    assert (by_hand.tracks[0].helix, fed.tracks[0].helix) == (False, True)
    assert by_hand.path_mm == by_hand.tracks[0].path_mm * 12
    assert "12 times" in said(by_hand)["path"][0]
    assert "0.75 mm before the mouth" in said(fed)["a helix at one index a turn"][0]


def test_what_is_missing_is_said_with_what_cures_it_and_nothing_is_assumed() -> None:
    bare = scan_plan(Area("plate"), "pencil", None, "", None)
    assert (bare.tracks, bare.index_mm) == ((), None)
    assert [line.about for line in bare.missing] == ["effective width", "overlap", "speed"]
    no_area = scan_plan(Area("weld"), "weld (cross-axis)", D(5), "", ASKED)
    assert [(x.about, x.says) for x in no_area.missing] == [("weld", "its length is not on record")]
    assert [x.about for x in scan_plan(Area("bore"), "", D(3), "", ASKED).missing] == ["bores"]


def test_an_overlap_that_leaves_no_step_is_told_and_not_planned() -> None:
    plan = scan_plan(PLATE, "pencil", D(4), "", replace(ASKED, least_overlap_percent=D(100)))
    assert plan.tracks == ()
    assert plan.missing[0].source == "paragraph 8.2"
