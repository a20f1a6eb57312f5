"""How equipment ages: every check of a setup against its baseline, notch by notch, in dB, in degrees and in gain needed."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import select

from refstd.desk.happened import EventShown, events_of_setups
from refstd.desk.known import named
from refstd.desk.procedures import ProcedureShown, procedure_shown
from refstd.desk.series import NotchSeries, series_within
from refstd.desk.series import days_of as days_of
from refstd.desk.setups import SetupShown, notch_depths, setup_shown
from refstd.register.checks import Baseline, Setup
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import ProcedureRevision
from refstd.rules.drift import Course as Course
from refstd.rules.drift import Drift, drift_of
from refstd.rules.lookbefore import BaselineLimit, LookBefore, NoDate, baseline_limits, in_words, look_before


@dataclass(frozen=True, slots=True, eq=False)
class NotchDrift:
    """The drift of one notch of one setup, with the events since its baseline and the date to look at it before."""

    setup: SetupShown
    notch: str
    depth_mm: float
    baseline_at: datetime
    drift: Drift
    events: tuple[EventShown, ...]
    look_before: LookBefore | NoDate

    @property
    def flags(self) -> tuple[str, ...]:
        return self.drift.flags

    def in_words(self) -> str:
        """Return what stands out, in a few words, with the day of a step."""
        words = self.drift.in_words()
        index = self.drift.amplitude.stepped
        if index is not None:
            words += f" about {at_day(float(self.drift.amplitude.days[index])):%Y-%m-%d}"
        broken = [e for e in self.events if e.breaks]
        if broken and self.flags:
            words += f"; since {broken[-1].in_words()} on {broken[-1].happened_at:%Y-%m-%d}"
        return words

    @property
    def baseline_setups(self) -> int:
        return self.drift.answers.baseline_setups


def at_day(days: float) -> datetime:
    """Return the instant of a day counted from 1970-01-01 UTC, to the second."""
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=round(days * 86400))


def date_of(d: NotchDrift, zone: ZoneInfo) -> str:
    """Return the civil day to look at it before, '' where there is none."""
    return "" if isinstance(d.look_before, NoDate) else f"{at_day(d.look_before.day).astimezone(zone):%Y-%m-%d}"


def date_in_words(d: NotchDrift, zone: ZoneInfo) -> str:
    """Return the line about the date to look at it before."""
    return in_words(d.look_before, date_of(d, zone))


def drift_list(lab: Lab, when: When, *, setup: str = "") -> tuple[NotchDrift, ...]:
    """Return the drift of every setup that has a baseline, or of one."""
    with lab.look(when) as look:
        return drift_within(look, setup=setup)


def drift_within(look: Look, *, setup: str = "", item: str = "") -> tuple[NotchDrift, ...]:
    """Return the drift within a look: of every setup that has a baseline, of one, or of those that an item is part of."""
    only = named(look, Setup, setup).id if setup else None
    rows = {
        s.id: s
        for s in look.session.execute(select(Setup).where(Setup.entry <= look.upto).order_by(Setup.number)).scalars()
        if only is None or s.id == only
    }
    shown = {number: setup_shown(look, row) for number, row in rows.items()}
    happened = events_of_setups(look, list(rows.values()))
    breaks = {number: tuple(days_of(e.happened_at) for e in events if e.breaks) for number, events in happened.items()}
    limits = _Limits(look)
    found = []
    for series in series_within(look, only, breaks=breaks):
        if item and item not in (
            shown[series.setup_id].instrument,
            shown[series.setup_id].probe,
            shown[series.setup_id].block,
        ):
            continue
        found.append(_of_notch(look, series, rows[series.setup_id], shown, happened, limits))
    return tuple(found)


def _of_notch(
    look: Look, series: NotchSeries, setup: Setup, shown: dict[int, SetupShown], happened: dict[int, tuple[EventShown, ...]],
    limits: "_Limits",
) -> NotchDrift:  # fmt: skip
    label, depth_mm = notch_depths(look, setup.block_id)[series.notch_id]
    baseline = look.session.get_one(Baseline, series.baseline_id)
    drift = drift_of(series.answers)
    events = tuple(e for e in happened[setup.id] if days_of(e.happened_at) > series.taken)
    date = look_before(drift.amplitude, limits.of(series.revision_id, label))
    return NotchDrift(shown[setup.id], label, depth_mm, baseline.happened_at, drift, events, date)


class _Limits:
    """The limits against the baseline that the procedure of a setup's newest check states."""

    def __init__(self, look: Look) -> None:
        self.look = look
        self.shown: dict[int, ProcedureShown] = {}

    def of(self, revision: int, notch: str) -> tuple[BaselineLimit, ...]:
        """Return the limits of a notch."""
        if not revision:
            return ()
        if revision not in self.shown:
            row = self.look.session.get_one(ProcedureRevision, revision)
            self.shown[revision] = procedure_shown(self.look, row)
        procedure = self.shown[revision]
        return baseline_limits(procedure.limits, notch, procedure.name)
