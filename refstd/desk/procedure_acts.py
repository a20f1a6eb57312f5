"""Reviewing, approving and withdrawing a revision of a procedure: by own act, with the reason, and never what one drafted."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import NotFound, Refusal
from refstd.base.text import key, safe
from refstd.desk.known import named
from refstd.desk.people import code_of, may
from refstd.register.lab import Change, Lab, Look
from refstd.register.procedures import Procedure, ProcedureRevision
from refstd.register.requirements import ProcedureAct
from refstd.rules.procedure_acts import (
    APPROVED,
    DRAFTED,
    REVIEWED,
    WITHDRAWN,
    RevisionActs,
    in_force,
    objection,
    standing,
)

ACTS = {REVIEWED: "review a procedure", APPROVED: "approve a procedure", WITHDRAWN: "withdraw a procedure"}


@dataclass(frozen=True, slots=True)
class ProcedureActShown:
    """What somebody did about a revision."""

    kind: str
    person: str
    why: str
    happened_at: datetime


def act_on_procedure(
    lab: Lab, code: str, kind: str, why: str, *, issue: str = "", by: str, now: datetime, operation: str = ""
) -> str:
    """Review, approve or withdraw a revision (kind 'reviewed', 'approved' or 'withdrawn') and return its issue.

    Without an issue it is the one that waits; to withdraw, the one in force.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, ACTS[kind])
        if not why.strip():
            raise Refusal("say why", f"procedure {safe(code).upper()}", "Such as what was looked at.")
        procedure = named(change, Procedure, code)
        rows = revisions_of(change, procedure.id)
        known = {r.id: acts_of(change, r) for r in rows}
        row = _meant(procedure.code, rows, known, kind, issue)
        wrong, remedy = objection(kind, change.by.code, known[row.id], list(known.values()))
        if wrong:
            raise Refusal(f"procedure {procedure.code} issue {row.issue}: {wrong}", "", remedy)
        keep_act(change, row.id, kind, why.strip())
        change.record(f"procedure {kind}", procedure=procedure.code, issue=row.issue, why=why.strip())
        return row.issue


def keep_act(change: Change, revision_id: int, kind: str, why: str) -> None:
    """Add the row of an act by the acting person."""
    change.add(
        ProcedureAct(
            procedure_revision_id=revision_id, kind=kind, person_id=change.by.person_id, why=why, happened_at=change.instant
        )
    )  # fmt: skip


def _meant(
    code: str, rows: list[ProcedureRevision], known: dict[int, RevisionActs], kind: str, issue: str
) -> ProcedureRevision:
    if issue:
        row = next((r for r in rows if key(r.issue) == key(issue)), None)
        if row is None:
            raise NotFound(f"procedure {code} has no issue '{safe(issue)[:40]}'", "", f"See `refstd show {code}`.")
        return row
    force = in_force(list(known.values()))
    if kind == WITHDRAWN:
        found = [r for r in rows if r.revision == force]
    else:
        found = [r for r in rows if not known[r.id].approved and not known[r.id].withdrawn]
    if len(found) == 1:
        return found[0]
    what = "in force" if kind == WITHDRAWN else "that waits"
    if found:
        raise Refusal(
            f"procedure {code} has several revisions that wait",
            "",
            f"Name the issue: {', '.join(r.issue for r in found)}.",
        )
    raise Refusal(f"procedure {code} has no revision {what}", "", f"See `refstd show {code}`.")


def revisions_of(look: Look, procedure_id: int) -> list[ProcedureRevision]:
    """Return all revisions of a procedure, oldest first."""
    query = select(ProcedureRevision).where(
        ProcedureRevision.procedure_id == procedure_id, ProcedureRevision.entry <= look.upto
    )
    return list(look.session.execute(query.order_by(ProcedureRevision.revision)).scalars())


def acts_shown(look: Look, revision_id: int) -> tuple[ProcedureActShown, ...]:
    """Return what was done about a revision, oldest first."""
    query = select(ProcedureAct).where(
        ProcedureAct.procedure_revision_id == revision_id, ProcedureAct.entry <= look.upto
    )
    return tuple(
        ProcedureActShown(a.kind, code_of(look, a.person_id), a.why, a.happened_at)
        for a in look.session.execute(query.order_by(ProcedureAct.id)).scalars()
    )


def acts_of(look: Look, row: ProcedureRevision) -> RevisionActs:
    """Return what was done about a revision, as the rule asks for it."""
    done = tuple((a.kind, a.person) for a in acts_shown(look, row.id))
    return RevisionActs(row.revision, done, row.approved_on_paper_by_id is not None)


def revision_in_force(look: Look, procedure_id: int) -> ProcedureRevision | None:
    """Return the revision of a procedure in force, None for none."""
    rows = revisions_of(look, procedure_id)
    place = in_force([acts_of(look, r) for r in rows])
    return next((r for r in rows if r.revision == place), None)


def standing_of(look: Look, row: ProcedureRevision) -> str:
    """Return how a revision stands: drafted, reviewed, in force, superseded or withdrawn."""
    rows = revisions_of(look, row.procedure_id)
    return standing(acts_of(look, row), [acts_of(look, r) for r in rows])


def revised_since(look: Look, older: ProcedureRevision, newer: ProcedureRevision) -> ProcedureRevision | None:
    """Return the first revision that is not editorial after one, up to and with another of the same procedure."""
    if older.procedure_id != newer.procedure_id:
        return None
    between = [r for r in revisions_of(look, older.procedure_id) if older.revision < r.revision <= newer.revision]
    return next((r for r in between if not r.editorial and acts_of(look, r).approved), None)


__all__ = [
    "ACTS", "APPROVED", "DRAFTED", "REVIEWED", "WITHDRAWN", "ProcedureActShown", "act_on_procedure", "acts_shown", "keep_act",
    "revised_since", "revision_in_force", "revisions_of", "standing_of",
]  # fmt: skip
