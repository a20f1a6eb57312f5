"""With what each thing of a swap test can be exchanged, and why the rest cannot come in."""

from dataclasses import dataclass

import numpy as np
from sqlalchemy import func, select

from refstd.base.text import key
from refstd.desk.at_work import first_at_work
from refstd.desk.happened import baseline_advice
from refstd.desk.items import ItemShown, items
from refstd.desk.series import days_of, series_within
from refstd.desk.serviceability import kit_verdict
from refstd.desk.setups import baseline_of, baseline_sets
from refstd.desk.suspects import suspects_within
from refstd.desk.swap_origin import MEMBERS, Origin, exchanged_between, notch_in
from refstd.register.checks import Baseline, ResponseCheck, Setup
from refstd.register.lab import Look
from refstd.rules.matching import a
from refstd.rules.swaps import Exchanged, chance_db
from refstd.rules.verdict import Standing


@dataclass(frozen=True, slots=True)
class Choices:
    """What can come in, the best first, and why each other candidate on record cannot, in words."""

    offered: tuple["Partner", ...] = ()
    against: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Partner:
    """A setup that differs from the first in one thing alone and has a baseline from before the deviation showed.

    takes_part: the asset number that comes in. notch: what to read there. out_to: who has it and for which job, or ''.
    """

    setup: str
    takes_part: str
    instrument: str
    probe: str
    block: str
    notch: str
    baseline_setups: int
    out_to: str


def sound_for(look: Look, origin: Origin, setup: Setup, baseline: Baseline) -> bool:
    """Return whether another setup's baseline can have nothing of the deviation in it, and is of the items as they are.

    It is no newer than the last check of the origin's setup that lay within chance of its own baseline (where none did,
    than the first check against it), and nothing of its items was repaired or exchanged since.
    """
    if baseline_advice(look, [setup]).get(setup.id):
        return False
    spread = suspects_within(look).spread
    if spread.degrees_of_freedom <= 0:
        return False
    until = origin.check.happened_at
    for series in series_within(look, origin.setup.id):
        if series.notch_id == origin.notch_id:
            a = series.answers
            off = np.abs(a.deviation_db) > chance_db(spread, a.baseline_setups)
            within = np.flatnonzero(np.isfinite(a.deviation_db) & ~off & (a.days < days_of(until)))
            begun = float(a.days[within[-1] if len(within) else 0])
            return days_of(baseline.happened_at) <= begun
    return baseline.happened_at < until


def unfit(look: Look, equipment_id: int) -> str:
    """Return why an item may not come into a kit now: parts hang on it, or it may not be used; '' for nothing."""
    if busy := first_at_work(look, [equipment_id]):
        return busy
    verdict = kit_verdict(look, [equipment_id], evidence=False)
    return f"{verdict.subject}: {verdict.headline()}" if verdict.standing is Standing.DO_NOT_USE else ""


def cable_against(look: Look, origin: Origin, cable: ItemShown) -> str:
    """Return why an accessory cannot come in as the cable: what it is, what it joins, or that it may not be used; '' for nothing."""
    if cable.form != "cable":
        return f"{cable.asset_no} is {a(cable.form)}, not a cable"
    first = items(look)[origin.check.cable_id] if origin.check.cable_id else None
    for end in ("instrument_connector", "probe_connector") if first else ():
        plug, first_plug = cable.special[end], first.special[end]  # type: ignore[union-attr]
        if plug and first_plug and key(plug) != key(first_plug):
            where = end.removesuffix("_connector")
            return f"{cable.asset_no} has another plug to the {where} ({plug}) than {origin.cable} ({first_plug})"
    return unfit(look, cable.equipment_id)


def cables_of(look: Look, origin: Origin) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the numbers of the cables that can come in, and why the others cannot."""
    others = [
        i for i in items(look).values() if i.kind == "accessory" and i.form == "cable" and i.asset_no != origin.cable
    ]
    judged = [(i.asset_no, cable_against(look, origin, i)) for i in others]
    return tuple(n for n, why in judged if not why), tuple(why for _, why in judged if why)


def partners_of(look: Look, origin: Origin) -> dict[Exchanged, Choices]:
    """Return what can take the place of each thing, last used first, what is out last; and why the rest cannot."""
    rows = look.session.execute(
        select(Setup, func.max(ResponseCheck.happened_at))
        .outerjoin(ResponseCheck, (ResponseCheck.setup_id == Setup.id) & (ResponseCheck.entry <= look.upto))
        .where(Setup.conditions_key == origin.setup.conditions_key, Setup.entry <= look.upto)
        .group_by(Setup.id)
        .order_by(func.max(ResponseCheck.happened_at).desc(), Setup.id)
    ).all()
    found: dict[Exchanged, list[Partner]] = {kind: [] for kind in MEMBERS}
    against: dict[Exchanged, list[str]] = {kind: [] for kind in MEMBERS}
    for setup, _ in rows:
        differs = exchanged_between(origin.setup, setup)
        if len(differs) != 1:
            continue
        judged = _judged(look, origin, setup, differs[0])
        if isinstance(judged, str):
            against[differs[0]].append(judged)
        else:
            found[differs[0]].append(judged)
    return {
        kind: Choices(tuple(sorted(found[kind], key=lambda p: bool(p.out_to))), tuple(against[kind]))
        for kind in MEMBERS
    }


def _judged(look: Look, origin: Origin, setup: Setup, kind: Exchanged) -> Partner | str:
    """Return a setup as a partner, or why what differs in it cannot come in."""
    comes_in = items(look)[getattr(setup, MEMBERS[kind])]
    number = comes_in.asset_no
    if why := unfit(look, comes_in.equipment_id):
        return why
    if any(s.candidate.code == number for s in suspects_within(look).found):
        return f"{number} is itself named by the evidence over the whole lab"
    baseline, notch = baseline_of(look, setup.id), notch_in(look, origin, setup)
    if baseline is None or not notch:
        return f"{number} has no baseline in setup {setup.number}; one taken now would have the deviation in it"
    if not sound_for(look, origin, setup, baseline):
        return f"{number} has a baseline in setup {setup.number} that is not from before the deviation, or from before a repair"
    instrument, probe, block = (items(look)[i].asset_no for i in (setup.instrument_id, setup.probe_id, setup.block_id))
    out_to = f"{comes_in.loan.holder} for job {comes_in.loan.job}" if comes_in.loan else ""
    count = len(baseline_sets(look, baseline))
    return Partner(setup.number, number, instrument, probe, block, notch, count, out_to)
