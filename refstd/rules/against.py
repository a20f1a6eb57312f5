"""What somebody with the authority may take against advice, and what nobody may."""

from collections.abc import Sequence

from refstd.base.reason import Reason, Weight
from refstd.rules.matching import NEVER_MATCH

# How well equipment suits the job, which the responsible level 3 answers for. What is overdue, held, quarantined, lost,
# failed, not received, not proved, somewhere else or cannot be joined is not among them, whoever decides.
OVERRIDABLE = (
    "named by the procedure", "material", "form", "bore", "notches", "conductivity", "frequency", "due during the job",
)  # fmt: skip


def may_be_overridden(reason: Reason) -> bool:
    """Return whether a reason that stops a kit from going out may be set aside by somebody with the authority."""
    return reason.weight is Weight.STOPS and reason.rule in OVERRIDABLE and reason.source != NEVER_MATCH


def set_aside(reasons: Sequence[Reason]) -> tuple[tuple[Reason, ...], tuple[Reason, ...]]:
    """Return of what stands against a kit (what may be set aside, advice with it; what may not)."""
    stays = tuple(r for r in reasons if r.weight is Weight.STOPS and not may_be_overridden(r))
    aside = tuple(r for r in reasons if may_be_overridden(r) or r.weight in (Weight.ADVISES, Weight.LIMITS))
    return aside, stays
