"""Finding what is on record by its number or by words in it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from sqlalchemy import select

from refstd.base.text import key, safe
from refstd.desk.findings import findings_in
from refstd.desk.items import items
from refstd.desk.jobs import job_shown
from refstd.desk.people import people_in
from refstd.desk.procedures import ProcedureShown, all_revisions_in
from refstd.desk.serviceability import status_within
from refstd.desk.setups import setup_shown
from refstd.register.checks import BlockComparison, ResponseCheck, Setup, SwapTest
from refstd.register.equipment import Notch
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Job
from refstd.rules.verdict import Standing

MOST = 100


@dataclass(frozen=True, slots=True)
class Hit:
    """One record that was found: its kind, its number and what it is."""

    kind: str  # item, job, setup, check, finding, procedure, person, swap test, comparison
    number: str
    says: str


def find(lab: Lab, words: str, when: When, *, most: int = MOST) -> tuple[Hit, ...]:
    """Return the records in whose number or words every given word occurs: the exact number first, then by kind."""
    wanted = key(words).split()
    if not wanted:
        return ()
    with lab.look(when) as look:
        hits = [h for h in _candidates(look, wanted) if all(w in key(f"{h.number} {h.says}") for w in wanted)]
        hits.sort(key=lambda h: (key(h.number) != key(words), not key(h.number).startswith(key(words))))
        return _with_verdicts(look, hits[:most])


def _with_verdicts(look: Look, hits: list[Hit]) -> tuple[Hit, ...]:
    """Add its verdict to each item that may not be relied on in full; a hit is often all that somebody reads."""
    found = status_within(look, [h.number for h in hits if h.kind == "item"])
    less = {s.item.asset_no: s.verdict.headline() for s in found if s.verdict.standing != Standing.SERVICEABLE}
    return tuple(
        replace(h, says=f"{h.says}; {less[h.number]}") if h.kind == "item" and h.number in less else h for h in hits
    )


def _candidates(look: Look, wanted: list[str]) -> Iterator[Hit]:
    shown = items(look).values()
    for i in shown:
        made = " ".join(x for x in (i.part_no, i.serial_no, i.made_by, i.owner, i.location) if x)
        notches = ", ".join(n.label for n in i.notches)
        parts = [f"{i.form} {i.kind}".strip(), i.name, made, f"notches {notches}" if notches else "", i.state]
        yield Hit("item", i.asset_no, ", ".join(p for p in parts if p))
    for job in look.session.execute(select(Job).where(Job.entry <= look.upto).order_by(Job.number)).scalars():
        j = job_shown(look, job)
        state = "open" if j.open else "closed"
        yield Hit("job", j.number, f"{j.parts}, {j.procedure.name}, {j.customer_reference} ({state})")
    for setup in look.session.execute(select(Setup).where(Setup.entry <= look.upto).order_by(Setup.number)).scalars():
        s = setup_shown(look, setup)
        yield Hit("setup", s.number, s.in_words().split(": ", 1)[1])
    for person in people_in(look):
        here = "" if person.active else ", no longer here"
        yield Hit("person", person.code, f"{person.name}, {person.role}{here}")
    for f in findings_in(look):
        yield Hit("finding", f.number, f"{f.cause}: {f.says} ({'released' if f.released else 'open'})")
    procedures: dict[str, ProcedureShown] = {}
    for p in all_revisions_in(look):  # newest first; the one in force stands for its procedure
        if p.in_force or p.code not in procedures:
            procedures[p.code] = p
    for p in procedures.values():
        yield Hit("procedure", p.code, f"issue {p.issue}, {p.title}")
    swaps = select(SwapTest, ResponseCheck.number, Notch.label).where(SwapTest.entry <= look.upto)
    joined = swaps.join(ResponseCheck, ResponseCheck.id == SwapTest.check_id).join(Notch, Notch.id == SwapTest.notch_id)
    for test, check, notch in look.session.execute(joined.order_by(SwapTest.number)):
        yield Hit(
            "swap test", test.number, f"from check {check}, notch {notch}" + (f", {test.why}" if test.why else "")
        )
    names = items(look)
    compared = select(BlockComparison).where(BlockComparison.entry <= look.upto).order_by(BlockComparison.number)
    for c in look.session.execute(compared).scalars():
        pair = f"{names[c.secondary_id].asset_no} with its primary {names[c.primary_id].asset_no}"
        yield Hit("comparison", c.number, f"{pair}: {c.outcome}")
    yield from _checks(look, wanted)


def _checks(look: Look, wanted: list[str]) -> Iterator[Hit]:
    """Checks may be many: the first word is looked for by the database, in number, outcome and note."""
    like = "%" + wanted[0].replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    query = (
        select(ResponseCheck, Setup.number)
        .join(Setup, Setup.id == ResponseCheck.setup_id)
        .where(
            ResponseCheck.entry <= look.upto,
            ResponseCheck.number_key.like(like, escape="\\") | ResponseCheck.note.ilike(like, escape="\\"),
        )
        .order_by(ResponseCheck.id.desc())
        .limit(MOST * 5)
    )
    for row, setup in look.session.execute(query):
        day = f"{row.happened_at.astimezone(look.zone):%Y-%m-%d %H:%M}"
        says = f"{row.occasion} check of {day} on {setup}: {row.outcome}"
        yield Hit("check", row.number, says + (f", {safe(row.note)}" if row.note else ""))
