"""The lift-off that moves the balance as far as another conductivity does, against the mirror plane of a thin skin."""

import math

import pytest

from refstd.eddy import mismatch
from refstd.eddy.coil import Coil, impedance_change_ohm
from refstd.eddy.materials import ms_per_m
from refstd.eddy.penetration import frequency_khz, standard_depth_mm
from tests.published import decibels

COIL = Coil(1.0, 2.0, 1.5, 100)
BLOCK, PART = (float(ms_per_m(percent)) for percent in (32.0, 42.0))


@pytest.mark.parametrize(("block", "part"), [(32.0, 42.0), (42.0, 32.0), (30.0, 33.0), (1.0, 3.1)])
def test_in_a_thin_skin_the_mirror_plane_moves_by_the_difference_of_depths_over_root_2(
    block: float, part: float
) -> None:
    """DERIVED: (κ − γ)/(κ + γ) ≈ −e^(−2κ/γ) with 1/γ = δ(1 − j)/2, so that a skin acts as |δ/√2| of lift-off; radius 500 δ.

    Caught: the amplitude of the move taken for its resistance alone, 0.7 times too small.
    """
    here, there = float(ms_per_m(block)), float(ms_per_m(part))
    khz = float(frequency_khz(COIL.mean_radius_mm / 500, min(here, there)))
    expected = abs(standard_depth_mm(khz, there) - standard_depth_mm(khz, here)) / math.sqrt(2)
    assert mismatch.lift_off_alike_mm(COIL, 0.2, khz, here, there) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("gap", [0.0, 0.2, 1.0])
@pytest.mark.parametrize("khz", [10.0, 200.0, 2000.0])
def test_that_lift_off_moves_the_point_just_as_far(gap: float, khz: float) -> None:
    here = impedance_change_ohm(COIL, gap, khz, BLOCK)
    lifted = mismatch.lift_off_alike_mm(COIL, gap, khz, BLOCK, PART)
    moved = abs(impedance_change_ohm(COIL, gap + lifted, khz, BLOCK) - here)
    assert moved == pytest.approx(abs(impedance_change_ohm(COIL, gap, khz, PART) - here), rel=1e-4)


def test_alike_metals_move_nothing_and_the_turns_do_not_matter() -> None:
    assert mismatch.lift_off_alike_mm(COIL, 0.2, 200.0, BLOCK, BLOCK) == pytest.approx(0.0, abs=1e-5)
    one_turn = Coil(1.0, 2.0, 1.5, 1)
    found = [mismatch.lift_off_alike_mm(c, 0.2, 200.0, BLOCK, PART) for c in (COIL, one_turn)]
    assert found[0] == pytest.approx(found[1], rel=1e-9)


def test_a_move_farther_than_taking_the_probe_off_is_infinite() -> None:
    assert math.isinf(mismatch.lift_off_alike_mm(COIL, 0.0, 1.0, 0.3, 63.0))


def test_the_bound_in_decibels_is_the_exponent_times_the_ratio_of_conductivities() -> None:
    """Caught: the smaller exponent taken for a coil of exactly 4 depths, to which it was not computed."""
    for ratio, db in decibels.DRIFT_LIMITS:
        assert mismatch.amplitude_bound_db(10.0, 10.0 * ratio, 3.0) == pytest.approx(0.71 * abs(db), abs=6e-4)
        assert mismatch.amplitude_bound_db(10.0 * ratio, 10.0, 5.0) == pytest.approx(0.42 * abs(db), abs=6e-4)
    assert mismatch.amplitude_bound_db(1.0, 2.0, 4.0) == mismatch.amplitude_bound_db(1.0, 2.0, 1.0)


@pytest.mark.parametrize(
    ("gap", "khz", "block", "part", "remedy"),
    [
        (-0.1, 200.0, BLOCK, PART, "lift-off"),
        (0.2, 0.0, BLOCK, PART, "frequency"),
        (0.2, 200.0, 0.0, PART, "material's record"),
        (0.2, 200.0, BLOCK, math.nan, "material's record"),
    ],
)
def test_what_is_missing_is_refused(gap: float, khz: float, block: float, part: float, remedy: str) -> None:
    with pytest.raises(ValueError, match=remedy):
        mismatch.lift_off_alike_mm(COIL, gap, khz, block, part)
    if remedy == "material's record":
        with pytest.raises(ValueError, match=remedy):
            mismatch.amplitude_bound_db(block, part, 3.0)
