"""What goes into a response check and what comes out of it."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final, Literal

from pydantic import Field

from refstd.base.reason import Reason, Weight
from refstd.desk.entry import (
    Draft,
    GainDb,
    NeededWords,
    Number,
    OptionalCelsius,
    OptionalDecimal,
    OptionalNumber,
    RotationDeg,
    Words,
    YesNo,
)
from refstd.desk.procedures import ProcedureShown
from refstd.rules.condition import NotchCondition
from refstd.rules.readings import one_figure as one_figure
from refstd.rules.response import EXIT_OF, Outcome
from refstd.rules.slips import Slip

Occasion = Literal[
    "set-up", "start", "interim", "end", "exchange", "operator", "doubt", "periodic", "receipt", "swap test"
]

SWAP_TEST: Final = "swap test"


class CheckDraft(Draft):
    """The occasion and settings of a response check."""

    setup: Number
    occasion: Occasion
    job: OptionalNumber = None
    procedure: OptionalNumber = Field(None, description="for a check without a job")
    rotation_deg: RotationDeg = Field(title="rotation, °")
    horizontal_gain_db: GainDb = Field(title="horizontal gain, dB")
    vertical_gain_db: GainDb = Field(title="vertical gain, dB")
    nulled: YesNo = Field(title="balanced (nulled)")
    phase_set: YesNo = Field(title="phase reference set")
    noise: OptionalDecimal = Field(None, description="noise amplitude in the readings' unit")
    block_temperature_c: OptionalCelsius = Field(None, title="temperature of the block, °C")
    part_temperature_c: OptionalCelsius = Field(None, title="temperature of the part, °C")
    cable: OptionalNumber = None
    adapter: OptionalNumber = None
    remedy: Words = Field("", description="before the one repeat: connector, tape, gain or block wiped")
    happened_at: Words = Field("", description="instant of the readings; empty: now")
    done_by: OptionalNumber = Field(None, description="who took the readings, where somebody else enters them")
    note: Words = ""


class ReadingDraft(Draft):
    """One scan of one notch, as seen. Where a setup reads an amplitude, that stands in `vertical`."""

    notch: NeededWords
    horizontal: OptionalDecimal = None
    vertical: OptionalDecimal = None
    full_screen: YesNo = False


@dataclass(frozen=True, slots=True)
class CheckVerdict:
    """What a response check says, as kept."""

    number: str
    occasion: str
    setup: str
    job: str
    happened_at: datetime
    person: str
    outcome: str
    reasons: tuple[Reason, ...]
    condition: tuple[Reason, ...]
    kit: tuple[Reason, ...]
    do: tuple[str, ...]
    held: tuple[str, ...]
    tell: str
    covers: str
    finding: str
    repeats: str
    rules_version: str
    late: str = ""  # 'recorded 6 days late by ORLA', '' where the same person recorded it on the same day
    ended: str = ""  # when and by which event what it covers ended, as known at the look's instant

    @property
    def covers_now(self) -> str:
        """Return what it covers, or by which event that ended."""
        return self.ended or (f"covers {self.covers}" if self.covers else "")

    @property
    def exit_code(self) -> int:
        return exit_code_of(self.outcome)

    def headline(self) -> str:
        """Return the verdict in one line."""
        first = next((r.says for r in self.reasons if r.weight in (Weight.STOPS, Weight.UNDECIDED)), "")
        return f"{self.outcome}" + (f": {first}" if first else "")


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one occasion as points under the new display: (notch, horizontal or None, vertical)."""

    name: str
    points: tuple[tuple[str, float | None, float], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """Baseline, start check and new readings together, as the screen of the new check would show them."""

    unit: str
    full_screen: float
    directed: bool  # read as points on the plane; else one figure a notch
    series: tuple[Series, ...]
    failing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """What a technician needs in hand before a check."""

    setup: str
    instrument: str
    probe: str
    block: str
    measure: str
    unit: str
    phase_reference: str
    job: str
    procedure: ProcedureShown
    notches: tuple[tuple[str, float], ...]  # label and depth in mm, deepest first
    start_check: str
    settings: tuple[Decimal, Decimal, Decimal] | None  # rotation °, horizontal gain dB, vertical gain dB
    has_baseline: bool
    stops: tuple[Reason, ...]
    kit: tuple[Reason, ...]
    signer: tuple[Reason, ...] = ()  # whether the one who asks may sign for lots; a check is kept whoever makes it
    asks_temperatures: bool = False  # of block and part: the procedure has a band, or it is conductivity work


@dataclass(frozen=True, slots=True)
class Preview:
    """What a check would say, with likely slips marked; nothing is kept."""

    outcome: str
    reasons: tuple[Reason, ...]
    condition: tuple[Reason, ...]
    slips: tuple[Slip, ...]
    picture: Picture
    may_repeat: bool
    figures: tuple[NotchCondition, ...] = ()  # of each notch against the baseline

    @property
    def exit_code(self) -> int:
        return exit_code_of(self.outcome)


def exit_code_of(outcome: str) -> int:
    """Return the exit code of an outcome; a set-up kept for a baseline is done, not judged."""
    return EXIT_OF[Outcome(outcome)] if outcome in set(Outcome) else 0
