"""What was done about each revision of a procedure → which one is in force, how each stands, and which act is open to whom.

A revision comes into force when a responsible level 3 approves it, by own act and not as its drafter, after a review by
another person than the drafter; or because it came from a file that says who approved it on paper. It stays in force until a
later one is approved, or it is withdrawn: then the procedure has none in force, and the one before does not come back.
"""

from collections.abc import Sequence
from dataclasses import dataclass

DRAFTED, REVIEWED, APPROVED, WITHDRAWN = "drafted", "reviewed", "approved", "withdrawn"
IN_FORCE, SUPERSEDED = "in force", "superseded"


@dataclass(frozen=True, slots=True)
class RevisionActs:
    """A revision by its place (1 is the first), who did what about it, and whether it came as approved on paper."""

    place: int
    acts: tuple[tuple[str, str], ...] = ()  # (kind, person)
    on_paper: bool = False

    def by(self, kind: str) -> str:
        """Return who did an act, '' for nobody."""
        return next((person for done, person in self.acts if done == kind), "")

    @property
    def approved(self) -> bool:
        return self.on_paper or bool(self.by(APPROVED))

    @property
    def withdrawn(self) -> bool:
        return bool(self.by(WITHDRAWN))


def in_force(revisions: Sequence[RevisionActs]) -> int | None:
    """Return the place of the revision in force, None for none."""
    newest = max((r for r in revisions if r.approved), key=lambda r: r.place, default=None)
    return newest.place if newest is not None and not newest.withdrawn else None


def standing(revision: RevisionActs, revisions: Sequence[RevisionActs]) -> str:
    """Return how a revision stands among all of its procedure: drafted, reviewed, in force, superseded or withdrawn."""
    if revision.withdrawn:
        return WITHDRAWN
    if not revision.approved:
        return REVIEWED if revision.by(REVIEWED) else DRAFTED
    return IN_FORCE if in_force(revisions) == revision.place else SUPERSEDED


def objection(kind: str, person: str, revision: RevisionActs, revisions: Sequence[RevisionActs]) -> tuple[str, str]:
    """Return why somebody cannot do an act about a revision now and what to do instead, ('', '') where they can.

    What the person may do at all is the business of `authority.py`.
    """
    stands, drafter = standing(revision, revisions), revision.by(DRAFTED)
    if stands == WITHDRAWN:
        return f"it was withdrawn by {revision.by(WITHDRAWN)}", "File a new revision."
    if kind == WITHDRAWN:
        return ("it is superseded already", "Nothing to do.") if stands == SUPERSEDED else ("", "")
    if revision.approved:
        return f"it is {stands} already", "A change is a new revision."
    if kind == REVIEWED and revision.by(REVIEWED):
        return f"it was reviewed by {revision.by(REVIEWED)}", "A responsible level 3 approves it."
    if person == drafter:
        word = "review" if kind == REVIEWED else "approve"
        return f"{person} drafted it and may not {word} it", "Ask another person."
    if kind == APPROVED and not revision.by(REVIEWED):
        return "it was not reviewed", "Somebody other than its drafter reviews it first."
    if kind == APPROVED and any(r.approved and r.place > revision.place for r in revisions):
        return "a later revision is approved", "File its content as a new revision."
    return "", ""
