"""What is told about block, part and coil; and that it decides nothing."""

from dataclasses import replace
from decimal import Decimal

import pytest

from refstd.base.reason import Reason, Weight
from refstd.eddy.coil import Coil
from refstd.rules.explanation import METHOD, CoilOnRecord, KitOnJob, explanation
from refstd.rules.matching import Material

BLOCK = Material("AL", "aluminium alloy", "non-magnetic", Decimal("32"))
PART = Material("AL-2", "aluminium alloy", "non-magnetic", Decimal("42"))
COIL = CoilOnRecord("P-1", "absolute", "bridge", shielded=False, size=Coil(1.0, 2.0, 1.5, 1), gap_mm=0.2)
KIT = KitOnJob("B-1", "plate", Decimal("10"), BLOCK, PART, Decimal("200"), COIL)


def advice(kit: KitOnJob) -> list[Reason]:
    """Return what stands beside a kit without being asked for."""
    return [r for r in explanation(kit) if r.weight is Weight.ADVISES]


def on_demand(kit: KitOnJob) -> list[str]:
    """Return what is told to whoever asks."""
    return [r.in_words() for r in explanation(kit) if r.weight is Weight.SUPPORTS]


def test_a_difference_in_conductivity_is_told_as_lift_off_and_as_a_bound_in_decibels() -> None:
    """The mirror plane of a thin skin (tests/eddy/test_mismatch.py) gives 0.024 mm; 20 × 0.42 × log10(42/32) is 0.99 dB."""
    [told] = advice(KIT)
    assert told.says == (
        "block 32 %IACS, part 42 %IACS: the balance point moves by about as much as 0.02 mm of lift-off would; "
        "notch amplitude by less than 1.0 dB"
    )
    assert told.source == "calculated, not measured; the reading has NOT been corrected for this"
    assert told.cure == "if in doubt use a block of matching conductivity, or ask the responsible level 3"
    assert told.record == "B-1, P-1"


def test_a_narrow_coil_has_the_wider_bound() -> None:
    """20 × 0.71 × log10(42/32) is 1.68 dB; the mean radius of 0.75 mm is 2.9 standard depths of the block."""
    small = replace(COIL, size=Coil(0.5, 1.0, 0.75, 1))
    assert "less than 1.7 dB" in advice(replace(KIT, coil=small))[0].says


def test_a_shielded_coil_says_that_it_is() -> None:
    assert (
        "; the probe is shielded, which changes this" in advice(replace(KIT, coil=replace(COIL, shielded=True)))[0].says
    )


@pytest.mark.parametrize(
    ("coil", "why"),
    [
        (replace(COIL, size=None), "enter the size of the coil on the record of P-1"),
        (replace(COIL, winding="differential"), "P-1 is differential"),
        (replace(COIL, winding="cross-axis"), "P-1 is cross-axis"),
        (replace(COIL, circuit="reflection"), "P-1 is a reflection probe"),
    ],
)
def test_without_a_coil_that_it_holds_for_nothing_stands_beside_the_kit(coil: CoilOnRecord, why: str) -> None:
    kit = replace(KIT, coil=coil)
    assert advice(kit) == []
    assert any("is not calculated" in line and why in line for line in on_demand(kit))


@pytest.mark.parametrize("which", ["of_block", "of_part"])
def test_ferromagnetic_metal_gives_no_figure_and_says_why(which: str) -> None:
    """Planted bug that this caught: a ferromagnetic part on a non-magnetic block got the block's depth."""
    steel = Material("CS", "carbon steel", "ferromagnetic", Decimal("12"))
    [line] = explanation(replace(KIT, **{which: steel}))  # type: ignore[arg-type]
    assert line.weight is Weight.SUPPORTS
    assert "permeability is not known" in line.figure
    assert not any(c.isdigit() for c in line.says + line.figure)


def test_equal_conductivities_leave_the_depth_alone() -> None:
    assert advice(replace(KIT, of_part=BLOCK)) == []
    [depth] = on_demand(replace(KIT, of_part=BLOCK))
    # 26 in/√(200,000 · 32) (MEMORY, tests/published/standard_depth.py) is 0.0103 in, 0.26 mm
    assert depth.startswith("standard depth in the block 0.26 mm at 200 kHz and 32 %IACS")


def test_an_unknown_conductivity_is_named_and_nothing_is_calculated_from_it() -> None:
    unknown = Material("AL-9", "aluminium alloy", "non-magnetic", None)
    [line] = on_demand(replace(KIT, of_block=unknown))
    assert "the conductivity of AL-9 is not on record" in line
    assert advice(replace(KIT, of_part=unknown)) == []
    assert len(on_demand(replace(KIT, of_part=unknown))) == 2


@pytest.mark.parametrize(("thick", "warned"), [("0.75", True), ("0.79", False), (None, False)])
def test_a_block_below_three_standard_depths_is_told(thick: str | None, warned: bool) -> None:
    """3 δ of 32 %IACS at 200 kHz: 3 × 25.4 × 26/√(200,000 × 32) = 0.783 mm."""
    kit = replace(KIT, of_part=BLOCK, thickness_mm=None if thick is None else Decimal(thick))
    assert [r.limit for r in advice(kit)] == (["at least 0.78 mm"] if warned else [])
    assert advice(replace(kit, form="bore")) == []  # of a bore the thickness is the hole's length


def test_a_coil_smaller_than_a_standard_depth_warns_that_lift_off_is_hard_to_tell() -> None:
    low = replace(KIT, of_part=BLOCK, frequency_khz=Decimal("5"), thickness_mm=Decimal("50"))
    [told] = advice(low)
    assert told.says == "the coil's mean radius is 0.9 standard depths: notch and lift-off are hard to tell apart"
    assert advice(replace(low, frequency_khz=Decimal("10"))) == []


def test_no_explanation_stops_limits_or_leaves_open_and_all_say_that_they_are_calculated() -> None:
    for coil in (COIL, replace(COIL, size=None), replace(COIL, winding="differential")):
        for khz in ("1", "200", "3000"):
            for reason in explanation(replace(KIT, coil=coil, frequency_khz=Decimal(khz), thickness_mm=Decimal("1"))):
                assert reason.weight in (Weight.ADVISES, Weight.SUPPORTS)
                assert reason.source.startswith("calculated, not measured")
    assert "passes, fails, ranks or corrects" in METHOD[-1]
