"""Scan plans against a raster simulation: every point of a surface is looked for under the strips.

Common practice, no source: 100 % coverage by a scan in two directions.
"""

import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.domain import Array
from refstd.rules.coverage import (
    Tracks,
    along,
    bore_by_helix,
    bore_by_rings,
    covered,
    least_overlap_percent,
    minutes,
    surface,
    weld,
    widest_index_mm,
)

D = Decimal
SIZES = st.decimals(D("0.5"), D("400"), places=2)
WIDTHS = st.decimals(D("0.8"), D("20"), places=2)
OVERLAPS = st.decimals(D("0"), D("80"), places=0)


def seen(tracks: Tracks, width_mm: Decimal, points: Array) -> Array:
    """Return which points lie within half the width of a straight track. A hair is left for floats."""
    centres = np.array([float(c) for c in tracks.centres_mm()])
    near = np.abs(points[:, None] - centres[None, :]).min(axis=1)
    return np.asarray(near <= float(width_mm) / 2 + 1e-9)


def raster(across_mm: Decimal) -> Array:
    """Return points over a width: a fine row, both edges and some at random."""
    across = float(across_mm)
    return np.concatenate((np.linspace(0, across, 4001), np.random.default_rng(1).uniform(0, across, 1000)))


@given(SIZES, SIZES, WIDTHS, OVERLAPS)
def test_no_point_of_a_surface_is_left_out_in_either_direction(
    length: Decimal, across: Decimal, width: Decimal, overlap: Decimal
) -> None:
    """Planted bug it caught: a step fewer where the last strip ends short of the edge (floor in place of ceil)."""
    index = widest_index_mm(width, overlap, None)
    for tracks in surface(length, across, width, index):
        assert seen(tracks, width, raster(tracks.across_mm)).all()
        assert covered(tracks, width) == 1
        assert least_overlap_percent(tracks, width) >= overlap
        assert tracks.index_mm <= index


@given(SIZES, SIZES, WIDTHS, OVERLAPS)
def test_one_track_fewer_leaves_something_out_or_overlaps_too_little(
    length: Decimal, across: Decimal, width: Decimal, overlap: Decimal
) -> None:
    index = widest_index_mm(width, overlap, None)
    tracks = along("", length, across, width, index)
    if tracks.passes > 1:
        assert width + (tracks.passes - 2) * index < across


@given(st.decimals(D("2"), D("60"), places=2), SIZES, WIDTHS, OVERLAPS)
def test_a_rotating_probe_sees_every_point_of_the_wall(
    diameter: Decimal, depth: Decimal, width: Decimal, overlap: Decimal
) -> None:
    """Planted bug it caught: a helix that begins with its strip at the mouth leaves a wedge of the first turn out."""
    index = widest_index_mm(width, overlap, None)
    tracks = bore_by_helix(diameter, depth, width, index)
    spread = np.random.default_rng(2)
    depths = np.concatenate((spread.uniform(0, float(depth), 1500), np.zeros(50), np.full(50, float(depth))))
    turned = np.concatenate((spread.uniform(0, 1, 1500), np.linspace(0, 1, 50), np.linspace(0, 1, 50)))
    # The probe is at a point's angle once a turn, each time one index deeper.
    at_angle = float(tracks.first_mm) + float(index) * turned
    turns = np.arange(tracks.passes)
    near = np.abs(depths[:, None] - (at_angle[:, None] + float(index) * turns[None, :])).min(axis=1)
    assert (near <= float(width) / 2 + 1e-9).all()


def test_rings_in_a_bore_cover_its_depth_and_are_as_long_as_its_circumference() -> None:
    tracks = bore_by_rings(D("6.35"), D("12"), D("3"), D("2"))
    assert covered(tracks, D("3")) == 1
    assert tracks.passes == 6  # (12 - 3) / 2 = 4.5 steps
    assert float(tracks.each_mm) == pytest.approx(math.pi * 6.35)


def test_a_plate_worked_by_hand() -> None:
    """Worked by hand: 100 x 50 mm, strips of 4 mm overlapping by 25 %: 3 mm apart; (50 - 4) / 3 = 15.3: 16 steps."""
    index = widest_index_mm(D(4), D(25), None)
    assert index == 3
    first, second = surface(D(100), D(50), D(4), index)
    assert (first.passes, first.index_mm, first.first_mm) == (17, D("2.88"), D(2))
    assert first.path_mm == 17 * 100 + 16 * D("2.88")
    assert (second.passes, second.each_mm) == (33, D(50))
    assert minutes(first.path_mm, D(20)).quantize(D("0.01")) == D("1.46")


def test_the_procedures_own_index_holds_where_it_is_the_smaller_one() -> None:
    assert widest_index_mm(D(4), D(25), D("1.5")) == D("1.5")
    assert widest_index_mm(D(4), D(25), D(10)) == 3


def test_a_surface_as_narrow_as_the_strip_takes_one_track_in_its_middle() -> None:
    assert along("", D(100), D(3), D(4), D(3)).centres_mm() == (D("1.5"),)


def test_a_weld_has_both_toes_and_the_rest_only_where_its_width_is_known() -> None:
    assert [(t.passes, t.each_mm) for t in weld(D(300), None, D(5), D(4))] == [(2, D(300))]
    _, over = weld(D(300), D(120), D(5), D(4))
    assert (over.passes, over.each_mm, covered(over, D(5))) == (75, D(120), Fraction(1))


@pytest.mark.parametrize(
    ("width", "overlap", "largest"), [(D(0), None, None), (D(4), D(100), None), (D("0.01"), D(50), None)]
)
def test_what_covers_nothing_is_refused(width: Decimal, overlap: Decimal | None, largest: Decimal | None) -> None:
    with pytest.raises(ValueError, match=r"give one|check width"):
        widest_index_mm(width, overlap, largest)


def test_gaps_between_strips_are_counted_as_not_covered() -> None:
    assert covered(Tracks("", 2, D(1), D(4), D(10), D(10)), D(2)) == Fraction(4, 10)
