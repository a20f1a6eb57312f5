"""What block, part and coil mean for a kit at the job's frequency: calculated advice that passes, fails and ranks nothing.

What stands at ADVISES is worth a line beside the kit; what stands at SUPPORTS is for whoever asks.
"""

import math
from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.eddy.coil import BASIS, Coil
from refstd.eddy.materials import ms_per_m
from refstd.eddy.mismatch import amplitude_bound_db, lift_off_alike_mm
from refstd.eddy.penetration import standard_depth_mm
from refstd.rules.matching import Material

METHOD = (
    "Standard depth: of a plane wave, 1/√(π f µ σ). A finite coil penetrates less. It is not a limit of detection.",
    "Balance: for one absolute air-core coil of the stated size over flat, thick, non-magnetic metal, the probe set down bare, "
    "by the integral of Dodd and Deeds (1968); good to a factor of 1.5. Ferrite, shields, edges and curves change it.",
    "Amplitude: at most, for long surface notches; our own computation, no published source.",
    "None of these figures passes, fails, ranks or corrects anything. The written procedure governs.",
)
_SOURCE = f"{BASIS}; the reading has NOT been corrected for this"
_IF_IN_DOUBT = "if in doubt use a block of matching conductivity, or ask the responsible level 3"
_THICK = 3  # standard depths, below which 5 % of the density is left: public eddy-current education pages, READ
_FLAT = ("plate", "edge", "weld", "conductivity")  # blocks whose thickness is the metal below the coil


@dataclass(frozen=True, slots=True)
class CoilOnRecord:
    """A probe's coil as on record; no size: it is not known. `winding` is absolute, differential or cross-axis."""

    probe: str
    winding: str
    circuit: str
    shielded: bool
    size: Coil | None
    gap_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class KitOnJob:
    """What an explanation is made of."""

    block: str
    form: str
    thickness_mm: Decimal | None
    of_block: Material
    of_part: Material
    frequency_khz: Decimal
    coil: CoilOnRecord


def explanation(kit: KitOnJob) -> tuple[Reason, ...]:
    """Return what is worth knowing about a kit on a job; where no figure can be given, why, and what would help."""
    if "ferromagnetic" in (kit.of_block.magnetic_class, kit.of_part.magnetic_class):
        return (_told("no depth and no difference is calculated for ferromagnetic metal", Weight.SUPPORTS, kit.block,
                      figure="its permeability is not known and decides more than conductivity"),)  # fmt: skip
    unknown = [m.code for m in (kit.of_block, kit.of_part) if m.conductivity_percent_iacs is None]
    missing = [
        _told(f"the conductivity of {code} is not on record", Weight.SUPPORTS, kit.block, cure="have it measured, and entered with its source")
        for code in dict.fromkeys(unknown)
    ]  # fmt: skip
    ours, parts = kit.of_block.conductivity_percent_iacs, kit.of_part.conductivity_percent_iacs
    if ours is None:
        return tuple(missing)
    depth = float(standard_depth_mm(float(kit.frequency_khz), ms_per_m(float(ours))))
    found = [
        _told(f"standard depth in the block {_mm(depth)}", Weight.SUPPORTS, kit.block,
              figure=f"at {plain(kit.frequency_khz)} kHz and {plain(ours)} %IACS")
    ]  # fmt: skip
    found += _thin(kit, depth)
    if parts is not None and parts != ours:
        found.append(_difference(kit, ours, parts, depth))
    if kit.coil.size is not None and (across := kit.coil.size.mean_radius_mm / depth) < 1:
        found.append(
            _told(f"the coil's mean radius is {across:.1f} standard depths: notch and lift-off are hard to tell apart", Weight.ADVISES,
                  kit.coil.probe, cure="take a higher frequency if the written procedure allows one")
        )  # fmt: skip
    return (*found, *missing)


def _thin(kit: KitOnJob, depth: float) -> list[Reason]:
    if kit.thickness_mm is None or kit.form not in _FLAT or float(kit.thickness_mm) >= _THICK * depth:
        return []
    return [
        Reason("explanation", f"the block is thinner than {_THICK} standard depths, so that its far side takes part",
               f"{plain(kit.thickness_mm)} mm thick", f"at least {_mm(_THICK * depth)}", f"{BASIS}; common practice, no source", kit.block,
               "take a thicker block, or a higher frequency if the written procedure allows one", Weight.ADVISES)
    ]  # fmt: skip


def _difference(kit: KitOnJob, ours: Decimal, parts: Decimal, depth: float) -> Reason:
    """Return what the difference in conductivity does, or why that is not calculated."""
    both = f"block {plain(ours)} %IACS, part {plain(parts)} %IACS"
    coil = kit.coil
    if coil.winding != "absolute" or coil.circuit != "bridge":
        kind = coil.winding if coil.winding != "absolute" else f"a {coil.circuit} probe"
        return _told(f"{both}: how far the balance point moves is not calculated", Weight.SUPPORTS, coil.probe,
                     figure=f"{coil.probe} is {kind}; it is known for one absolute coil in a bridge", cure=_IF_IN_DOUBT)  # fmt: skip
    if coil.size is None:
        return _told(f"{both}: how far the balance point moves is not calculated", Weight.SUPPORTS, coil.probe,
                     figure="the size of the coil is not known", cure=f"enter the size of the coil on the record of {coil.probe}")  # fmt: skip
    here, there = float(ms_per_m(float(ours))), float(ms_per_m(float(parts)))
    khz = float(kit.frequency_khz)
    move = lift_off_alike_mm(coil.size, coil.gap_mm, khz, here, there)
    in_part = float(standard_depth_mm(khz, there))
    most = amplitude_bound_db(here, there, coil.size.mean_radius_mm / max(depth, in_part))
    how_far = (
        "farther than by taking the probe off"
        if math.isinf(move)
        else f"by about as much as {_lifted(move)} of lift-off would"
    )
    shielded = "; the probe is shielded, which changes this" if coil.shielded else ""
    return Reason(
        "explanation",
        f"{both}: the balance point moves {how_far}; notch amplitude by less than {math.ceil(most * 10) / 10:.1f} dB{shielded}",
        source=_SOURCE, record=f"{kit.block}, {coil.probe}", cure=_IF_IN_DOUBT, weight=Weight.ADVISES,
    )  # fmt: skip


def _told(says: str, weight: Weight, record: str, *, figure: str = "", cure: str = "") -> Reason:
    return Reason("explanation", says, figure, source=BASIS, record=record, cure=cure, weight=weight)


def _mm(value: float) -> str:
    return f"{value:.2g} mm" if value < 10 else f"{value:.0f} mm"


def _lifted(value: float) -> str:
    return f"{value:.2f} mm" if value >= 0.005 else "less than 0.01 mm"
