"""How equipment ages: every check of a setup against its baseline, notch by notch, in dB."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.desk.checks import checks_of
from refstd.desk.known import named
from refstd.desk.setups import SetupShown, baseline_of, baseline_sets, reading_set, setup_shown
from refstd.register.checks import Setup
from refstd.register.lab import Lab, Look, When
from refstd.rules.condition import FEWEST_SETUPS, baseline_reference
from refstd.rules.drift import Drift, DriftPoint, drift_of
from refstd.rules.figures import amplitude_change_db


@dataclass(frozen=True, slots=True)
class NotchDrift:
    """The drift of one notch of one setup."""

    setup: SetupShown
    notch: str
    depth_mm: float
    baseline_at: datetime
    baseline_setups: int
    baseline_sd_db: float | None
    drift: Drift


def drift_list(lab: Lab, when: When, *, setup: str = "") -> tuple[NotchDrift, ...]:
    """Return the drift of every setup that has a baseline, or of one."""
    with lab.look(when) as look:
        return drift_within(look, setup=setup)


def drift_within(look: Look, *, setup: str = "") -> tuple[NotchDrift, ...]:
    """Return the drift within a look."""
    if setup:
        rows = [named(look, Setup, setup)]
    else:
        rows = list(
            look.session.execute(select(Setup).where(Setup.entry <= look.upto).order_by(Setup.number)).scalars()
        )
    found: list[NotchDrift] = []
    for row in rows:
        found += _of_setup(look, row)
    return tuple(found)


def _of_setup(look: Look, setup: Setup) -> list[NotchDrift]:
    baseline = baseline_of(look, setup.id)
    if baseline is None:
        return []
    sets = baseline_sets(look, baseline)
    checks = [
        c
        for c in checks_of(look, setup_id=setup.id)
        if c.happened_at >= baseline.happened_at and c.occasion != "set-up"
    ]
    taken = [(c, reading_set(look, c)) for c in checks]
    found = []
    for first in sets[0].readings:
        reference = baseline_reference(sets, first.notch)
        points = []
        for check, new in taken:
            reading = new.on(first.notch)
            if reading is None:
                continue
            days = (check.happened_at - baseline.happened_at).total_seconds() / 86400
            changes = [amplitude_change_db(new, reading, s, r) for s in sets if (r := s.on(first.notch)) is not None]
            words = [c for c in changes if isinstance(c, str)]
            if words or not changes:
                points.append(DriftPoint(days, check.number, None, words[0] if words else "no baseline reading"))
                continue
            numbers = [c for c in changes if isinstance(c, float)]
            points.append(DriftPoint(days, check.number, sum(numbers) / len(numbers)))
        sd = reference[1] if reference and len(sets) >= FEWEST_SETUPS else None
        found.append(
            NotchDrift(
                setup_shown(look, setup), first.notch, first.depth_mm, baseline.happened_at, len(sets), sd,
                drift_of(tuple(points), sd, len(sets)),
            )
        )  # fmt: skip
    return found
