"""Which instrument, probe, block or notch moved, or everything at once: the evidence over the whole lab."""

import math
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

import numpy as np
from sqlalchemy import select

from refstd.base.reason import Reason
from refstd.desk.items import items
from refstd.desk.known import named
from refstd.desk.named_before import named_before
from refstd.desk.series import NotchSeries, breaks_within, days_of, series_within
from refstd.desk.setups import notch_depths
from refstd.metrology.attribution import FEWEST_DEGREES as FEWEST_DEGREES
from refstd.metrology.attribution import LOOK_AT as LOOK_AT
from refstd.metrology.attribution import NAME_AGAIN_AT as NAME_AGAIN_AT
from refstd.metrology.attribution import NAME_AT as NAME_AT
from refstd.metrology.attribution import SPREAD_MARGIN as SPREAD_MARGIN
from refstd.metrology.attribution import WINDOWS_DAYS, Judgement, Spread, judge, pooled_spread
from refstd.metrology.attribution import Evidence as Evidence
from refstd.metrology.incidence import Candidate as Candidate
from refstd.metrology.incidence import Deviation as Deviation
from refstd.register.checks import Setup
from refstd.register.lab import Change, Lab, Look, When
from refstd.rules.suspects import ENOUGH as ENOUGH
from refstd.rules.suspects import METHOD as METHOD
from refstd.rules.suspects import SOURCE as SOURCE
from refstd.rules.suspects import Suspect as Suspect
from refstd.rules.suspects import effect_in_words as effect_in_words
from refstd.rules.suspects import in_words as in_words
from refstd.rules.suspects import score_in_words as score_in_words
from refstd.rules.suspects import spread_in_words as spread_in_words
from refstd.rules.suspects import suspect_reason, suspects_of
from refstd.rules.suspects import swap_in_words as swap_in_words

PARTNER_STATES = ("in service",)
_KEPT = 4  # answers remembered: today, a past day or two side by side


@dataclass(frozen=True, slots=True, eq=False)
class Suspects:
    """What the evidence says at one instant: the judgement, what is named or tied, the lab's own spread, the readings."""

    judgement: Judgement
    found: tuple[Suspect, ...]
    spread: Spread
    readings: tuple[Deviation, ...]

    @property
    def unexplained(self) -> tuple[Deviation, ...]:
        """The latest readings far off that nothing named or tied took part in: repeat them first."""
        return tuple(r for r in self.judgement.repeat if not any(s.candidate.took_part(r) for s in self.found))

    def about(self, asset_no: str) -> tuple[Suspect, ...]:
        """Return what is said about an item."""
        return tuple(s for s in self.found if s.candidate.code == asset_no)


def suspects(lab: Lab, when: When) -> Suspects:
    """Return what the evidence says."""
    with lab.look(when) as look:
        return suspects_within(look)


def moved_in_setup(lab: Lab, setup: str, when: When) -> tuple[Reason, ...]:
    """Return what the evidence says of the items of a setup, as the verdicts on them say it."""
    with lab.look(when) as look:
        row = named(look, Setup, setup)
        found = suspects_within(look).found
        if not found:
            return ()
        members = {items(look)[n].asset_no for n in (row.instrument_id, row.probe_id, row.block_id)}
        return tuple(suspect_reason(s) for s in found if s.candidate.code in members)


def suspects_within(look: Look) -> Suspects:
    """Return what the evidence says at the end of the look's day, from what was on record before any act under way.

    It takes a tenth of a second over a lab's half year and follows from the log up to an entry alone, so it is
    remembered until the next entry or day.
    """
    before = replace(look, upto=look.head.sequence, known={}) if isinstance(look, Change) else look
    asked = ("suspects", before.upto, look.today)
    if asked not in look.remembered:
        for old in [k for k in list(look.remembered) if isinstance(k, tuple) and k[0] == "suspects"][:-_KEPT]:
            look.remembered.pop(old, None)
        look.remembered[asked] = _gathered(before)
    found: Suspects = look.remembered[asked]
    return found


def _gathered(look: Look) -> Suspects:
    found = _as_recorded(look)
    since = _day_ends(look) - timedelta(days=max(WINDOWS_DAYS))
    before = named_before(look, since, (found.judgement, found.found), _judged)
    return replace(found, found=(*found.found, *before))


def _judged(look: Look) -> tuple[Judgement, tuple[Suspect, ...]]:
    found = _as_recorded(look)
    return found.judgement, found.found


def _day_ends(look: Look) -> datetime:
    return datetime.combine(look.today + timedelta(days=1), time(), look.zone)


def _as_recorded(look: Look) -> Suspects:
    """Return what the evidence says of the records of today, without what was named before something broke them."""
    day_ends = _day_ends(look)
    series = list(series_within(look, since=day_ends - timedelta(days=max(WINDOWS_DAYS)), breaks=breaks_within(look)))
    spread = pooled_spread(_baselines(series)).no_finer_than(_last_digit_db(series))
    now_days = days_of(day_ends)
    readings = tuple(_deviations(look, series))
    spare = tuple(
        Candidate(i.kind, i.asset_no)  # type: ignore[arg-type]
        for i in items(look).values()
        if i.kind in ("probe", "block", "instrument") and i.state in PARTNER_STATES
    )
    judgement = judge(readings, spread, now_days, spare)
    return Suspects(judgement, suspects_of(judgement, readings, now_days, spread), spread, readings)


def _baselines(series: list[NotchSeries]) -> list[list[tuple[float, ...]]]:
    """Return each baseline as a table of set-ups × notches."""
    tables: dict[int, list[tuple[float, ...]]] = {}
    for s in series:
        levels = s.answers.baseline_levels_db
        if len(levels) > 1 and np.isfinite(levels).all():
            tables.setdefault(s.baseline_id, []).append(levels)
    return [list(zip(*columns, strict=True)) for columns in tables.values()]


def _last_digit_db(series: list[NotchSeries]) -> float:
    """Return the standard uncertainty of a deviation by the last digit, root mean square over the series; 0 if unknown."""
    known = [s.answers.digit_db for s in series if s.answers.digit_db]
    return math.sqrt(sum(x * x for x in known) / len(known)) if known else 0.0


def _deviations(look: Look, series: list[NotchSeries]) -> list[Deviation]:
    setups = {s.id: s for s in look.session.execute(select(Setup)).scalars()}
    code = {number: item.asset_no for number, item in items(look).items()}
    found = []
    for s in series:
        setup, a = setups[s.setup_id], s.answers
        label = notch_depths(look, setup.block_id)[s.notch_id][0]
        kit = code[setup.instrument_id], code[setup.probe_id], code[setup.block_id]
        anew = a.breaks[-1] if a.breaks else -np.inf  # before the last repair it was another record
        for i in np.flatnonzero(a.counted & (a.days >= anew)).tolist():
            found.append(
                Deviation(
                    float(a.days[i]), *kit, label, float(a.deviation_db[i]), a.baseline_setups, f"baseline {s.baseline_id}",
                    a.checks[i],
                )
            )  # fmt: skip
    return found
