"""Matching equipment to a job: which kits fit, which items do not, and why."""

from collections.abc import Sequence
from dataclasses import replace

from refstd.base.reason import Reason
from refstd.desk.against import decided_on, match_in_hand
from refstd.desk.happened import baseline_advice, members
from refstd.desk.items import ItemShown, items, items_of
from refstd.desk.jobs import JobShown, MaterialShown, job_shown
from refstd.desk.known import named
from refstd.desk.reserved import reserved_items
from refstd.desk.serviceability import all_facts, facts_of
from refstd.eddy.coil import BASIS as BASIS
from refstd.eddy.coil import Coil
from refstd.register.checks import Baseline, Setup
from refstd.register.equipment import Equipment
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Job
from refstd.register.revisions import standing
from refstd.rules.explanation import METHOD as METHOD
from refstd.rules.explanation import CoilOnRecord, KitOnJob, explanation
from refstd.rules.kits import PROVEN as PROVEN
from refstd.rules.kits import KnownSetup, match_chosen, match_kits
from refstd.rules.matching import Candidate, JobFacts, Loaned, Material, match_item
from refstd.rules.matching import Match as Match
from refstd.rules.recall import serves
from refstd.rules.serviceability import ItemFacts


def match(lab: Lab, job: str, when: When, *, most: int = 20) -> tuple[tuple[Match, ...], tuple[Match, ...]]:
    """Return (kits that fit a job, best first; items that do not, each with its reasons)."""
    with lab.look(when) as look:
        return kits_within(look, job_shown(look, named(look, Job, job)), most=most)


def kits_within(look: Look, job: JobShown, *, most: int = 20) -> tuple[tuple[Match, ...], tuple[Match, ...]]:
    """Return (kits that fit a job, items that do not), within a look."""
    facts = all_facts(look)
    everything = tuple(_candidate(look, item, facts[number]) for number, item in items(look).items())
    known = _known_setups(look, job)
    kits, rejected = match_kits(job_facts(job), everything, look.today, look.due_soon_days, known=known, most=most)
    return tuple(replace(kit, explained=_explained(look, job, kit)) for kit in kits), rejected


def _explained(look: Look, job: JobShown, kit: Match) -> tuple[Reason, ...]:
    """Return what materials and coil mean for a kit that stands in its place already."""
    members = {i.kind: i for i in items(look).values() if i.asset_no in kit.asset_nos and i.kind in ("block", "probe")}
    block, probe = members["block"], members["probe"]
    assert block.material is not None
    inner, outer, height, gap = (probe.special[f"coil_{what}_mm"] for what in ("inner", "outer", "height", "gap"))
    size = None if inner is None else Coil(float(inner) / 2, float(outer) / 2, float(height), 1)
    coil = CoilOnRecord(
        probe.asset_no,
        probe.special["coils"],
        probe.special["circuit"],
        probe.special["shielded"],
        size,
        float(gap or 0),
    )
    return explanation(
        KitOnJob(
            block.asset_no, block.form, block.special["thickness_mm"], _material(block.material), _material(job.material),
            job.frequency_khz, coil,
        )
    )  # fmt: skip


def _known_setups(look: Look, job: JobShown) -> tuple[KnownSetup, ...]:
    """Return the setups at the job's frequency that have a baseline."""
    rows = look.session.execute(
        standing(Baseline, look.upto).join(Setup, Setup.id == Baseline.setup_id).with_only_columns(Setup)
    ).scalars()
    shown = items(look)
    found = [s for s in sorted(rows, key=lambda s: s.number) if s.frequency_khz == job.frequency_khz]
    advice = baseline_advice(look, found)
    return tuple(KnownSetup(s.number, frozenset(shown[i].asset_no for i in members(s)), advice[s.id]) for s in found)


def match_these(lab: Lab, job: str, asset_nos: Sequence[str], when: When) -> tuple[Match, ...]:
    """Return how these items suit a job, each and together."""
    with lab.look(when) as look:
        return match_within(
            look, job_shown(look, named(look, Job, job)), [named(look, Equipment, n).id for n in asset_nos]
        )


def match_within(
    look: Look, job: JobShown, equipment_ids: Sequence[int], *, in_hand: bool = False
) -> tuple[Match, ...]:
    """Return how these items suit a job, within a look. `in_hand`: what is out for this very job is where it belongs."""
    shown, facts = items_of(look, equipment_ids), facts_of(look, equipment_ids)  # not of the whole register
    chosen = tuple(_candidate(look, shown[i], facts[i]) for i in equipment_ids)
    if in_hand:
        chosen = tuple(replace(c, loan=None) if c.loan and c.loan.job == job.number else c for c in chosen)
    found = match_chosen(job_facts(job), chosen, look.today, look.due_soon_days)
    decided = decided_on(look, job.job_id, [c.item.asset_no for c in chosen]) if in_hand else ()
    return match_in_hand(found, decided) if decided else found


def serving(look: Look, job: JobShown) -> dict[str, frozenset[str]]:
    """Return, by kind, the items that suit a job and may be relied on today, wherever they are: out, or due before it ends."""
    facts, asked = all_facts(look), job_facts(job)
    found: dict[str, set[str]] = {"block": set(), "probe": set(), "instrument": set()}
    for number, item in items(look).items():
        if item.kind in found and serves(
            match_item(asked, _candidate(look, item, facts[number]), look.today, look.due_soon_days)
        ):
            found[item.kind].add(item.asset_no)
    return {kind: frozenset(numbers) for kind, numbers in found.items()}


def _candidate(look: Look, item: ItemShown, facts: ItemFacts) -> Candidate:
    """Return an item with what matching needs of it."""
    special = item.special
    loan = None
    if item.loan:
        loan = Loaned(item.loan.holder, item.loan.job, f"{item.loan.since.astimezone(look.zone):%Y-%m-%d %H:%M}")
    return Candidate(
        item=facts,
        part_no=item.part_no,
        form=item.form,
        material=_material(item.material) if item.material else None,
        bore_diameter_mm=special.get("bore_diameter_mm"),
        lowest_khz=special.get("lowest_khz"),
        highest_khz=special.get("highest_khz"),
        connector=special.get("connector") or special.get("instrument_connector") or "",
        probe_connector=special.get("probe_connector") or "",
        drives_rotating_probe=bool(special.get("drives_rotating_probe")),
        circuits=special.get("circuits") or special.get("circuit") or "",
        loan=loan,
        shared=item.shared,
        owner=item.owner,
        return_on=item.return_on,
        reserved=reserved_items(look).get(item.equipment_id, ()),
        notch_depths_mm=tuple(n.depth_mm for n in item.notches if not n.through),
    )


def job_facts(job: JobShown) -> JobFacts:
    """Return a job as the rules want it."""
    p, measured = job.procedure, job.details.part_conductivity_percent_iacs
    material = _material(job.material)
    return JobFacts(
        number=job.number,
        procedure=p.name,
        form=job.form,
        material=material if measured is None else replace(material, conductivity_percent_iacs=measured),
        bore_diameter_mm=job.bore_diameter_mm,
        frequency_khz=job.frequency_khz,
        frequency_paragraph=p.frequency_paragraph,
        lowest_khz=p.lowest_khz,
        highest_khz=p.highest_khz,
        ends_on=job.ends_on,
        needs=p.needs,
        named=p.named,
        accepted=p.accepted,
        conductivity_band=p.conductivity_band_percent_iacs,
        conductivity_paragraph=p.conductivity_paragraph,
        conductivity_measured=measured is not None,
        target_depth_mm=job.details.target_depth_mm,
        notch_advice=p.asks.notch_advice,
    )


def _material(shown: MaterialShown) -> Material:
    return Material(shown.code, shown.family, shown.magnetic_class, shown.conductivity_percent_iacs)
