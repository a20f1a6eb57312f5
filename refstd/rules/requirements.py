"""What a procedure asks for beside its limits: scan, occasions, sizes of notches, a reading on the part, people. Each with its paragraph."""

from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import plain
from refstd.rules.asked_tolerances import AskedTolerance


@dataclass(frozen=True, slots=True)
class Scan:
    """How the surface is scanned. Speed in mm/s at most, overlap in % of the effective width at least, index in mm at most."""

    largest_speed_mm_s: Decimal | None
    least_overlap_percent: Decimal | None
    largest_index_mm: Decimal | None
    directions: int | None
    paragraph: str

    def in_words(self) -> str:
        """Return what is asked, with units."""
        said = [
            f"at most {plain(self.largest_speed_mm_s)} mm/s" if self.largest_speed_mm_s is not None else "",
            f"overlap of {plain(self.least_overlap_percent)} % at least" if self.least_overlap_percent is not None else "",
            f"index of {plain(self.largest_index_mm)} mm at most" if self.largest_index_mm is not None else "",
            {1: "in one direction", 2: "in two directions"}.get(self.directions or 0, ""),
        ]  # fmt: skip
        return ", ".join(x for x in said if x)


@dataclass(frozen=True, slots=True)
class AskedOccasion:
    """An occasion on which the procedure asks for a check."""

    occasion: str
    paragraph: str

    def in_words(self) -> str:
        """Return the occasion."""
        return self.occasion


@dataclass(frozen=True, slots=True)
class NotchAdvice:
    """How many sizes of notches the block has at least, and whether the target's size lies between two of them."""

    fewest_sizes: int | None
    bracketing: bool
    paragraph: str

    def in_words(self) -> str:
        """Return what is asked of the sizes."""
        sizes = f"{self.fewest_sizes} sizes of notches at least" if self.fewest_sizes is not None else ""
        return ", ".join(x for x in (sizes, "the target between two of them" if self.bracketing else "") if x)


@dataclass(frozen=True, slots=True)
class PartReading:
    """A reading on the part after the block: how far the phase may shift between them at most, in degrees."""

    largest_phase_shift_deg: Decimal
    paragraph: str

    def in_words(self) -> str:
        """Return the limit with its unit."""
        return f"phase shift from block to part of {plain(self.largest_phase_shift_deg)}° at most"


@dataclass(frozen=True, slots=True)
class Vision:
    """A test of vision that the one who examines has passed; after how many months again, None as the test itself says."""

    kind: str
    every_months: int | None
    paragraph: str

    def in_words(self) -> str:
        """Return what is asked."""
        return self.kind + (f" every {self.every_months} months" if self.every_months is not None else "")


@dataclass(frozen=True, slots=True)
class QualificationNeeded:
    """The qualification of the one who examines: method, level at least, sector ('' is any)."""

    method: str
    level: int
    sector: str
    paragraph: str

    def in_words(self) -> str:
        """Return what is asked."""
        return f"{self.method} level {self.level} at least" + (f", sector {self.sector}" if self.sector else "")


Requirement = Scan | AskedOccasion | NotchAdvice | PartReading | Vision | QualificationNeeded | AskedTolerance


@dataclass(frozen=True, slots=True)
class Requirements:
    """All that a revision asks for beside its limits; None or empty where it asks nothing."""

    scan: Scan | None = None
    occasions: tuple[AskedOccasion, ...] = ()
    notch_advice: NotchAdvice | None = None
    part_reading: PartReading | None = None
    vision: tuple[Vision, ...] = ()
    qualification: QualificationNeeded | None = None
    tolerances: tuple[AskedTolerance, ...] = ()

    def each(self) -> tuple[tuple[str, Requirement], ...]:
        """Return every requirement with what it is about."""
        one = (
            ("scan", self.scan), ("notches of the block", self.notch_advice), ("reading on the part", self.part_reading),
            ("qualification", self.qualification),
        )  # fmt: skip
        return (
            *((name, x) for name, x in one if x is not None),
            *(("check on occasion", x) for x in self.occasions),
            *(("test of vision", x) for x in self.vision),
            *(("certified values", x) for x in self.tolerances),
        )
