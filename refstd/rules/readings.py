"""What was read and what it is held against: readings of one occasion with their display, limits and targets."""

from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import plain, with_unit
from refstd.base.reason import Reason
from refstd.base.text import key
from refstd.eddy.signals import Display, Measure, Order

# What a reading is, as the comparison of displays knows it.
MEASURED_AS: dict[str, Measure] = {
    "horizontal and vertical": "horizontal and vertical",
    "vertical from balance": "vertical",
    "vertical peak to peak": "vertical",
    "amplitude peak to peak": "peak-to-peak",
}


@dataclass(frozen=True, slots=True)
class NotchReading:
    """What was seen on one notch: horizontal and vertical, one figure alone, or at least full screen.

    The one figure stands in `vertical`: the vertical part, or of an amplitude measure the amplitude.
    """

    notch: str
    depth_mm: float
    horizontal: Decimal | None
    vertical: Decimal | None
    full_screen: bool = False


@dataclass(frozen=True, slots=True)
class ReadingSet:
    """The readings of one occasion with the display they were seen through. `record` names the check."""

    record: str
    readings: tuple[NotchReading, ...]
    rotation_deg: Decimal
    horizontal_gain_db: Decimal
    vertical_gain_db: Decimal
    order: Order | None
    unit: str
    measure: str
    phase_reference: str
    phase_set: bool
    noise: Decimal | None
    full_screen: Decimal
    nulled: bool = True
    block_temperature_c: Decimal | None = None
    part_temperature_c: Decimal | None = None

    @property
    def display(self) -> Display:
        return Display(
            float(self.rotation_deg), float(self.horizontal_gain_db), float(self.vertical_gain_db), self.order
        )

    @property
    def lift_off_horizontal(self) -> bool:
        return self.phase_set and self.phase_reference == "lift-off"

    @property
    def measured_as(self) -> Measure:
        return MEASURED_AS[self.measure]

    @property
    def directed(self) -> bool:
        """Whether the direction of a signal was read too, so that it has a phase."""
        return self.measured_as == "horizontal and vertical"

    @property
    def one_figure(self) -> str:
        """Return what the one figure of a reading is called: the vertical part, or the amplitude."""
        return one_figure(self.measure)

    def on(self, notch: str) -> NotchReading | None:
        """Return the reading on a notch, by its label."""
        return next((r for r in self.readings if key(r.notch) == key(notch)), None)

    def same_settings(self, other: "ReadingSet") -> bool:
        """Return whether rotation and gains are equal."""
        return (
            self.rotation_deg == other.rotation_deg
            and self.horizontal_gain_db == other.horizontal_gain_db
            and self.vertical_gain_db == other.vertical_gain_db
        )

    def settings_in_words(self) -> str:
        """Return rotation and gains as set."""
        return (
            f"rotation {plain(self.rotation_deg)}°, horizontal gain {plain(self.horizontal_gain_db)} dB, "
            f"vertical gain {plain(self.vertical_gain_db)} dB"
        )


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of the procedure: what it limits, against what, in which unit, for one notch or all, by which paragraph."""

    quantity: str
    against: str
    notch: str | None
    lower: Decimal | None
    upper: Decimal | None
    unit: str
    paragraph: str

    @property
    def measures(self) -> str:
        """Return what is limited; of a ratio to the noise which deflection is meant, since a trend goes by the whole one."""
        return "signal to noise (vertical over noise, as seen)" if self.quantity == "signal to noise" else self.quantity

    def in_words(self) -> str:
        """Return the limit as the procedure states it."""
        to = {
            "none": "",
            "target": " of target",
            "start check": " against the start check",
            "baseline": " against the baseline",
        }
        low, high = self.lower, self.upper
        write = plain if self.against == "none" else signed
        if low is not None and high is not None:
            if low == -high:
                return f"±{with_unit(plain(high), self.unit)}{to[self.against]}"
            return f"{write(low)} to {with_unit(write(high), self.unit)}{to[self.against]}"
        if low is not None:
            return f"at least {with_unit(write(low), self.unit)}{to[self.against]}"
        assert high is not None
        return f"at most {with_unit(write(high), self.unit)}{to[self.against]}"


@dataclass(frozen=True, slots=True)
class Target:
    """The response that a notch is set to when standardizing."""

    notch: str
    value: Decimal
    unit: str
    paragraph: str


@dataclass(frozen=True, slots=True)
class JobQuestion:
    """What the job check is judged on."""

    occasion: str
    new: ReadingSet
    start: ReadingSet | None
    baseline: tuple[ReadingSet, ...]
    limits: tuple[Limit, ...]
    targets: tuple[Target, ...]
    procedure: str  # code and issue, as the limits' source
    hours_since_last: float | None = None  # since the last acceptable check of this start
    every_hours: Decimal | None = None
    every_paragraph: str = ""
    baseline_setups_needed: int = 0  # 0: the procedure asks for no baseline
    baseline_paragraph: str = ""
    unfit: tuple[Reason, ...] = ()  # what stops the kit itself: then no check can say that the work stands
    happened: tuple[Reason, ...] = ()  # what events between the start and this check mean for it
    temperature_band_c: Decimal | None = None  # None: the procedure states none
    temperature_paragraph: str = ""
    conductivity_work: bool = False  # the block is a standard of conductivity


def one_figure(measure: str) -> str:
    """Return what the one figure of a reading is called: the vertical part, or the amplitude."""
    return "amplitude" if MEASURED_AS[measure] == "peak-to-peak" else "vertical"


def signed(value: Decimal) -> str:
    return ("+" if value > 0 else "") + plain(value).replace("-", "−")
