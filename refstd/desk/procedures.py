"""Written procedures as on record: each revision with its limits, targets and named equipment, and how it stands."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.base.text import key
from refstd.desk.known import named
from refstd.desk.people import code_of
from refstd.desk.procedure_acts import (
    APPROVED,
    ProcedureActShown,
    acts_shown,
    revision_in_force,
    revisions_of,
    standing_of,
)
from refstd.desk.requirements import requirements_of
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import (
    Procedure,
    ProcedureItem,
    ProcedureLimit,
    ProcedureMaterial,
    ProcedureRevision,
    ProcedureTarget,
)
from refstd.rules.matching import AcceptedFamily, NamedItem
from refstd.rules.procedure_acts import IN_FORCE
from refstd.rules.readings import Limit, Target
from refstd.rules.requirements import Requirements
from refstd.rules.serviceability import ProcedureNeeds

Form = Literal["plate", "edge", "radius", "bore", "countersink", "weld", "layers"]


@dataclass(frozen=True, slots=True)
class ProcedureShown:
    """A procedure revision with everything that is judged by it."""

    revision_id: int
    code: str
    issue: str
    title: str
    approved_on_paper_by: str
    form: str
    lowest_khz: Decimal
    highest_khz: Decimal
    frequency_paragraph: str
    check_every_hours: Decimal | None
    check_paragraph: str
    needs_baseline: bool
    baseline_paragraph: str
    baseline_setups: int
    conductivity_band_percent_iacs: Decimal | None
    conductivity_paragraph: str
    temperature_band_c: Decimal | None
    temperature_paragraph: str
    tell: str
    limits: tuple[Limit, ...]
    targets: tuple[Target, ...]
    named: tuple[NamedItem, ...]
    accepted: tuple[AcceptedFamily, ...]
    asks: Requirements
    editorial: bool
    standing: str
    why: str
    acts: tuple[ProcedureActShown, ...]

    @property
    def in_force(self) -> bool:
        return self.standing == IN_FORCE

    @property
    def approved_by(self) -> str:
        """Return the code of the one who approved it, '' for nobody."""
        return next((a.person for a in self.acts if a.kind == APPROVED), self.approved_on_paper_by)

    @property
    def approval(self) -> str:
        """Return who approved it, and that it was on paper where it was no act of their own."""
        return f"{self.approved_on_paper_by}, on paper" if self.approved_on_paper_by else self.approved_by or "nobody"

    @property
    def name(self) -> str:
        return f"procedure {self.code} issue {self.issue}"

    @property
    def needs(self) -> ProcedureNeeds:
        """Return the notches that its limits, targets and tolerances name, and what it asks of certified values."""
        named = (
            [x.notch for x in self.limits] + [t.notch for t in self.targets] + [a.notch for a in self.asks.tolerances]
        )
        return ProcedureNeeds(self.name, tuple(dict.fromkeys(n for n in named if n)), self.asks.tolerances)


def procedure_shown(look: Look, revision: ProcedureRevision) -> ProcedureShown:
    """Return a procedure revision with its limits, targets and named equipment."""
    cached = ("procedure", revision.id)
    if cached not in look.known:
        look.known[cached] = _gathered(look, revision)
    shown: ProcedureShown = look.known[cached]
    return shown


@dataclass(frozen=True, slots=True)
class _Content:
    """What a revision says beside its own row: written with it, in one act, and never again."""

    limits: tuple[Limit, ...]
    targets: tuple[Target, ...]
    items: tuple[NamedItem, ...]
    families: tuple[AcceptedFamily, ...]
    requirements: Requirements


def _content_of(look: Look, revision: ProcedureRevision) -> _Content:
    asked = ("procedure content", revision.id)
    if asked in look.remembered:
        content: _Content = look.remembered[asked]
        return content

    def of(kind: Any) -> list[Any]:
        query = select(kind).where(kind.procedure_revision_id == revision.id).order_by(kind.id)
        return list(look.session.execute(query).scalars())

    content = _Content(
        tuple(
            Limit(x.quantity, x.against, x.notch_label, x.lower, x.upper, x.unit, x.paragraph)
            for x in of(ProcedureLimit)
        ),
        tuple(Target(t.notch_label, t.value, t.unit, t.paragraph) for t in of(ProcedureTarget)),
        tuple(NamedItem(i.kind, i.part_no, i.standing, i.paragraph) for i in of(ProcedureItem)),
        tuple(AcceptedFamily(f.part_family, f.block_family, f.paragraph) for f in of(ProcedureMaterial)),
        requirements_of(look, revision.id),
    )
    if revision.entry <= look.head.sequence:  # what an act under way adds may yet be undone
        look.remembered[asked] = content
    return content


def _gathered(look: Look, revision: ProcedureRevision) -> ProcedureShown:
    content = _content_of(look, revision)
    procedure = look.session.get_one(Procedure, revision.procedure_id)
    return ProcedureShown(
        revision.id,
        procedure.code,
        revision.issue,
        revision.title,
        code_of(look, revision.approved_on_paper_by_id),
        revision.form,
        revision.lowest_khz,
        revision.highest_khz,
        revision.frequency_paragraph,
        revision.check_every_hours,
        revision.check_paragraph,
        revision.needs_baseline,
        revision.baseline_paragraph,
        revision.baseline_setups,
        revision.conductivity_band_percent_iacs,
        revision.conductivity_paragraph,
        revision.temperature_band_c,
        revision.temperature_paragraph,
        revision.tell,
        content.limits,
        content.targets,
        content.items,
        content.families,
        content.requirements,
        revision.editorial,
        standing_of(look, revision),
        revision.why,
        acts_shown(look, revision.id),
    )


def current_revision(look: Look, code: str) -> ProcedureRevision:
    """Return the revision of a procedure in force, or refuse."""
    procedure = named(look, Procedure, code)
    row = revision_in_force(look, procedure.id)
    if row is None:
        raise Refusal(
            f"procedure {procedure.code} has no revision in force",
            "",
            f"A responsible level 3 approves one: `refstd procedure approve {procedure.code}`.",
        )
    return row


def procedures(lab: Lab, when: When) -> tuple[ProcedureShown, ...]:
    """Return the revisions in force of all procedures, by code."""
    with lab.look(when) as look:
        return procedures_in(look)


def procedures_in(look: Look) -> tuple[ProcedureShown, ...]:
    """Return the revisions in force at the look's instant, by code."""
    return tuple(p for p in all_revisions_in(look) if p.in_force)


def all_revisions(lab: Lab, when: When, code: str = "") -> tuple[ProcedureShown, ...]:
    """Return every revision of a procedure or of all, by code, newest first."""
    with lab.look(when) as look:
        if code:
            named(look, Procedure, code)
        return tuple(p for p in all_revisions_in(look) if not code or key(p.code) == key(code))


def all_revisions_in(look: Look) -> tuple[ProcedureShown, ...]:
    """Return every revision of every procedure at the look's instant, by code, newest first."""
    rows = look.session.execute(
        select(Procedure).where(Procedure.entry <= look.upto).order_by(Procedure.code)
    ).scalars()
    return tuple(procedure_shown(look, r) for p in rows for r in reversed(revisions_of(look, p.id)))
