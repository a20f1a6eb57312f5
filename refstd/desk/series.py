"""The readings of every setup that has a baseline, fetched at once and put beside that baseline, notch by notch."""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from sqlalchemy import Float, cast, select

from refstd.base.domain import Array
from refstd.base.text import key
from refstd.desk.happened import events_of_setups
from refstd.desk.items import among, items
from refstd.register.bulk import columns_of, decimals, real, whole, words
from refstd.register.checks import Baseline, BaselineSet, Reading, ResponseCheck, Setup
from refstd.register.engine import AT_ONCE
from refstd.register.equipment import Notch
from refstd.register.lab import Look
from refstd.register.procedures import ProcedureTarget
from refstd.register.revisions import standing
from refstd.rules.series import Answers, Seen, answers

# After these the instrument is balanced and set up anew; what follows a start on a job shares the start's set-up.
INDEPENDENT = ("start", "periodic", "receipt", "swap test")
NEWEST = 8  # checks of a setup whose last digits are read: enough to judge by, and a lab does not change them every day
_EPOCH = np.datetime64("1970-01-01", "us")
_DAY = np.timedelta64(86_400_000_000, "us")


@dataclass(frozen=True, slots=True, eq=False)
class NotchSeries:
    """The answers of one notch of one setup since its baseline. Days are counted from 1970-01-01 UTC."""

    setup_id: int
    notch_id: int
    baseline_id: int
    taken: float  # the day of the baseline's last set-up
    revision_id: int  # of the procedure of the setup's newest check, 0 if none
    answers: Answers


def days_of(moment: datetime) -> float:
    """Return an instant as days since 1970-01-01 UTC."""
    return moment.timestamp() / 86400


def breaks_within(look: Look) -> dict[int, tuple[float, ...]]:
    """Return, by setup, the days on which something of its items, cable and adapter was repaired or exchanged, oldest first."""
    setups = look.session.execute(select(Setup).where(Setup.entry <= look.upto)).scalars().all()
    return {
        number: tuple(days_of(e.happened_at) for e in events if e.breaks)
        for number, events in events_of_setups(look, setups).items()
    }


def series_within(
    look: Look, setup_id: int | None = None, *, breaks: dict[int, tuple[float, ...]] | None = None, since: datetime | None = None
) -> Iterator[NotchSeries]:  # fmt: skip
    """Yield the series of every setup that has a baseline, or of one, by setup and notch.

    breaks: days by setup. since: leave out checks before that instant (the baseline's set-ups are always read).
    """
    only = () if setup_id is None else (Baseline.setup_id == setup_id,)
    in_force = {b.setup_id: b for b in look.session.execute(standing(Baseline, look.upto, *only)).scalars()}
    if not in_force:
        return
    table = _Table(look, set(in_force) if setup_id is not None else None, since)
    setups = {s.id: s for s in look.session.execute(select(Setup).where(*among(Setup.id, set(in_force)))).scalars()}
    sets = _sets_of(look)
    registered = items(look)
    for number, baseline in sorted(in_force.items(), key=lambda each: setups[each[0]].number):
        setup = setups[number]
        order = registered[setup.instrument_id].special["display_order"]
        own_breaks = (breaks or {}).get(number, ())
        newest_revision = table.newest_revision(number)
        for notch_id, rows in table.of(number):
            frozen = np.isin(table.check_ids[table.check_of[rows]], sets[baseline.id])
            then = rows[frozen]
            if not len(then):
                continue
            check = table.check_of[rows]
            begun = float(table.days[check[frozen]].max())  # the last set-up, not the day on which somebody froze them
            new = rows[~frozen & (table.days[check] > begun) & ~table.is_set_up[check]]
            found = answers(
                table.seen(new, setup), table.seen(then, setup), setup.measure, None if order == "unknown" else order,
                is_phase_reference=key(setup.phase_reference) == table.label_keys.get(notch_id),
                breaks=[d for d in own_breaks if d > begun],
            )  # fmt: skip
            yield NotchSeries(number, notch_id, baseline.id, begun, newest_revision, found)


def _sets_of(look: Look) -> dict[int, Array]:
    rows = look.session.execute(
        select(BaselineSet.baseline_id, BaselineSet.check_id).where(BaselineSet.entry <= look.upto)
    )
    found: dict[int, list[int]] = defaultdict(list)
    for baseline_id, check_id in rows:
        found[baseline_id].append(check_id)
    return {number: np.asarray(checks) for number, checks in found.items()}


class _Table:
    """Checks and readings as columns: a check's columns by its place, a reading's by row, rows by setup, notch, time."""

    def __init__(self, look: Look, setup_ids: Collection[int] | None, since: datetime | None) -> None:
        self._fetch_checks(look, setup_ids, since)
        self._fetch_readings(look, setup_ids)
        self._fetch_digits(look)
        labels = select(Notch.id, Notch.label_key).where(Notch.entry <= look.upto)
        self.label_keys: dict[int, str] = dict(look.session.execute(labels).all())
        targets = select(
            ProcedureTarget.procedure_revision_id, ProcedureTarget.notch_label, ProcedureTarget.unit,
            cast(ProcedureTarget.value, Float),
        ).where(ProcedureTarget.entry <= look.upto)  # fmt: skip
        self._targets = {(r, key(label), unit): value for r, label, unit, value in look.session.execute(targets)}

    def _fetch_checks(self, look: Look, setup_ids: Collection[int] | None, since: datetime | None) -> None:
        c = ResponseCheck
        asked = [*among(c.setup_id, setup_ids)]
        if since is not None:
            asked.append((c.happened_at >= since) | (c.occasion == "set-up"))
        query = select(
            whole(c.setup_id), words(c.happened_at), whole(c.id), words(c.number), real(c.rotation_deg),
            real(c.horizontal_gain_db), real(c.vertical_gain_db), real(c.noise), whole(c.nulled), whole(c.phase_set),
            whole(c.occasion.in_(INDEPENDENT)), whole(c.occasion == "set-up"), whole(c.procedure_revision_id), whole(c.repeats_id), whole(c.supersedes_id),
        ).where(c.entry <= look.upto, *asked)  # fmt: skip
        found = columns_of(look.session, query, "iOiOffffiiiiiii")
        instants = np.array([m[:-1] for m in found[1].tolist()], dtype="datetime64[us]")  # without the Z
        found[1] = (instants - _EPOCH) / _DAY
        standing_ones = np.flatnonzero(~np.isin(found[2], found[14]))  # a correction stands for what it supersedes
        order = standing_ones[np.lexsort([found[i][standing_ones] for i in (2, 1, 0)])]
        (
            self.setup_of, self.days, self.check_ids, self.numbers, self.rotation, self.gain_h, self.gain_v, self.noise,
            nulled, phase_set, anew, set_up, self.revisions, _, _,
        ) = (column[order] for column in found)  # fmt: skip
        self.phase_set = phase_set.astype(bool)
        self.is_set_up = set_up.astype(bool)
        self.independent = (nulled & phase_set & anew).astype(bool)
        # A corrected repeat still took the place of its first set.
        self.repeated = np.isin(self.check_ids, found[13])

    def _fetch_readings(self, look: Look, setup_ids: Collection[int] | None) -> None:
        r = Reading
        query = select(
            whole(r.check_id), whole(r.notch_id), real(r.horizontal), real(r.vertical), whole(r.full_screen)
        ).where(r.entry <= look.upto)  # fmt: skip
        if setup_ids is not None:
            query = query.where(r.check_id.in_(self.check_ids.tolist()))
        check_id, notch, horizontal, vertical, full_screen = columns_of(look.session, query, "iiffi")
        by_id = np.argsort(self.check_ids)
        found = np.searchsorted(self.check_ids, check_id, sorter=by_id)
        known = found < len(by_id)
        place = by_id[found[known]] if len(by_id) else found[known]
        rows = np.flatnonzero(known)[self.check_ids[place] == check_id[known]]
        place = place[self.check_ids[place] == check_id[known]]
        order = np.lexsort((place, notch[rows], self.setup_of[place]))
        rows, self.check_of = rows[order], place[order]
        self.notch_of, self.horizontal, self.vertical = notch[rows], horizontal[rows], vertical[rows]
        self.full_screen = full_screen[rows].astype(bool)
        self._row_setup = self.setup_of[self.check_of]

    def _fetch_digits(self, look: Look) -> None:
        """Read how many digits were written, of the baselines' set-ups and the newest checks alone: over all it is slow."""
        counted = np.flatnonzero(self.independent & ~self.is_set_up)
        setups = self.setup_of[counted]
        newest = np.searchsorted(setups, setups, side="right") - np.arange(len(counted)) <= NEWEST
        wanted = self.is_set_up.copy()
        wanted[counted[newest]] = True
        r, ids = Reading, self.check_ids[wanted].tolist()
        query = select(whole(r.check_id), whole(r.notch_id), decimals(r.vertical), decimals(r.horizontal)).where(
            r.entry <= look.upto
        )
        found = [
            columns_of(look.session, query.where(r.check_id.in_(ids[n : n + AT_ONCE])), "iiii")
            for n in range(0, max(len(ids), 1), AT_ONCE)
        ]
        check_id, notch, *written = (np.concatenate(column) for column in zip(*found, strict=True))
        rows = np.flatnonzero(wanted[self.check_of])
        in_order = np.lexsort((self.notch_of[rows], self.check_ids[self.check_of[rows]]))
        digit = 10.0 ** -np.minimum(*written)
        self.digit = np.full(len(self.check_of), np.nan)
        self.digit[rows[in_order]] = digit[np.lexsort((notch, check_id))]

    def newest_revision(self, setup_id: int) -> int:
        """Return the procedure revision of the setup's newest check that has one, 0 if none has."""
        low, high = np.searchsorted(self.setup_of, [setup_id, setup_id + 1])
        known = self.revisions[low:high][self.revisions[low:high] > 0]
        return int(known[-1]) if len(known) else 0

    def of(self, setup_id: int) -> Iterator[tuple[int, Array]]:
        """Yield each notch of a setup with its rows in time order."""
        low, high = np.searchsorted(self._row_setup, [setup_id, setup_id + 1])
        rows = np.arange(low, high)
        cuts = np.flatnonzero(np.diff(self.notch_of[low:high])) + 1
        for part in np.split(rows, cuts):
            if len(part):
                yield int(self.notch_of[part[0]]), part

    def seen(self, rows: Array, setup: Setup) -> Seen:
        """Return rows of one notch as the rules want them."""
        at = self.check_of[rows]
        lift_off = setup.phase_reference == "lift-off"
        return Seen(
            tuple(self.numbers[at].tolist()), self.days[at], self.rotation[at], self.gain_h[at], self.gain_v[at],
            self.horizontal[rows], self.vertical[rows], self.full_screen[rows], self.noise[at], self._target(rows, at, setup),
            self.phase_set[at] & lift_off, self.independent[at], self.repeated[at],
            self.digit[rows],
        )  # fmt: skip

    def _target(self, rows: Array, at: Array, setup: Setup) -> Array:
        label = self.label_keys.get(int(self.notch_of[rows[0]]), "") if len(rows) else ""
        revisions, each = np.unique(self.revisions[at], return_inverse=True)
        return _floats([self._targets.get((r, label, setup.unit)) for r in revisions.tolist()])[each]


def _floats(values: object) -> Array:
    return np.asarray(values, dtype=np.float64)
