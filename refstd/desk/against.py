"""Kits taken against advice: who decided it, why, what was advised; told on each paper after."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.base.reason import Reason, Weight
from refstd.desk.known import named
from refstd.desk.people import PersonShown, allowed, code_of, may, people_in, person_shown, someone
from refstd.register.custody import AgainstAdvice, AgainstAdviceItem
from refstd.register.equipment import Equipment
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.people import Person
from refstd.register.procedures import Job
from refstd.rules.against import may_be_overridden as may_be_overridden
from refstd.rules.against import set_aside
from refstd.rules.authority import refuse_own
from refstd.rules.matching import Match


@dataclass(frozen=True, slots=True)
class Decided:
    """Who lets a kit go against advice, and why."""

    by: str
    why: str


@dataclass(frozen=True, slots=True)
class AgainstShown:
    """A kit that was taken against advice. advised: what stood against it then, a line each."""

    job: str
    items: tuple[str, ...]
    decided_by: str
    authority: str
    taken_by: str
    why: str
    advised: tuple[str, ...]
    happened_at: datetime

    def in_words(self) -> str:
        kit = ", ".join(self.items)
        return f"{kit} taken against advice for job {self.job}: decided by {self.decided_by} ({self.authority}), {self.why}"

    def reason(self) -> Reason:
        """Return it as a reason on a paper."""
        return Reason(
            "against advice", self.in_words(), "; ".join(self.advised), record=f"job {self.job}",
            cure=f"as {self.decided_by} decided; ask before relying on it further", weight=Weight.ADVISES,
        )  # fmt: skip


def keep_against(
    change: Change, job: Job, items: Sequence[Equipment], reasons: Sequence[Reason], decided: Decided
) -> None:
    """Add the rows of a decision to take a kit against advice, or refuse: what nobody may set aside, and who may not decide."""
    aside, stays = set_aside(reasons)
    if stays:
        says = "; ".join(dict.fromkeys(r.in_words() for r in stays))
        raise Refusal(
            f"nobody may take this kit: {says}", f"job {job.number}", "Nothing was checked out. Take another."
        )
    if not decided.why.strip():
        raise Refusal("a decision against advice needs a reason", f"job {job.number}", "Give it with --why.")
    by = someone(change, decided.by)
    may(change, "override advice", by)
    if not person_shown(change, named(change, Person, decided.by)).active:
        raise Refusal(f"{by.code} no longer works here", "--by", "Ask somebody who does.")
    refuse_own("take a kit against advice", code=by.code, maker=change.by.code)
    if not aside:
        raise Refusal("nothing stands against this kit", f"job {job.number}", "Check it out as usual.")
    row = change.add(
        AgainstAdvice(
            job_id=job.id, person_id=by.person_id, authority=", ".join(sorted(by.authorities)), taken_by_id=change.by.person_id,
            why=decided.why.strip(), advised="\n".join(dict.fromkeys(r.in_words() for r in aside)), happened_at=change.instant,
        )
    )  # fmt: skip
    for item in items:
        change.add(AgainstAdviceItem(against_advice_id=row.id, equipment_id=item.id))


def deciders(lab: Lab, taker: str, when: When) -> tuple[PersonShown, ...]:
    """Return who may let a kit go against advice, but not to the one who takes it."""
    with lab.look(when) as look:
        return tuple(p for p in people_in(look) if p.active and p.code != taker and allowed(p, "override advice"))


def against_advice(lab: Lab, when: When) -> tuple[AgainstShown, ...]:
    """Return every kit that was taken against advice, newest first."""
    with lab.look(when) as look:
        return against_in(look)


def against_in(look: Look, job_id: int | None = None, equipment_id: int | None = None) -> tuple[AgainstShown, ...]:
    """Return the same of a job, of an item, or of all, within a look."""
    query = select(AgainstAdvice).where(AgainstAdvice.entry <= look.upto).order_by(AgainstAdvice.id.desc())
    if job_id is not None:
        query = query.where(AgainstAdvice.job_id == job_id)
    if equipment_id is not None:
        with_it = select(AgainstAdviceItem.against_advice_id).where(AgainstAdviceItem.equipment_id == equipment_id)
        query = query.where(AgainstAdvice.id.in_(with_it))
    return tuple(_shown(look, row) for row in look.session.execute(query).scalars())


def _shown(look: Look, row: AgainstAdvice) -> AgainstShown:
    numbers = look.session.execute(
        select(Equipment.asset_no)
        .join(AgainstAdviceItem, AgainstAdviceItem.equipment_id == Equipment.id)
        .where(AgainstAdviceItem.against_advice_id == row.id)
        .order_by(AgainstAdviceItem.id)
    ).scalars()
    return AgainstShown(
        look.session.get_one(Job, row.job_id).number, tuple(numbers), code_of(look, row.person_id), row.authority,
        code_of(look, row.taken_by_id), row.why, tuple(row.advised.split("\n")), row.happened_at,
    )  # fmt: skip


def decided_on(look: Look, job_id: int, asset_nos: Collection[str], maker: str = "") -> tuple[AgainstShown, ...]:
    """Return the decisions that let items go out for a job; for a check, not those of the one who makes it."""
    return tuple(a for a in against_in(look, job_id) if set(a.items) & set(asset_nos) and a.decided_by != maker)


def allowed_for(reasons: Sequence[Reason], decided: Sequence[AgainstShown]) -> tuple[Reason, ...]:
    """Return what stands against a kit, without what was set aside, and with who set it aside."""
    aside = {line for a in decided for line in a.advised}
    left = tuple(r for r in reasons if not (may_be_overridden(r) and r.in_words() in aside))
    return (*left, *(a.reason() for a in decided))


def match_in_hand(matches: Sequence[Match], decided: Sequence[AgainstShown]) -> tuple[Match, ...]:
    """Return how items suit the job they are out for, with what was decided about them."""
    found: list[Match] = []
    for m in matches:
        mine = [a for a in decided if set(a.items) & set(m.asset_nos)]
        reasons = allowed_for(m.reasons, mine)
        alone = all(r.weight is not Weight.STOPS for r in reasons)
        fits = alone and (len(m.asset_nos) == 1 or all(f.fits for f in found))
        found.append(replace(m, reasons=reasons, fits=fits) if mine else m)
    return tuple(found)
