"""Which held setups are free for new work again, and by which check."""

from sqlalchemy import select

from refstd.register.checks import ResponseCheck
from refstd.register.findings import Finding
from refstd.register.lab import CLOCK_SLACK, Look
from refstd.register.procedures import ProcedureRevision
from refstd.rules.timeline import TimedCheck, freed_by


def freeing_check(look: Look, setup_id: int, finding: Finding) -> str:
    """Return the check that frees a held setup for new work, with its day in the lab's zone, or ''."""
    rows = look.session.execute(
        select(ResponseCheck, ProcedureRevision.procedure_id)
        .join(ProcedureRevision, ProcedureRevision.id == ResponseCheck.procedure_revision_id)
        .where(
            ResponseCheck.setup_id == setup_id,
            ResponseCheck.entry <= look.upto,
            ResponseCheck.happened_at <= look.instant + CLOCK_SLACK,
        )
    )
    checks = tuple(
        (
            TimedCheck(
                c.id, c.number, c.occasion, c.outcome, c.happened_at, c.start_check_id, c.supersedes_id, c.repeats_id
            ),
            procedure_id,
        )
        for c, procedure_id in rows
    )
    check = freed_by(checks, finding.check_id)
    return f"check {check.number} on {check.happened_at.astimezone(look.zone):%Y-%m-%d}" if check else ""
