"""Drift as its readers ask for it: the series of what moved first, and one chart with all that stands behind it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from refstd.base.domain import Array
from refstd.base.text import key
from refstd.desk.baselines import BaselineShown, shown_baseline
from refstd.desk.checks import CheckVerdict, checks_of
from refstd.desk.drift import NotchDrift, drift_within
from refstd.desk.kept_checks import kept_verdict
from refstd.desk.known import named
from refstd.desk.suspects import Candidate, Suspect, Suspects, suspects_within
from refstd.register.checks import Setup
from refstd.register.lab import Lab, Look, When
from refstd.rules.charted import FOR_THE_READER as FOR_THE_READER
from refstd.rules.charted import Charted as Charted
from refstd.rules.charted import charted as charted
from refstd.rules.drift import Course
from refstd.rules.lookbefore import CAUTION as LOOK_BEFORE_CAUTION
from refstd.rules.lookbefore import METHOD as LOOK_BEFORE_METHOD

__all__ = ["FOR_THE_READER", "LOOK_BEFORE_CAUTION", "LOOK_BEFORE_METHOD", "Charted", "charted"]


@dataclass(frozen=True, slots=True, eq=False)
class DriftBoard:
    """Every series with what the evidence over the whole lab says."""

    suspects: Suspects
    drift: tuple[NotchDrift, ...]

    def series_of(self, suspect: Suspect) -> tuple[NotchDrift, ...]:
        """Return the series that a suspect takes part in, what stands out first."""
        return _flagged_first([d for d in self.drift if takes_part(suspect.candidate, d)])

    @property
    def groups(self) -> tuple[tuple[Suspect | None, tuple[NotchDrift, ...]], ...]:
        """The series of each suspect, then with None those of no suspect; what stands out first in each."""
        left, found = list(self.drift), []
        for suspect in self.suspects.found:
            own = [d for d in left if takes_part(suspect.candidate, d)]
            left = [d for d in left if d not in own]
            found.append((suspect, _flagged_first(own)))
        return (*((s, own) for s, own in found if own), *(((None, _flagged_first(left)),) if left else ()))


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """One quantity of a series against its baseline: `values` of every check (NaN where none), and which are judged."""

    name: str
    course: Course
    values: Array
    judged: Array


@dataclass(frozen=True, slots=True, eq=False)
class NotchChart:
    """The series of one notch, its baseline, the checks behind it by number, and the suspects that took part in it."""

    drift: NotchDrift
    baseline: BaselineShown | None
    checks: Mapping[str, CheckVerdict]
    suspects: tuple[Suspect, ...]


def takes_part(candidate: Candidate, d: NotchDrift) -> bool:
    """Return whether a series is one of those in which a candidate was used."""
    kind, code = candidate.thing
    if candidate.kind == "notch" and candidate.notch != d.notch:
        return False
    return kind == "common" or code == getattr(d.setup, kind)


def drift_board(lab: Lab, when: When, *, item: str = "") -> DriftBoard:
    """Return the series of every setup, or of those that an item is part of, with the evidence over the whole lab."""
    with lab.look(when) as look:
        return DriftBoard(suspects_within(look), drift_within(look, item=item))


def notch_chart(lab: Lab, when: When, setup: str, notch: str) -> NotchChart | None:
    """Return what a control chart shows, or None where the notch has no baseline reading."""
    with lab.look(when) as look:
        row = named(look, Setup, setup)
        d = next((d for d in drift_within(look, setup=setup) if key(d.notch) == key(notch)), None)
        if d is None:
            return None
        suspects = tuple(s for s in suspects_within(look).found if takes_part(s.candidate, d))
        return NotchChart(d, shown_baseline(look, row), _verdicts(look, row, d), suspects)


def quantities(d: NotchDrift) -> tuple[Quantity, ...]:
    """Return what can be drawn of a series: the amplitude always, phase and gain needed where they are known."""
    a, counted = d.drift.answers, d.drift.answers.counted

    def one(name: str, course: Course | None, values: Array) -> tuple[Quantity, ...]:
        if course is None:
            return ()
        return (Quantity(name, course, values, np.flatnonzero(counted & np.isfinite(values))),)

    return (
        *one("amplitude", d.drift.amplitude, a.deviation_db),
        *one("phase", d.drift.phase, a.deviation_deg),
        *one("gain needed", d.drift.gain, a.gain_needed_db - (a.baseline_gain_db or 0.0)),
    )


def _verdicts(look: Look, setup: Setup, d: NotchDrift) -> dict[str, CheckVerdict]:
    wanted = set(d.drift.answers.checks)
    return {c.number: kept_verdict(look, c) for c in checks_of(look, setup_id=setup.id) if c.number in wanted}


def _flagged_first(found: list[NotchDrift]) -> tuple[NotchDrift, ...]:
    return tuple(sorted(found, key=lambda d: not d.flags))
